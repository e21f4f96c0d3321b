"""Tasks with all that must be done before them: one way to close a set of them, for everybody."""

from __future__ import annotations

from collections.abc import Callable, Iterable


def with_all_before(tasks: Iterable[str], after: Callable[[str], Iterable[str]]) -> tuple[str, ...]:
    """The tasks and, each once, all that they come after; what is needed stands before what needs it.

    `after`: the tasks that one comes after itself. It must lead into no circle; a conversion document has none.

    >>> before = {"gearbox-out": ("shaft-out",), "shaft-out": (), "bench": ("gearbox-out", "shaft-out")}
    >>> with_all_before(["bench"], before.__getitem__)
    ('shaft-out', 'gearbox-out', 'bench')
    """
    # Not by a function that calls itself: it would hold what `after` holds until the search for cycles comes by.
    found, begun = dict[str, None](), set[str]()
    waiting = [(task, False) for task in reversed(tuple(tasks))]
    while waiting:
        task, is_ready = waiting.pop()
        if is_ready:
            found[task] = None
        elif task not in begun:
            begun.add(task)
            waiting.append((task, True))
            waiting += [(earlier, False) for earlier in reversed(tuple(after(task)))]
    return tuple(found)

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
    found: dict[str, None] = {}

    def add(task: str) -> None:
        if task not in found:
            for earlier in after(task):
                add(earlier)
            found[task] = None

    for task in tasks:
        add(task)
    return tuple(found)

"""Why each step of a route stands where it does: what must be open for it, what must be done before it, and for what
reason. Read from the arrows of the order of work, so that it says what decided. No I/O.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from graph.answer import words
from graph.answer.model.work import NeededStep, Step

if TYPE_CHECKING:
    import networkx as nx  # for the types; it is loaded where the order is made

# What an arrow of the order of work stands for, where the table of reasons says nothing nearer. The words follow what
# has to come first. One without words is a habit that orders what nothing else does, and is not told.
OPEN = "it must be open"
BOUGHT = "it has to be here"
PART_OF = "it is part of that work"
ON_THE_VISIT = "it is done on that visit"
CAME_OFF = "what came off there goes on again"
WHILE_OFF = "it is done with that apart"
THEN_CLOSED = "it cannot be reached once this is on"
FURTHER_IN = "it lies further in"
AFTER_CLOSING = "it is done with that put back"
LENGTHS = "it moves a length, bought when the lengths are known"
SIZED = "it is made to a size, ordered when that is measured"
SEEN = "whether it fits is in doubt, and can be seen only then"
WHICH = "which one is there is seen only then"
COME_OUT = "the part to be machined has to be out"
GOES_ALONG = "it goes along to be machined, or measured for the work"
MACHINED = "it has to be back from machining"
GOES_IN_FIRST = "that has to be in place first"
HOLDS = "these hold it, and go in with it"
BOLTED_UP = "it is bolted up with them"
CLOSES_THE_JOB = "it closes the job, when all else is done"
SAID_AS_IT_IS = (OPEN, BOUGHT, ON_THE_VISIT, LENGTHS, SIZED, SEEN, WHICH, CLOSES_THE_JOB, HOLDS, BOLTED_UP)
COMES_OFF, ALTERED = "comes off for good", "kept, to be altered"
NOTHING_FIRST = "Nothing has to come before it."
GENERAL = frozenset(
    (PART_OF, CAME_OFF, WHILE_OFF, THEN_CLOSED, FURTHER_IN, AFTER_CLOSING, COME_OUT, GOES_IN_FIRST, *SAID_AS_IT_IS)
)
AHEAD = "Nothing has to come before it; it is waited for: bought ahead."
TOLD = 4  # steps named for one reason; of more, the last and how many
SHORT = 44  # letters of a step that is only named
STOPS = ((re.compile(r"[;:] (?![^(]*\))"), 0), (re.compile(r", (?![^(]*\))"), SHORT))  # not within brackets
WHERE_DONE = re.compile(r"^(?:Bench|Tractor|Marine): ")


def with_reasons(graph: nx.DiGraph[str], order: Sequence[str], steps: Mapping[str, Step]) -> tuple[Step, ...]:
    """The steps in this order, numbered from 1, each with what it needs open and done.

    `graph`: the order of work, its arrows with `why`; `order`: its keys in their order; `steps`: by key, for those that
    are one.
    """
    numbers = {key: number for number, key in enumerate((key for key in order if key in steps), start=1)}
    place, before = {key: at for at, key in enumerate(order)}, dict[str, int]()
    made = []
    for key in order:
        first = list(graph.pred[key])
        before[key] = 0
        for one in first:
            before[key] |= before[one] | 1 << place[one]
        if key in numbers:
            made.append(_with_needs(graph, key, first, before, place, numbers, steps))
    return tuple(made)


def _with_needs(
    graph: nx.DiGraph[str], key: str, first: Sequence[str], before: Mapping[str, int], place: Mapping[str, int],
    numbers: Mapping[str, int], steps: Mapping[str, Step],
) -> Step:  # fmt: skip
    """What stands before another of the steps needed goes without saying, unless the reason is the step's own; of what
    must be open, what another one that must be open opens anyway."""
    reasons = {one: str(graph.edges[one, key]["why"]) for one in first}
    for one in (one for one in first if one not in numbers and reasons[one] == OPEN):
        reasons |= dict.fromkeys(_opened_before(graph, one, numbers), OPEN)  # nothing was there to take off
    told = sorted((one for one, why in reasons.items() if one in numbers and why), key=numbers.__getitem__)
    implied = 0
    for one in told:
        implied |= before[one]

    def needed(one: str) -> NeededStep:
        return NeededStep(numbers[one], steps[one].text, reasons[one], short_name(steps[one]))

    open_for = [one for one in told if reasons[one] == OPEN]
    further = 0
    for one in open_for:
        further |= before[one]
    opened = tuple(needed(one) for one in open_for if not further >> place[one] & 1)
    done = [one for one in told if reasons[one] != OPEN]
    named = tuple(needed(one) for one in done if not implied >> place[one] & 1 or reasons[one] not in GENERAL)
    return replace(steps[key], number=numbers[key], needs_open=opened, needs_done=named)


def _opened_before(graph: nx.DiGraph[str], key: str, numbers: Mapping[str, int]) -> Iterator[str]:
    """What a task that has no step of its own needs open."""
    for one in graph.pred[key]:
        if graph.edges[one, key]["why"] == OPEN:
            yield from ((one,) if one in numbers else _opened_before(graph, one, numbers))


def why_here(step: Step, named: bool = True) -> tuple[str, ...]:
    """In words, a line for each reason. `named`: the steps needed by name too, for where the list is far off."""
    lines = [f"Must be open: {_listed(step.needs_open, named)}"] if step.needs_open else []
    reasons = dict.fromkeys(one.why for one in step.needs_done)
    lines += [f"After {_listed((one for one in step.needs_done if one.why == why), named)}: {why}" for why in reasons]
    return tuple(lines) or (AHEAD if step.order else NOTHING_FIRST,)


def leaving(step: Step) -> tuple[str, ...]:
    """In words, what comes off at the step for good, and what of it is kept to be altered; a line for each."""
    gone = [part.label for part in step.comes_off if not part.id or part.id not in step.altered]
    kept = [part.label for part in step.comes_off if part.id and part.id in step.altered]
    return tuple(f"{said}: {'; '.join(parts)}" for said, parts in ((COMES_OFF, gone), (ALTERED, kept)) if parts)


def _listed(steps: Iterable[NeededStep], with_names: bool) -> str:
    every = list(steps)
    if not with_names:
        return words.listed([str(one.number) for one in every])
    named = every if len(every) <= TOLD else every[-1:]
    more = f" and {len(every) - len(named)} more" if len(every) > len(named) else ""
    return ", ".join(f"{one.number} ({one.short or one.text})" for one in named) + more


def short_name(step: Step) -> str:
    """A step as it is named at another one: what is done to a part, where it is machined; else its words."""
    return short_text(step.operations[0] if step.operations and not step.order else step.text)


def short_text(text: str) -> str:
    """A step's words as far as they name it: all of few, else up to a stop outside brackets; whole words and brackets.

    >>> short_text("Gearbox in on guide studs; it must close to the face by hand")
    'Gearbox in on guide studs'
    >>> short_text("Order Bearing 45 x 100 x 25 (ISO 15, 6309), new"), short_text("Tractor: loader on again")
    ('Order Bearing 45 x 100 x 25 (ISO 15, 6309)', 'loader on again')
    """
    first = WHERE_DONE.sub("", text)
    for stop, shortest in STOPS:
        first = stop.split(first)[0] if len(first) > shortest else first
    if len(first) <= SHORT:
        return first
    cut = first[:SHORT].rpartition(" ")[0]
    whole = cut if cut.count("(") == cut.count(")") else cut[: cut.rindex("(")].rstrip()
    return f"{whole} ..."

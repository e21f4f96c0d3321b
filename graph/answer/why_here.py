"""Why each step of a route stands where it does: what must be open for it, what must be done before it, and for what
reason. Read from the arrows of the order of work, so that it says what decided. No I/O.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from graph.answer import words
from graph.answer.model import NeededStep, Step

if TYPE_CHECKING:
    import networkx as nx  # for the types; it is loaded where the order is made

# What an arrow of the order of work stands for. The words follow what has to come first.
OPEN = "it must be open"
BOUGHT = "it has to be here"
THEN_CLOSED = "closed after that"
AFTER_CLOSING = "it is done with that put back"
LENGTHS = "it moves a length, bought when the lengths are known"
SEEN = "whether it fits is in doubt, and can be seen only then"
COME_OUT = "it has to have come out"
GOES_IN_FIRST = "it sits on or behind it, or is measured over it"
WHILE_OPEN = "that needs the place open"
HOLDS = "it holds that, and goes in with it"
CLOSES_THE_JOB = "it closes the job, when all else is done"
NOTHING_FIRST = "Nothing has to come before it."
AHEAD = "It hangs on nothing measured and is waited for: bought ahead."
SHORT = 36  # letters of a step that is only named
TOLD = 4  # steps named for one reason; of more, the last and how many


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
    """What stands before another of the steps needed goes without saying, unless it must be open."""
    told = sorted((one for one in first if one in numbers), key=numbers.__getitem__)
    implied = 0
    for one in told:
        implied |= before[one]

    def needed(one: str) -> NeededStep:
        return NeededStep(numbers[one], steps[one].text, str(graph.edges[one, key]["why"]))

    opened = tuple(needed(one) for one in told if graph.edges[one, key]["why"] == OPEN)
    done = tuple(
        needed(one) for one in told if graph.edges[one, key]["why"] != OPEN and not implied >> place[one] & 1
    )  # fmt: skip
    return replace(steps[key], number=numbers[key], needs_open=opened, needs_done=done)


def why_here(step: Step, named: bool = True) -> tuple[str, ...]:
    """In words, a line for each reason. `named`: the steps needed by name too, for where the list is far off."""
    lines = [f"{'Must be open' if named else 'Open'}: {_listed(step.needs_open, named)}"] if step.needs_open else []
    reasons = dict.fromkeys(one.why for one in step.needs_done)
    lines += [f"After {_listed((one for one in step.needs_done if one.why == why), named)}: {why}" for why in reasons]
    return tuple(lines) or (AHEAD if step.order else NOTHING_FIRST,)


def _listed(steps: Iterable[NeededStep], with_names: bool) -> str:
    every = list(steps)
    if not with_names:
        return words.listed([str(one.number) for one in every])
    named = every if len(every) <= TOLD else every[-1:]
    more = f" and {len(every) - len(named)} more" if len(every) > len(named) else ""
    return ", ".join(f"{one.number} ({short_text(one.text)})" for one in named) + more


def short_text(text: str) -> str:
    """A step's words as far as they name it: up to the first stop, whole words.

    >>> short_text("Gearbox in on guide studs; it must close to the face by hand")
    'Gearbox in on guide studs'
    """
    first = re.split(r"[;:] |, ", text.removeprefix("Bench: "))[0]
    return first if len(first) <= SHORT else f"{first[:SHORT].rpartition(' ')[0]} ..."

"""The verdict in trade words: what kind of job this is, from the heaviest thing that the route does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from graph.answer import words
from graph.answer.capacity import exceeded, not_known
from graph.answer.conditions import is_settled
from graph.answer.evidence import level_of
from graph.answer.ground import Ground
from graph.answer.margins import HOLDS
from graph.answer.model.fit import (
    DIRECT,
    IMPOSSIBLE,
    MACHINING,
    MADE_SPECIALLY,
    NOT_ADVISABLE,
    UNKNOWN,
    VERDICTS,
    WITH_PARTS,
    CapacityLine,
    SideEffect,
)
from graph.answer.model.work import PartLine
from graph.answer.steps import MACHINING_LINK
from graph.conversion.document import Candidate, Link

NAMED = 4  # parts and operations in a summary
CONTRADICTED = "contradicted"
MADE = ("made", "made specially", "made to order", "made-specially", "made-to-order")


def heaviest(verdicts: Iterable[str]) -> str:
    """The one that stands last in VERDICTS; direct where there is none."""
    return max(verdicts, key=VERDICTS.index, default=DIRECT)


def of_link(ground: Ground, link: Link) -> str:
    """How this joint closes; a condition that nobody could settle makes it unknown, never a pass."""
    if link.assumed or not is_settled(ground, link):
        return UNKNOWN
    return _work_of_link(ground, link)


def of_route(ground: Ground, picked: Iterable[Candidate | Link]) -> str:
    """The heaviest work on the way. Open conditions are listed to confirm and do not hide it."""
    verdicts = []
    for choice in picked:
        if isinstance(choice, Link):
            verdicts.append(_work_of_link(ground, choice))
        elif not choice.as_found and not ground.is_empty(choice.id) and choice.id not in ground.bought_units:
            verdicts.append(_of_parts(ground, (choice.part,)))
        if level_of(ground, choice.id) == CONTRADICTED:
            verdicts.append(NOT_ADVISABLE)
    return heaviest(verdicts)


def with_doubts(
    work: str, effects: Iterable[SideEffect], torques: Iterable[CapacityLine] = (), against: Iterable[str] = ()
) -> str:
    """Not advisable over a torque capacity or `against` what was checked or measured; else unknown where the worst case
    of a dimension breaks its limit, and where all stays as it is but nobody knows whether it carries the torque."""
    if work in (NOT_ADVISABLE, IMPOSSIBLE):
        return work
    if exceeded(torques) or any(against):
        return NOT_ADVISABLE
    if work == DIRECT and not_known(torques):
        return UNKNOWN
    return UNKNOWN if any(effect.verdict != HOLDS for effect in effects) else work


def _work_of_link(ground: Ground, link: Link) -> str:
    if link.kind == MACHINING_LINK:
        return heaviest((MACHINING, _of_parts(ground, link.via)))
    if link.via:
        return _of_parts(ground, link.via)
    found = [ground.candidates[part] for part in link.parts]
    return DIRECT if all(c.as_found or ground.is_empty(c.id) for c in found) else WITH_PARTS


def _of_parts(ground: Ground, parts: tuple[str, ...]) -> str:
    known = (ground.catalogue.parts.get(part) for part in parts)
    if any(part and part.condition in MADE for part in known):
        return MADE_SPECIALLY
    return WITH_PARTS if parts else DIRECT


AS_IT_STANDS = "it goes straight on"  # only where the verdict is direct, which says that nothing is left to find out
NOTHING_TO_FIT = "nothing is known that must be fitted or machined"
IF_IT_HOLDS = "if what is assumed holds"


def summary(
    verdict: str, parts: Iterable[PartLine], picked: Iterable[Candidate | Link], provisional: bool,
    assumes: bool = False,
) -> str:  # fmt: skip
    """One line: the verdict, the dearest parts and the machining; "if ..." where a condition is open.

    `assumes`: something is taken for given, which stands in front.
    """
    dearest = sorted((part for part in parts if not part.is_unit), key=lambda part: -(part.price_hundredths or 0))
    things = [(part.label, "more part") for part in dearest]
    things += [(work, "more operation") for choice in picked if isinstance(choice, Link) for work in choice.operations]
    what = "; ".join(_named(things)) or (AS_IT_STANDS if verdict == DIRECT and not assumes else NOTHING_TO_FIT)
    first = IF_IT_HOLDS if assumes and verdict != NOT_ADVISABLE else verdict
    return f"{words.sentence(first)}: {what}" + (" (if what is to confirm holds)" if provisional else "")


def _named(things: list[tuple[str, str]]) -> list[str]:
    """The first few by name, and of the rest how many there are of each kind."""
    if len(things) <= NAMED:
        return [label for label, _ in things]
    rest = Counter(kind for _, kind in things[NAMED - 1 :])
    return [*(label for label, _ in things[: NAMED - 1]), *(words.counted(n, kind) for kind, n in rest.items())]

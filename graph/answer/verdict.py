"""The verdict in trade words: what kind of job this is, from the heaviest thing that the route does."""

from __future__ import annotations

from collections.abc import Iterable

from graph.answer import words
from graph.answer.conditions import is_settled
from graph.answer.evidence import level_of
from graph.answer.ground import Ground
from graph.answer.model import (
    DIRECT,
    MACHINING,
    MADE_SPECIALLY,
    NOT_ADVISABLE,
    UNKNOWN,
    VERDICTS,
    WITH_PARTS,
    Step,
)
from graph.answer.steps import MACHINING_LINK
from graph.conversion.document import Candidate, Link

CONTRADICTED = "contradicted"
MADE = ("made", "made specially", "made to order", "made-specially", "made-to-order")


def heaviest(verdicts: Iterable[str]) -> str:
    """The one that stands last in VERDICTS; direct where there is none."""
    return max(verdicts, key=VERDICTS.index, default=DIRECT)


def of_link(ground: Ground, link: Link) -> str:
    """How this joint closes; a condition that nobody could settle makes it unknown, never a pass."""
    if not is_settled(ground, link):
        return UNKNOWN
    return _work_of_link(ground, link)


def of_route(ground: Ground, picked: Iterable[Candidate | Link]) -> str:
    """The heaviest work on the way. Open conditions are listed to confirm and do not hide it."""
    verdicts = []
    for choice in picked:
        if isinstance(choice, Link):
            verdicts.append(_work_of_link(ground, choice))
        elif not choice.as_found and not ground.is_empty(choice.id):
            verdicts.append(_of_parts(ground, (choice.part,)))
        if level_of(ground, choice.id) == CONTRADICTED:
            verdicts.append(NOT_ADVISABLE)
    return heaviest(verdicts)


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


def summary(ground: Ground, verdict: str, steps: Iterable[Step], unsettled: bool) -> str:
    """One line: the verdict and what it takes.

    "machining: fit pilot bush; bore the case" and so on; "if what is to confirm holds" where a condition is open.
    """
    done = [step for step in steps if step.source_kind != "task" and not step.order]
    doing = [step.text[:1].lower() + step.text[1:] for step in done]
    what = "; ".join(doing) if doing else "it goes straight on"
    return f"{words.sentence(verdict)}: {what}" + (" (if what is to confirm holds)" if unsettled else "")

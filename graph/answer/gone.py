"""Parts in hand that no route can use, with the first cause: the joint that rules them out, not what follows."""

from __future__ import annotations

from collections.abc import Iterator

from graph.answer.ground import Ground
from graph.answer.model.answer import LeftOutLine, OpenLine
from graph.reading.model import CANNOT_CLOSE, DOES_NOT_FIT_HERE, RULED_OUT_BY_NOTE, RULED_OUT_BY_READING, LeftOut

INSTEAD = "another part in its place, or readings that say otherwise"
CAUSES = (DOES_NOT_FIT_HERE, RULED_OUT_BY_READING, RULED_OUT_BY_NOTE)


def own_and_gone(ground: Ground) -> tuple[LeftOutLine, ...]:
    """The parts in hand that close some joint with nothing that is left, each with what it does not fit there."""
    return tuple(LeftOutLine(part, where, words) for part, where, words in _gone(ground))


def open_first(ground: Ground) -> tuple[OpenLine, ...]:
    """The same as what stays open: it stands before what follows from it."""
    return tuple(
        OpenLine(part, "part", ground.part_label(part), words, "", None, INSTEAD)
        for part, _, words in _gone(ground)
    )  # fmt: skip


def _gone(ground: Ground) -> Iterator[tuple[str, str, str]]:
    if ground.reading is None:
        return
    own = set(ground.reading.question.own)
    for out in ground.reading.left_out:
        if out.reason == CANNOT_CLOSE and out.what in own:
            for joint, cause in _causes(ground, out):
                yield out.what, joint, f"{ground.part_label(out.what)}, in hand, is ruled out: {cause.text}"


def _causes(ground: Ground, gone: LeftOut) -> Iterator[tuple[str, LeftOut]]:
    """What was found of it at the joint that it cannot close, the first of each joint."""
    assert ground.reading is not None
    for joint in ground.catalogue.joint_kinds.values():
        if gone.where not in joint.between or f"close {joint.label} with" not in gone.text:
            continue
        here = (
            one for one in ground.reading.left_out
            if one.where == joint.id and one.reason in CAUSES and gone.what in one.what.split("+")
        )  # fmt: skip
        first = next(here, None)
        if first is not None:
            yield joint.id, first

"""What a step rests on: its notes, the weakest of them, and which statements are disputed."""

from __future__ import annotations

from collections.abc import Iterable

from graph.answer.ground import Ground
from graph.answer.model.answer import Dispute
from graph.answer.model.lines import NoteLine
from graph.catalogue.model import CONTAINS
from graph.conversion.document import Candidate, Link

UNRANKED = 99


def note_line(ground: Ground, note_id: str) -> NoteLine:
    """The note with its evidence level in words; a note that the catalogue lacks is named by its id alone."""
    note = ground.catalogue.notes.get(note_id)
    if note is None:
        return NoteLine(note_id, note_id, "", "")
    return NoteLine(
        note.id, note.text, note.evidence, level_words(ground, note.evidence),
        author=note.author, made_on=note.made_on, method=note.method, job=note.job,
    )  # fmt: skip


def notes_of(ground: Ground, choice_id: str) -> tuple[NoteLine, ...]:
    """The notes that a candidate or link rests on, its own and its edges', each once."""
    ids = dict.fromkeys((*ground.choice(choice_id).facts, *(e.note for e in ground.edges_of(choice_id) if e.note)))
    return tuple(note_line(ground, note_id) for note_id in ids)


def level_of(ground: Ground, choice_id: str) -> str:
    """The weakest evidence level that a choice rests on; "" where nothing is noted."""
    if ground.reading is not None and choice_id in ground.reading.evidence:
        return ground.reading.evidence[choice_id]
    return weakest(ground, (note.evidence for note in notes_of(ground, choice_id)))


def rank(ground: Ground, level: str) -> int:
    """1 is the best; a level that is not known ranks after all that are."""
    known = ground.catalogue.evidence_levels.get(level)
    return known.rank if known else UNRANKED


def weakest(ground: Ground, levels: Iterable[str]) -> str:
    """The weakest of the levels; "" (nothing noted) is weaker than all. A route is known as its worst statement."""
    return max(sorted(set(levels)), key=lambda level: rank(ground, level), default="")


def weakest_of(ground: Ground, choices: Iterable[Candidate | Link]) -> str:
    """The weakest level among the choices that claim anything: what stands as found or as assembled need not."""
    levels = []
    for choice in choices:
        level = level_of(ground, choice.id)
        if level or any(edge.kind != CONTAINS for edge in ground.edges_of(choice.id)):
            levels.append(level)
    return weakest(ground, levels)


def level_words(ground: Ground, level: str) -> str:
    """The level in words."""
    known = ground.catalogue.evidence_levels.get(level)
    return known.label if known else level or "nothing noted"


def disputes_about(ground: Ground, choice_ids: Iterable[str]) -> tuple[Dispute, ...]:
    """The reading's disputes that touch any of the choices, with the notes on both sides."""
    if ground.reading is None:
        return ()
    edges = {edge.id for choice in choice_ids for edge in ground.edges_of(choice)}
    found = []
    for dispute in ground.reading.disputes:
        sides = (*dispute.edges_for, *dispute.edges_against)
        if edges.intersection(sides):
            known = (ground.catalogue.edges.get(edge) for edge in sides)
            ids = dict.fromkeys(edge.note for edge in known if edge and edge.note)
            notes = tuple(note_line(ground, note) for note in ids)
            found.append(Dispute(dispute.joint, dispute.text, notes))
    return tuple(found)

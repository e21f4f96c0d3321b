"""What a step rests on: its notes, the weakest of them, and which statements are disputed."""

from __future__ import annotations

from collections.abc import Iterable

from graph.answer.ground import Ground
from graph.answer.model import Dispute, NoteLine
from graph.catalogue.model import DOES_NOT_FIT, MATING_KINDS, Edge

UNRANKED = 99
CONTRADICTED = "contradicted"


def note_line(ground: Ground, note_id: str) -> NoteLine:
    """The note with its evidence level in words; a note that the catalogue lacks is named by its id alone."""
    note = ground.catalogue.notes.get(note_id)
    if note is None:
        return NoteLine(note_id, note_id, "", "")
    level = ground.catalogue.evidence_levels.get(note.evidence)
    return NoteLine(
        note.id, note.text, note.evidence, level.label if level else note.evidence,
        author=note.author, made_on=note.made_on, method=note.method, job=note.job,
    )  # fmt: skip


def notes_of(ground: Ground, choice_id: str) -> tuple[NoteLine, ...]:
    """The notes that a candidate or link rests on, its own and its edges', each once."""
    ids = dict.fromkeys((*ground.choice(choice_id).facts, *(e.note for e in ground.edges_of(choice_id) if e.note)))
    return tuple(note_line(ground, note_id) for note_id in ids)


def rank(ground: Ground, level: str) -> int:
    """1 is the best; a level that is not known ranks after all that are."""
    known = ground.catalogue.evidence_levels.get(level)
    return known.rank if known else UNRANKED


def levels_of(ground: Ground, choice_id: str, notes: Iterable[NoteLine]) -> tuple[str, ...]:
    """The evidence levels behind a choice: of its edges where they say, else of their notes."""
    stated = [edge.evidence for edge in ground.edges_of(choice_id) if edge.evidence]
    return tuple(stated) or tuple(note.evidence for note in notes if note.evidence)


def weakest(ground: Ground, levels: Iterable[str]) -> str:
    """The weakest of the levels, or "" if there is none: a route is known no better than its worst statement."""
    return max(sorted(set(levels)), key=lambda level: rank(ground, level), default="")


def level_words(ground: Ground, level: str) -> str:
    """The level in words."""
    known = ground.catalogue.evidence_levels.get(level)
    return known.label if known else level or "nothing noted"


def _statement(edge: Edge) -> tuple[frozenset[str], str]:
    return frozenset({edge.source, edge.target}), edge.joint


def _by_statement(ground: Ground) -> dict[tuple[frozenset[str], str], list[Edge]]:
    said: dict[tuple[frozenset[str], str], list[Edge]] = {}
    for edge in ground.catalogue.edges.values():
        if edge.kind in MATING_KINDS or edge.kind == DOES_NOT_FIT:
            said.setdefault(_statement(edge), []).append(edge)
    return said


def disputes_about(ground: Ground, choice_ids: Iterable[str]) -> dict[str, Dispute]:
    """Per choice, the dispute about it: someone says it fits, someone else that it does not."""
    touched = {choice_id: ground.edges_of(choice_id) for choice_id in choice_ids}
    if not any(touched.values()):
        return {}
    said = _by_statement(ground)
    found: dict[str, Dispute] = {}
    for choice_id, edges in touched.items():
        for edge in edges:
            rivals = [e for e in said.get(_statement(edge), ()) if (e.kind == DOES_NOT_FIT) != (edge.kind == DOES_NOT_FIT)]
            if rivals and edge.kind in (*MATING_KINDS, DOES_NOT_FIT):
                found[choice_id] = _dispute(ground, edge, rivals)
            elif edge.evidence == CONTRADICTED:
                found[choice_id] = Dispute(edge.id, f"{_pair(ground, edge)}: contradicted", notes_of(ground, choice_id))
    return found


def _pair(ground: Ground, edge: Edge) -> str:
    joint = ground.catalogue.joint_kinds.get(edge.joint)
    where = f" at {joint.label}" if joint else ""
    return f"{ground.part_label(edge.source)} and {ground.part_label(edge.target)}{where}"


def _dispute(ground: Ground, edge: Edge, rivals: list[Edge]) -> Dispute:
    against = "; ".join(rival.reason or f"noted as {rival.kind.replace('-', ' ')}" for rival in rivals)
    words = f"{_pair(ground, edge)}: one note says {edge.kind.replace('-', ' ')}, another contradicts it ({against})"
    ids = dict.fromkeys(e.note for e in (edge, *rivals) if e.note)
    return Dispute(edge.id, words, tuple(note_line(ground, note_id) for note_id in ids))

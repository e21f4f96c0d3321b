"""What a note is about to say of two parts though it is stated already: by whom, and how that is known."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from graph.catalogue.model import REQUIRES_MACHINING, Catalogue, Edge
from graph.lookups.index import CatalogueIndex
from graph.notes.form import NoteForm, understood
from graph.notes.relations import AT_A_JOINT

_NOTE_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}$")


@dataclass(frozen=True, slots=True)
class StatedBefore:
    """One earlier statement: who says so, how it is known and when, in words. `note`: its id, where it has one."""

    who: str
    evidence: str
    day: str
    note: str


def stated_before(form: NoteForm, index: CatalogueIndex) -> tuple[StatedBefore, ...]:
    """What says the same of the same two parts at the same joint; raises Doubt where the form is not complete."""
    if form.relation not in AT_A_JOINT or form.again:
        return ()
    read = understood(form, index)
    assert read.a is not None and read.b is not None
    work = tuple(line.strip() for line in form.work.splitlines() if line.strip())
    return tuple(
        _told(index.catalogue, edge)
        for edge in index.edges_between(read.a.id, read.b.id, read.joint)
        if edge.kind == form.relation and (edge.kind != REQUIRES_MACHINING or edge.operations == work)
    )


def _told(known: Catalogue, edge: Edge) -> StatedBefore:
    note, level = known.notes.get(edge.note), known.evidence_levels.get(edge.evidence)
    found = _NOTE_ID.search(edge.note)
    return StatedBefore(
        (note.author if note else "") or "the fact files", level.label if level else "nothing said of how it is known",
        note.made_on[:10] if note else "", found[0] if found else "",
    )  # fmt: skip


def words_of(stated: tuple[StatedBefore, ...], confirm: str = "tick that this one confirms it") -> str:
    """The earlier statements as one sentence, with what can be done; `confirm`: how to say it once more."""
    return f"this is stated already, by {'; '.join(_said(stated))}. Revise that note, or {confirm}"


def _said(stated: tuple[StatedBefore, ...]) -> Iterator[str]:
    for one in stated:
        yield f"{one.who} ({', '.join(filter(None, (one.evidence, one.day)))})"

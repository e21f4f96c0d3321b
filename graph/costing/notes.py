"""What the shop learns about cost, as notes: appended, never edited, taken back by a further note.

A note says what it is about, who says so, when, how it is known and on which job. Notes that belong together (one
price list, one job's closing) share a batch and are taken back together. `standing` is all that still holds.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Protocol

from graph.errors import Conflict, NotFound

PRICE, STOCK, RATE, SUBLET, TAX = "price", "stock", "rate", "sublet", "tax"
JOB, JOB_ENTRY, FINDING, HOURS, EVIDENCE = "job", "job entry", "finding", "hours", "evidence"
PLAN = "plan"  # the answer that a job was planned on
RETRACTION = "retraction"
# Those that change an answer; what is noted on an open job does not.
READ_BY_ANSWERS = (PRICE, STOCK, RATE, SUBLET, FINDING, HOURS, EVIDENCE, RETRACTION)
KINDS = (PRICE, STOCK, RATE, SUBLET, TAX, JOB, PLAN, JOB_ENTRY, FINDING, HOURS, EVIDENCE, RETRACTION)


@dataclass(frozen=True, slots=True, kw_only=True)
class CostNote:
    """One note. `about`: the part, fault, operation, edge or job it speaks of; `body`: plain JSON values.

    `made_on`: ISO 8601 with offset. `evidence`: the id of an evidence level. `retracts`: the batch taken back.
    """

    id: str
    kind: str
    about: str
    body: Mapping[str, object] = field(default_factory=dict)
    made_on: str = ""
    author: str = ""
    method: str = ""
    evidence: str = ""
    job: str = ""
    batch: str = ""
    retracts: str = ""


@dataclass(frozen=True, slots=True)
class Provenance:
    """Who notes something, how and when; copied onto every note of a batch."""

    author: str
    method: str = ""
    made_on: str = ""
    job: str = ""

    @property
    def when(self) -> str:
        """The given time, else now, ISO 8601 in UTC."""
        return self.made_on or datetime.now(UTC).isoformat(timespec="seconds")


class CostNotes(Protocol):
    """Where notes are kept. Appending is all or nothing."""

    def append(self, notes: Sequence[CostNote]) -> None:
        """Keep all of them, or none: raises Conflict if an id is taken, StoreProblem if the disk refused."""

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """Every note that was ever kept, oldest first, retracted ones and retractions included."""

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        """Every note of these kinds kept after a position, oldest first, and the position that they reach to."""

    def position(self, kinds: Sequence[str] = ()) -> int:
        """Grows whenever something (of these kinds) is kept; the same number means that nothing has changed."""


class MemoryNotes:
    """Notes in memory, for tests and one-off questions."""

    def __init__(self, notes: Iterable[CostNote] = ()):
        self._notes: list[CostNote] = list(notes)

    def append(self, notes: Sequence[CostNote]) -> None:
        """See CostNotes."""
        taken = {note.id for note in self._notes}
        for note in notes:
            if note.id in taken:
                raise Conflict(f"a note with the id {note.id!r} is there already")
            taken.add(note.id)
        self._notes.extend(notes)

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """See CostNotes."""
        wanted = {"kind": kind, "about": about, "job": job, "batch": batch}
        asked = [(name, value) for name, value in wanted.items() if value]
        return [note for note in self._notes if all(getattr(note, name) == value for name, value in asked)]

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        """See CostNotes."""
        return [note for note in self._notes[position:] if note.kind in kinds], len(self._notes)

    def position(self, kinds: Sequence[str] = ()) -> int:
        """See CostNotes."""
        return max((at for at, note in enumerate(self._notes, 1) if not kinds or note.kind in kinds), default=0)


def new_id(kind: str) -> str:
    """A fresh id that no other shop will make."""
    return f"{kind.replace(' ', '-')}-{uuid.uuid4()}"


def made_note(
    kind: str, about: str, body: Mapping[str, object], provenance: Provenance, batch: str = "", evidence: str = ""
) -> CostNote:
    """A new note. `batch`: the one that it is taken back with; none: it is one by itself."""
    name = new_id(kind)
    return CostNote(
        id=name, kind=kind, about=about, body=dict(body), made_on=provenance.when, author=provenance.author,
        method=provenance.method, evidence=evidence, job=provenance.job, batch=batch or name,
    )  # fmt: skip


def standing(notes: CostNotes, *, kind: str, about: str = "", job: str = "") -> list[CostNote]:
    """The notes of a kind that have not been taken back, oldest first."""
    gone = {note.retracts for note in notes.list_notes(kind=RETRACTION)}
    return [note for note in notes.list_notes(kind=kind, about=about, job=job) if not {note.id, note.batch} & gone]


def retraction(notes: CostNotes, batch: str, provenance: Provenance, reason: str = "") -> CostNote:
    """The note that takes a batch back. Raises NotFound for no such batch, Conflict if it is taken back already."""
    known = notes.list_notes(batch=batch)
    if not known:
        batches = sorted({note.batch for note in notes.list_notes() if note.batch})
        raise NotFound("batch", batch, batches[-5:])
    if any(note.retracts == batch for note in notes.list_notes(kind=RETRACTION)):
        raise Conflict(f"the batch {batch!r} was taken back already")
    return CostNote(
        id=new_id(RETRACTION), kind=RETRACTION, about=batch, body={"reason": reason, "notes": len(known)},
        made_on=provenance.when, author=provenance.author, method=provenance.method, retracts=batch, job=known[0].job,
    )  # fmt: skip

"""Cost notes that speak in the shop's ledger as well: every closing and look back becomes a readable note there.

The cost notes keep the numbers; the ledger keeps, in its hash chain, who closed which job, what was found, how long
it took and how well it is known, found again by text and by job. Taking a batch back takes its ledger note back.
"""

from __future__ import annotations

from collections.abc import Sequence

from graph.costing.notes import EVIDENCE, FINDING, HOURS, JOB_ENTRY, RETRACTION, STOCK, CostNote, CostNotes, Provenance
from graph.costing.notes import retraction as retraction_of
from graph.errors import LayshaftError
from graph.ledger.book import Ledger
from graph.ledger.identity import id_for
from graph.ledger.record import Draft

MEASURED = "measured-on-these-parts"
MOST_LINES = 200


class MirroredNotes:
    """CostNotes that mirror what jobs teach into a ledger. See `graph.costing.notes.CostNotes`."""

    def __init__(self, notes: CostNotes, ledger: Ledger):
        self.notes, self.ledger = notes, ledger

    def append(self, notes: Sequence[CostNote]) -> None:
        """Keeps the notes, then their ledger notes; if the ledger refuses, the notes are taken back again."""
        self.notes.append(notes)
        try:
            self._mirror(notes)
        except LayshaftError:
            for batch in dict.fromkeys(note.batch for note in notes if note.batch):
                said = Provenance(notes[0].author or "program", "ledger refused")
                self.notes.append([retraction_of(self.notes, batch, said, "the ledger refused its note")])
            raise

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """See CostNotes."""
        return self.notes.list_notes(kind=kind, about=about, job=job, batch=batch)

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        """See CostNotes."""
        return self.notes.list_since(position, kinds)

    def position(self, kinds: Sequence[str] = ()) -> int:
        """See CostNotes."""
        return self.notes.position(kinds)

    def _mirror(self, notes: Sequence[CostNote]) -> None:
        batches: dict[str, list[CostNote]] = {}
        for note in notes:
            if note.kind == RETRACTION:
                self._take_back(note)
            elif note.batch:
                batches.setdefault(note.batch, []).append(note)
        drafts = [(id_for(batch), draft) for batch, held in batches.items() if (draft := draft_of_batch(held))]
        if drafts:
            self.ledger.append_all(drafts)

    def _take_back(self, note: CostNote) -> None:
        held = self.notes.list_notes(batch=note.retracts)
        if draft_of_batch(held) is not None:
            reason = str(note.body.get("reason") or "taken back")
            said = Draft(text=reason, author=note.author, evidence=MEASURED, job=note.job, made_at=note.made_on)
            self.ledger.retract(id_for(note.retracts), 1, said)


def draft_of_batch(notes: Sequence[CostNote]) -> Draft | None:
    """The ledger note of a closing or a look back; None for any other batch."""
    ends = [note for note in notes if note.kind == JOB_ENTRY and note.body.get("entry") in ("closed", "follow-up")]
    if not ends:
        return None
    end = ends[0]
    lines = [_end_words(end), *(_words(note) for note in notes if note is not end)]
    levels = [note.evidence for note in notes if note.kind == EVIDENCE and note.evidence]
    text = "\n".join(lines[:MOST_LINES])
    return Draft(
        text=text, author=end.author or "shop", evidence=levels[0] if levels else MEASURED, method=end.method,
        job=end.job, made_at=end.made_on,
    )  # fmt: skip


def _end_words(note: CostNote) -> str:
    body = note.body
    if body["entry"] == "closed":
        return f"Job {note.job} closed: {body['outcome']}."
    state = "good" if body["good"] is True else "not good"
    return f"Job {note.job} after {body['months']} months: {state}. {body.get('words', '')}".rstrip()


def _words(note: CostNote) -> str:
    body = note.body
    if note.kind == FINDING:
        state = "not laid open" if body["laid_open"] is not True else "worn" if body["worn"] is True else "sound"
        return f"{note.about}: {state}."
    if note.kind == HOURS:
        actual, planned = int(str(body["actual_hundredths"])) / 100, int(str(body["planned_hundredths"])) / 100
        return f"{note.about}: {actual:.2f} h, {planned:.2f} h by the book."
    if note.kind == STOCK:
        place = f" at {body['place']}" if body["place"] else ""
        return f"{note.about}: {body['taken']} taken off the shelf{place}."
    return f"{note.about}: {note.evidence.replace('-', ' ')}."

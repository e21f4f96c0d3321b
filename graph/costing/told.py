"""What a batch of cost notes says in the shop's ledger: every closing and look back is a readable note there as well.

The notes of cost keep the numbers; the readable note tells who closed which job, what was found, how long it took and
how well it is known, and is found again by text and by job. Both are written in one transaction, see store.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from graph.costing.notes import EVIDENCE, FINDING, HOURS, JOB_ENTRY, STOCK, CostNote
from graph.ledger.drafts import MAX_TEXT
from graph.ledger.record import Draft

MEASURED = "measured-on-these-parts"
_ROOM = 40  # characters for how many lines were left out
_SAID_OF_ONE = 3


def drafts_of_batches(notes: Sequence[CostNote]) -> dict[str, Draft]:
    """The ledger notes of the closings and looks back among the notes, by batch."""
    batches: dict[str, list[CostNote]] = {}
    for note in notes:
        if note.batch:
            batches.setdefault(note.batch, []).append(note)
    found = {batch: draft_of_batch(held) for batch, held in batches.items()}
    return {batch: draft for batch, draft in found.items() if draft is not None}


def draft_of_batch(notes: Sequence[CostNote]) -> Draft | None:
    """The ledger note of a closing or a look back; None for any other batch."""
    ends = [note for note in notes if note.kind == JOB_ENTRY and note.body.get("entry") in ("closed", "follow-up")]
    if not ends:
        return None
    end = ends[0]
    lines = [_end_words(end), *(_words(note) for note in notes if note is not end)]
    levels = [note.evidence for note in notes if note.kind == EVIDENCE and note.evidence]
    return Draft(
        text=_fitting(lines), author=end.author or "shop", evidence=levels[0] if levels else MEASURED,
        method=end.method, job=end.job, made_at=end.made_on,
    )  # fmt: skip


def draft_of_retraction(note: CostNote) -> Draft:
    """Why the ledger note of a batch is taken back, from the note of cost that takes the batch back."""
    reason = str(note.body.get("reason") or "taken back")
    return Draft(text=reason, author=note.author, evidence=MEASURED, job=note.job, made_at=note.made_on)


def line_of(notes: Sequence[CostNote], prefix: str = "") -> Draft:
    """The words of the line that vouches for the notes. `prefix`: what is special about it."""
    first = notes[0]
    kinds: dict[str, int] = {}
    for note in notes:
        kinds[note.kind] = kinds.get(note.kind, 0) + 1
    counted = ", ".join(f"{count} x {kind}" for kind, count in kinds.items())
    named = first.batch or first.retracts or first.id
    about = ", ".join(note.about for note in notes[:_SAID_OF_ONE]) + (", …" if len(notes) > _SAID_OF_ONE else "")
    return Draft(
        text=f"{prefix}{counted}: {about} ({named})", author=_common(note.author for note in notes),
        method=_common(note.method for note in notes), job=_common(note.job for note in notes), made_at=first.made_on,
    )  # fmt: skip


def _common(words: Iterable[str]) -> str:
    found = set(words)
    return found.pop() if len(found) == 1 else ""


def _fitting(lines: Sequence[str]) -> str:
    """As many whole lines as a note's text holds."""
    kept, size = 0, 0
    while kept < len(lines) and size + len(lines[kept]) + 1 <= MAX_TEXT - _ROOM:
        size += len(lines[kept]) + 1
        kept += 1
    left = len(lines) - kept
    return "\n".join([*lines[:kept], *([f"… and {left} more"] if left else [])])


def _end_words(note: CostNote) -> str:
    body = note.body
    if body["entry"] == "closed":
        return f"Job {note.job} closed: {body['outcome']}."
    state = "good" if body["good"] is True else "not good"
    return f"Job {note.job} after {body['months']} months: {state}. {body.get('words', '')}".rstrip()


def _words(note: CostNote) -> str:
    body, named = note.body, note.body.get("label") or note.about
    if note.kind == FINDING:
        failed, held = ("does not hold", "holds") if note.about.startswith("joint/") else ("worn", "sound")
        state = "not laid open" if body["laid_open"] is not True else failed if body["worn"] is True else held
        return f"{named}: {state}."
    if note.kind == HOURS:
        actual, planned = int(str(body["actual_hundredths"])) / 100, int(str(body["planned_hundredths"])) / 100
        return f"{named}: {actual:.2f} h, {planned:.2f} h by the book."
    if note.kind == STOCK:
        place = f" at {body['place']}" if body["place"] else ""
        return f"{named}: {body['taken']} taken off the shelf{place}."
    return f"{named}: {note.evidence.replace('-', ' ')}."

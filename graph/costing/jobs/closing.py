"""Closing a job teaches the shop, and so does looking back at it: findings, hours, evidence of its edges, the shelf.

Closing makes one batch of notes, so that reopening is one retraction and leaves no trace in odds, hours or evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from graph.costing.hours import HoursRecord
from graph.costing.jobs.entries import DOUBT, check_open, job_entry
from graph.costing.jobs.job import DONE_WELL, OUTCOMES, Job
from graph.costing.notes import (
    EVIDENCE,
    FINDING,
    HOURS,
    STOCK,
    CostNote,
    CostNotes,
    Provenance,
    new_id,
    retraction,
    standing,
)
from graph.costing.prices import StockItem
from graph.costing.shelf import parts_used, takings
from graph.errors import Conflict, InvalidInput, Problem

DONE, DONE_AND_LASTED, CONTRADICTED = "done-without-follow-up", "done-and-came-back-good", "contradicted"
LASTED_AFTER_MONTHS = 6  # common practice: half a year of use before "lasted" is said


def close_job(job: Job, outcome: str, provenance: Provenance, shelf: Sequence[StockItem] = ()) -> list[CostNote]:
    """The batch of notes that closing makes. `outcome`: done, or abandoned (which teaches odds and hours only).

    `shelf`: as it stands; what a job that is done has used is taken off it. Raises Conflict for a job that is halted
    and is to be done.
    """
    check_open(job)
    if outcome not in OUTCOMES:
        raise InvalidInput([Problem("outcome", f"expected one of {', '.join(OUTCOMES)}, found {outcome!r}")])
    if outcome == DONE_WELL and job.stop:
        raise Conflict(f"job {job.id!r} is halted; let it go on, with what was decided, before it is closed as done")
    batch = new_id("closing")
    closed = job_entry(job, {"entry": "closed", "outcome": outcome}, provenance, batch)
    learnt = [*_finding_notes(job), *_hours_notes(job)]
    if outcome == DONE_WELL:
        learnt += [(EVIDENCE, edge, {"outcome": outcome}, DONE) for edge in job.edges]
        used = parts_used(job.from_shelf, [(built.position, built.part) for built in job.as_built])
        learnt += [(STOCK, part, body, "") for part, body in takings(used, shelf)]
    return [closed, *_batch(job, learnt, provenance, batch)]


def reopen(notes: CostNotes, job: Job, provenance: Provenance, reason: str) -> CostNote:
    """The note that takes a job's closing back, so that what was noted wrong can be put right and the job closed again.

    What it taught (hours, findings, evidence) and took off the shelf goes with the closing; looks back stay, since the
    car was seen. Raises Conflict for a job that is open, InvalidInput without a reason.
    """
    if not job.closing:
        raise Conflict(f"job {job.id!r} is open: note on it, or take an entry back")
    if not reason.strip():
        raise InvalidInput(
            [Problem("reason", "say why it is opened again, such as: hours of step 3 were those of step 4")]
        )
    return retraction(notes, job.closing, provenance, reason)


def follow_up(job: Job, months: int, good: bool, provenance: Provenance, words: str = "") -> list[CostNote]:
    """The batch of notes of a look back. Good after half a year: done and lasted. Bad: the edges are contradicted,
    until a good look back settles it, however soon.

    Raises Conflict for a job that is not closed as done.
    """
    if job.outcome != DONE_WELL:
        raise Conflict(f"job {job.id!r} is not closed as done; close it before looking back")
    if months < 0:
        raise InvalidInput([Problem("months", f"expected 0 or more, found {months}")])
    batch = new_id("follow-up")
    body = {"entry": "follow-up", "months": months, "good": good, "words": words}
    looked = job_entry(job, body, provenance, batch)
    settled = DONE if job.follow_ups and not job.follow_ups[-1][1] else ""
    level = CONTRADICTED if not good else DONE_AND_LASTED if months >= LASTED_AFTER_MONTHS else settled
    said = {"months": months, "good": good, "words": words}
    learnt = [(EVIDENCE, edge, said, level) for edge in job.edges] if level else []
    return [looked, *_batch(job, learnt, provenance, batch)]


def hours_records(notes: CostNotes) -> list[HoursRecord]:
    """Planned against actual of every closed job."""
    return [hours_of(note) for note in standing(notes, kind=HOURS)]


def hours_of(note: CostNote) -> HoursRecord:
    """Planned against actual hours of one operation of a closed job."""
    planned, actual = (int(str(note.body[name])) for name in ("planned_hundredths", "actual_hundredths"))
    return HoursRecord(note.about, planned, actual, note.job)


_Learnt = tuple[str, str, Mapping[str, object], str]


def _finding_notes(job: Job) -> list[_Learnt]:
    """Of what the route assumed, each finding is one of such joints; what belongs to none teaches nothing."""
    last, doubts = {finding.fault: finding for finding in job.findings}, job.doubts or {}
    taught = {
        fault: doubts[fault].counts_as if fault in doubts else "" if fault.startswith(DOUBT) else fault
        for fault in last
    }
    return [
        (FINDING, taught[fault], {
            "laid_open": found.laid_open, "worn": found.worn, **({"signs": dict(found.signs)} if found.signs else {}),
        }, "measured-on-these-parts")
        for fault, found in last.items() if taught[fault]
    ]  # fmt: skip


def _hours_notes(job: Job) -> list[_Learnt]:
    return [
        (HOURS, each.operation, {
            "planned_hundredths": each.planned_hundredths, "actual_hundredths": each.actual_hundredths,
        }, "measured-on-these-parts")
        for each in job.hours_records
    ]  # fmt: skip


def _batch(job: Job, learnt: Iterable[_Learnt], provenance: Provenance, batch: str) -> list[CostNote]:
    return [
        CostNote(
            id=f"{batch}-{number}", kind=kind, about=about, body=dict(body), made_on=provenance.when,
            author=provenance.author, method=provenance.method, evidence=evidence, job=job.id, batch=batch,
        )
        for number, (kind, about, body, evidence) in enumerate(learnt, start=1)
    ]  # fmt: skip

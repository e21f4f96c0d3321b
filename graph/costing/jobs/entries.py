"""What is noted on a job while it is open, entry by entry; how one is taken back, and what it says in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from graph.costing.jobs.job import AsBuilt, Job, JobMeasurement
from graph.costing.notes import JOB_ENTRY, CostNote, CostNotes, Provenance, made_note, retraction
from graph.errors import Closed, InvalidInput, NotFound, Problem
from graph.exact import HUNDREDTHS, NotExact, scaled
from graph.fits.quantity import quantity_of

DOUBT = "doubt/"  # how the ids of what a route assumes begin
FOUND_OF_FAULTS, FOUND_OF_DOUBTS = ("worn", "sound"), ("does not hold", "holds")


def hours_entry(job: Job, step: int, hours: object, provenance: Provenance) -> CostNote:
    """Hours worked on a step; several entries add up."""
    check_open(job)
    if step not in {each.number for each in job.steps}:
        raise NotFound("step", str(step), [str(each.number) for each in job.steps][:5])
    try:
        worked = scaled(hours, HUNDREDTHS)
    except NotExact as fault:
        raise InvalidInput([Problem("hours", str(fault))]) from None
    if not 0 < worked <= 1000 * HUNDREDTHS:
        raise InvalidInput([Problem("hours", f"expected above 0 and at most 1000, found {hours}")])
    return job_entry(job, {"entry": "hours", "step": step, "hours_hundredths": worked}, provenance)


def finding_entry(
    job: Job, fault: str, laid_open: bool, worn: bool, provenance: Provenance, words: str = "",
    signs: Mapping[str, str] | None = None,
) -> CostNote:  # fmt: skip
    """What was found of a fault, or of what the route assumed: `worn`, it does not hold. Worn without having been laid
    open is refused: nobody has seen it.

    `signs`: known before opening (sign -> state), besides those that the job was planned with; a box opened because of
    one does not count as a plain draw.
    """
    check_open(job)
    if worn and not laid_open:
        raise InvalidInput([Problem(fault, "worn, but not laid open: say that it was opened, or leave it as not seen")])
    body: dict[str, object] = {"entry": "finding", "fault": fault, "laid_open": laid_open, "worn": worn, "words": words}
    known = {**(job.signs or {}), **(signs or {})}
    if known:
        body["signs"] = known
    return job_entry(job, body, provenance)


def measurement_entry(job: Job, measured: JobMeasurement, provenance: Provenance) -> CostNote:
    """A measurement, its unit given. Raises InvalidInput for a reading without one."""
    check_open(job)
    quantity_of(measured.reading, path=measured.what)
    body = {
        "entry": "measurement", "what": measured.what, "reading": measured.reading, "datum": measured.datum,
        "tool": measured.tool, "by": measured.by,
    }  # fmt: skip
    return job_entry(job, body, provenance)


def as_built_entry(job: Job, built: AsBuilt, provenance: Provenance) -> CostNote:
    """What was fitted at a position; the newest entry of a position holds."""
    check_open(job)
    body = {
        "entry": "as built", "position": built.position, "part": built.part, "condition": built.condition,
        "remark": built.remark,
    }  # fmt: skip
    return job_entry(job, body, provenance)


def remark_entry(job: Job, words: str, provenance: Provenance) -> CostNote:
    """A remark."""
    check_open(job)
    return job_entry(job, {"entry": "remark", "words": words}, provenance)


def take_entry_back(notes: CostNotes, job: Job, entry: str, provenance: Provenance, reason: str = "") -> CostNote:
    """The note that takes one entry of an open job back. Raises NotFound for the entry, Conflict for a closed job."""
    check_open(job)
    own = [note.id for note in job.noted if note.batch == note.id]
    if entry not in own:
        raise NotFound("entry of the job", entry, own[-5:])
    return retraction(notes, entry, provenance, reason)


def words_of_entry(note: CostNote, names: Mapping[str, str] | None = None) -> str:
    """What an entry says, in one line. `names`: for the ids that it speaks of, which else stand as they are."""
    body = note.body

    def named(field: str) -> str:
        return (names or {}).get(str(body[field]), str(body[field]))

    match body["entry"]:
        case "hours":
            return f"step {body['step']}: {int(str(body['hours_hundredths'])) / HUNDREDTHS:.2f} h"
        case "finding":
            failed, held = FOUND_OF_DOUBTS if str(body["fault"]).startswith(DOUBT) else FOUND_OF_FAULTS
            state = failed if body["worn"] is True else held
            return f"{named('fault')}: {state if body['laid_open'] is True else 'not laid open'}"
        case "measurement":
            return f"{body['what']}: {body['reading']}"
        case "as built":
            return f"{named('position')}: {named('part')}"
        case "follow-up":
            return f"looked at after {body['months']} months: {'good' if body['good'] is True else 'not good'}"
        case "closed":
            return f"closed: {body['outcome']}"
        case "halt":
            where = f"halted: {named('stop')}" if body["stop"] else "goes on"
            return f"{where}: {body['words']}" if body.get("words") else where
    return str(body.get("words", ""))


def job_entry(job: Job, body: Mapping[str, object], provenance: Provenance, batch: str = "") -> CostNote:
    """The note of one entry of the job."""
    return made_note(JOB_ENTRY, job.id, body, replace(provenance, job=job.id), batch)


def check_open(job: Job) -> None:
    """Raises Closed for a job that nothing can be added to."""
    if job.closing:
        raise Closed(f"job {job.id!r} is closed ({job.outcome}); reopen it to change it")

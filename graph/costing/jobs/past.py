"""What the shop did before: jobs by words, pair and state; last time for two units: hours, findings, did it last."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from graph.answer.words import hours, listed
from graph.catalogue.model import Catalogue
from graph.catalogue.near import near_matches
from graph.costing.jobs.job import Job, list_jobs
from graph.costing.jobs.stops import stop_label
from graph.costing.known_names import KnownNames
from graph.costing.notes import CostNotes
from graph.errors import NotFound
from graph.lookups.index import CatalogueIndex

SAME, ALIKE = "the same two", "of the same families"
MOST_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFilter:
    """Which jobs are wanted; an empty field wants all. `words`: all of them, anywhere in what the job says."""

    words: str = ""
    gearbox: str = ""
    engine: str = ""
    only_open: bool = False


@dataclass(frozen=True, slots=True)
class PastJob:
    """A job as the next one wants to know it. `near`: whether it was the same two units, or of the same families."""

    id: str
    title: str
    near: str
    state: str
    took: str
    found: tuple[str, ...]
    lasted: str
    remarks: tuple[str, ...]


def find_jobs(notes: CostNotes, index: CatalogueIndex, wanted: JobFilter) -> list[Job]:
    """The jobs that match, newest first. Raises NotFound for a gearbox or engine that neither facts nor jobs know."""
    known = list_jobs(notes)
    for what, unit in (("gearbox", wanted.gearbox), ("engine", wanted.engine)):
        _check_known(index, known, what, unit)
    sought = wanted.words.casefold().split()

    def matches(job: Job) -> bool:
        if wanted.only_open and job.outcome:
            return False
        pairs = ((wanted.gearbox, job.gearbox), (wanted.engine, job.engine))
        if any(unit and not _is_kin(index, unit, own) for unit, own in pairs):
            return False
        text = _text_of(job, index.catalogue).casefold() if sought else ""
        return all(word in text for word in sought)

    return [job for job in reversed(known) if matches(job)]


def _check_known(index: CatalogueIndex, jobs: Sequence[Job], what: str, unit: str) -> None:
    if unit and unit not in index.catalogue.parts and unit not in {getattr(job, what) for job in jobs}:
        raise NotFound(what, unit, near_matches(unit, index.units(what)))


def last_times(notes: CostNotes, index: CatalogueIndex, names: KnownNames, gearbox: str, engine: str) -> list[PastJob]:
    """Earlier jobs of the two units, then of their families, newest first."""
    found = [
        (job, SAME if (job.gearbox, job.engine) == (gearbox, engine) else ALIKE)
        for job in find_jobs(notes, index, JobFilter(gearbox=gearbox, engine=engine))
    ]
    ordered = sorted(found, key=lambda pair: pair[1] != SAME)
    return [_past(job, near, names) for job, near in ordered[:MOST_SHOWN]]


def _is_kin(index: CatalogueIndex, one: str, other: str) -> bool:
    """Whether both are the same unit, or of one family."""
    return bool(set(index.lineage(one)) & set(index.lineage(other)))


def _text_of(job: Job, known: Catalogue) -> str:
    units = (known.parts[one].label for one in (job.gearbox, job.engine) if one in known.parts)
    said = (str(note.body.get("words", "")) for note in job.noted)
    built = (known.parts[one.part].label for one in job.as_built if one.part in known.parts)
    measured = (f"{one.what} {one.reading}" for one in job.measurements)
    steps = (step.text for step in job.steps)
    return "\n".join((job.id, job.title, job.gearbox, job.engine, *units, *said, *built, *measured, *steps))


def state_words(job: Job) -> str:
    """How the job stands: closed how, halted where, or open."""
    if job.outcome:
        return job.outcome
    return f"halted: {stop_label(job.stop).casefold()}" if job.stop else "open"


def _past(job: Job, near: str, names: KnownNames) -> PastJob:
    return PastJob(
        job.id, job.title, near, state_words(job), _took(job), tuple(_found(job, names)), lasted_words(job.follow_ups),
        job.remarks,
    )  # fmt: skip


def _took(job: Job) -> str:
    planned = sum(step.hours_hundredths for step in job.steps)
    noted = job.actual_hundredths or {}
    if not noted:
        return f"planned {hours(planned)}; no hours were noted"
    beside = sum(step.hours_hundredths for step in job.steps if step.number in noted)
    return f"took {hours(sum(noted.values()))} where {hours(beside)} were planned, of {hours(planned)} in all"


def _found(job: Job, names: KnownNames) -> Iterable[str]:
    for note in job.noted:
        body = note.body
        if body["entry"] == "finding" and body["laid_open"] is True and body["worn"] is True:
            fault = str(body["fault"])
            doubts = {name: doubt.text for name, doubt in (job.doubts or {}).items()}
            said = doubts.get(fault) or names.names_in(note, job).get(fault, fault)
            yield f"{said}: {body['words']}" if body.get("words") else said


def lasted_words(follow_ups: Iterable[tuple[int, bool]]) -> str:
    """Did it last? What the looks back said."""
    said = [f"{'good' if good else 'not good'} after {months} months" for months, good in follow_ups]
    return listed(said) if said else "nobody has looked again yet"

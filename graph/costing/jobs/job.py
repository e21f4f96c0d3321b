"""A job as its standing notes tell it: what was planned, what was noted on it since, whether it is closed.

Hours are whole hundredths, lengths are kept as read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from graph.catalogue.model import StatedFault
from graph.catalogue.near import near_matches
from graph.costing.hours import HoursRecord
from graph.costing.notes import JOB, JOB_ENTRY, CostNote, CostNotes, standing
from graph.costing.odds import Finding, signs_of
from graph.costing.shelf import FromShelf
from graph.errors import InvalidInput, NotFound, Problem

DONE_WELL, ABANDONED = "done", "abandoned"
OUTCOMES = (DONE_WELL, ABANDONED)
ENTRIES = ("hours", "finding", "measurement", "as built", "remark", "halt")


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """A step of the plan. `source`: the task, candidate or link whose hours it carries.

    `book_hundredths`: its hours before anything was learnt; what was learnt is measured against these.
    """

    number: int
    stage: str
    text: str
    source: str
    hours_hundredths: int
    edges: tuple[str, ...] = ()
    book_hundredths: int = 0


@dataclass(frozen=True, slots=True)
class PlannedDoubt:
    """What a route assumed, in words (`text`). `counts_as`: whose odds a finding of it teaches, "" for none."""

    text: str
    counts_as: str = ""


@dataclass(frozen=True, slots=True)
class JobMeasurement:
    """A measurement on this job. `reading` as read, with unit; `datum`, `tool` and `by` as on the measuring sheet."""

    what: str
    reading: str
    datum: str = ""
    tool: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """What sits at a position in the finished assembly, whatever the housing says."""

    position: str
    part: str
    condition: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Job:
    """A job as its standing notes tell it. `closing`: the batch of its closing, empty while it is open.

    `signs`: known before opening (sign -> state) when it was planned; its findings are no plain draws of them.
    `noted`: the notes of its entries, oldest first; each can be taken back by its batch while the job is open.
    `faults`: what may be found: likely faults, then `doubts`, what the route assumed, by the doubt's id.
    `stop`: where it is halted (`graph/costing/jobs/stops.py`), "" while it goes on.
    """

    id: str
    title: str
    gearbox: str
    engine: str
    steps: tuple[PlannedStep, ...]
    faults: tuple[str, ...] = ()
    picks: Mapping[str, str] | None = None
    links: Mapping[str, str] | None = None
    actual_hundredths: Mapping[int, int] | None = None
    findings: tuple[Finding, ...] = ()
    measurements: tuple[JobMeasurement, ...] = ()
    as_built: tuple[AsBuilt, ...] = ()
    remarks: tuple[str, ...] = ()
    closing: str = ""
    outcome: str = ""
    follow_ups: tuple[tuple[int, bool], ...] = ()
    from_shelf: tuple[FromShelf, ...] = ()
    signs: Mapping[str, str] | None = None
    noted: tuple[CostNote, ...] = ()
    doubts: Mapping[str, PlannedDoubt] | None = None
    stop: str = ""

    @property
    def edges(self) -> tuple[str, ...]:
        """Every edge that the plan rests on, once."""
        return tuple(dict.fromkeys(edge for step in self.steps for edge in step.edges))

    def words_of_fault(self, fault: str, known: Mapping[str, StatedFault]) -> str:
        """What may be found, in words: what the route assumed, or the label of a fault of the facts (`known`)."""
        if fault in (self.doubts or {}):
            return (self.doubts or {})[fault].text
        return known[fault].label if fault in known else fault

    @property
    def hours_records(self) -> list[HoursRecord]:
        """Book hours against actual ones, per operation; steps without both are left out."""
        planned: dict[str, int] = {}
        actual: dict[str, int] = {}
        noted = self.actual_hundredths or {}
        for step in self.steps:
            if step.number in noted:
                planned[step.source] = planned.get(step.source, 0) + step.book_hundredths
                actual[step.source] = actual.get(step.source, 0) + noted[step.number]
        return [
            HoursRecord(source, planned[source], actual[source], self.id)
            for source in planned
            if planned[source] > 0 and actual[source] > 0
        ]


def get_job(notes: CostNotes, job: str) -> Job:
    """The job as it stands. Raises NotFound."""
    opened = standing(notes, kind=JOB, about=job) if job else []
    if not opened:
        raise NotFound("job", job, near_matches(job, (note.about for note in standing(notes, kind=JOB))))
    return _with_entries(_planned(opened[-1]), standing(notes, kind=JOB_ENTRY, job=job))


def list_jobs(notes: CostNotes) -> list[Job]:
    """Every job, oldest first."""
    entries: dict[str, list[CostNote]] = {}
    for note in standing(notes, kind=JOB_ENTRY):
        entries.setdefault(note.job, []).append(note)
    return [_with_entries(_planned(note), entries.get(note.about, [])) for note in standing(notes, kind=JOB)]


def _planned(note: CostNote) -> Job:
    body: Mapping[str, object] = note.body
    steps = tuple(
        PlannedStep(
            each["number"], each["stage"], each["text"], each["source"], each["hours_hundredths"],
            tuple(each["edges"]), each["book_hundredths"],
        )
        for each in _dicts(body["steps"])
    )  # fmt: skip
    faults, picks, links = body["faults"], body["picks"], body["links"]
    assert isinstance(faults, list) and isinstance(picks, dict) and isinstance(links, dict)
    shelf = tuple(FromShelf(each["part"], each["position"]) for each in _dicts(body.get("from_shelf", [])))
    signs = body.get("signs", {})
    doubts = body.get("doubts", {})
    assert isinstance(signs, dict) and isinstance(doubts, dict)
    return Job(
        note.about, str(body["title"]), str(body["gearbox"]), str(body["engine"]), steps, tuple(faults), picks, links,
        from_shelf=shelf, signs=signs, doubts={fault: PlannedDoubt(**said) for fault, said in doubts.items()},
    )  # fmt: skip


def _dicts(value: object) -> Sequence[dict]:  # type: ignore[type-arg]
    assert isinstance(value, list)
    return value


def _with_entries(job: Job, entries: Iterable[CostNote]) -> Job:
    for note in entries:
        job = replace(_with_entry(job, note), noted=(*job.noted, note))
    return job


def _with_entry(job: Job, note: CostNote) -> Job:
    body = {name: value for name, value in note.body.items() if name != "entry"}
    texts = {name: str(value) for name, value in body.items()}
    match note.body["entry"]:
        case "hours":
            noted, step = dict(job.actual_hundredths or {}), int(texts["step"])
            noted[step] = noted.get(step, 0) + int(texts["hours_hundredths"])
            return replace(job, actual_hundredths=noted)
        case "finding":
            found = Finding(
                texts["fault"], body["laid_open"] is True, body["worn"] is True, job.id, note.made_on, note.author,
                signs_of(body),
            )  # fmt: skip
            return replace(job, findings=(*job.findings, found))
        case "measurement":
            return replace(job, measurements=(*job.measurements, JobMeasurement(**texts)))
        case "as built":
            kept = tuple(built for built in job.as_built if built.position != texts["position"])
            return replace(job, as_built=(*kept, AsBuilt(**texts)))
        case "halt":
            return replace(job, stop=texts["stop"])
        case "remark":
            return replace(job, remarks=(*job.remarks, texts["words"]))
        case "closed":
            return replace(job, closing=note.batch, outcome=texts["outcome"], stop="")
        case "follow-up":
            return replace(job, follow_ups=(*job.follow_ups, (int(texts["months"]), body["good"] is True)))
    known = ", ".join(ENTRIES)
    raise InvalidInput([Problem(note.id, f"no such entry {note.body['entry']!r}; expected one of {known}")])

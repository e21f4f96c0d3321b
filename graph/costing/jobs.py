"""Jobs: a chosen route becomes a plan; what was done is noted as it happens; closing the job teaches the shop.

A job is nothing but its notes. Closing makes one batch of notes (findings, hours, evidence), so that reopening is one
retraction and leaves no trace in odds, hours or evidence. Hours are whole hundredths, lengths are kept as read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import RENEWAL, Step
from graph.catalogue.near import near_matches
from graph.costing.hours import HoursRecord
from graph.costing.notes import (
    EVIDENCE,
    FINDING,
    HOURS,
    JOB,
    JOB_ENTRY,
    STOCK,
    CostNote,
    CostNotes,
    Provenance,
    new_id,
    retraction,
    standing,
)
from graph.costing.odds import Finding, signs_of
from graph.costing.prices import StockItem
from graph.costing.shelf import FromShelf, parts_used, takings
from graph.errors import Closed, Conflict, InvalidInput, NotFound, Problem
from graph.exact import HUNDREDTHS, NotExact, scaled
from graph.fits.quantity import quantity_of

DONE, DONE_AND_LASTED, CONTRADICTED = "done-without-follow-up", "done-and-came-back-good", "contradicted"
DONE_WELL, ABANDONED = "done", "abandoned"
OUTCOMES = (DONE_WELL, ABANDONED)
LASTED_AFTER_MONTHS = 6  # common practice: half a year of use before "lasted" is said
DOUBT = "doubt/"  # how the ids of what a route assumes begin
FOUND_OF_FAULTS, FOUND_OF_DOUBTS = ("worn", "sound"), ("does not hold", "holds")
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
    `stop`: where it is halted (`graph/costing/stops.py`), "" while it goes on.
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


def plan_job(
    answer: Answer, route: AnsweredRoute, title: str, provenance: Provenance, job: str = "",
    book: Mapping[str, int] | None = None, signs: Mapping[str, str] | None = None,
) -> CostNote:  # fmt: skip
    """The note that opens a job from a route of an answer. `job`: the shop's own number, made up if left out.

    `book`: per task, candidate or link its hours before anything was learnt, where they differ from the answer's.
    `signs`: known before opening, sign -> state.
    """
    name, before = job or new_id(JOB), book or {}
    doubts = [line for line in route.assumptions if line.fault]
    body: dict[str, object] = {
        "title": title, "gearbox": answer.gearbox.id, "engine": answer.engine.id, "summary": route.summary,
        "currency": answer.currency, "rate": str(Decimal(answer.rate_hundredths) / 100), "total": str(route.total),
        "picks": dict(route.picks), "links": dict(route.links), "tasks": list(route.tasks),
        "faults": [*(fault.fault for fault in route.faults), *(line.fault for line in doubts)],
        "doubts": {line.fault: {"text": line.text, "counts_as": line.counts_as} for line in doubts},
        "signs": dict(signs or {}),
        "from_shelf": [
            {"part": part.part, "position": part.position} for part in route.parts if part.in_stock and not part.in_hand
        ],
        "steps": [
            {
                "number": step.number, "stage": step.stage, "text": step.text, "source": step.source,
                "hours_hundredths": step.hours_hundredths, "edges": list(step.edges),
                "book_hundredths": _book(step, before),
            }
            for step in route.steps
        ],
    }  # fmt: skip
    return _note(JOB, name, body, replace(provenance, job=name))


def _book(step: Step, before: Mapping[str, int]) -> int:
    """The hours that actual ones are learnt against; none of what was renewed besides, which no route is made of."""
    if not step.hours_hundredths or step.source_kind == RENEWAL:
        return 0
    return before.get(step.source, step.hours_hundredths)


def open_job(notes: CostNotes, plan: CostNote, besides: Sequence[CostNote] = ()) -> Job:
    """Keeps a plan, with the notes `besides` or not at all, and hands back its job.

    Raises Conflict if the shop has a job of that number already.
    """
    if standing(notes, kind=JOB, about=plan.about):
        raise Conflict(f"a job {plan.about!r} is there already; give the new one another number")
    notes.append([plan, *besides])
    return get_job(notes, plan.about)


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


def route_of_job(job: Job, answer: Answer) -> AnsweredRoute:
    """The route of a fresh answer that the job was planned on. Raises Conflict if it is no longer among them."""
    for route in answer.routes:
        if dict(route.picks) == dict(job.picks or {}) and dict(route.links) == dict(job.links or {}):
            return route
    raise Conflict(
        f"job {job.id!r} was planned on a route that is no longer among the answer's; ask for more alternatives, "
        "or plan the job again"
    )


def hours_records(notes: CostNotes) -> list[HoursRecord]:
    """Planned against actual of every closed job."""
    return [hours_of(note) for note in standing(notes, kind=HOURS)]


def hours_of(note: CostNote) -> HoursRecord:
    """Planned against actual hours of one operation of a closed job."""
    planned, actual = (int(str(note.body[name])) for name in ("planned_hundredths", "actual_hundredths"))
    return HoursRecord(note.about, planned, actual, note.job)


def edge_evidence(notes: CostNotes, edge: str) -> list[CostNote]:
    """What jobs say of an edge, oldest first: done, done and lasted, or contradicted."""
    return standing(notes, kind=EVIDENCE, about=edge)


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


def _note(kind: str, about: str, body: Mapping[str, object], provenance: Provenance, batch: str = "") -> CostNote:
    name = new_id(kind)
    return CostNote(
        id=name, kind=kind, about=about, body=dict(body), made_on=provenance.when, author=provenance.author,
        method=provenance.method, job=provenance.job, batch=batch or name,
    )  # fmt: skip


def job_entry(job: Job, body: Mapping[str, object], provenance: Provenance, batch: str = "") -> CostNote:
    """The note of one entry of the job."""
    return _note(JOB_ENTRY, job.id, body, replace(provenance, job=job.id), batch)


def check_open(job: Job) -> None:
    """Raises Closed for a job that nothing can be added to."""
    if job.closing:
        raise Closed(f"job {job.id!r} is closed ({job.outcome}); reopen it to change it")


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

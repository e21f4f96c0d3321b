"""Jobs over HTTP: planned from a route, noted as they go, closed, looked back on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request, Response
from pydantic import Field

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.routers.costing_bodies import (
    PLAIN,
    ChosenRoute,
    Hours,
    JobId,
    Long,
    Named,
    SaidBy,
    Short,
    TickedBody,
    Whole,
    YesNo,
    sent_as,
)
from api.shapes import shape
from api.workshop import UsesWorkshop, Workshop
from graph.answer.serial import part_as_json
from graph.costing.jobs.closing import close_job, follow_up, reopen
from graph.costing.jobs.entries import (
    as_built_entry,
    finding_entry,
    hours_entry,
    measurement_entry,
    remark_entry,
    take_entry_back,
    words_of_entry,
)
from graph.costing.jobs.job import AsBuilt, Job, JobMeasurement
from graph.costing.jobs.job import get_job as kept_job
from graph.costing.jobs.numbering import number_of_form
from graph.costing.jobs.past import JobFilter, PastJob, find_jobs, last_times
from graph.costing.jobs.stops import halt_entry, step_of_stop, stops_of_job
from graph.costing.shop import list_stock
from graph.exact import HUNDREDTHS
from graph.wear import open_as_wished, renewals_of_job
from graph.wear.said import ticked_words

router = APIRouter(tags=["costing"])


@dataclass(frozen=True, slots=True)
class LastTimes:
    """Earlier jobs of two units and of their families."""

    jobs: tuple[PastJob, ...]


class JobBody(ChosenRoute, TickedBody, SaidBy):
    """A job from a route of a question. `number`: the shop's own; left out, the job gets the next running one.

    `renew`, `warranty_months`: what the customer ticked; it is kept with the plan and stands on the job's papers.
    """

    title: Named
    number: Short = ""


class WorkBody(SaidBy):
    """Hours worked on a step."""

    step: Whole = Field(ge=1, le=10_000)
    hours: Hours


class FindingBody(SaidBy):
    """What was found of a fault. Only a part that was laid open counts."""

    fault: Named
    laid_open: YesNo
    worn: YesNo = False
    words: Long = ""
    signs: dict[Named, Named] = Field(
        default_factory=dict, max_length=20, description="known before opening: sign -> state; why the box was opened"
    )


class MeasuredBody(SaidBy):
    """A reading with its unit: 38.1 mm, 1-1/2 in, 14 thou."""

    what: Named
    reading: Named
    datum: Short = ""
    tool: Short = ""
    by: Short = ""


class AsBuiltBody(SaidBy):
    """What sits at a position in the finished assembly."""

    position: Named
    part: Named
    condition: Short = ""
    remark: Long = ""


class RemarkBody(SaidBy):
    """A remark."""

    words: Annotated[str, Field(min_length=1, max_length=2000, pattern=PLAIN)]


class HaltBody(SaidBy):
    """Where the job is halted, or, with no stop, that it goes on and what was decided."""

    stop: Short = Field("", description="id of a stop of the job; empty: it goes on", examples=["box-out"])
    words: Long = Field("", description="why, or what was decided")


class ClosingBody(SaidBy):
    """How the job ended."""

    outcome: Literal["done", "abandoned"]


class FollowUpBody(SaidBy):
    """A look back after so many months."""

    months: Whole = Field(ge=0, le=600)
    good: YesNo
    words: Long = ""


@needs("note")
@router.post(
    "/jobs",
    summary="Plan a job from a route",
    response_model=None,
    responses=problems.responses({"description": "the job"}, 400, 403, 404, 409, 413, 422, 503),
)
async def post_job(body: JobBody, request: Request, workshop: UsesWorkshop) -> Response:
    """The route's steps become the plan; the answer is kept with it, for the job's papers."""
    said = body.provenance(request)

    name = sent_as(request)

    def planned() -> Any:
        question = body.question.question()
        sent = {"title": body.title, "gearbox": question.gearbox, "engine": question.engine}
        if before := number_of_form(workshop.shop.notes, name, sent):  # sent again after a lost answer
            return job_as_json(kept_job(workshop.shop.notes, before), workshop)
        wish, shop = body.wish(), workshop.shop
        found, ticked = shop.costed_as_wished(question, body.rank, wish, body.signs)
        made = open_as_wished(shop.notes, found, body.rank, body.title, said, body.number, ticked, name)
        return job_as_json(made, workshop)

    return PlainJson(await workshop.work_out(planned))


@needs("read")
@router.get(
    "/jobs", summary="Jobs", response_model=None, responses=problems.responses({"description": "the jobs"}, 404, 422)
)
async def get_jobs(
    workshop: UsesWorkshop,
    words: Annotated[str, Query(max_length=200, description="all of them, anywhere in what a job says")] = "",
    gearbox: Annotated[str, Query(max_length=200, description="this one, or of its family")] = "",
    engine: Annotated[str, Query(max_length=200, description="this one, or of its family")] = "",
    only_open: Annotated[bool, Query(description="without those that are closed")] = False,
) -> Response:
    """Jobs, oldest first, without their steps."""
    wanted = JobFilter(words=words, gearbox=gearbox, engine=engine, only_open=only_open)

    def listed() -> Any:
        kept = ("id", "title", "gearbox", "engine", "outcome", "closing", "stop")
        found = reversed(find_jobs(workshop.shop.notes, workshop.index, wanted))
        return {"jobs": [{name: getattr(job, name) for name in kept} for job in found]}

    return PlainJson(await workshop.work_out(listed))


@needs("read")
@router.get(
    "/last-times", summary="Last time for these two units", response_model=None,
    responses=problems.responses({"model": shape(LastTimes)}, 404, 422),
)  # fmt: skip
async def get_last_times(
    workshop: UsesWorkshop, gearbox: Annotated[str, Query(min_length=1, max_length=200)],
    engine: Annotated[str, Query(min_length=1, max_length=200)],
) -> Response:  # fmt: skip
    """Earlier jobs of the two, then of their families: hours, what was found worn, and whether it lasted."""
    shop = workshop.shop
    found = await workshop.work_out(lambda: last_times(shop.notes, workshop.index, shop.names, gearbox, engine))
    return PlainJson(part_as_json(LastTimes(tuple(found))))


@needs("read")
@router.get(
    "/jobs/{job}",
    summary="One job",
    response_model=None,
    responses=problems.responses({"description": "the job"}, 404, 422),
)
async def get_job(job: JobId, workshop: UsesWorkshop) -> Response:
    """Plan, hours, findings, measurements, what was built, closing and follow-ups."""
    return PlainJson(await workshop.work_out(lambda: job_as_json(kept_job(workshop.shop.notes, job), workshop)))


_ENTERED = problems.responses({"description": "the job as it now stands"}, 400, 403, 404, 409, 413, 422, 503)


@needs("note")
@router.post("/jobs/{job}/hours", summary="Note hours", response_model=None, responses=_ENTERED)
async def post_hours(job: JobId, body: WorkBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Hours on a step add up."""
    said = body.provenance(request)
    return await enter(request, workshop, job, lambda found: [hours_entry(found, body.step, body.hours, said)])


@needs("note")
@router.post("/jobs/{job}/findings", summary="Note a finding", response_model=None, responses=_ENTERED)
async def post_finding(job: JobId, body: FindingBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Worn, sound, or not seen; of what the route assumed (`doubts` of the job): `worn` says that it does not hold."""
    said = body.provenance(request)
    return await enter(
        request, workshop, job,
        lambda found: [
            finding_entry(found, body.fault, body.laid_open, body.worn, said, body.words, body.signs)
        ],
    )  # fmt: skip


@needs("note")
@router.post("/jobs/{job}/measurements", summary="Note a measurement", response_model=None, responses=_ENTERED)
async def post_measured(job: JobId, body: MeasuredBody, request: Request, workshop: UsesWorkshop) -> Response:
    """With its unit, datum and tool."""
    said, measured = (
        body.provenance(request),
        JobMeasurement(body.what, body.reading, body.datum, body.tool, body.by),
    )
    return await enter(request, workshop, job, lambda found: [measurement_entry(found, measured, said)])


@needs("note")
@router.post("/jobs/{job}/as-built", summary="Note what was fitted", response_model=None, responses=_ENTERED)
async def post_as_built(job: JobId, body: AsBuiltBody, request: Request, workshop: UsesWorkshop) -> Response:
    """The newest entry of a position holds."""
    said, built = body.provenance(request), AsBuilt(body.position, body.part, body.condition, body.remark)
    return await enter(request, workshop, job, lambda found: [as_built_entry(found, built, said)])


@needs("note")
@router.post("/jobs/{job}/remarks", summary="Note a remark", response_model=None, responses=_ENTERED)
async def post_remark(job: JobId, body: RemarkBody, request: Request, workshop: UsesWorkshop) -> Response:
    """For whoever opens it next."""
    said = body.provenance(request)
    return await enter(request, workshop, job, lambda found: [remark_entry(found, body.words, said)])


@needs("note")
@router.post("/jobs/{job}/halts", summary="Halt a job at a stop, or go on", response_model=None, responses=_ENTERED)
async def post_halt(job: JobId, body: HaltBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Where it stands; the readings taken there are measurements of the job."""
    said, tasks = body.provenance(request), workshop.index.catalogue.tasks
    return await enter(request, workshop, job, lambda found: [halt_entry(found, body.stop, body.words, said, tasks)])


@needs("note")
@router.post("/jobs/{job}/closing", summary="Close a job", response_model=None, responses=_ENTERED)
async def post_closing(job: JobId, body: ClosingBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Teaches odds, hours and evidence, and takes what was used off the shelf; taking the closing's batch back undoes
    all of it."""
    said = body.provenance(request)
    return await enter(
        request, workshop, job, lambda found: close_job(found, body.outcome, said, list_stock(workshop.shop.notes))
    )


@needs("note")
@router.post("/jobs/{job}/follow-ups", summary="Look back", response_model=None, responses=_ENTERED)
async def post_follow_up(job: JobId, body: FollowUpBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Good after half a year: done and lasted. Bad: what it rested on is contradicted."""
    said = body.provenance(request)
    return await enter(
        request, workshop, job, lambda found: follow_up(found, body.months, body.good, said, body.words)
    )  # fmt: skip


class ReopenBody(SaidBy):
    """Why a closed job is opened again."""

    reason: Annotated[str, Field(min_length=1, max_length=2000, pattern=PLAIN)]


class EntryBackBody(SaidBy):
    """Why an entry is taken back."""

    reason: Long = ""


@needs("note")
@router.post("/jobs/{job}/reopening", summary="Open a closed job again", response_model=None, responses=_ENTERED)
async def post_reopening(job: JobId, body: ReopenBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Takes its closing back, with all that it taught and took off the shelf; then put right what was noted wrong and
    close it again. Looks back stay."""
    said = body.provenance(request)
    return await enter(request, workshop, job, lambda found: [reopen(workshop.shop.notes, found, said, body.reason)])


@needs("note")
@router.post(
    "/jobs/{job}/entries/{entry}/retraction", summary="Take an entry of an open job back", response_model=None,
    responses=_ENTERED,
)  # fmt: skip
async def post_entry_back(
    job: JobId, entry: Annotated[str, Path(max_length=200, pattern=PLAIN)], body: EntryBackBody, request: Request,
    workshop: UsesWorkshop,
) -> Response:  # fmt: skip
    """Hours on the wrong step, a finding of another box: `entries` of the job names them."""
    said = body.provenance(request)
    return await enter(
        request,
        workshop,
        job,
        lambda found: [take_entry_back(workshop.shop.notes, found, entry, said, body.reason)],
    )


def job_as_json(job: Job, workshop: Workshop) -> dict[str, Any]:
    """The job with each step's planned and actual hours; the workshop names what its entries speak of."""
    known, catalogue = workshop.shop.names, workshop.index.catalogue
    noted = job.actual_hundredths or {}
    renewals = renewals_of_job(workshop.shop.notes, job)
    steps = [
        {
            "number": step.number, "stage": step.stage, "text": step.text, "source": step.source,
            "planned": step.hours_hundredths / HUNDREDTHS,
            "actual": noted[step.number] / HUNDREDTHS if step.number in noted else None,
        }
        for step in job.steps
    ]  # fmt: skip
    return {
        "id": job.id, "title": job.title, "gearbox": job.gearbox, "engine": job.engine, "steps": steps,
        "faults": list(job.faults), "doubts": part_as_json(job.doubts or {}), "findings": part_as_json(job.findings),
        "measurements": part_as_json(job.measurements), "as_built": part_as_json(job.as_built),
        "remarks": list(job.remarks), "closing": job.closing, "outcome": job.outcome, "stop": job.stop,
        "renewed": ticked_words(renewals) if renewals else "",
        "stops": [
            {**part_as_json(one), "where": step_of_stop(one, job.steps, catalogue.tasks)}
            for one in stops_of_job(job, catalogue.tasks)
        ],
        "follow_ups": [{"months": months, "good": good} for months, good in job.follow_ups],
        "entries": [
            {"id": note.id, "entry": note.body["entry"], "author": note.author,
             "words": words_of_entry(note, known.names_in(note, job)),
             "made_on": note.made_on}
            for note in job.noted
        ],
    }  # fmt: skip


async def enter(request: Request, workshop: Workshop, job: str, entries: Any) -> Response:
    """Adds to the job, a single entry once under one key."""
    name = sent_as(request)

    def entered() -> Any:
        workshop.shop.keep_entry(entries(kept_job(workshop.shop.notes, job)), name)
        return job_as_json(kept_job(workshop.shop.notes, job), workshop)

    return PlainJson(await workshop.work_out(entered))

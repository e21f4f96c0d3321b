"""POST /reach: what can go behind this engine, where can this gearbox go? Cheapest first, a line as soon as proven.

POST /reach/stock, GET /reach/stock/{job}: which single part, on the shelf, opens most of these questions? Worked out in
other processes; the job says how far it is.
"""

from __future__ import annotations

import asyncio
import uuid
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import partial
from multiprocessing import get_context
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, ConfigDict, Field
from pydantic_core import to_json

from api import problems
from api.json import PlainJson
from api.questions import QuestionBody
from api.workshop import UsesWorkshop, Workshop
from graph.catalogue.model import Catalogue
from graph.errors import LimitExceeded, NotFound
from graph.exact import plain
from graph.reach import Reached, Reaching, reach
from graph.reach.stocking import Opened, open_worker, rank_parts, spread
from graph.reading import CatalogueIndex, Question
from graph.reading.compact import CompactIndex, reopen

router = APIRouter(tags=["routes"])
LINES = "application/x-ndjson"
MOST_PARTS = 50
MOST_JOBS = 20  # kept; the oldest finished one goes first
Budget = Annotated[Decimal, Field(ge=0, le=10**9)]


class ReachBody(QuestionBody):
    """A question with one unit left open: `gearbox` or `engine` stays empty."""

    gearbox: str = Field("", max_length=200, description="the gearbox; empty: which gearboxes can go there?")
    engine: str = Field("", max_length=200, description="the engine; empty: which engines can it go behind?")
    limit: int = Field(20, ge=1, le=1000, description="the most units to name")
    budget: Budget | None = Field(None, description="the most that the objective may come to")
    seconds: float = Field(30, gt=0, le=600, description="stop here, and say what the rest costs at least")

    def side(self) -> Literal["gearbox", "engine"]:
        """The unit left open."""
        return "engine" if self.gearbox and not self.engine else "gearbox"


@router.post(
    "/reach",
    summary="What can go behind this engine, or where can this gearbox go",
    response_model=None,
    responses=problems.responses(
        {"description": "One JSON object a line, cheapest first; the last says how far it went",
         "content": {LINES: {"schema": {"type": "string"}}}}, 404, 413, 422,
    ),
)  # fmt: skip
async def reach_out(body: ReachBody, workshop: UsesWorkshop) -> Response:
    """Each line but the last is a unit with its cheapest route's sums, proven the cheapest of all that follow. The last
    line says how many units there are, how many had to be read and solved, and whether nothing is left to name."""
    state = Reaching()
    budget = None if body.budget is None else Fraction(body.budget)
    found = reach(
        workshop.index, body.question(), body.side(), limit=body.limit, budget=budget, seconds=body.seconds, state=state
    )
    first = await workshop.work_out(lambda: next(found, None))  # a wrong question fails here, with a status of its own
    return StreamingResponse(_lines(first, found, state), media_type=LINES)


def _lines(first: Reached | None, found: Iterator[Reached], state: Reaching) -> Iterator[bytes]:
    if first is not None:
        yield _line(first)
    for one in found:
        yield _line(one)
    at_least = None if state.at_least is None else plain(state.at_least)
    summary = {
        "complete": state.complete, "units": state.units, "read": state.read, "solved": state.solved,
        "without_route": state.without_route, "at_least": at_least, "seconds": round(state.seconds, 3),
    }  # fmt: skip
    yield to_json(summary) + b"\n"


def _line(one: Reached) -> bytes:
    route = one.route
    return to_json({
        "unit": one.unit, "label": one.label, "value": plain(one.value), "cash": plain(route.cash_hundredths, 100),
        "hours": plain(route.hours_hundredths, 100), "total": plain(route.total), "expected": plain(route.expected),
        "days": plain(route.days),
    }) + b"\n"  # fmt: skip


class StockBody(BaseModel):
    """The questions that the shop would like to say yes to."""

    model_config = ConfigDict(extra="forbid")

    questions: Annotated[list[QuestionBody], Field(min_length=1, max_length=1000)]
    budget: Budget | None = Field(None, description="the most that each question's objective may come to")


@dataclass(slots=True)
class StockJob:
    """A job under way, and what it has found so far."""

    of: int
    opened: dict[int, Opened] = field(default_factory=dict)
    failed: str = ""
    running: asyncio.Task[None] | None = None

    @property
    def done(self) -> bool:
        """Whether nothing more will come."""
        return self.running is not None and self.running.done()

    def as_json(self, id_: str) -> dict[str, Any]:
        """How far it is, and the parts that open most so far."""
        known = [self.opened.get(place) for place in range(self.of)]
        ranked = rank_parts([one or Opened(Question(gearbox="", engine=""), True) for one in known])
        state = "failed" if self.failed else "done" if len(self.opened) == self.of else "running"
        return {
            "job": id_, "state": state, "questions": self.of, "worked_out": len(self.opened), "detail": self.failed,
            "with_a_route": sum(one is not None and one.has_route for one in known),
            "parts": [{"part": one.part, "opens": list(one.questions)} for one in ranked[:MOST_PARTS]],
        }  # fmt: skip


@router.post("/reach/stock", status_code=202, summary="Which part, on the shelf, opens most of these questions",
             response_model=None, responses=problems.responses({"description": "see 202"}, 413, 422))  # fmt: skip
async def stock(body: StockBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Starts the job and says where to ask after it. It runs in processes of its own (LAYSHAFT_SEARCHES_AT_ONCE)."""
    jobs = _jobs(request)
    _make_room(jobs)
    id_, job = uuid.uuid4().hex, StockJob(len(body.questions))
    budget = None if body.budget is None else Fraction(body.budget)
    job.running = asyncio.create_task(_run(job, workshop, [one.question() for one in body.questions], budget))
    jobs[id_] = job
    response = PlainJson(job.as_json(id_), status_code=202)
    response.headers["location"] = f"/reach/stock/{id_}"
    return response


@router.get("/reach/stock/{job}", summary="How far the job is, and what it found", response_model=None,
            responses=problems.responses({"description": "The parts that open most, so far"}, 404, 422))  # fmt: skip
async def stock_job(job: Annotated[str, Path(max_length=64)], request: Request) -> Response:
    """The parts that open most questions, most first, with the places of those questions in the list."""
    found = _jobs(request).get(job)
    if found is None:
        raise NotFound("job", job)
    return PlainJson(found.as_json(job))


def _jobs(request: Request) -> dict[str, StockJob]:
    state = request.app.state
    if not hasattr(state, "stock_jobs"):
        state.stock_jobs = {}
    jobs: dict[str, StockJob] = state.stock_jobs
    return jobs


def _make_room(jobs: dict[str, StockJob]) -> None:
    for id_ in [id_ for id_, job in jobs.items() if job.done][: max(0, len(jobs) - MOST_JOBS + 1)]:
        del jobs[id_]
    if len(jobs) >= MOST_JOBS:
        raise LimitExceeded(f"{MOST_JOBS} jobs are under way; ask again when one is done")


async def _run(job: StockJob, workshop: Workshop, questions: list[Question], budget: Fraction | None) -> None:
    try:
        await workshop.work_out(partial(_spread, job, workshop, questions, budget))
    except Exception as error:  # whatever a worker ran into must reach the one who asks after the job
        job.failed = str(error) or type(error).__name__


def _spread(job: StockJob, workshop: Workshop, questions: list[Question], budget: Fraction | None) -> None:
    workers = min(workshop.settings.searches_at_once, len(questions))
    opener = _opener(workshop.index)
    with ProcessPoolExecutor(workers, get_context("spawn"), open_worker, (opener,)) as executor:
        for place, opened in spread(executor, questions, budget):
            job.opened[place] = opened


def _opener(index: CatalogueIndex) -> Any:
    """What a worker process opens its index with: the same file, or the catalogue itself."""
    if isinstance(index, CompactIndex):
        return partial(reopen, index.path)
    catalogue: Catalogue = index.catalogue
    return partial(CatalogueIndex, catalogue)

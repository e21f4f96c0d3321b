"""/reach/stock: which single part, on the shelf, opens most of these questions? A job in other processes."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.json import PlainJson
from api.questions import EXAMPLE, QuestionBody
from api.roles import needs
from api.routers.reach import Budget
from api.stock_jobs import StockJob, StockJobs
from api.workshop import UsesWorkshop

router = APIRouter(tags=["routes"])
JobId = Annotated[str, Path(max_length=64, description="as POST /reach/stock gave it")]
MOST_QUESTIONS = 1000


class StockQuestionsBody(BaseModel):
    """The questions that the shop would like to say yes to."""

    model_config = ConfigDict(
        extra="forbid", json_schema_extra={"examples": [{"questions": [EXAMPLE, {**EXAMPLE, "engine": "pipit-16"}]}]}
    )

    questions: Annotated[list[QuestionBody], Field(min_length=1, max_length=MOST_QUESTIONS)]
    budget: Budget | None = Field(None, description="the most that each question's objective may come to")


class ShelvedAnswer(BaseModel):
    """A part, and the places in the list of the questions that it opens."""

    part: str
    opens: list[int]


class StockState(BaseModel):
    """How far a job is, and what it found so far."""

    job: str
    state: str = Field(description="waiting, running, done, failed or cancelled")
    questions: int
    worked_out: int
    detail: str = Field(description="what went wrong, where it failed")
    with_a_route: int = Field(description="how many have a route already")
    parts: list[ShelvedAnswer] = Field(description="those that open most first, at most 50")


def _responses(success: int, *errors: int) -> dict[int | str, dict[str, Any]]:
    described = problems.responses({"model": StockState, "description": "How far it is"}, *errors)
    return {success if status == 200 else status: said for status, said in described.items()}


def stock_jobs_of(request: Request) -> StockJobs:
    """The app's jobs."""
    state = request.app.state
    if not hasattr(state, "stock_jobs"):
        state.stock_jobs = StockJobs(state.workshop.settings, getattr(state, "work_folder", None))
    jobs = state.stock_jobs
    assert isinstance(jobs, StockJobs)
    return jobs


@needs("read")
@router.post("/reach/stock", status_code=202, summary="Which part, on the shelf, opens most of these questions",
             response_model=None, responses=_responses(202, 413, 422, 503))  # fmt: skip
async def stock(body: StockQuestionsBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Starts the job and says where to ask after it. One job runs at a time, in processes of its own
    (LAYSHAFT_SEARCHES_AT_ONCE) or over a Dask cluster (LAYSHAFT_SPREAD_OVER); others wait. Every service process on the
    data folder knows of it.
    """
    jobs, questions = stock_jobs_of(request), [one.question() for one in body.questions]
    budget = None if body.budget is None else Fraction(body.budget)
    job = await workshop.look_up(lambda: jobs.start(questions, budget, workshop.shop.standing().index))
    return _shown(job, 202)


@needs("read")
@router.get("/reach/stock/{job}", summary="How far the job is, and what it found", response_model=None,
            responses=_responses(200, 404, 422))  # fmt: skip
async def stock_job(job: JobId, request: Request) -> Response:
    """The parts that open most questions, most first, with the places of those questions in the list."""
    return _shown(stock_jobs_of(request).get(job))


@needs("read")
@router.delete("/reach/stock/{job}", summary="Stop the job", response_model=None, responses=_responses(200, 404, 422))
async def stop_stock_job(job: JobId, request: Request) -> Response:
    """No further question is worked out; what was found stays. A job that has ended stays as it is."""
    return _shown(stock_jobs_of(request).cancel(job))


def _shown(job: StockJob, status: int = 200) -> Response:
    return PlainJson(job.as_json(), status_code=status, headers={"location": f"/reach/stock/{job.id}"})

"""From a complaint to the joint: `GET /complaints` says what can be asked, `POST /complaints` weighs it."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Response
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.complaints.as_json import trade_as_json, verdict_as_json
from graph.complaints.enquiry import MOST_COMPLAINTS, Enquiry
from graph.complaints.tables import trade_tables

router = APIRouter(tags=["complaints"])
Named = Annotated[str, Field(min_length=1, max_length=120)]
Short = Annotated[str, Field(max_length=120)]


class ComplaintBody(BaseModel):
    """What the driver says, what was found so far, and what of the job is known."""

    model_config = ConfigDict(extra="forbid", json_schema_extra={"examples": [{
        "complaints": ["clutch-slips"], "findings": {"from-the-first-drive": "yes"},
        "measured": {"release-gap": "0.5 mm"}, "gearbox": "tansy-5", "engine": "pipit-16",
    }]})  # fmt: skip

    complaints: list[Named] = Field(min_length=1, max_length=MOST_COMPLAINTS, description="ids from `GET /complaints`")
    findings: dict[Named, Literal["yes", "no"]] = Field(
        default_factory=dict, max_length=100, description="test -> yes or no; leave out what was not looked at"
    )
    opened: list[Named] = Field(default_factory=list, max_length=50, description="tasks that are open already")
    measured: dict[Named, Named] = Field(
        default_factory=dict, max_length=30, description="dimension -> length with its unit, as built"
    )
    gearbox: Short = Field("", description="which one, so that the shop's odds and prices count")
    engine: Short = ""
    job: Short = Field("", description="the job that built it: its units and readings are taken over")


class SuspectAnswer(BaseModel):
    """A cause, where it sits, and how likely it is."""

    cause: str
    label: str
    joint: str
    position: str
    odds: float
    before: float
    speaks_for: list[str]
    speaks_against: list[str]
    remedy: str
    looks_like: str
    price: str
    source: str


class NextTestAnswer(BaseModel):
    """A test. `settles`: the share of the doubt that it takes away on average; `opening_hours`: to get at it."""

    test: str
    asks: str
    how: str
    minutes: float
    opens: list[str]
    opening_hours: float
    settles: float
    if_yes: str
    if_no: str
    source: str


class DoubtedAnswer(BaseModel):
    """What is hard to believe beside the rest."""

    said: str
    odds: float
    words: str


class VerdictAnswer(BaseModel):
    """Likely causes, then the tests, those that tell most for their time first."""

    complaints: list[str]
    summary: str
    found: bool
    suspects: list[SuspectAnswer]
    something_else: float
    tests: list[NextTestAnswer]
    doubted: list[DoubtedAnswer]
    notes: list[str]
    cautions: list[str]


class IdAndName(BaseModel):
    """An id and its name."""

    id: str
    label: str


class ComplaintAnswer(IdAndName):
    """A complaint."""

    source: str


class LookAnswer(BaseModel):
    """A test, and the tasks that must be open for it."""

    id: str
    asks: str
    how: str
    minutes: float
    needs: list[IdAndName]
    source: str


class ComplaintsAnswer(BaseModel):
    """Everything that can be complained of, answered and measured."""

    complaints: list[ComplaintAnswer]
    tests: list[LookAnswer]
    dimensions: list[IdAndName]


@needs("read")
@router.get(
    "/complaints", summary="What can be complained of, and the tests",
    responses=problems.responses({"model": ComplaintsAnswer}, 401),
)  # fmt: skip
def list_complaints(workshop: UsesWorkshop) -> Response:
    """Ids and words of complaints, tests and dimensions."""
    return PlainJson(trade_as_json(trade_tables(), workshop.index.catalogue))


@needs("read")
@router.post(
    "/complaints", summary="From a complaint to the joint",
    responses=problems.responses({"model": VerdictAnswer}, 401, 404, 413, 415, 422, 503),
)  # fmt: skip
def weigh_complaint(body: ComplaintBody, workshop: UsesWorkshop) -> Response:
    """Exact odds of each cause by what was said, found and measured, and which test tells most for its time."""
    enquiry = Enquiry(
        tuple(body.complaints), dict(body.findings), tuple(body.opened), body.gearbox, body.engine, dict(body.measured)
    )
    return PlainJson(verdict_as_json(workshop.shop.judge(enquiry, body.job)))

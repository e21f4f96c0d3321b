"""POST /papers/{kind}.{form}: estimate, job sheet, build record and declaration, as HTML or PDF."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Response
from pydantic import Field

from api import problems
from api.roles import needs
from api.routers.costing_bodies import PLAIN, Body, LimitedRoute, Long, Named, Short, TickedBody, asked
from api.workshop import UsesWorkshop, Workshop
from graph.costing.asking import CostedAnswer
from graph.errors import InvalidInput, InvalidQuestion, NotFound, Problem
from graph.papers.details import Details
from graph.papers.html import as_html, content_policy
from graph.papers.making import make_paper
from graph.papers.pdf import as_pdf
from graph.wear import WhileOut

router = APIRouter(tags=["papers"])
Terms = Annotated[str, Field(max_length=4000, pattern=PLAIN)]


class DetailsBody(Body):
    """What the shop adds. Everything left out is a line to write on."""

    number: Named = Field(description="the shop's number of the job", examples=["J-1"])
    dated: Annotated[str, Field(pattern=r"^(\d{4}-\d{2}-\d{2})?$")] = Field(
        "", description="the date on the paper, year first; today if left out"
    )
    shop: Short = ""
    customer: Short = ""
    vehicle: Short = ""
    wish: Long = ""
    identified_by: Long = Field("", description="how gearbox and engine were identified")
    exclusions: list[Long] = Field(default_factory=list, max_length=50)
    valid_until: Short = ""
    deposit_asked: Short = ""
    warranty: Terms = Field("", description="wording under local law")
    approval: Terms = Field("", description="approval, inspection, insurance: wording under local law")
    address: Annotated[str, Field(max_length=500, pattern=r"^(https?://[!-~]+)?$")] = Field(
        "", description="the page of the build record, printed as a QR code"
    )
    units: Literal["metric", "inch", "both"] = "both"

    def details(self, limit_hundredths: int | None) -> Details:
        """The same as the core's details."""
        values = self.model_dump(exclude={"dated", "exclusions"})
        dated = self.dated or date.today().isoformat()
        return Details(**values, dated=dated, exclusions=tuple(self.exclusions), limit_hundredths=limit_hundredths)


class PaperBody(LimitedRoute, TickedBody):
    """A route of a question, the details, and the job whose record is printed in (none if left out)."""

    details: DetailsBody
    job: Short = Field("", description="the shop's number of a planned job")


def _found(body: PaperBody, workshop: Workshop) -> tuple[CostedAnswer | None, WhileOut | None]:
    """The answer, and what else to renew where the body asks for that."""
    wish = body.wish()
    if wish is None:
        return _asked_if_it_can_be(body, workshop), None
    if body.job:
        told = "a planned job's paper prints its own plan, with what was ticked then; leave out `job`, or `renew`"
        raise InvalidInput([Problem("renew", told)])
    return workshop.shop.costed_and_open(body.question.question(), body.rank, wish, body.signs)


def _asked_if_it_can_be(body: PaperBody, workshop: Workshop) -> CostedAnswer | None:
    """None only for a job's paper, whose plan is kept, where the facts no longer know what was asked about."""
    try:
        return asked(body, workshop)
    except (NotFound, InvalidQuestion):
        if not body.job:
            raise
        return None


@needs("read")
@router.post(
    "/papers/{kind}.{form}", summary="A paper to sign or to work from", response_class=Response,
    responses=problems.responses(
        {"description": "the paper", "content": {"application/pdf": {}, "text/html": {}}}, 400, 404, 409, 413, 422
    ),
)  # fmt: skip
async def print_paper(
    kind: Annotated[Literal["estimate", "job-sheet", "build-record", "declaration"], Path()],
    form: Annotated[Literal["html", "pdf"], Path()],
    body: PaperBody,
    workshop: UsesWorkshop,
) -> Response:
    """Its lines add up to the answer's totals, or it is not printed. With a job, the route and the figures are those
    that it was planned on, and the paper says what has changed since."""

    def printed() -> str | bytes:
        found, renewals = _found(body, workshop)
        details = body.details.details(body.limit_hundredths)
        known = workshop.index.catalogue
        vehicle = known.parts.get(body.question.vehicle)
        if not details.vehicle and vehicle is not None:
            details = replace(details, vehicle=vehicle.label)
        paper = make_paper(kind, found, body.rank, details, workshop.shop.notes, body.job, known, renewals)
        return as_pdf(paper) if form == "pdf" else as_html(paper)

    data = await workshop.work_out(printed)
    if form == "pdf":
        headers = {"content-disposition": f'inline; filename="{kind}.pdf"'}
        return Response(data, media_type="application/pdf", headers=headers)
    return Response(data, media_type="text/html", headers={"content-security-policy": content_policy()})

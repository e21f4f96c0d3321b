"""What it will really cost: odds, a route's spread, prices and shelf, rates, sublet work, jobs.

Everything is kept as notes and can be taken back by its batch. `install` puts these routes and the papers on an app.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, FastAPI, File, Form, Path, Query, Request, Response, UploadFile
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from api import problems
from api.json import PlainJson
from api.questions import QuestionBody
from api.security import access_of
from api.shapes import shape
from api.workshop import UsesWorkshop, Workshop
from graph.answer.serial import part_as_json
from graph.costing import jobs
from graph.costing.asking import (
    CostDesk,
    CostedAnswer,
    OddsLine,
    RouteCost,
    odds_lines,
    route_at,
    route_cost,
    spread_at,
)
from graph.costing.notes import CostNotes, Provenance
from graph.costing.plot import plot_spread
from graph.costing.price_export import prices_as_csv, prices_as_xlsx
from graph.costing.price_import import Preview, Reading, guess_mapping, preview_prices, price_notes, read_prices
from graph.costing.prices import Price, is_stale
from graph.costing.shop import (
    list_prices,
    list_rates,
    list_stock,
    list_sublets,
    rate_note,
    stock_note,
    sublet_note,
    take_back,
)
from graph.costing.spread import HoursRange
from graph.costing.tables import read_table
from graph.errors import InvalidInput, Problem
from graph.exact import HUNDREDTHS

router = APIRouter(tags=["costing"])
PLAIN = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$"
Short = Annotated[str, Field(max_length=200, pattern=PLAIN)]
Named = Annotated[str, Field(min_length=1, max_length=200, pattern=PLAIN)]
Long = Annotated[str, Field(max_length=2000, pattern=PLAIN)]
Money = Annotated[Decimal, Field(ge=0, le=10**7, decimal_places=2)]
Hours = Annotated[Decimal, Field(ge=0, le=1000, decimal_places=2)]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$", description="ISO 4217", examples=["EUR"])]
JobId = Annotated[str, Path(max_length=200, pattern=PLAIN, examples=["J-1"])]
Part = Annotated[str, Query(max_length=200, description="only this part; empty for all")]
MOST_LISTED = 500


class Body(BaseModel):
    """What every body refuses: fields that nobody knows."""

    model_config = ConfigDict(extra="forbid")


class Said(Body):
    """Who says so, and how it is known."""

    author: Short = Field("", description="a role or initials; the name on the token if left out", examples=["bench 1"])
    method: Short = Field("", description="how it was found out")

    def provenance(self, request: Request) -> Provenance:
        """Who, how and now. Raises a 403 problem for a token that may not note."""
        return Provenance(self.author or access_of(request).need("note").name, self.method)


class HoursBody(Body):
    """An operation's hours: low, usual, high."""

    operation: Named = Field(description="id of the task, candidate or link")
    low: Hours
    usual: Hours
    high: Hours

    def range(self) -> HoursRange:
        """The same as the core's range."""
        return HoursRange(self.operation, *(int(each * HUNDREDTHS) for each in (self.low, self.usual, self.high)))


class RouteBody(Body):
    """A question, which of its routes, and what is known besides."""

    question: QuestionBody
    rank: int = Field(1, ge=1, le=1000, description="which route; 1 is the best")
    signs: dict[Named, Named] = Field(
        default_factory=dict, max_length=20, description="known before opening: sign and its state",
        examples=[{"mileage class": "high"}],
    )  # fmt: skip
    limit: Money | None = Field(None, description="the customer's limit")
    hours: list[HoursBody] = Field(default_factory=list, max_length=100, description="hours with low, usual, high")

    @property
    def limit_hundredths(self) -> int | None:
        """The limit in whole hundredths."""
        return None if self.limit is None else int(self.limit * HUNDREDTHS)


def desk_of(request: Request) -> CostDesk:
    """The app's cost desk."""
    found = request.app.state.cost_desk
    assert isinstance(found, CostDesk)
    return found


UsesDesk = Annotated[CostDesk, Depends(desk_of)]


def install(app: FastAPI, notes: CostNotes) -> None:
    """Adds costing and papers to the app, on these notes."""
    from api.routers import papers

    app.state.cost_desk = CostDesk(notes)
    app.include_router(router)
    app.include_router(papers.router)


def asked(body: RouteBody, desk: CostDesk, workshop: Workshop) -> CostedAnswer:
    """The body's question answered with the shop's record."""
    return desk.ask(workshop.index, body.question.question(), date.today(), body.signs)


@dataclass(frozen=True, slots=True)
class Odds:
    """The odds of every fault that the facts name."""

    odds: tuple[OddsLine, ...]


@dataclass(frozen=True, slots=True)
class PriceLine:
    """A price as kept. `stale`: old enough to be asked again."""

    part: str
    cash_hundredths: int
    currency: str
    condition: str
    dated: str
    supplier: str
    lead_days: Fraction
    deposit_hundredths: int
    deposit_lost: Fraction
    batch: str
    stale: bool


@dataclass(frozen=True, slots=True)
class Prices:
    """A page of prices in order of part. `total`: on all pages."""

    total: int
    prices: tuple[PriceLine, ...]


@dataclass(frozen=True, slots=True)
class ProblemAt:
    """A row that is not good: where and why."""

    path: str
    message: str


@dataclass(frozen=True, slots=True)
class ListPreview:
    """How a list is read: field to column, columns not used, fields that are missing, first rows, every problem."""

    mapping: Mapping[str, str]
    unused: tuple[str, ...]
    missing: tuple[str, ...]
    rows: int
    first: tuple[PriceLine, ...]
    problems: tuple[ProblemAt, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """What was kept: the batch to take back, and how many notes it has."""

    batch: str
    notes: int


@router.get(
    "/odds",
    summary="Odds of worn parts",
    response_model=None,
    responses=problems.responses({"model": shape(Odds)}, 422),
)
async def get_odds(workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """Prior, what the shop found when it looked, credible interval; small samples say so."""
    costed = await workshop.work_out(lambda: desk.costed(workshop.index, date.today())[1])
    return PlainJson(part_as_json(Odds(odds_lines(costed))))


@router.post(
    "/routes/cost", summary="What a route will really cost", response_model=None,
    responses=problems.responses({"model": shape(RouteCost)}, 404, 413, 422),
)  # fmt: skip
async def cost_route(body: RouteBody, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """The spread, the chance of exceeding the limit, what to replace while it is open, what may be found on strip."""

    def worked_out() -> Any:
        ranges = [each.range() for each in body.hours]
        return part_as_json(
            route_cost(asked(body, desk, workshop), body.rank, desk.notes, body.limit_hundredths, ranges)
        )

    return PlainJson(await workshop.work_out(worked_out))


@router.post(
    "/routes/spread.svg", summary="The spread of a route, drawn", response_class=Response,
    responses=problems.responses({"description": "the drawing", "content": {"image/svg+xml": {}}}, 404, 413, 422),
)  # fmt: skip
async def draw_spread(body: RouteBody, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """How likely the cost is to stay within each amount."""

    def drawn() -> str:
        found = asked(body, desk, workshop)
        limit = None if body.limit_hundredths is None else Fraction(body.limit_hundredths, HUNDREDTHS)
        return plot_spread(spread_at(found, route_at(found.answer, body.rank)), found.answer.currency, limit)

    return Response(await workshop.work_out(drawn), media_type="image/svg+xml")


def reading_of(mapping: str, defaults: str, date_order: str, decimal_mark: str, header: tuple[str, ...]) -> Reading:
    """The reading that the form states; an empty mapping is guessed. Raises InvalidInput."""
    texts: dict[str, dict[str, str]] = {}
    for name, text in (("mapping", mapping), ("defaults", defaults)):
        try:
            texts[name] = TypeAdapter(dict[str, str]).validate_json(text or "{}")
        except ValidationError:
            raise InvalidInput([Problem(name, 'expected a JSON object such as {"cash": "Net price"}')]) from None
    return Reading(texts["mapping"] or guess_mapping(header), texts["defaults"], date_order, decimal_mark)


class ListForm:
    """The form of a price list: the file, and how to read it."""

    def __init__(
        self,
        file: Annotated[UploadFile, File(description="CSV (UTF-8) or XLSX")],
        mapping: Annotated[str, Form(max_length=5000, description="JSON: field to column; empty: guessed")] = "",
        defaults: Annotated[str, Form(max_length=5000, description="JSON: field to text for missing columns")] = "",
        date_order: Annotated[Literal["", "year first", "day first", "month first"], Form()] = "",
        decimal_mark: Annotated[Literal["", ".", ","], Form()] = "",
        author: Annotated[str, Form(max_length=200, pattern=PLAIN)] = "",
    ):
        self.file, self.mapping, self.defaults = file, mapping, defaults
        self.date_order, self.decimal_mark, self.author = date_order, decimal_mark, author

    def read(self, data: bytes) -> tuple[Any, Reading]:
        """The table and how to read it."""
        table = read_table(data, self.file.filename or "list")
        return table, reading_of(self.mapping, self.defaults, self.date_order, self.decimal_mark, table.header)


UsesForm = Annotated[ListForm, Depends()]


@router.post(
    "/prices/preview", summary="How a price list would be read", response_model=None,
    responses=problems.responses({"model": shape(ListPreview)}, 413, 422),
)  # fmt: skip
async def preview_list(form: UsesForm, workshop: UsesWorkshop) -> Response:
    """The mapping, the first rows as read and every problem by line and column. Nothing is kept."""
    data = await form.file.read()

    def previewed() -> Any:
        table, reading = form.read(data)
        return part_as_json(_preview(preview_prices(table, reading, date.today())))

    return PlainJson(await workshop.work_out(previewed))


@router.post(
    "/prices/import", summary="Keep a price list", response_model=None,
    responses=problems.responses({"model": shape(Kept)}, 403, 409, 413, 422, 503),
)  # fmt: skip
async def import_list(form: UsesForm, request: Request, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """All rows or none: a single bad row refuses the list, and every bad row is named by line and column."""
    said = Provenance(form.author or access_of(request).need("note").name, f"price list {form.file.filename}"[:200])
    data = await form.file.read()

    def kept() -> Any:
        table, reading = form.read(data)
        made = price_notes(read_prices(table, reading, date.today()), said)
        desk.notes.append(made)
        return part_as_json(Kept(made[0].batch, len(made)))

    return PlainJson(await workshop.work_out(kept))


@router.get(
    "/prices", summary="Prices", response_model=None, responses=problems.responses({"model": shape(Prices)}, 422)
)
async def get_prices(
    workshop: UsesWorkshop, desk: UsesDesk, part: Part = "",
    offset: Annotated[int, Query(ge=0, le=10**9)] = 0, limit: Annotated[int, Query(ge=1, le=MOST_LISTED)] = 50,
) -> Response:  # fmt: skip
    """What stands, stale prices marked."""
    prices = await workshop.work_out(lambda: sorted(list_prices(desk.notes, part), key=lambda p: (p.part, p.dated)))
    lines = tuple(_price_line(price) for price in prices[offset : offset + limit])
    return PlainJson(part_as_json(Prices(len(prices), lines)))


@router.get(
    "/prices.{form}", summary="Prices as a table", response_class=Response,
    responses=problems.responses({"description": "the list", "content": {"text/csv": {}}}, 422),
)  # fmt: skip
async def export_prices(
    form: Annotated[Literal["csv", "xlsx"], Path()], workshop: UsesWorkshop, desk: UsesDesk, part: Part = ""
) -> Response:
    """CSV or XLSX; no cell of it can be executed by a spreadsheet."""
    prices = await workshop.work_out(lambda: list_prices(desk.notes, part))
    headers = {"content-disposition": f'attachment; filename="prices.{form}"'}
    if form == "csv":
        return Response(prices_as_csv(prices), media_type="text/csv; charset=utf-8", headers=headers)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return Response(await workshop.work_out(lambda: prices_as_xlsx(prices)), media_type=kind, headers=headers)


class BackBody(Said):
    """Why a batch is taken back."""

    reason: Long = ""


@router.post(
    "/batches/{batch}/retraction", summary="Take a batch back", response_model=None,
    responses=problems.responses({"model": shape(Kept)}, 403, 404, 409, 422, 503),
)  # fmt: skip
async def retract(
    batch: Annotated[str, Path(max_length=200, pattern=PLAIN)], body: BackBody, request: Request, desk: UsesDesk,
    workshop: UsesWorkshop,
) -> Response:  # fmt: skip
    """A price list, a job's closing, a count of the shelf: whatever was kept together goes together."""
    said = body.provenance(request)
    await workshop.work_out(lambda: take_back(desk.notes, batch, said, body.reason))
    return PlainJson(part_as_json(Kept(batch, 1)))


class StockBody(Said):
    """A count of the shelf; it replaces the last one of the same part, condition and place."""

    part: Named
    quantity: int = Field(ge=0, le=10**6)
    book: Money = Field(description="book value of one piece")
    currency: Currency
    condition: Literal["new", "new-old-stock", "reconditioned", "used-tested", "used-untested"] = "used-untested"
    place: Short = ""


class RateBody(Said):
    """Money per hour for a kind of work; `bench` is the rate of a question that names none."""

    kind: Named = Field(examples=["bench"])
    per_hour: Money
    currency: Currency


class SubletBody(Said):
    """Work sent out at a fixed price."""

    id: Named
    label: Named
    cash: Money
    currency: Currency
    lead_days: Annotated[Decimal, Field(ge=0, le=10**4)] = Decimal(0)
    wanted: Long = ""


@dataclass(frozen=True, slots=True)
class ShopLists:
    """The shelf, the rates and the work sent out, as they stand."""

    stock: tuple[Any, ...]
    rates: tuple[Any, ...]
    sublets: tuple[Any, ...]


@router.get("/shop", summary="Shelf, rates, sublet work", response_model=None)
async def get_shop(workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """The shelf, rates per kind of work, and the price list of work sent out."""
    notes = desk.notes
    made = await workshop.work_out(
        lambda: ShopLists(tuple(list_stock(notes)), tuple(list_rates(notes)), tuple(list_sublets(notes)))
    )
    return PlainJson(part_as_json(made))


_KEPT = problems.responses({"model": shape(Kept)}, 403, 409, 413, 422, 503)


@router.post("/shop/stock", summary="Count the shelf", response_model=None, responses=_KEPT)
async def post_stock(body: StockBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """A housing on the shelf is used at its book value before anything is bought."""
    values = body.model_dump(mode="json", include={"quantity", "book", "currency", "condition", "place"})
    return await _keep(workshop, desk, [stock_note(body.part, values, body.provenance(request))])


@router.post("/shop/rates", summary="Set a rate", response_model=None, responses=_KEPT)
async def post_rate(body: RateBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """The newest rate of a kind holds."""
    values = body.model_dump(mode="json", include={"per_hour", "currency"})
    return await _keep(workshop, desk, [rate_note(body.kind, values, body.provenance(request))])


@router.post("/shop/sublets", summary="Price work sent out", response_model=None, responses=_KEPT)
async def post_sublet(body: SubletBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """The newest price of a kind of work holds."""
    values = body.model_dump(mode="json", include={"label", "cash", "currency", "lead_days", "wanted"})
    return await _keep(workshop, desk, [sublet_note(body.id, values, body.provenance(request))])


class JobBody(RouteBody, Said):
    """A job from a route of a question. `number`: the shop's own; made up if left out."""

    title: Named
    number: Short = ""


class WorkBody(Said):
    """Hours worked on a step."""

    step: int = Field(ge=1, le=10_000)
    hours: Annotated[Decimal, Field(gt=0, le=1000, decimal_places=2)]


class FindingBody(Said):
    """What was found of a fault. Only a part that was laid open counts."""

    fault: Named
    laid_open: bool
    worn: bool = False
    words: Long = ""


class MeasuredBody(Said):
    """A reading with its unit: 38.1 mm, 1-1/2 in, 14 thou."""

    what: Named
    reading: Named
    datum: Short = ""
    tool: Short = ""
    by: Short = ""


class AsBuiltBody(Said):
    """What sits at a position in the finished assembly."""

    position: Named
    part: Named
    condition: Short = ""
    remark: Long = ""


class RemarkBody(Said):
    """A remark."""

    words: Annotated[str, Field(min_length=1, max_length=2000, pattern=PLAIN)]


class ClosingBody(Said):
    """How the job ended."""

    outcome: Literal["done", "abandoned"]


class FollowUpBody(Said):
    """A look back after so many months."""

    months: int = Field(ge=0, le=600)
    good: bool
    words: Long = ""


@router.post(
    "/jobs",
    summary="Plan a job from a route",
    response_model=None,
    responses=problems.responses({"description": "the job"}, 403, 404, 409, 413, 422, 503),
)
async def post_job(body: JobBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """The route's steps become the plan."""
    said = body.provenance(request)

    def planned() -> Any:
        found = asked(body, desk, workshop)
        route = route_at(found.answer, body.rank)
        plan = jobs.plan_job(found.answer, route, body.title, said, body.number, found.book_hundredths)
        return job_as_json(jobs.open_job(desk.notes, plan))

    return PlainJson(await workshop.work_out(planned))


@router.get("/jobs", summary="Jobs", response_model=None)
async def get_jobs(workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """Every job, oldest first, without its steps."""

    def listed() -> Any:
        kept = ("id", "title", "gearbox", "engine", "outcome", "closing")
        return {"jobs": [{name: getattr(job, name) for name in kept} for job in jobs.list_jobs(desk.notes)]}

    return PlainJson(await workshop.work_out(listed))


@router.get(
    "/jobs/{job}",
    summary="One job",
    response_model=None,
    responses=problems.responses({"description": "the job"}, 404, 422),
)
async def get_job(job: JobId, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """Plan, hours, findings, measurements, what was built, closing and follow-ups."""
    return PlainJson(await workshop.work_out(lambda: job_as_json(jobs.get_job(desk.notes, job))))


_ENTERED = problems.responses({"description": "the job as it now stands"}, 403, 404, 409, 413, 422, 503)


@router.post("/jobs/{job}/hours", summary="Note hours", response_model=None, responses=_ENTERED)
async def post_hours(job: JobId, body: WorkBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk) -> Response:
    """Hours on a step add up."""
    said = body.provenance(request)
    return await _enter(workshop, desk, job, lambda found: [jobs.hours_entry(found, body.step, body.hours, said)])


@router.post("/jobs/{job}/findings", summary="Note a finding", response_model=None, responses=_ENTERED)
async def post_finding(
    job: JobId, body: FindingBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk
) -> Response:
    """Worn, sound, or not seen."""
    said = body.provenance(request)
    return await _enter(
        workshop, desk, job,
        lambda found: [jobs.finding_entry(found, body.fault, body.laid_open, body.worn, said, body.words)],
    )  # fmt: skip


@router.post("/jobs/{job}/measurements", summary="Note a measurement", response_model=None, responses=_ENTERED)
async def post_measured(
    job: JobId, body: MeasuredBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk
) -> Response:
    """With its unit, datum and tool."""
    said, measured = body.provenance(request), jobs.Measured(body.what, body.reading, body.datum, body.tool, body.by)
    return await _enter(workshop, desk, job, lambda found: [jobs.measurement_entry(found, measured, said)])


@router.post("/jobs/{job}/as-built", summary="Note what was fitted", response_model=None, responses=_ENTERED)
async def post_as_built(
    job: JobId, body: AsBuiltBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk
) -> Response:
    """The newest entry of a position holds."""
    said, built = body.provenance(request), jobs.AsBuilt(body.position, body.part, body.condition, body.remark)
    return await _enter(workshop, desk, job, lambda found: [jobs.as_built_entry(found, built, said)])


@router.post("/jobs/{job}/remarks", summary="Note a remark", response_model=None, responses=_ENTERED)
async def post_remark(
    job: JobId, body: RemarkBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk
) -> Response:
    """For whoever opens it next."""
    said = body.provenance(request)
    return await _enter(workshop, desk, job, lambda found: [jobs.remark_entry(found, body.words, said)])


@router.post("/jobs/{job}/closing", summary="Close a job", response_model=None, responses=_ENTERED)
async def post_closing(
    job: JobId, body: ClosingBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk
) -> Response:
    """Teaches odds, hours and evidence; taking the closing's batch back unlearns all of it."""
    said = body.provenance(request)
    return await _enter(workshop, desk, job, lambda found: jobs.close_job(found, body.outcome, said))


@router.post("/jobs/{job}/follow-ups", summary="Look back", response_model=None, responses=_ENTERED)
async def post_follow_up(
    job: JobId, body: FollowUpBody, request: Request, workshop: UsesWorkshop, desk: UsesDesk
) -> Response:
    """Good after half a year: done and lasted. Bad: what it rested on is contradicted."""
    said = body.provenance(request)
    return await _enter(
        workshop, desk, job, lambda found: jobs.follow_up(found, body.months, body.good, said, body.words)
    )  # fmt: skip


def job_as_json(job: jobs.Job) -> dict[str, Any]:
    """The job with each step's planned and actual hours."""
    noted = job.actual_hundredths or {}
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
        "faults": list(job.faults), "findings": part_as_json(job.findings),
        "measurements": part_as_json(job.measurements), "as_built": part_as_json(job.as_built),
        "remarks": list(job.remarks), "closing": job.closing, "outcome": job.outcome,
        "follow_ups": [{"months": months, "good": good} for months, good in job.follow_ups],
    }  # fmt: skip


async def _enter(workshop: Workshop, desk: CostDesk, job: str, entries: Any) -> Response:
    def entered() -> Any:
        desk.notes.append(entries(jobs.get_job(desk.notes, job)))
        return job_as_json(jobs.get_job(desk.notes, job))

    return PlainJson(await workshop.work_out(entered))


async def _keep(workshop: Workshop, desk: CostDesk, made: list[Any]) -> Response:
    await workshop.work_out(lambda: desk.notes.append(made))
    return PlainJson(part_as_json(Kept(made[0].batch, len(made))))


def _price_line(price: Price) -> PriceLine:
    return PriceLine(
        price.part, price.cash_hundredths, price.currency, price.condition, price.dated.isoformat(), price.supplier,
        price.lead_days, price.deposit_hundredths, price.deposit_lost, price.batch, is_stale(price, date.today()),
    )  # fmt: skip


def _preview(found: Preview) -> ListPreview:
    faults = tuple(ProblemAt(each.path, each.message) for each in found.problems[:MOST_LISTED])
    first = tuple(_price_line(price) for price in found.first)
    return ListPreview(dict(found.mapping), found.unused, found.missing, found.rows, first, faults)

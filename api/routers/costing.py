"""What it will really cost: odds, a route's spread, prices and shelf, rates, sublet work, jobs.

Everything is kept as notes and can be taken back by its batch. `install` puts these routes and the papers on an app.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any

from fastapi import APIRouter, FastAPI, Path, Request, Response

from api import problems
from api.json import PlainJson
from api.pages import shop_data
from api.roles import needs
from api.routers import costing_jobs, costing_prices, costing_shop, papers, while_out
from api.routers.costing_bodies import PLAIN, Kept, Long, RouteBody, SaidBy, asked
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.serial import part_as_json
from graph.costing.asking import (
    OddsLine,
    RouteCost,
    joint_odds_lines,
    odds_lines,
    route_at,
    route_cost,
    spread_at,
)
from graph.costing.notes import CostNotes
from graph.costing.plot import plot_spread
from graph.costing.shop import (
    take_back,
)
from graph.exact import HUNDREDTHS

router = APIRouter(tags=["costing"])


def install(app: FastAPI, notes: CostNotes) -> None:
    """Adds costing and papers to the app, on these notes, and has its shop answer with them."""
    app.state.workshop.shop.keep_record(notes)
    for module in (costing_prices, costing_shop, costing_jobs, papers, while_out):
        app.include_router(module.router)
    app.include_router(router)
    app.include_router(shop_data.router)


@dataclass(frozen=True, slots=True)
class Odds:
    """The odds of every fault that the facts name; `joints`: that two parts nobody has stated to mate do not."""

    odds: tuple[OddsLine, ...]
    joints: tuple[OddsLine, ...]


@needs("read")
@router.get(
    "/odds",
    summary="Odds of worn parts",
    response_model=None,
    responses=problems.responses({"model": shape(Odds)}, 422),
)
async def get_odds(workshop: UsesWorkshop) -> Response:
    """Prior, what the shop found when it looked, credible interval; small samples say so."""
    costed = await workshop.work_out(lambda: workshop.shop.standing().costed)
    return PlainJson(part_as_json(Odds(odds_lines(costed), joint_odds_lines(costed))))


@needs("read")
@router.post(
    "/routes/cost", summary="What a route will really cost", response_model=None,
    responses=problems.responses({"model": shape(RouteCost)}, 400, 404, 413, 422),
)  # fmt: skip
async def cost_route(body: RouteBody, workshop: UsesWorkshop) -> Response:
    """The spread, the chance of exceeding the limit, what to replace while it is open, what may be found on strip."""

    def worked_out() -> Any:
        ranges = [each.range() for each in body.hours]
        return part_as_json(
            route_cost(asked(body, workshop), body.rank, workshop.shop.notes, body.limit_hundredths, ranges)
        )

    return PlainJson(await workshop.work_out(worked_out))


@needs("read")
@router.post(
    "/routes/spread.svg", summary="The spread of a route, drawn", response_class=Response,
    responses=problems.responses({"description": "the drawing", "content": {"image/svg+xml": {}}}, 400, 404, 413, 422),
)  # fmt: skip
async def draw_spread(body: RouteBody, workshop: UsesWorkshop) -> Response:
    """How likely the cost is to stay within each amount."""

    def drawn() -> str:
        found = asked(body, workshop)
        limit = None if body.limit_hundredths is None else Fraction(body.limit_hundredths, HUNDREDTHS)
        return plot_spread(spread_at(found, route_at(found.answer, body.rank)), found.answer.currency, limit)

    return Response(await workshop.work_out(drawn), media_type="image/svg+xml")


class BackBody(SaidBy):
    """Why a batch is taken back."""

    reason: Long = ""


@needs("note")
@router.post(
    "/batches/{batch}/retraction", summary="Take a batch back", response_model=None,
    responses=problems.responses({"model": shape(Kept)}, 400, 403, 404, 409, 413, 422, 503),
)  # fmt: skip
async def retract(
    batch: Annotated[str, Path(max_length=200, pattern=PLAIN)], body: BackBody, request: Request,
    workshop: UsesWorkshop,
) -> Response:  # fmt: skip
    """A price list, a job's closing, a count of the shelf: whatever was kept together goes together."""
    said = body.provenance(request)
    await workshop.work_out(lambda: take_back(workshop.shop.notes, batch, said, body.reason))
    return PlainJson(part_as_json(Kept(batch, 1)))

"""The shelf, the rates and the price list of work sent out, over HTTP."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request, Response
from pydantic import Field, WithJsonSchema

from api import problems
from api.json import PlainJson
from api.roles import needs
from api.routers.costing_bodies import (
    Currency,
    Hours,
    Kept,
    Long,
    Money,
    Named,
    SaidBy,
    Short,
    Whole,
    exact_schema,
    keep,
)
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.serial import part_as_json
from graph.costing.known_names import with_every_fault
from graph.costing.shop import (
    list_rates,
    list_stock,
    list_sublets,
    rate_note,
    stock_note,
    sublet_note,
)
from graph.costing.tax import find_tax, tax_note

router = APIRouter(tags=["costing"])


class StockBody(SaidBy):
    """A count of the shelf; it replaces the last one of the same part, condition and place."""

    part: Named
    quantity: Whole = Field(ge=0, le=10**6)
    book: Money = Field(description="book value of one piece")
    currency: Currency
    condition: Literal["new", "new-old-stock", "reconditioned", "used-tested", "used-untested"] = "used-untested"
    place: Short = ""


class RateBody(SaidBy):
    """Money per hour for a kind of work; `bench` is the rate of a question that names none."""

    kind: Named = Field(examples=["bench"])
    per_hour: Money
    currency: Currency


class TaxBody(SaidBy):
    """The tax that comes on top of a price, in percent of it."""

    percent: Annotated[Decimal, Field(ge=0, le=100, decimal_places=2), WithJsonSchema(exact_schema(100))] = Field(
        examples=["19"]
    )


class SubletBody(SaidBy):
    """Work sent out at a fixed price."""

    id: Named
    label: Named
    cash: Money
    currency: Currency
    lead_days: Hours = Field(Decimal(0), description="days")
    wanted: Long = ""


@dataclass(frozen=True, slots=True)
class ShopLists:
    """The shelf, the rates, the work sent out and the tax as they stand. `tax`: in percent; null: not stated."""

    stock: tuple[Any, ...]
    rates: tuple[Any, ...]
    sublets: tuple[Any, ...]
    tax: Any = None


@needs("read")
@router.get("/shop", summary="Shelf, rates, sublet work", response_model=None)
async def get_shop(workshop: UsesWorkshop) -> Response:
    """The shelf, rates per kind of work, and the price list of work sent out."""
    notes = workshop.shop.notes
    made = await workshop.work_out(
        lambda: ShopLists(
            tuple(list_stock(notes)), tuple(list_rates(notes)), tuple(list_sublets(notes)), find_tax(notes)
        )
    )
    return PlainJson(part_as_json(made))


_KEPT = problems.responses({"model": shape(Kept)}, 400, 403, 409, 413, 422, 503)


@needs("note")
@router.post("/shop/stock", summary="Count the shelf", response_model=None, responses=_KEPT)
async def post_stock(body: StockBody, request: Request, workshop: UsesWorkshop) -> Response:
    """A housing on the shelf is used at its book value before anything is bought."""
    values = body.model_dump(mode="json", include={"quantity", "book", "currency", "condition", "place"})
    known = workshop.shop.names.part
    made = with_every_fault(lambda: stock_note(body.part, values, body.provenance(request)), "part", body.part, known)
    return await keep(request, workshop, [made])


@needs("note")
@router.post("/shop/rates", summary="Set a rate", response_model=None, responses=_KEPT)
async def post_rate(body: RateBody, request: Request, workshop: UsesWorkshop) -> Response:
    """The newest rate of a kind holds."""
    values = body.model_dump(mode="json", include={"per_hour", "currency"})
    return await keep(request, workshop, [rate_note(body.kind, values, body.provenance(request))])


@needs("note")
@router.post("/shop/tax", summary="State the tax", response_model=None, responses=_KEPT)
async def post_tax(body: TaxBody, request: Request, workshop: UsesWorkshop) -> Response:
    """Printed on estimates from now on; until it is stated they say that it is not."""
    return await keep(request, workshop, [tax_note(str(body.percent), body.provenance(request))])


@needs("note")
@router.post("/shop/sublets", summary="Price work sent out", response_model=None, responses=_KEPT)
async def post_sublet(body: SubletBody, request: Request, workshop: UsesWorkshop) -> Response:
    """The newest price of a kind of work holds."""
    values = body.model_dump(mode="json", include={"label", "cash", "currency", "lead_days", "wanted"})
    known = workshop.shop.names.sent_out
    made = with_every_fault(lambda: sublet_note(body.id, values, body.provenance(request)), "id", body.id, known)
    return await keep(request, workshop, [made])

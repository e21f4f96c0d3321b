"""Price lists over HTTP: previewed, kept whole or not at all, listed, exported."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, File, Form, Path, Query, Request, Response, UploadFile
from pydantic import TypeAdapter, ValidationError

from api import problems
from api.files import read_in_turn
from api.json import PlainJson
from api.roles import needs
from api.routers.costing_bodies import MOST_LISTED, PLAIN, XLSX, Kept, Part, sent_as
from api.security import access_of
from api.shapes import shape
from api.workshop import UsesWorkshop
from graph.answer.serial import part_as_json
from graph.costing.notes import Provenance
from graph.costing.price_export import prices_as_csv, prices_as_xlsx
from graph.costing.price_import import (
    ListReading,
    PricePreview,
    guess_mapping,
    preview_prices,
    price_notes,
    read_prices,
)
from graph.costing.prices import Price, find_source, is_stale
from graph.costing.shop import (
    list_prices,
)
from graph.costing.tables import ReadTable, read_table
from graph.errors import InvalidInput, Problem
from graph.guarded.bounds import LOOK, PRICE_LISTS, Bounds

router = APIRouter(tags=["costing"])


@dataclass(frozen=True, slots=True)
class PriceLine:
    """A price as kept. `stale`: old enough to be asked again; `in_force`: the one that answers go by, unless the shelf
    holds the part."""

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
    in_force: bool = False


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
    left_out: tuple[str, ...] = ()


REFUSE, LEAVE_OUT = "refuse", "leave out"


def reading_of(
    mapping: str, defaults: str, date_order: str, decimal_mark: str, unknown_parts: str, header: tuple[str, ...]
) -> ListReading:  # fmt: skip
    """The reading that the form states; an empty mapping is guessed. Raises InvalidInput."""
    texts: dict[str, dict[str, str]] = {}
    for name, text in (("mapping", mapping), ("defaults", defaults)):
        try:
            texts[name] = TypeAdapter(dict[str, str]).validate_json(text or "{}")
        except ValidationError:
            raise InvalidInput([Problem(name, 'expected a JSON object such as {"cash": "Net price"}')]) from None
    return ListReading(texts["mapping"] or guess_mapping(header), texts["defaults"], date_order, decimal_mark,
                   unknown_parts == LEAVE_OUT)  # fmt: skip


class ListForm:
    """The form of a price list: the file, and how to read it."""

    def __init__(
        self,
        file: Annotated[UploadFile, File(description="CSV (UTF-8) or XLSX")],
        mapping: Annotated[str, Form(max_length=5000, description="JSON: field to column; empty: guessed")] = "",
        defaults: Annotated[str, Form(max_length=5000, description="JSON: field to text for missing columns")] = "",
        date_order: Annotated[Literal["", "year first", "day first", "month first"], Form()] = "",
        decimal_mark: Annotated[Literal["", ".", ","], Form()] = "",
        unknown_parts: Annotated[
            Literal["refuse", "leave out"], Form(description="what to do with rows of parts that nobody knows")
        ] = "refuse",
        author: Annotated[str, Form(max_length=200, pattern=PLAIN)] = "",
    ):
        self.file, self.mapping, self.defaults = file, mapping, defaults
        self.date_order, self.decimal_mark, self.author = date_order, decimal_mark, author
        self.unknown_parts = unknown_parts

    def read(self, bounds: Bounds) -> tuple[ReadTable, ListReading]:
        """The table and how to read it."""
        table = read_table(self.file.file, self.file.filename or "list", bounds)
        said = (self.mapping, self.defaults, self.date_order, self.decimal_mark, self.unknown_parts)
        return table, reading_of(*said, table.header)


UsesForm = Annotated[ListForm, Depends()]


@needs("note")
@router.post(
    "/prices/preview", summary="How a price list would be read", response_model=None,
    responses=problems.responses({"model": shape(ListPreview)}, 400, 413, 422, 503),
)  # fmt: skip
async def preview_list(form: UsesForm, request: Request, workshop: UsesWorkshop) -> Response:
    """The mapping, the first rows as read and every problem by line and column. Nothing is kept."""

    def previewed() -> Any:
        table, reading = form.read(LOOK)
        return part_as_json(_preview(preview_prices(table, reading, date.today(), workshop.shop.names)))

    return PlainJson(await read_in_turn(request, previewed))


@needs("note")
@router.post(
    "/prices/import", summary="Keep a price list", response_model=None,
    responses=problems.responses({"model": shape(Kept)}, 400, 403, 409, 413, 422, 503),
)  # fmt: skip
async def import_list(form: UsesForm, request: Request, workshop: UsesWorkshop) -> Response:
    """All rows or none: a single bad row refuses the list, and every bad row is named by line and column.

    A row of a part that the workshop does not know is bad too, unless `unknown_parts` says to leave such out.
    """
    access, name = access_of(request), sent_as(request)
    said = Provenance(access.signed(form.author), f"price list {form.file.filename}"[:200])

    def kept() -> Any:
        table, reading = form.read(PRICE_LISTS[access.role])
        read = read_prices(table, reading, date.today(), workshop.shop.names)
        made = workshop.shop.keep(price_notes(read, said), name)
        return part_as_json(Kept(made[0].batch, len(made), len(read.left_out)))

    return PlainJson(await read_in_turn(request, kept))


@needs("read")
@router.get(
    "/prices", summary="Prices", response_model=None, responses=problems.responses({"model": shape(Prices)}, 422)
)
async def get_prices(
    workshop: UsesWorkshop, part: Part = "",
    offset: Annotated[int, Query(ge=0, le=10**9)] = 0, limit: Annotated[int, Query(ge=1, le=MOST_LISTED)] = 50,
) -> Response:  # fmt: skip
    """What stands, stale prices marked."""
    prices = await workshop.work_out(
        lambda: sorted(list_prices(workshop.shop.notes, part), key=lambda p: (p.part, p.dated))
    )
    currency = workshop.index.catalogue.currency
    shown = prices[offset : offset + limit]
    best = _in_force(prices, {price.part for price in shown}, currency)
    lines = tuple(replace(_price_line(price), in_force=id(price) in best) for price in shown)
    return PlainJson(part_as_json(Prices(len(prices), lines)))


@needs("read")
@router.get(
    "/prices.{form}", summary="Prices as a table", response_class=Response,
    responses=problems.responses({"description": "the list", "content": {"text/csv": {}, XLSX: {}}}, 422),
)  # fmt: skip
async def export_prices(
    form: Annotated[Literal["csv", "xlsx"], Path()], workshop: UsesWorkshop, part: Part = ""
) -> Response:
    """CSV or XLSX; no cell of it can be executed by a spreadsheet."""
    prices = await workshop.work_out(lambda: list_prices(workshop.shop.notes, part))
    headers = {"content-disposition": f'attachment; filename="prices.{form}"'}
    if form == "csv":
        return Response(prices_as_csv(prices), media_type="text/csv; charset=utf-8", headers=headers)
    return Response(await workshop.work_out(lambda: prices_as_xlsx(prices)), media_type=XLSX, headers=headers)


def _in_force(prices: Sequence[Price], parts: Set[str], currency: str) -> set[int]:
    """The prices, by identity, that answers go by."""
    by_part: dict[str, list[Price]] = {}
    for price in prices:
        if price.part in parts:
            by_part.setdefault(price.part, []).append(price)
    found = (find_source(part, own, (), currency, date.today()) for part, own in by_part.items())
    return {id(source.price) for source in found if source and source.price}


def _price_line(price: Price) -> PriceLine:
    return PriceLine(
        price.part, price.cash_hundredths, price.currency, price.condition, price.dated.isoformat(), price.supplier,
        price.lead_days, price.deposit_hundredths, price.deposit_lost, price.batch, is_stale(price, date.today()),
    )  # fmt: skip


def _preview(found: PricePreview) -> ListPreview:
    faults = tuple(ProblemAt(each.path, each.message) for each in found.problems[:MOST_LISTED])
    first = tuple(_price_line(price) for price in found.first)
    return ListPreview(dict(found.mapping), found.unused, found.missing, found.rows, first, faults,
                       found.left_out[:MOST_LISTED])  # fmt: skip

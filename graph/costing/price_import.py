"""Price lists in: a preview of how the columns are read, every bad row by line and column, and all or nothing.

A list is read against a mapping (field -> column). Without one it is guessed from the header and shown first.
Nothing is kept unless every row is good; what was kept is one batch, and can be taken back as one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from rapidfuzz import fuzz, process

from graph.costing.cells import (
    DATE_ORDERS,
    DAY_FIRST,
    ISO,
    MONTH_FIRST,
    date_of,
    date_readings,
    number_of,
    odds_of,
    text_of,
)
from graph.costing.currency import amount_hundredths, currency_of
from graph.costing.known_names import KnownNames
from graph.costing.notes import PRICE, CostNote, Provenance, new_id
from graph.costing.prices import CONDITIONS, Price
from graph.costing.tables import ReadTable, TableRow
from graph.errors import InvalidInput, Problem
from graph.exact import NotExact

FIELDS = {
    "part": ("part", "part number", "item", "id", "part id"),
    "cash": ("price", "unit price", "net price", "cash", "cost", "amount"),
    "currency": ("currency", "curr"),
    "condition": ("condition", "state"),
    "dated": ("date", "dated", "valid from", "price date"),
    "supplier": ("supplier", "seller", "source", "supplier note"),
    "lead_days": ("lead days", "lead", "delivery days", "days"),
    "deposit": ("deposit", "core deposit", "core", "surcharge"),
    "deposit_lost": ("deposit lost", "odds of losing deposit", "core loss odds"),
}
REQUIRED = ("part", "cash", "currency", "condition", "dated")
GOOD_MATCH = 82  # of 100; below, a column is left for the reader to map
PREVIEWED = 5
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class ListReading:
    """How to read a list. `mapping`: field -> column; `defaults`: field -> text for a column that is not there.

    `leave_out`: rows of parts that the workshop does not know are left out and counted, not refused: a supplier's list
    has more parts than a shop has.
    """

    mapping: Mapping[str, str]
    defaults: Mapping[str, str] = field(default_factory=dict)
    date_order: str = ""
    decimal_mark: str = ""
    leave_out: bool = False


@dataclass(frozen=True, slots=True)
class PricePreview:
    """What a list would become: the mapping, columns not used, the first rows as read, and every problem.

    `left_out`: the parts of rows that were left out, as the list names them.
    """

    mapping: Mapping[str, str]
    unused: tuple[str, ...]
    missing: tuple[str, ...]
    rows: int
    first: tuple[Price, ...]
    problems: tuple[Problem, ...]
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PriceList:
    """A list as read: its prices, the problems of the rows that are not good, and the parts of rows left out."""

    prices: tuple[Price, ...]
    problems: tuple[Problem, ...]
    left_out: tuple[str, ...] = ()


def guess_mapping(header: Iterable[str]) -> dict[str, str]:
    """The likely field -> column pairs, each column used once."""
    columns = [column for column in header if column]
    plain = {column: column.casefold().replace("_", " ").strip() for column in columns}
    scored = []
    for name, words in FIELDS.items():
        for column in columns:
            _, score, _ = process.extractOne(plain[column], words, scorer=fuzz.ratio)
            scored.append((-score, name, column))
    mapping: dict[str, str] = {}
    for score, name, column in sorted(scored):
        if -score >= GOOD_MATCH and name not in mapping and column not in mapping.values():
            mapping[name] = column
    return mapping


def preview_prices(
    table: ReadTable, reading: ListReading | None, today: date, names: KnownNames | None = None
) -> PricePreview:  # fmt: skip
    """Reads the whole list without keeping anything. A `reading` of None: the mapping is guessed."""
    reading = reading or ListReading(guess_mapping(table.header))
    missing = tuple(name for name in REQUIRED if name not in reading.mapping and not reading.defaults.get(name))
    unused = tuple(column for column in table.header if column and column not in reading.mapping.values())
    if missing:
        problems = (Problem("mapping", f"no column and no default for {', '.join(missing)}"),)
        return PricePreview(reading.mapping, unused, missing, len(table.rows), (), problems)
    read = read_prices(table, reading, today, names)
    first = read.prices[:PREVIEWED]
    return PricePreview(reading.mapping, unused, (), len(table.rows), first, read.problems, read.left_out)


def read_prices(table: ReadTable, reading: ListReading, today: date, names: KnownNames | None = None) -> PriceList:
    """Every row as a Price, or as problems with line and column. Raises InvalidInput if the mapping is wrong.

    `names`: what the workshop knows; without it parts and currencies are taken as they are written.
    """
    _check_reading(table, reading)
    places = {name: table.header.index(column) for name, column in reading.mapping.items()}
    problems = _two_orders(table, places.get("dated"), reading)
    prices: list[Price] = []
    left_out: list[str] = []
    seen: dict[tuple[str, str, str, str, date], tuple[int, int]] = {}
    for row in table.rows:
        if len(row.cells) > len(table.header):
            problems.append(Problem(f"line {row.line}", f"{len(row.cells)} cells under {len(table.header)} columns"))
            continue
        if reading.leave_out and names and (stranger := _stranger(row, places.get("part"), names)):
            left_out.append(stranger)
            continue
        price = _read_row(row, reading, places, today, problems, names)
        if price is None:
            continue
        key = (price.part, price.condition, price.supplier, price.currency, price.dated)
        line, before = seen.setdefault(key, (row.line, price.cash_hundredths))
        if before != price.cash_hundredths:
            message = f"another price of {price.part} for the same day stands on line {line}"
            problems.append(Problem(f"line {row.line}", message))
        prices.append(price)
    return PriceList(tuple(prices), tuple(problems), tuple(left_out))


def _stranger(row: TableRow, place: int | None, names: KnownNames) -> str:
    """The part of a row as it is written, where the workshop does not know it; else nothing."""
    if place is None or place >= len(row.cells):
        return ""
    try:
        said = text_of(row.cells[place])
        names.part(said)
    except NotExact:
        return str(row.cells[place])[:200]
    return ""


def price_notes(read: PriceList, provenance: Provenance, batch: str = "") -> list[CostNote]:
    """The list as one batch of notes. Raises InvalidInput with every problem if a single row is bad."""
    if read.problems:
        raise InvalidInput(read.problems)
    if not read.prices:
        told = (
            f": all {len(read.left_out):,} rows are of parts that the workshop does not know" if read.left_out else ""
        )
        raise InvalidInput([Problem("list", f"no price in it{told}; nothing was kept")])
    batch, when = batch or new_id("prices"), provenance.when
    return [
        CostNote(
            id=f"{batch}-{number}", kind=PRICE, about=price.part, body=price_body(price), made_on=when,
            author=provenance.author, method=provenance.method, batch=batch,
        )
        for number, price in enumerate(read.prices, start=1)
    ]  # fmt: skip


def price_body(price: Price) -> dict[str, object]:
    """The price as plain JSON values; numbers as text, so that they stay exact."""
    return {
        "cash": str(Decimal(price.cash_hundredths) / 100), "currency": price.currency, "condition": price.condition,
        "dated": price.dated.isoformat(), "supplier": price.supplier, "lead_days": str(price.lead_days),
        "deposit": str(Decimal(price.deposit_hundredths) / 100), "deposit_lost": str(price.deposit_lost),
    }  # fmt: skip


def price_of_note(note: CostNote) -> Price:
    """The price that a note holds."""
    body = {name: str(value) for name, value in note.body.items()}
    return Price(
        part=note.about, cash_hundredths=amount_hundredths(body["cash"], body["currency"]), currency=body["currency"],
        condition=body["condition"], dated=date.fromisoformat(body["dated"]), supplier=body["supplier"],
        lead_days=Fraction(body["lead_days"]), deposit_hundredths=amount_hundredths(body["deposit"], body["currency"]),
        deposit_lost=Fraction(body["deposit_lost"]), batch=note.batch,
    )  # fmt: skip


def _check_reading(table: ReadTable, reading: ListReading) -> None:
    problems = [
        Problem(f"mapping.{name}", f"no column {column!r}; the columns are {', '.join(table.header)}")
        for name, column in reading.mapping.items()
        if column not in table.header
    ]
    unknown = [name for name in [*reading.mapping, *reading.defaults] if name not in FIELDS]
    problems += [Problem(f"mapping.{name}", f"no such field; the fields are {', '.join(FIELDS)}") for name in unknown]
    if reading.date_order and reading.date_order not in DATE_ORDERS:
        message = f"expected one of {', '.join(DATE_ORDERS)}, found {reading.date_order!r}"
        problems.append(Problem("date_order", message))
    if reading.decimal_mark not in ("", ".", ","):
        problems.append(Problem("decimal_mark", f"expected '.' or ',', found {reading.decimal_mark!r}"))
    missing = [name for name in REQUIRED if name not in reading.mapping and not reading.defaults.get(name)]
    if missing:
        problems.append(Problem("mapping", f"no column and no default for {', '.join(missing)}"))
    if problems:
        raise InvalidInput(problems)


def _two_orders(table: ReadTable, place: int | None, reading: ListReading) -> list[Problem]:
    """One problem if some dates can only be day first and others only month first."""
    if place is None or reading.date_order:
        return []
    lines: dict[str, int] = {}
    for row in table.rows:
        cell = row.cells[place]
        readings = date_readings(cell.strip()) if isinstance(cell, str) else {}
        if len(readings) == 1 and ISO not in readings:
            lines.setdefault(next(iter(readings)), row.line)
    if len(lines) < 2:
        return []
    day, month = lines[DAY_FIRST], lines[MONTH_FIRST]
    message = f"dates in two orders: line {day} is day first, line {month} month first; correct the list"
    return [Problem(f"column {reading.mapping['dated']}", message)]


def _read_row(
    row: TableRow, reading: ListReading, places: Mapping[str, int], today: date, problems: list[Problem],
    names: KnownNames | None,
) -> Price | None:  # fmt: skip
    before = len(problems)

    def read(name: str, how: Callable[..., _T], fallback: _T) -> _T:
        cell = row.cells[places[name]] if name in places else None
        if cell in (None, ""):
            cell = reading.defaults.get(name)
        if cell in (None, "") and name not in REQUIRED:
            return fallback
        try:
            return how(cell)
        except NotExact as fault:
            column = f"column {reading.mapping[name]}" if name in places else f"default of {name}"
            problems.append(Problem(f"line {row.line}, {column}", str(fault)))
            return fallback

    mark = reading.decimal_mark

    def known(code: str) -> str:
        return names.currency(code) if names else code

    part = read("part", lambda cell: names.part(_part(cell)) if names else _part(cell), "")
    currency = read("currency", lambda cell: known(currency_of(text_of(cell))), "")
    values = {
        "part": part,
        "cash_hundredths": read("cash", lambda cell: amount_hundredths(number_of(cell, mark), currency), 0),
        "condition": read("condition", _condition, ""),
        "dated": read("dated", lambda cell: _past(date_of(cell, reading.date_order), today), today),
        "supplier": read("supplier", text_of, ""),
        "lead_days": read("lead_days", lambda cell: _lead(number_of(cell, mark)), Fraction(0)),
        "deposit_hundredths": read("deposit", lambda cell: amount_hundredths(number_of(cell, mark), currency), 0),
        "deposit_lost": read("deposit_lost", lambda cell: odds_of(cell, mark), Fraction(0)),
    }
    return None if len(problems) > before else Price(currency=currency, **values)  # type: ignore[arg-type]


def _part(cell: str) -> str:
    text = text_of(cell)
    if not text:
        raise NotExact("expected a part, found an empty cell")
    return text


def _condition(cell: str) -> str:
    text = text_of(cell).casefold().replace(" ", "-").replace(",", "").replace("_", "-")
    if text not in CONDITIONS:
        raise NotExact(f"expected one of {', '.join(CONDITIONS)}, found {text_of(cell)!r}")
    return text


def _past(day: date, today: date) -> date:
    if day > today:
        raise NotExact(f"{day.isoformat()} is in the future; expected the day on which the price was given")
    return day


def _lead(days: Decimal) -> Fraction:
    if days < 0:
        raise NotExact(f"expected a lead of 0 days or more, found {days}")
    return Fraction(days)

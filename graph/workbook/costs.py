"""The record of cost on sheets of their own: prices with their day and supplier, rates, the shelf, work sent out.

A row is held against what stands as a record of plain texts by field; one that is there already is kept no second time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from graph.catalogue.model import Catalogue
from graph.catalogue.names import LAY
from graph.costing.currency import minor_units
from graph.costing.known_names import KnownNames, LookUp
from graph.costing.notes import PRICE, RATE, STOCK, SUBLET, TAX, CostNote, CostNotes, Provenance, new_id
from graph.costing.price_import import price_body
from graph.costing.prices import CONDITIONS, Price
from graph.costing.shop import list_prices, list_rates, list_stock, list_sublets, rate_note, stock_note, sublet_note
from graph.costing.tax import find_tax, tax_note
from graph.errors import InvalidInput, Problem
from graph.exact import NotExact
from graph.guarded.sheets import cell_place
from graph.workbook.changes import NEW, SAME, Fate
from graph.workbook.known import Known, plain
from graph.workbook.plan import DAY, NUMBER, REFERENCE, TEXT, Sheet, SheetColumn
from graph.workbook.rows import SheetTable
from graph.workbook.sent import SentRow, SentSheet
from graph.workbook.values import Unsaid, digits, read_cell

_Record = Mapping[str, str]


def _column(header: str, name: str, kind: str = TEXT, needed: bool = False, words: tuple[str, ...] = ()) -> SheetColumn:
    classes = (LAY + "Part",) if kind == REFERENCE else ()
    return SheetColumn(header, name, kind, needed=needed, classes=classes, words=words, hint=header.capitalize() + ".")


_PART, _CURRENCY = _column("part", "part", REFERENCE, True), _column("currency", "currency")
_CONDITION = _column("condition", "condition", needed=True, words=CONDITIONS)
SHEETS: Mapping[str, Sheet] = {
    kind: Sheet(title, (), columns, hint, True)
    for kind, title, hint, columns in (
        (PRICE, "Price list", "What suppliers ask for a part, and since when.", (
            _PART, _column("cash", "cash", NUMBER, True), _CURRENCY, _CONDITION,
            _column("given on", "dated", DAY, True), _column("supplier", "supplier"),
            _column("comes in (days)", "lead_days", NUMBER),
            _column("deposit", "deposit", NUMBER), _column("deposit lost (odds)", "deposit_lost", NUMBER))),
        (RATE, "Rates", "Money an hour, by kind of work; bench is that of every question that names none.", (
            _column("kind of work", "kind", needed=True), _column("an hour", "per_hour", NUMBER, True), _CURRENCY)),
        (STOCK, "Shelf", "What lies on the shelf, at its book value.", (
            _PART, _column("pieces", "quantity", NUMBER, True), _column("book value of one", "book", NUMBER, True),
            _CURRENCY, _CONDITION, _column("where it lies", "place"))),
        (SUBLET, "Work sent out", "What work costs that goes to others.", (
            _column("task or operation", "id", needed=True), _column("what it is", "label"),
            _column("cash", "cash", NUMBER, True), _CURRENCY, _column("days", "lead_days", NUMBER),
            _column("order must say", "wanted"))),
        (TAX, "Tax", "What comes on top of a price, in percent; without a row papers say that it is not stated.", (
            _column("tax (percent)", "percent", NUMBER, True),)),
    )
}  # fmt: skip
_TITLES = {plain(sheet.title): kind for kind, sheet in SHEETS.items()}


def is_of_cost(sheet: SentSheet) -> bool:
    """Whether a sheet holds a part of the record of cost."""
    return plain(sheet.title) in _TITLES


def cost_tables(
    notes: CostNotes, known: Known, names: KnownNames | None = None, left_out: list[str] | None = None
) -> list[SheetTable]:  # fmt: skip
    """The record as it stands, a sheet a kind. `left_out` is told of lines that name what `names` does not know: kept
    earlier, they count nowhere, and no workbook would take them in."""
    told = left_out if left_out is not None else []
    tables = []
    for kind, sheet in SHEETS.items():
        columns = {column.header: column for column in sheet.columns}
        table = SheetTable(sheet, list(columns), columns)
        for record in _standing(kind, notes):
            if "part" in record and not _is_known(known, record["part"]):
                told.append(f"{sheet.title}: {record['part']}: no part is known by that id, so this counts nowhere")
                continue
            if names is not None and (fault := _unnamed(kind, record, known, names)):
                told.append(f"{sheet.title}: {fault}")
                continue
            table.rows.append({
                column.header: _cell(column, record[column.property], known)
                for column in sheet.columns if record.get(column.property)
            })  # fmt: skip
        tables.append(table)
    return tables


def _unnamed(kind: str, record: _Record, known: Known, names: KnownNames) -> str:
    try:
        _named(kind, record, known, names)
    except InvalidInput as error:
        return "; ".join(one.message for one in error.problems)
    return ""


def _is_known(known: Known, part: str) -> bool:
    return any(known.classes(name) for name in known.by_id(part)) or bool(list(known.finds(part)))


def _cell(column: SheetColumn, said: str, known: Known) -> str | Decimal:
    if column.kind == REFERENCE:
        iris = [name for name in known.by_id(said) if known.classes(name)]
        return known.name_of(iris[0]) if iris else said
    return Decimal(said) if column.kind == NUMBER else said


def _standing(kind: str, notes: CostNotes) -> list[_Record]:
    if kind == PRICE:
        return [
            {"part": one.part, "cash": _money(one.cash_hundredths), "currency": one.currency,
             "condition": one.condition, "dated": one.dated.isoformat(), "supplier": one.supplier,
             "lead_days": _plain(one.lead_days), "deposit": _money(one.deposit_hundredths),
             "deposit_lost": _plain(one.deposit_lost)}
            for one in list_prices(notes)
        ]  # fmt: skip
    if kind == RATE:
        return [{"kind": one.kind, "per_hour": _money(one.hundredths), "currency": one.currency}
                for one in list_rates(notes)]  # fmt: skip
    if kind == TAX:
        tax = find_tax(notes)
        return [{"percent": _plain(tax.percent)}] if tax else []
    if kind == STOCK:
        return [
            {"part": one.part, "quantity": str(one.quantity), "book": _money(one.book_hundredths),
             "currency": one.currency, "condition": one.condition, "place": one.place}
            for one in list_stock(notes)
        ]  # fmt: skip
    return [
        {"id": one.id, "label": one.label, "cash": _money(one.cash_hundredths), "currency": one.currency,
         "lead_days": _plain(one.lead_days), "wanted": one.wanted}
        for one in list_sublets(notes)
    ]  # fmt: skip


def _money(hundredths: int) -> str:
    return digits(Decimal(hundredths) / 100)


def _plain(number: Fraction) -> str:
    return digits(round(Decimal(number.numerator) / number.denominator, 6))


@dataclass(slots=True)
class SentCosts:
    """What the sheets of cost say: notes to be kept, each row's fate, and what is wrong."""

    notes: list[CostNote] = field(default_factory=list)
    fates: list[Fate] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_costs(
    known: Known, kept: CostNotes, catalogue: Catalogue, sent: Iterable[SentSheet], by: Provenance
) -> SentCosts:  # fmt: skip
    """A row that names no money is in the workshop's. All notes are one batch of the record."""
    names, currency = KnownNames(catalogue), catalogue.currency
    found, batch = SentCosts(), new_id("workbook")
    for sheet in sent:
        kind = _TITLES[plain(sheet.title)]
        columns = _columns_of(SHEETS[kind], sheet, found.problems)
        there = {_key(record) for record in _standing(kind, kept)}
        for row in sheet.rows:
            record = _record(known, sheet, row, columns, currency, found.problems)
            if record is None:
                continue
            where, name = f"sheet {sheet.title!r} row {row.number}", record.get("part") or next(iter(record.values()))
            if _key(record) in there:
                found.fates.append(Fate(where, SHEETS[kind].title, name, SAME))
                continue
            places = {column.property: cell_place(sheet.title, row.number, at + 1, column.header)
                      for at, column in columns.items()}  # fmt: skip
            try:
                note = _note(kind, _named(kind, record, known, names), by)
            except InvalidInput as error:
                found.problems += [Problem(places.get(one.path, where), one.message) for one in error.problems]
                continue
            number = len(found.notes) + 1
            found.notes.append(replace(note, id=f"{batch}-{number}", batch=batch))
            found.fates.append(Fate(where, SHEETS[kind].title, name, NEW))
    return found


def _named(kind: str, record: _Record, known: Known, names: KnownNames) -> _Record:
    """The record with ids for what it names. Raises InvalidInput, at its columns, for what nobody knows.

    A task that comes new with the same workbook counts as known; a part was found already.
    """
    said, problems = dict(record), list[Problem]()
    look_ups: dict[str, LookUp] = {"currency": names.currency} if "currency" in record else {}
    if kind == RATE:
        look_ups["kind"] = names.kind_of_work
    if kind == STOCK and not any(known.is_new(name) for name in known.by_id(record["part"])):
        look_ups["part"] = names.piece
    if kind == SUBLET and not any(known.is_new(name) for name in known.by_id(record["id"])):
        look_ups["id"] = names.sent_out
    for name, look_up in look_ups.items():
        try:
            said[name] = look_up(said[name])
        except NotExact as fault:
            problems.append(Problem(name, str(fault)))
    if problems:
        raise InvalidInput(problems)
    return said


def _key(record: _Record) -> frozenset[tuple[str, str]]:
    return frozenset((name, said) for name, said in record.items() if said not in ("", "0"))


def _columns_of(sheet: Sheet, sent: SentSheet, problems: list[Problem]) -> dict[int, SheetColumn]:
    headers = {plain(column.header): column for column in sheet.columns}
    found: dict[int, SheetColumn] = {}
    for at, header in enumerate(sent.headers):
        where = cell_place(sent.title, sent.header_row, at + 1, header)
        if plain(header) in headers and headers[plain(header)] not in found.values():
            found[at] = headers[plain(header)]
        elif header:
            told = f"expected one of {', '.join(column.header for column in sheet.columns)}, each once"
            problems.append(Problem(where, told))
        elif any(at in row.cells for row in sent.rows):
            problems.append(Problem(where, "this column has no header"))
    missing = [one.header for one in sheet.columns if one.needed and one not in found.values()]
    if missing and sent.rows:
        problems.append(Problem(f"sheet {sent.title!r}", f"the columns {', '.join(missing)} are missing"))
    return found


def _record(
    known: Known,
    sheet: SentSheet,
    row: SentRow,
    columns: Mapping[int, SheetColumn],
    currency: str,
    problems: list[Problem],
) -> _Record | None:
    record: dict[str, str] = {}
    before = len(problems)
    for at, column in columns.items():
        where = cell_place(sheet.title, row.number, at + 1, column.header)
        if at not in row.cells:
            if column.needed and row.cells:
                problems.append(Problem(where, "is needed; fill it in"))
            continue
        try:
            values = read_cell(column, row.cells[at], lambda said, c=column: known.find(said, c.classes))  # type: ignore[misc]
            said = values[0].parts[0] if values else ""
        except Unsaid as error:
            problems.append(Problem(where, str(error)))
            continue
        record[column.property] = known.id_of(said) if column.kind == REFERENCE else said
    if any(one.property == "currency" for one in SHEETS[_TITLES[plain(sheet.title)]].columns):
        record.setdefault("currency", currency)
    if record.get("currency", currency) not in minor_units():
        told = f"the money {record.get('currency', '')[:10]!r} is no code of ISO 4217, such as EUR"
        problems.append(Problem(f"sheet {sheet.title!r} row {row.number}", told))
    if "dated" in record and record["dated"][:10] > date.today().isoformat():
        problems.append(Problem(f"sheet {sheet.title!r} row {row.number}", "the day lies in the future"))
    return record if row.cells and len(problems) == before else None


def _note(kind: str, record: _Record, by: Provenance) -> CostNote:
    """Raises InvalidInput."""
    said = dict(record)
    if kind == RATE:
        return rate_note(said.pop("kind"), said, by)
    if kind == TAX:
        return tax_note(said["percent"], by)
    if kind == STOCK:
        return stock_note(said.pop("part"), {"place": "", **said}, by)
    if kind == SUBLET:
        name = said.pop("id")
        return sublet_note(name, {"label": name, "lead_days": "0", "wanted": "", **said}, by)
    hundredths = Fraction(said["cash"]) * 100
    if hundredths.denominator != 1 or Fraction(said.get("deposit", "0")) * 100 % 1:
        raise InvalidInput([Problem("cash", "expected an amount to 0.01, such as 12.50")])
    price = Price(
        part=said["part"], cash_hundredths=int(hundredths), currency=said["currency"], condition=said["condition"],
        dated=date.fromisoformat(said["dated"][:10]), supplier=said.get("supplier", ""),
        lead_days=Fraction(said.get("lead_days", "0")),
        deposit_hundredths=int(Fraction(said.get("deposit", "0")) * 100),
        deposit_lost=Fraction(said.get("deposit_lost", "0")),
    )  # fmt: skip
    return CostNote(id="", kind=PRICE, about=price.part, body=price_body(price), made_on=by.when, author=by.author,
                    method=by.method)  # fmt: skip

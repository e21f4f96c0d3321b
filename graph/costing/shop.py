"""The shop's own record as the rest of the program asks for it: notes in, prices, shelf, rates and odds out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from graph.costing.currency import amount_hundredths, currency_of
from graph.costing.notes import (
    PRICE,
    RATE,
    STOCK,
    SUBLET,
    CostNote,
    CostNotes,
    Provenance,
    made_note,
    retraction,
    standing,
)
from graph.costing.odds import Finding, signs_of
from graph.costing.price_import import price_of_note
from graph.costing.prices import CONDITIONS, Price, StockItem
from graph.costing.rates import Rate, Sublet
from graph.errors import InvalidInput, Problem
from graph.exact import NotExact, fraction_of


def list_prices(notes: CostNotes, part: str = "") -> list[Price]:
    """Every standing price, of one part if it is named."""
    return [price_of_note(note) for note in standing(notes, kind=PRICE, about=part)]


def list_stock(notes: CostNotes, part: str = "") -> list[StockItem]:
    """The shelf, as it stands: see `stock_of`."""
    return stock_of(standing(notes, kind=STOCK, about=part))


def stock_of(notes: Iterable[CostNote]) -> list[StockItem]:
    """The newest count of each part, condition and place, less what jobs took since. `notes`: oldest first."""
    items: dict[tuple[str, str, str], StockItem] = {}
    for note in notes:
        if "taken" in note.body:
            key = (note.about, str(note.body["condition"]), str(note.body["place"]))
            if key in items:
                left = max(0, items[key].quantity - int(str(note.body["taken"])))
                items[key] = replace(items[key], quantity=left)
            continue
        item = _stock_of(note.about, note.body)
        items[(item.part, item.condition, item.place)] = item
    return list(items.values())


def list_rates(notes: CostNotes) -> list[Rate]:
    """The newest standing rate per kind of work."""
    return rates_of(standing(notes, kind=RATE))


def rates_of(notes: Iterable[CostNote]) -> list[Rate]:
    """The newest rate per kind of work. `notes`: those of each kind oldest first."""
    rates = {note.about: note for note in notes}
    return [_rate_of(kind, note.body) for kind, note in sorted(rates.items())]


def list_sublets(notes: CostNotes) -> list[Sublet]:
    """The newest standing price of every kind of work sent out."""
    return sublets_of(standing(notes, kind=SUBLET))


def sublets_of(notes: Iterable[CostNote]) -> list[Sublet]:
    """The newest price of every kind of work sent out. `notes`: those of each oldest first."""
    items = {note.about: note for note in notes}
    return [_sublet_of(about, note.body) for about, note in sorted(items.items())]


def finding_of(note: CostNote) -> Finding:
    """What a closed job found of a fault."""
    laid_open, worn = (note.body.get(name) is True for name in ("laid_open", "worn"))
    return Finding(note.about, laid_open, worn, note.job, note.made_on, note.author, signs_of(note.body))


def stock_note(part: str, body: Mapping[str, object], provenance: Provenance) -> CostNote:
    """A count of the shelf as a note. `body`: quantity, book (money), currency, condition, place."""
    _stock_of(part, body)
    return made_note(STOCK, part, body, provenance)


def rate_note(kind: str, body: Mapping[str, object], provenance: Provenance) -> CostNote:
    """A rate per kind of work as a note. `body`: per_hour, currency."""
    _rate_of(kind, body)
    return made_note(RATE, kind, body, provenance)


def sublet_note(about: str, body: Mapping[str, object], provenance: Provenance) -> CostNote:
    """A price of work sent out as a note. `body`: label, cash, currency, lead_days, wanted."""
    _sublet_of(about, body)
    return made_note(SUBLET, about, body, provenance)


def take_back(notes: CostNotes, batch: str, provenance: Provenance, reason: str = "") -> CostNote:
    """Takes a batch back and keeps that. See `graph.costing.notes.retraction`."""
    note = retraction(notes, batch, provenance, reason)
    notes.append([note])
    return note


def _stock_of(part: str, body: Mapping[str, object]) -> StockItem:
    where = f"stock.{part}"
    try:
        currency = currency_of(str(body.get("currency", "")))
        quantity = fraction_of(body.get("quantity", 1))
        book = amount_hundredths(body.get("book", 0), currency)
    except NotExact as fault:
        raise InvalidInput([Problem(where, str(fault))]) from None
    condition = str(body.get("condition", "used-untested"))
    if quantity.denominator != 1 or not part:
        raise InvalidInput([Problem(where, f"expected a part and whole pieces, found {part!r}, {quantity}")])
    if condition not in CONDITIONS:
        message = f"expected one of {', '.join(CONDITIONS)}, found {condition!r}"
        raise InvalidInput([Problem(f"{where}.condition", message)])
    return StockItem(
        part=part, quantity=quantity.numerator, book_hundredths=book, currency=currency, condition=condition,
        place=str(body.get("place", "")),
    )  # fmt: skip


def _rate_of(kind: str, body: Mapping[str, object]) -> Rate:
    try:
        currency = currency_of(str(body.get("currency", "")))
        return Rate(kind, amount_hundredths(body.get("per_hour"), currency), currency)
    except NotExact as fault:
        raise InvalidInput([Problem(f"rate.{kind}", str(fault))]) from None


def _sublet_of(about: str, body: Mapping[str, object]) -> Sublet:
    try:
        currency = currency_of(str(body.get("currency", "")))
        cash = amount_hundredths(body.get("cash"), currency)
        lead = Fraction(fraction_of(body.get("lead_days", 0)))
    except NotExact as fault:
        raise InvalidInput([Problem(f"sublet.{about}", str(fault))]) from None
    label = str(body.get("label", "") or about)
    return Sublet(about, label, cash, currency, lead, str(body.get("wanted", "")))

"""Shop data as pages show it: prices, rates, shelf, work sent out, each with its history; and odds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from api.pages.form_faults import FormFaults
from api.pages.note_form import Choice
from api.pages.shop_typed import LABELS
from api.workshop import Workshop
from graph.answer import words
from graph.catalogue.model import Catalogue
from graph.costing.asking import OddsLine
from graph.costing.notes import PRICE, RATE, STOCK, SUBLET, CostNote, CostNotes, new_id, standing
from graph.costing.prices import CONDITIONS, Price, is_stale
from graph.costing.shop import list_prices, list_rates, list_stock, list_sublets
from graph.errors import Problem

MOST_SHOWN = 200
KINDS = {PRICE: "price", STOCK: "count of the shelf", RATE: "rate", SUBLET: "price of work sent out"}


@dataclass(frozen=True, slots=True)
class ShopRow:
    """A line of a list: its cells as text, the part's id or empty, and the batch to take it back by."""

    cells: tuple[str, ...]
    part: str = ""
    batch: str = ""


@dataclass(frozen=True, slots=True)
class ShopView(FormFaults):
    """A page of shop data. `what`: prices, rates, shelf or sublets; `head`, `rows`: the list as it stands; `more`: how
    many rows are not shown; `history`: what was kept and taken back, newest first; `typed`: the form's fields."""

    labels: ClassVar[Mapping[str, str]] = LABELS

    what: str
    title: str
    head: tuple[str, ...]
    rows: tuple[ShopRow, ...]
    more: int
    history: tuple[ShopRow, ...]
    currency: str
    conditions: tuple[Choice, ...]
    typed: Mapping[str, str]
    problems: tuple[Problem, ...] = ()
    choices: Mapping[str, tuple[Choice, ...]] | None = None
    done: str = ""
    key: str = ""

    def value(self, name: str) -> str:
        """What was typed into a field."""
        return self.typed.get(name, "")

    def options_for(self, name: str) -> tuple[Choice, ...]:
        """The parts that words may have meant."""
        return (self.choices or {}).get(name, ())


@dataclass(frozen=True, slots=True)
class OddsView:
    """The odds of every fault (`rows`), and of joints that nobody has stated (`joints`), with counts and sources."""

    rows: tuple[OddsLine, ...]
    joints: tuple[OddsLine, ...]


TITLES = {"prices": "Prices", "rates": "Rates", "shelf": "The shelf", "sublets": "Work sent out"}
KIND_OF = {"prices": PRICE, "rates": RATE, "shelf": STOCK, "sublets": SUBLET}
_HEADS = {
    "prices": ("Part", "Price", "Condition", "Given on", "Supplier", "Comes in"),
    "rates": ("Kind of work", "An hour"), "shelf": ("Part", "Pieces", "Book value of one", "Condition", "Where"),
    "sublets": ("What", "Price", "Days"),
}  # fmt: skip


def _label(known: Catalogue, part: str) -> str:
    return known.parts[part].label if part in known.parts else part


def _rows(what: str, notes: CostNotes, known: Catalogue) -> list[ShopRow]:
    """The list as it stands."""
    if what == "prices":
        prices = sorted(list_prices(notes), key=lambda one: (one.part, one.dated), reverse=False)
        return [_price_row(price, known) for price in prices]
    if what == "shelf":
        return [
            ShopRow((_label(known, one.part), str(one.quantity), words.cash(one.book_hundredths, one.currency),
                     one.condition, one.place), one.part)
            for one in list_stock(notes)
        ]  # fmt: skip
    if what == "rates":
        return [ShopRow((one.kind, words.cash(one.hundredths, one.currency))) for one in list_rates(notes)]
    return [
        ShopRow((one.label, words.cash(one.cash_hundredths, one.currency), f"{float(one.lead_days):g}"))
        for one in list_sublets(notes)
    ]


def _price_row(price: Price, known: Catalogue) -> ShopRow:
    old = " (old: ask again)" if is_stale(price, date.today()) else ""
    lead = f"{float(price.lead_days):g} days" if price.lead_days else ""
    cells = (_label(known, price.part), words.cash(price.cash_hundredths, price.currency), price.condition,
             price.dated.isoformat() + old, price.supplier, lead)  # fmt: skip
    return ShopRow(cells, price.part, price.batch)


def _history(what: str, notes: CostNotes) -> list[ShopRow]:
    """Batches kept of this kind, newest first, with whether they were taken back."""
    kind = KIND_OF[what]
    kept: dict[str, list[CostNote]] = {}
    for note in notes.list_notes(kind=kind):
        kept.setdefault(note.batch, []).append(note)
    stands = {note.batch for note in standing(notes, kind=kind)}
    return [
        ShopRow((said[0].made_on[:16].replace("T", " "), said[0].author, said[0].method or "typed",
                 f"{len(said)} {KINDS[kind]}{'s' if len(said) > 1 else ''}" if len(said) > 1 else said[0].about,
                 "stands" if batch in stands else "taken back"), "", batch if batch in stands else "")
        for batch, said in reversed(kept.items())
    ]  # fmt: skip


def view_of(workshop: Workshop, what: str, typed: Mapping[str, str], done: str = "") -> ShopView:
    known, notes = workshop.index.catalogue, workshop.shop.notes
    rows, history = _rows(what, notes, known), _history(what, notes)
    return ShopView(
        what, TITLES[what], _HEADS[what], tuple(rows[:MOST_SHOWN]), max(0, len(rows) - MOST_SHOWN),
        tuple(history[:MOST_SHOWN]), known.currency, tuple(Choice(one, one) for one in CONDITIONS), typed, done=done,
        key=new_id("form"),
    )  # fmt: skip

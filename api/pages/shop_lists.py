"""Shop data as pages show it: prices, rates, shelf, work sent out, each with its history; and odds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from api.pages.form_faults import FormFaults
from api.workshop import Workshop
from graph.answer import words
from graph.catalogue.model import Catalogue
from graph.costing.asking import OddsLine
from graph.costing.notes import PRICE, RATE, STOCK, SUBLET, TAX, CostNote, CostNotes, new_id, standing
from graph.costing.prices import CONDITIONS, Price, StockItem, find_source, is_stale
from graph.costing.shop import list_prices, list_rates, list_stock, list_sublets
from graph.costing.tax import find_tax
from graph.errors import Problem
from graph.notes.form import Choice
from graph.notes.prices import LABELS

MOST_SHOWN = 200
KINDS = {PRICE: "price", STOCK: "count of the shelf", RATE: "rate", SUBLET: "price of work sent out",
         TAX: "tax"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShopRow:
    """A line of a list: its cells as text, the part's id or empty, and the batch to take it back by."""

    cells: tuple[str, ...]
    part: str = ""
    batch: str = ""


@dataclass(frozen=True, slots=True)
class ShopView(FormFaults):
    """A page of shop data. `what`: prices, rates, shelf, sublets or tax; `head`, `rows`: the list as it stands; `more`:
    how many rows are not shown; `history`: what was kept and taken back, newest first; `typed`: the form's fields.

    `first_words`: what to do first where nothing stands; `kinds`, `outwork`: of work, to choose from; `tax`: as it
    stands, empty where nobody has said; `by`: who is likely to take something back.
    """

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
    first_words: str = ""
    kinds: tuple[Choice, ...] = ()
    outwork: tuple[Choice, ...] = ()
    tax: str = ""
    by: str = ""

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


TITLES = {"prices": "Prices", "rates": "Rates", "shelf": "The shelf", "sublets": "Work sent out", "tax": "Tax"}
KIND_OF = {"prices": PRICE, "rates": RATE, "shelf": STOCK, "sublets": SUBLET, "tax": TAX}
_HEADS = {
    "prices": ("Part", "Price", "In force", "Condition", "Given on", "Supplier", "Comes in"),
    "rates": ("Kind of work", "An hour"), "shelf": ("Part", "Pieces", "Book value of one", "Condition", "Where"),
    "sublets": ("What", "Price", "Days"), "tax": ("Tax",),
}  # fmt: skip
# What an empty list asks for: what to do first, and what hangs on it.
_FIRST = {
    "prices": "No price of this shop's own yet. Answers go by the price that stands with a part, and a part that "
    "nobody has priced makes every sum with it a least sum. Type first what you last paid for the dearest part of your "
    "next job, or read in a supplier's list.",
    "rates": "No rate of this shop's own yet: {rate}. Which route is cheapest hangs on it, for hours and parts are "
    "weighed by it. Say first what an hour at your bench is charged at: leave the kind of work at bench.",
    "shelf": "Nothing is counted yet, so every part is reckoned as bought. Count first the housings, discs and "
    "bearings that lie there: they come into answers at their book value.",
    "sublets": "No price of this shop's own yet: work that goes out is reckoned at the usual price, if one is known. "
    "Put in first what your machine shop last asked for a visit.",
    "tax": "No tax is stated: papers say so, and never 0 %. State the rate that comes on top of your prices; which tax "
    "is due is for you and your adviser to say.",
}


def _label(known: Catalogue, part: str) -> str:
    return known.parts[part].label if part in known.parts else part


def _rows(what: str, notes: CostNotes, known: Catalogue) -> list[ShopRow]:
    """The list as it stands."""
    if what == "prices":
        return _price_rows(list_prices(notes), list_stock(notes), known)
    if what == "shelf":
        return [
            ShopRow((_label(known, one.part), str(one.quantity), words.cash(one.book_hundredths, one.currency),
                     one.condition, one.place), one.part)
            for one in list_stock(notes)
        ]  # fmt: skip
    if what == "rates":
        return [ShopRow((one.kind, words.cash(one.hundredths, one.currency))) for one in list_rates(notes)]
    if what == "tax":
        tax = find_tax(notes)
        return [ShopRow((tax.words,))] if tax else []
    return [
        ShopRow((one.label, words.cash(one.cash_hundredths, one.currency), f"{float(one.lead_days):g}"))
        for one in list_sublets(notes)
    ]


def _price_rows(prices: list[Price], shelf: list[StockItem], known: Catalogue) -> list[ShopRow]:
    """Part by part, the price that answers go by first, then the others, newest first."""
    by_part: dict[str, list[Price]] = {}
    for price in prices:
        by_part.setdefault(price.part, []).append(price)
    lies = {item.part for item in shelf if item.quantity and item.currency == known.currency}
    rows = []
    for part in sorted(by_part, key=lambda one: _label(known, one).casefold()):
        source = find_source(part, by_part[part], (), known.currency, date.today())
        best = source.price if source else None
        for price in sorted(by_part[part], key=lambda one: (one is best, one.dated), reverse=True):
            mark = "" if price is not best else "after the shelf" if part in lies else "yes"
            rows.append(_price_row(price, known, mark))
    return rows


def _price_row(price: Price, known: Catalogue, in_force: str) -> ShopRow:
    old = " (old: ask again)" if is_stale(price, date.today()) else ""
    lead = f"{float(price.lead_days):g} days" if price.lead_days else ""
    cells = (_label(known, price.part), words.cash(price.cash_hundredths, price.currency), in_force, price.condition,
             price.dated.isoformat() + old, price.supplier, lead)  # fmt: skip
    return ShopRow(cells, price.part, price.batch)


def _history(what: str, notes: CostNotes, known: Catalogue) -> list[ShopRow]:
    """Batches kept of this kind, newest first, with whether they were taken back."""
    kind = KIND_OF[what]
    kept: dict[str, list[CostNote]] = {}
    for note in notes.list_notes(kind=kind):
        kept.setdefault(note.batch, []).append(note)
    stands = {note.batch for note in standing(notes, kind=kind)}
    return [
        ShopRow((said[0].made_on[:16].replace("T", " "), said[0].author, said[0].method or "typed",
                 f"{len(said)} {KINDS[kind]}s" if len(said) > 1 else _said_by(said[0], known),
                 "stands" if batch in stands else "taken back"), "", batch if batch in stands else "")
        for batch, said in reversed(kept.items())
    ]  # fmt: skip


def _said_by(note: CostNote, known: Catalogue) -> str:
    """What one note says: of what, and how much."""
    body = {name: str(value) for name, value in note.body.items()}
    if note.kind == TAX:
        return f"{body['percent']} %"
    if note.kind == STOCK:
        counted = f"{body['taken']} taken by a job" if "taken" in body else f"{body.get('quantity', '1')} counted"
        return f"{_label(known, note.about)}: {counted}"
    amount = f"{body.get('cash') or body.get('per_hour', '')} {body.get('currency', '')}"
    about = body.get("label") or _label(known, note.about)
    return f"{about}: {amount}"


def _condition_words(condition: str, known: Catalogue) -> str:
    found = known.part_conditions.get(condition)
    return found.label if found else condition.replace("-", " ")


def view_of(workshop: Workshop, what: str, typed: Mapping[str, str], done: str = "") -> ShopView:
    known, notes = workshop.index.catalogue, workshop.shop.notes
    names, tax = workshop.shop.names, find_tax(notes)
    rows, history = _rows(what, notes, known), _history(what, notes, known)
    return ShopView(
        what, TITLES[what], _HEADS[what], tuple(rows[:MOST_SHOWN]), max(0, len(rows) - MOST_SHOWN),
        tuple(history[:MOST_SHOWN]), known.currency,
        tuple(Choice(one, _condition_words(one, known)) for one in CONDITIONS), typed, done=done,
        key=new_id("form"), first_words=_FIRST[what].format(rate=_rate_words(known)),
        kinds=tuple(Choice(one, one) for one in names.list_kinds()),
        outwork=tuple(Choice(one, label) for one, label in sorted(names.list_sent_out().items(), key=lambda e: e[1])),
        tax=tax.words if tax else "",
    )  # fmt: skip


def _rate_words(known: Catalogue) -> str:
    if not known.rate_hundredths:
        return "no rate is stated at all, so hours are in no sum"
    rate = words.cash(known.rate_hundredths, known.currency)
    return f"hours count at {rate}, the rate that the workshop was set up with"

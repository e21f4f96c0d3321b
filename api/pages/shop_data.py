"""`/shop`: what the shop's money hangs on: prices, rates, shelf, work sent out; each typed here, all with a history.

Everything that is kept can be taken back by its batch; the lists are those of the API (`/prices`, `/shop`, `/odds`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Annotated, ClassVar
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import UploadFile

from api.files import read_in_turn
from api.pages.amounts import decimal_of
from api.pages.base import page, page_router
from api.pages.extra import text_of, writer_of
from api.pages.form_faults import FormFaults
from api.pages.note_form import Choice, chosen_of, find_part
from api.pages.notes import SentForm
from api.roles import needs
from api.workshop import UsesWorkshop, Workshop
from graph.answer import words
from graph.catalogue.model import Catalogue
from graph.costing.asking import OddsLine, joint_odds_lines, odds_lines
from graph.costing.notes import (
    PRICE,
    RATE,
    STOCK,
    SUBLET,
    CostNote,
    CostNotes,
    Provenance,
    new_id,
    retraction,
    standing,
)
from graph.costing.price_import import Reading as ListReading
from graph.costing.price_import import guess_mapping, price_body, price_notes, read_prices
from graph.costing.prices import CONDITIONS, Price, is_stale
from graph.costing.rates import BENCH
from graph.costing.shop import list_prices, list_rates, list_stock, list_sublets, rate_note, stock_note, sublet_note
from graph.costing.tables import read_table
from graph.errors import InvalidInput, NotFound, Problem
from graph.guarded.bounds import PRICE_LISTS
from graph.plain_text import fault_of_text

router = page_router()
MOST_SHOWN = 200
KINDS = {PRICE: "price", STOCK: "count of the shelf", RATE: "rate", SUBLET: "price of work sent out"}
LABELS = {
    "part": "Part", "cash": "Price", "condition": "Condition", "dated": "Given on", "supplier": "Supplier",
    "lead_days": "Days until it comes", "per_hour": "Money an hour", "kind": "Kind of work", "quantity": "Pieces",
    "book": "Book value of one", "place": "Where it lies", "label": "What it is", "id": "Task or operation",
    "wanted": "What the order must say", "author": "Who says so", "file": "File",
}  # fmt: skip


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


_TITLES = {"prices": "Prices", "rates": "Rates", "shelf": "The shelf", "sublets": "Work sent out"}
_KIND_OF = {"prices": PRICE, "rates": RATE, "shelf": STOCK, "sublets": SUBLET}
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
    kind = _KIND_OF[what]
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


def _view(workshop: Workshop, what: str, typed: Mapping[str, str], done: str = "") -> ShopView:
    known, notes = workshop.index.catalogue, workshop.shop.notes
    rows, history = _rows(what, notes, known), _history(what, notes)
    return ShopView(
        what, _TITLES[what], _HEADS[what], tuple(rows[:MOST_SHOWN]), max(0, len(rows) - MOST_SHOWN),
        tuple(history[:MOST_SHOWN]), known.currency, tuple(Choice(one, one) for one in CONDITIONS), typed, done=done,
        key=new_id("form"),
    )  # fmt: skip


@needs("read")
@router.get("/shop/odds/page")
async def show_odds(request: Request, workshop: UsesWorkshop) -> Response:
    """The odds of every fault, with what they rest on."""
    costed = await workshop.work_out(lambda: workshop.shop.standing().costed)
    return page(
        request, "odds.html", OddsView(odds_lines(costed), joint_odds_lines(costed)), title="Odds of worn parts"
    )


@needs("read")
@router.get("/shop/{what}/page")
def show_list(
    request: Request, what: str, workshop: UsesWorkshop, done: Annotated[str, Query(max_length=200)] = "",
    part: Annotated[str, Query(max_length=500)] = "",
) -> Response:  # fmt: skip
    """The list, its forms and its history."""
    _check(what)
    typed = {"part": part, "dated": date.today().isoformat(), "currency": workshop.index.catalogue.currency}
    view = _view(workshop, what, typed, done)
    return page(request, "shop_data.html", view, title=view.title, form=True)


def _check(what: str) -> None:
    if what not in _TITLES:
        raise NotFound("page of shop data", what, sorted(_TITLES))


@needs("note")
@router.post("/shop/{what}/page")
async def keep_typed(request: Request, what: str, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Keeps what was typed, or a price list; or shows the form again with what is wrong."""
    _check(what)
    access = writer_of(request, form)
    typed = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    by = Provenance(access.signed(typed.get("author", "")), "typed")
    problems: list[Problem] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    file = form.get("file")
    try:
        if what == "prices" and isinstance(file, UploadFile) and file.filename:
            by = replace(by, method=f"price list {file.filename}"[:200])
            opened, name = file.file, file.filename

            def from_list() -> list[CostNote]:
                table = read_table(opened, name, PRICE_LISTS[access.role])
                return price_notes(read_prices(table, ListReading(guess_mapping(table.header)), date.today()), by)

            made = await read_in_turn(request, from_list)
        else:
            made = [_MAKE[what](workshop, typed, by, problems, choices)]
        if problems:
            raise InvalidInput(problems)
        await workshop.work_out(lambda: workshop.shop.notes.append(made))
    except InvalidInput as error:
        view = replace(_view(workshop, what, typed), problems=error.problems[:50], choices=choices)
        return page(request, "shop_data.html", view, title=view.title, status=422, form=True)
    done = urlencode({"done": f"Kept: {len(made)} {KINDS[_KIND_OF[what]]}{'s' if len(made) > 1 else ''}."})
    return RedirectResponse(f"/shop/{what}/page?{done}", status_code=303)


@needs("note")
@router.post("/shop/{what}/back")
async def take_batch_back(request: Request, what: str, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Takes a batch back; its history stays."""
    _check(what)
    access = writer_of(request, form)
    by, batch = Provenance(access.signed(""), "taken back by the page"), text_of(form, "batch")
    notes = workshop.shop.notes
    await workshop.work_out(lambda: notes.append([retraction(notes, batch, by)]))
    return RedirectResponse(f"/shop/{what}/page?{urlencode({'done': 'Taken back.'})}", status_code=303)


_Typed = Mapping[str, str]
_Problems = list[Problem]
_Choices = dict[str, tuple[Choice, ...]]
Makes = Callable[[Workshop, _Typed, Provenance, _Problems, _Choices], CostNote]
_NOTHING = CostNote(id="", kind="", about="")


def _amount(typed: _Typed, name: str, problems: _Problems, *, needed: bool = True, example: str = "62.50") -> str:
    try:
        found = decimal_of(typed.get(name, ""), name, example)
    except InvalidInput as error:
        problems += error.problems
        return ""
    if needed and not found:
        problems.append(Problem(name, f"say how much, such as {example}"))
    return found


def _part(workshop: Workshop, typed: _Typed, problems: _Problems, choices: _Choices) -> str:
    meant = chosen_of("part", typed.get("part", ""), typed.get("part_for", ""), typed.get("part_chosen", ""), problems)
    found = find_part(workshop.index, "part", meant, problems, choices)
    return found.id if found else ""


def _said(typed: _Typed, problems: _Problems) -> None:
    """Texts that no export can hold, and nobody who says so."""
    for name in LABELS:
        if fault := fault_of_text(typed.get(name, "")):
            problems.append(Problem(name, fault))
        elif len(typed.get(name, "")) > 2000:
            problems.append(Problem(name, "at most 2,000 characters"))
    if not typed.get("author"):
        problems.append(Problem("author", "say who says so: initials or a role will do"))


def _currency(workshop: Workshop, problems: _Problems) -> str:
    currency = workshop.index.catalogue.currency
    if not currency:
        problems.append(Problem("", "the workshop has no currency yet, so nothing can have a price"))
    return currency


def _condition(typed: _Typed, problems: _Problems) -> str:
    if typed.get("condition", "") not in CONDITIONS:
        problems.append(Problem("condition", f"choose one of {', '.join(CONDITIONS)}"))
    return typed.get("condition", "")


def _price(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    part, currency = _part(workshop, typed, problems, choices), _currency(workshop, problems)
    cash, condition = _amount(typed, "cash", problems), _condition(typed, problems)
    lead = _amount(typed, "lead_days", problems, needed=False, example="4")
    _said(typed, problems)
    dated = date.today()
    try:
        dated = date.fromisoformat(typed.get("dated", ""))
        if dated > date.today():
            problems.append(Problem("dated", "it lies in the future; expected the day on which the price was given"))
    except ValueError:
        problems.append(Problem("dated", f"expected a date like 2026-05-17, found {typed.get('dated', '')[:40]!r}"))
    if problems:
        return _NOTHING
    hundredths = Fraction(cash) * 100
    price = Price(part=part, cash_hundredths=int(hundredths), currency=currency, condition=condition, dated=dated,
                  supplier=typed.get("supplier", ""), lead_days=Fraction(lead or 0))  # fmt: skip
    name = new_id(PRICE)
    return CostNote(id=name, kind=PRICE, about=part, body=price_body(price), made_on=by.when, author=by.author,
                    method=by.method, batch=name)  # fmt: skip


def _rate(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    currency, amount = _currency(workshop, problems), _amount(typed, "per_hour", problems)
    _said(typed, problems)
    body = {"per_hour": amount, "currency": currency}
    return _NOTHING if problems else rate_note(typed.get("kind", "") or BENCH, body, by)


def _stock(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    part, currency = _part(workshop, typed, problems, choices), _currency(workshop, problems)
    book, condition = _amount(typed, "book", problems), _condition(typed, problems)
    quantity = typed.get("quantity", "")
    if not quantity.isdecimal() or len(quantity) > 6:
        problems.append(Problem("quantity", f"expected whole pieces, 0 or more, found {quantity[:40]!r}"))
    _said(typed, problems)
    body = {"quantity": quantity, "book": book, "currency": currency, "condition": condition,
            "place": typed.get("place", "")}  # fmt: skip
    return _NOTHING if problems else stock_note(part, body, by)


def _sublet(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    currency, cash = _currency(workshop, problems), _amount(typed, "cash", problems)
    lead = _amount(typed, "lead_days", problems, needed=False, example="4")
    if not typed.get("id"):
        problems.append(Problem("id", "say which task or operation is sent out"))
    _said(typed, problems)
    body = {"label": typed.get("label", "") or typed.get("id", ""), "cash": cash, "currency": currency,
            "lead_days": lead or "0", "wanted": typed.get("wanted", "")}  # fmt: skip
    return _NOTHING if problems else sublet_note(typed.get("id", ""), body, by)


_MAKE: Mapping[str, Makes] = {"prices": _price, "rates": _rate, "shelf": _stock, "sublets": _sublet}

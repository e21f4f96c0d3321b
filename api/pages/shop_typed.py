"""What is typed into the forms of shop data, as notes of cost; every fault beside its field."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction

from api.pages.amounts import decimal_of
from api.pages.note_form import Choice, chosen_of, find_part
from api.workshop import Workshop
from graph.costing.known_names import LookUp
from graph.costing.notes import PRICE, CostNote, Provenance, new_id
from graph.costing.price_import import price_body
from graph.costing.prices import CONDITIONS, Price
from graph.costing.rates import BENCH
from graph.costing.shop import rate_note, stock_note, sublet_note
from graph.costing.tax import tax_note
from graph.errors import InvalidInput, Problem
from graph.exact import NotExact
from graph.plain_text import fault_of_text

LABELS = {
    "part": "Part", "cash": "Price", "condition": "Condition", "dated": "Given on", "supplier": "Supplier",
    "lead_days": "Days until it comes", "per_hour": "Money an hour", "kind": "Kind of work", "quantity": "Pieces",
    "book": "Book value of one", "place": "Where it lies", "label": "What it is", "id": "Task or operation",
    "percent": "Tax in percent", "wanted": "What the order must say", "author": "Who says so", "file": "File",
}  # fmt: skip

_Typed = dict[str, str]
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


def _check_texts(typed: _Typed, problems: _Problems) -> None:
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


def _known(name: str, said: str, look_up: LookUp, problems: _Problems) -> None:
    """Told with the other faults of the form, not after they are mended."""
    try:
        look_up(said)
    except NotExact as fault:
        problems.append(Problem(name, str(fault)))


def _condition(typed: _Typed, problems: _Problems) -> str:
    if typed.get("condition", "") not in CONDITIONS:
        problems.append(Problem("condition", f"choose one of {', '.join(CONDITIONS)}"))
    return typed.get("condition", "")


def _price(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    part, currency = _part(workshop, typed, problems, choices), _currency(workshop, problems)
    cash, condition = _amount(typed, "cash", problems), _condition(typed, problems)
    lead = _amount(typed, "lead_days", problems, needed=False, example="4")
    _check_texts(typed, problems)
    dated = date.today()
    try:
        dated = date.fromisoformat(typed.get("dated", "") or dated.isoformat())
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
    _known("kind", typed.get("kind", "") or BENCH, workshop.shop.names.kind_of_work, problems)
    _check_texts(typed, problems)
    body = {"per_hour": amount, "currency": currency}
    return _NOTHING if problems else rate_note(typed.get("kind", "") or BENCH, body, by)


def _stock(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    part, currency = _part(workshop, typed, problems, choices), _currency(workshop, problems)
    if part:
        _known("part", part, workshop.shop.names.piece, problems)
    book, condition = _amount(typed, "book", problems), _condition(typed, problems)
    quantity = typed.get("quantity", "")
    if not quantity.isdecimal() or len(quantity) > 6:
        problems.append(Problem("quantity", f"expected whole pieces, 0 or more, found {quantity[:40]!r}"))
    _check_texts(typed, problems)
    body = {"quantity": quantity, "book": book, "currency": currency, "condition": condition,
            "place": typed.get("place", "")}  # fmt: skip
    return _NOTHING if problems else stock_note(part, body, by)


def _sublet(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    currency, cash = _currency(workshop, problems), _amount(typed, "cash", problems)
    lead = _amount(typed, "lead_days", problems, needed=False, example="4")
    if not typed.get("id"):
        problems.append(Problem("id", "say which task or operation is sent out"))
    else:
        _known("id", typed["id"], workshop.shop.names.sent_out, problems)
    _check_texts(typed, problems)
    label = typed.get("label", "") or workshop.shop.names.list_sent_out().get(typed.get("id", ""), "")
    body = {"label": label, "cash": cash, "currency": currency,
            "lead_days": lead or "0", "wanted": typed.get("wanted", "")}  # fmt: skip
    return _NOTHING if problems else sublet_note(typed.get("id", ""), body, by)


def _tax(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    percent = _amount(typed | {"percent": typed.get("percent", "").rstrip("% ")}, "percent", problems, example="19")
    _check_texts(typed, problems)
    return _NOTHING if problems else tax_note(percent, by)


MAKE: Mapping[str, Makes] = {"tax": _tax, "prices": _price, "rates": _rate, "shelf": _stock, "sublets": _sublet}

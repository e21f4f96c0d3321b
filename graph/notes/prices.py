"""A price as typed, as a note of the record of cost; every fault beside its field."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction

from graph.costing.notes import PRICE, CostNote, Provenance, new_id
from graph.costing.price_import import price_body
from graph.costing.prices import CONDITIONS, Price
from graph.errors import InvalidInput, Problem
from graph.fits.decimals import decimal_of
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice, chosen_of, find_part
from graph.plain_text import fault_of_text

LABELS = {
    "part": "Part", "cash": "Price", "condition": "Condition", "dated": "Given on", "supplier": "Supplier",
    "lead_days": "Days until it comes", "per_hour": "Money an hour", "kind": "Kind of work", "quantity": "Pieces",
    "book": "Book value of one", "place": "Where it lies", "label": "What it is", "id": "Task or operation",
    "percent": "Tax in percent", "wanted": "What the order must say", "author": "Who says so", "file": "File",
}  # fmt: skip


def amount_of(
    typed: Mapping[str, str], name: str, problems: list[Problem], *, needed: bool = True, example: str = "62.50"
) -> str:
    """The amount typed, as a plain decimal; "" with a problem where there is none."""
    try:
        found = decimal_of(typed.get(name, ""), name, example)
    except InvalidInput as error:
        problems += error.problems
        return ""
    if needed and not found:
        problems.append(Problem(name, f"say how much, such as {example}"))
    return found


def check_texts(typed: Mapping[str, str], problems: list[Problem]) -> None:
    """Texts that no export can hold, and nobody who says so."""
    for name in LABELS:
        if fault := fault_of_text(typed.get(name, "")):
            problems.append(Problem(name, fault))
        elif len(typed.get(name, "")) > 2000:
            problems.append(Problem(name, "at most 2,000 characters"))
    if not typed.get("author"):
        problems.append(Problem("author", "say who says so: initials or a role will do"))


def currency_of(index: CatalogueIndex, problems: list[Problem]) -> str:
    """The workshop's currency."""
    currency = index.catalogue.currency
    if not currency:
        problems.append(Problem("", "the workshop has no currency yet, so nothing can have a price"))
    return currency


def condition_of(typed: Mapping[str, str], problems: list[Problem]) -> str:
    """The condition that was chosen."""
    if typed.get("condition", "") not in CONDITIONS:
        problems.append(Problem("condition", f"choose one of {', '.join(CONDITIONS)}"))
    return typed.get("condition", "")


def part_of(
    index: CatalogueIndex, typed: Mapping[str, str], problems: list[Problem], choices: dict[str, tuple[Choice, ...]]
) -> str:
    """The id of the part meant; "" with a problem."""
    meant = chosen_of("part", typed.get("part", ""), typed.get("part_for", ""), typed.get("part_chosen", ""), problems)
    found = find_part(index, "part", meant, problems, choices)
    return found.id if found else ""


def price_note(
    index: CatalogueIndex, typed: Mapping[str, str], by: Provenance, problems: list[Problem],
    choices: dict[str, tuple[Choice, ...]],
) -> CostNote | None:  # fmt: skip
    """The price typed, as a note of cost; None with every fault among the problems."""
    part, currency = part_of(index, typed, problems, choices), currency_of(index, problems)
    cash, condition = amount_of(typed, "cash", problems), condition_of(typed, problems)
    lead = amount_of(typed, "lead_days", problems, needed=False, example="4")
    check_texts(typed, problems)
    dated = date.today()
    try:
        dated = date.fromisoformat(typed.get("dated", "") or dated.isoformat())
        if dated > date.today():
            problems.append(Problem("dated", "it lies in the future; expected the day on which the price was given"))
    except ValueError:
        problems.append(Problem("dated", f"expected a date like 2026-05-17, found {typed.get('dated', '')[:40]!r}"))
    if problems:
        return None
    hundredths = Fraction(cash) * 100
    price = Price(part=part, cash_hundredths=int(hundredths), currency=currency, condition=condition, dated=dated,
                  supplier=typed.get("supplier", ""), lead_days=Fraction(lead or 0))  # fmt: skip
    name = new_id(PRICE)
    return CostNote(id=name, kind=PRICE, about=part, body=price_body(price), made_on=by.when, author=by.author,
                    method=by.method, batch=name)  # fmt: skip

"""What is typed into the forms of shop data, as notes of cost; every fault beside its field."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from api.workshop import Workshop
from graph.costing.known_names import LookUp
from graph.costing.notes import CostNote, Provenance
from graph.costing.rates import BENCH
from graph.costing.shop import rate_note, stock_note, sublet_note
from graph.costing.tax import tax_note
from graph.errors import Problem
from graph.exact import NotExact
from graph.notes.form import Choice
from graph.notes.prices import amount_of, check_texts, condition_of, currency_of, part_of, price_note

_Typed = dict[str, str]
_Problems = list[Problem]
_Choices = dict[str, tuple[Choice, ...]]
Makes = Callable[[Workshop, _Typed, Provenance, _Problems, _Choices], CostNote]
_NOTHING = CostNote(id="", kind="", about="")


def _part(workshop: Workshop, typed: _Typed, problems: _Problems, choices: _Choices) -> str:
    return part_of(workshop.index, typed, problems, choices)


def _known(name: str, said: str, look_up: LookUp, problems: _Problems) -> None:
    """Told with the other faults of the form, not after they are mended."""
    try:
        look_up(said)
    except NotExact as fault:
        problems.append(Problem(name, str(fault)))


def _rate(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    currency, amount = currency_of(workshop.index, problems), amount_of(typed, "per_hour", problems)
    _known("kind", typed.get("kind", "") or BENCH, workshop.shop.names.kind_of_work, problems)
    check_texts(typed, problems)
    body = {"per_hour": amount, "currency": currency}
    return _NOTHING if problems else rate_note(typed.get("kind", "") or BENCH, body, by)


def _stock(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    part, currency = _part(workshop, typed, problems, choices), currency_of(workshop.index, problems)
    if part:
        _known("part", part, workshop.shop.names.piece, problems)
    book, condition = amount_of(typed, "book", problems), condition_of(typed, problems)
    quantity = typed.get("quantity", "")
    if not quantity.isdecimal() or len(quantity) > 6:
        problems.append(Problem("quantity", f"expected whole pieces, 0 or more, found {quantity[:40]!r}"))
    check_texts(typed, problems)
    body = {"quantity": quantity, "book": book, "currency": currency, "condition": condition,
            "place": typed.get("place", "")}  # fmt: skip
    return _NOTHING if problems else stock_note(part, body, by)


def _sublet(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    currency, cash = currency_of(workshop.index, problems), amount_of(typed, "cash", problems)
    lead = amount_of(typed, "lead_days", problems, needed=False, example="4")
    if not typed.get("id"):
        problems.append(Problem("id", "say which task or operation is sent out"))
    else:
        _known("id", typed["id"], workshop.shop.names.sent_out, problems)
    check_texts(typed, problems)
    label = typed.get("label", "") or workshop.shop.names.list_sent_out().get(typed.get("id", ""), "")
    body = {"label": label, "cash": cash, "currency": currency,
            "lead_days": lead or "0", "wanted": typed.get("wanted", "")}  # fmt: skip
    return _NOTHING if problems else sublet_note(typed.get("id", ""), body, by)


def _tax(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    percent = amount_of(typed | {"percent": typed.get("percent", "").rstrip("% ")}, "percent", problems, example="19")
    check_texts(typed, problems)
    return _NOTHING if problems else tax_note(percent, by)


def _price(workshop: Workshop, typed: _Typed, by: Provenance, problems: _Problems, choices: _Choices) -> CostNote:
    return price_note(workshop.index, typed, by, problems, choices) or _NOTHING


MAKE: Mapping[str, Makes] = {"tax": _tax, "prices": _price, "rates": _rate, "shelf": _stock, "sublets": _sublet}

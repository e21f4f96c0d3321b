"""`/used-box`: a used gearbox before it is paid for, one check after the other, beside it with a phone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Query, Request, Response

from api.addresses import ReadNames, reads
from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer import words
from graph.counter import Shop
from graph.errors import InvalidInput, NotFound, Problem
from graph.exact import HUNDREDTHS, scaled
from graph.fits.decimals import decimal_of
from graph.notes.form import Choice
from graph.used_box import UsedBox, UsedBoxVerdict
from graph.used_box.model import CheckLine

router = page_router()
Short = Annotated[str, Query(max_length=120)]
SHOWN_FIRST, MOST_UNITS = 6, 300


@dataclass(frozen=True, slots=True)
class CheckField:
    """A check with its answer so far: "", yes or no."""

    id: str
    asks: str
    how: str
    answer: str
    settles: str
    if_yes: str
    if_no: str


@dataclass(frozen=True, slots=True)
class WornRow:
    """What may be worn: odds in words, and as a bar of `width` (0 to 100)."""

    label: str
    odds: str
    width: str
    repair: str
    source: str


@dataclass(frozen=True, slots=True)
class UsedBoxView:
    """The page; `verdict` is None while no gearbox is chosen or something of the form is wrong."""

    gearbox: str
    gearboxes: tuple[Choice, ...]
    asking: str
    verdict: UsedBoxVerdict | None
    repairs: str
    worn: tuple[WornRow, ...]
    first: tuple[CheckField, ...]
    rest: tuple[CheckField, ...]
    answered: tuple[CheckField, ...]
    problems: tuple[Problem, ...]


@reads(ReadNames(starts=("t.",)))
@needs("read")
@router.get("/used-box")
def show_used_box(request: Request, workshop: UsesWorkshop, gearbox: Short = "", asking: Short = "") -> Response:
    """The form with its verdict."""
    found = {name[2:]: text for name, text in request.query_params.items() if name.startswith("t.") and text}
    view = used_box_view(workshop.shop, gearbox.strip(), found, asking.strip())
    return page(request, "used_box.html", view, title="Buying a used gearbox")


def used_box_view(shop: Shop, gearbox: str, found: dict[str, str], asking: str) -> UsedBoxView:
    """Everything that the page shows; what is wrong is told on it."""
    verdict, problems = None, tuple[Problem, ...]()
    if gearbox:
        try:
            price = scaled(decimal_of(asking, "asking", "300"), HUNDREDTHS) if asking else None
            verdict = shop.weigh_used_box(UsedBox(gearbox, found, price))
        except InvalidInput as error:
            problems = error.problems
        except NotFound as error:
            problems = (Problem("", str(error)),)
    index = shop.index
    parts = index.catalogue.parts
    boxes = tuple(Choice(one, parts[one].label) for one in index.units("gearbox")[:MOST_UNITS])
    if verdict is None:
        return UsedBoxView(gearbox, boxes, asking, None, "", (), (), (), (), problems)
    fields = tuple(map(_field, verdict.checks))
    return UsedBoxView(
        gearbox, boxes, asking, verdict, _repairs(verdict), _worn(verdict), fields[:SHOWN_FIRST], fields[SHOWN_FIRST:],
        tuple(map(_field, verdict.answered)), problems,
    )  # fmt: skip


def _repairs(verdict: UsedBoxVerdict) -> str:
    least = "at least " if verdict.at_least else ""
    now, ninth, before = (
        f"{least}{words.money(value, verdict.currency)}"
        for value in (verdict.repairs, verdict.repairs_p90, verdict.repairs_before)
    )
    return f"Repairs to be expected: {now}; nine times in ten no more than {ninth}. Before any look: {before}."


def _worn(verdict: UsedBoxVerdict) -> tuple[WornRow, ...]:
    rows = []
    for line in verdict.worn:
        moved = "" if round(line.before, 3) == round(line.odds, 3) else f" (was {words.likelihood(line.before)})"
        lacking = f", {words.listed(line.lacks)} not stated" if line.lacks else ""
        repair = f"{words.money(line.repair, verdict.currency)} by itself on the bench{lacking}"
        rows.append(
            WornRow(line.label, words.likelihood(line.odds) + moved, f"{100 * line.odds:.1f}", repair, line.source)
        )
    return tuple(rows)


def _field(line: CheckLine) -> CheckField:
    settles = words.likelihood(line.settles) if line.settles else ""
    how = f"{line.how}; {line.minutes:g} min"
    return CheckField(line.id, line.asks, how, line.answer, settles, line.if_yes, line.if_no)

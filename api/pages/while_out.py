"""`/while-it-is-out`: what else to renew while a route has it open, ticked by the customer, with the sum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Query, Request, Response
from fastapi.responses import RedirectResponse

from api.addresses import ReadNames, reads
from api.pages.asked import QUESTION_NAMES, address, asked_anything, parameters_of, question_of
from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import without_thread, workshop_of
from graph.answer import words
from graph.errors import InvalidInput, Problem
from graph.reading.question import Question
from graph.wear import RenewalWish, WearItem, WhileOut, read_wish
from graph.wear.said import (
    advice_words,
    amounts_words,
    deeper_words,
    odds_words,
    spread_words,
    sum_words,
    with_route_words,
)

router = page_router()
Rank = Annotated[int, Query(ge=1, le=1000)]
Ticked = Annotated[list[str], Query(max_length=100)]
Said = Annotated[str, Query(max_length=20)]


@dataclass(frozen=True, slots=True)
class ItemRow:
    """A part with its tick."""

    id: str
    label: str
    part: str
    odds: str
    words: str
    amounts: str
    price_source: str
    test: str
    counted: bool
    ticked: bool
    source: str


@dataclass(frozen=True, slots=True)
class StateRows:
    """An opened state with what lies open there."""

    label: str
    again: str
    items: tuple[ItemRow, ...]


@dataclass(frozen=True, slots=True)
class WhileOutView:
    """The page. `hidden`: the question's pairs, for the form."""

    title: str
    route: str
    back: str
    hidden: tuple[tuple[str, str], ...]
    ticked: tuple[str, ...]
    warranty: str
    states: tuple[StateRows, ...]
    advice: str
    spread: str
    tied: str
    wish: str
    with_wish: str
    papers: tuple[tuple[str, str], ...]
    renewed: tuple[str, ...]
    not_known: tuple[str, ...]
    deeper: tuple[str, ...]
    notes: tuple[str, ...]


WISH_NAMES = ReadNames(frozenset(("while_out", "warranty")), frozenset(("renew",)))


@reads(QUESTION_NAMES | WISH_NAMES)
@needs("read")
@router.get("/while-it-is-out")
async def show_while_out(
    request: Request, rank: Rank = 1, renew: Ticked = [], warranty: Said = "",  # noqa: B006  (FastAPI copies it)
) -> Response:  # fmt: skip
    """The list of the route of that rank."""
    if not asked_anything(request.query_params):
        return RedirectResponse("/ask", status_code=303)
    question, wish = question_of(request.query_params), wish_of(renew, warranty)
    workshop = workshop_of(request)
    view = await workshop.work_out(
        lambda: while_out_view(question, workshop.shop.while_out(question, rank, wish), warranty)
    )
    return page(request, "while_out.html", view, title=f"While it is out: {view.title}")


def wish_asked(request: Request) -> RenewalWish | None:
    """What the address says was ticked; None where nobody asked for the list of worn parts. Raises InvalidInput."""
    said = request.query_params
    if not (said.get("while_out") or said.getlist("renew")):
        if said.get("warranty", "").strip():
            raise InvalidInput([Problem("warranty", "counts for what is ticked: tick something, or say while_out=yes")])
        return None
    return wish_of(said.getlist("renew"), said.get("warranty", ""))


TickedThere = Annotated[RenewalWish | None, Depends(reads(WISH_NAMES)(without_thread(wish_asked)))]


def asked_with(wish: RenewalWish) -> list[tuple[str, str]]:
    """The pairs of an address that `wish_asked` reads as this wish."""
    months = [] if wish.warranty_months is None else [("warranty", str(wish.warranty_months))]
    return [*(("renew", one) for one in wish.renew), *months, ("while_out", "yes")]


def wish_of(renew: list[str], warranty: str) -> RenewalWish:
    """What is ticked; what is left empty is not. Raises InvalidInput for a warranty of no whole number of months."""
    return read_wish(filter(None, renew), warranty.strip() or None, "warranty")


def while_out_view(question: Question, found: WhileOut, warranty: str) -> WhileOutView:
    """Everything that the page shows."""
    at = ("rank", str(found.rank))
    ticked = [("renew", item.id) for item in found.items if item.ticked]
    kinds = (("Estimate with what is ticked", "estimate"), ("Job sheet with what is ticked", "job-sheet"))
    return WhileOutView(
        title=found.summary, route=f"Route {found.rank}", back=address("/route", question, [at]),
        hidden=(*parameters_of(question), at), ticked=tuple(name for _, name in ticked), warranty=warranty.strip(),
        states=tuple(
            StateRows(
                state.label, words.money(state.again, found.currency), tuple(_row(item, found) for item in state.items)
            )
            for state in found.states
        ),
        advice=advice_words(found), spread=spread_words(found), tied=found.spread.tied if found.spread else "",
        wish=sum_words(found.wish, found.currency) if ticked else "",
        with_wish=with_route_words(found),
        papers=tuple((said, f"/paper/{kind}") for said, kind in kinds), renewed=found.renewed,
        not_known=found.not_known, deeper=tuple(deeper_words(one, found.currency) for one in found.deeper),
        notes=found.notes,
    )  # fmt: skip


def _row(item: WearItem, found: WhileOut) -> ItemRow:
    return ItemRow(
        item.id, item.label, item.part or "nobody has stated which one is there", odds_words(item),
        words.sentence(item.words), amounts_words(item, found.currency), item.price_source, item.cheap_test,
        item.counted, item.ticked, item.source,
    )  # fmt: skip

"""GET /route: one route of the answer to the question in the address; /section.svg: its section; /try: with other
values; /paper/...: papers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import Path, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from api.addresses import reads
from api.pages.answers import find_answer, find_best, find_known
from api.pages.asked import QUESTION_NAMES, address, asked_anything, parameters_of, question_of
from api.pages.base import fragment, page, page_router
from api.pages.first_view import NOT_TICKED, Ticked
from api.pages.question_view import label_of
from api.pages.route_view import RouteView, route_view
from api.pages.trying import TriedAlone, TryFragment, moving_view, only_tried, tries, untried
from api.pages.while_out import WISH_NAMES, asked_with, wish_asked
from api.roles import needs
from api.workshop import workshop_of
from graph.answer.best_alone import BestAlone
from graph.answer.section_drawing import section_drawing
from graph.costing.asking import route_at
from graph.costing.jobs.past import last_times
from graph.counter import Shop
from graph.errors import NotFound
from graph.papers.details import Details
from graph.papers.html import as_html, content_policy
from graph.papers.making import make_paper
from graph.papers.model import Paper, PaperWay
from graph.papers.pdf import as_pdf
from graph.reading.question import Question
from graph.wear import RenewalWish
from graph.wear.said import ticked_words

router = page_router()
Rank = Annotated[int, Query(ge=1, le=1000)]
Kind = Annotated[Literal["estimate", "job-sheet", "build-record", "declaration"], Path()]
Which = Annotated[Literal["", "before", "after"], Query()]
Said = Annotated[str, Query(max_length=200)]
Form = Annotated[Literal["html", "pdf"], Query()]


@reads(QUESTION_NAMES | WISH_NAMES)
@needs("read")
@router.get("/route")
async def route(request: Request, rank: Rank = 1) -> Response:
    """The route of that rank."""
    if not asked_anything(request.query_params):
        return RedirectResponse("/ask", status_code=303)
    question = question_of(request.query_params)
    found = await find_answer(request, question)
    if not found.answer.routes:
        return RedirectResponse(address("/compare", question), status_code=303)
    chosen, has_papers = route_at(found.answer, rank), workshop_of(request).shop.keeps_record
    shop, known = workshop_of(request).shop, await find_known(request, question)
    wish = wish_asked(request)

    def viewed() -> RouteView:
        last = last_times(shop.notes, shop.index, shop.names, question.gearbox, question.engine)
        ticked = _ticked(shop, question, rank, wish)
        return route_view(found.index, question, found.answer, chosen, has_papers, last, known, ticked)

    view = await workshop_of(request).work_out(viewed)
    return page(request, "route.html", view, title=f"Route {rank}: {view.question.title}")


def _ticked(shop: Shop, question: Question, rank: int, wish: RenewalWish | None) -> Ticked:
    """What the address says is renewed besides. Raises InvalidQuestion where values are only tried: no list is made
    of those."""
    if wish is None or not wish.renew:
        return NOT_TICKED
    out = shop.while_out(question, rank, wish)
    return Ticked(ticked_words(out), out.steps, tuple(asked_with(wish)))


@reads(QUESTION_NAMES)
@needs("read")
@router.get("/section.svg")
async def section(request: Request, rank: Rank = 1, which: Which = "") -> Response:
    """The section of that route by itself."""
    found = await find_answer(request, question_of(request.query_params))
    chosen = route_at(found.answer, rank)
    drawn = await workshop_of(request).work_out(lambda: section_drawing(chosen, which))
    return Response(
        drawn, media_type="image/svg+xml", headers={"content-disposition": 'inline; filename="section.svg"'}
    )


@reads(QUESTION_NAMES)
@needs("read")
@router.get("/try")
async def try_values(request: Request, moving: str = "") -> Response:
    """The answer with the values of the form, of which only those that differ from what is known are tried.

    `moving`: only what they make of the answer, as a fragment of a page; nothing is written down.
    """
    if not asked_anything(request.query_params):
        return RedirectResponse("/ask", status_code=303)
    before = await find_answer(request, untried(question_of(request.query_params)))
    question = question_of(only_tried(request.query_params, before.index, before.answer))
    if not moving:
        return RedirectResponse(address("/compare", question), status_code=303)
    known = BestAlone.of(before.answer)
    if tries(question):
        moved = moving_view(before.index, question, await find_best(request, question), known)
    else:
        moved = moving_view(before.index, question, known, None)
    return fragment("_moving.html", TryFragment(TriedAlone(moved)))


@reads(QUESTION_NAMES | WISH_NAMES)
@needs("read")
@router.get("/paper/{kind}.pdf")
async def paper_to_print(
    request: Request, kind: Kind, rank: Rank = 1, number: Said = "", customer: Said = "", shop: Said = ""
) -> Response:
    """The paper as PDF."""
    return as_response(await _made(request, kind, rank, details_of(number, customer, shop), "pdf"), kind)


@reads(QUESTION_NAMES | WISH_NAMES)
@needs("read")
@router.get("/paper/{kind}")
async def paper(
    request: Request, kind: Kind, rank: Rank = 1, number: Said = "", customer: Said = "", shop: Said = "",
    form: Form = "html",
) -> Response:  # fmt: skip
    """The paper as a page of its own, to read or to print from the browser, or as PDF."""
    return as_response(await _made(request, kind, rank, details_of(number, customer, shop), form), kind)


def details_of(number: str, customer: str, shop: str) -> Details:
    """What is left out becomes a line to write on; a paper must have a number, so a dash stands for it."""
    today = date.today().isoformat()
    return Details(number=number.strip() or "-", dated=today, customer=customer, shop=shop)


def written(paper: Paper, form: str, ways: Sequence[PaperWay] = ()) -> str | bytes:
    """The paper as PDF, or as a page with the ways on from it."""
    return as_pdf(paper) if form == "pdf" else as_html(paper, ways)


def as_response(made: str | bytes, kind: str) -> Response:
    """A paper that was made, as it is sent."""
    if isinstance(made, bytes):
        headers = {"content-disposition": f'inline; filename="{kind}.pdf"'}
        return Response(made, media_type="application/pdf", headers=headers)
    return HTMLResponse(
        made, headers={"content-security-policy": content_policy(), "cache-control": "private, no-cache"}
    )


async def _made(request: Request, kind: str, rank: int, details: Details, form: str) -> str | bytes:
    workshop = workshop_of(request)
    shop = workshop.shop
    if not shop.keeps_record:
        raise NotFound("paper", kind)
    question = question_of(request.query_params)
    if question.vehicle:
        details = replace(details, vehicle=label_of(shop.index, question.vehicle))
    wish = wish_asked(request)
    here = [*parameters_of(question), ("rank", str(rank)), *([] if wish is None else asked_with(wish))]
    said = [(name, getattr(details, name)) for name in ("number", "customer", "shop") if getattr(details, name)]
    ways = (
        PaperWay("Back to the route", address("/route", question, [("rank", str(rank))])),
        PaperWay("As PDF, to print", f"/paper/{kind}.pdf?{urlencode([*here, *said])}"),
    )
    known = shop.index.catalogue

    def made() -> str | bytes:
        found, renewals = shop.costed_as_wished(question, rank, wish)
        return written(make_paper(kind, found, rank, details, shop.notes, "", known, renewals), form, ways)

    return await workshop.work_out(made)

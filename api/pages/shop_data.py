"""`/shop`: what the shop's money hangs on: prices, rates, shelf, work sent out; each typed here, all with a history.

Everything that is kept can be taken back by its batch; the lists are those of the API (`/prices`, `/shop`, `/odds`).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import UploadFile

from api.files import read_in_turn
from api.pages.back import with_back
from api.pages.base import page, page_router
from api.pages.extra import last_writer, text_of, writer_of
from api.pages.notes import SentForm
from api.pages.shop_lists import KIND_OF, KINDS, TITLES, OddsView, view_of
from api.pages.shop_typed import MAKE
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.costing.asking import joint_odds_lines, odds_lines
from graph.costing.notes import CostNote, Provenance, retraction
from graph.costing.price_import import ListReading, guess_mapping, price_notes, read_prices
from graph.costing.tables import read_table
from graph.errors import InvalidInput, NotFound, Problem
from graph.guarded.bounds import PRICE_LISTS
from graph.notes.form import Choice

router = page_router()


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
    view = replace(view_of(workshop, what, typed, done), by=last_writer(request))
    return page(request, "shop_data.html", view, title=view.title, form=True)


def _check(what: str) -> None:
    if what not in TITLES:
        raise NotFound("page of shop data", what, sorted(TITLES))


@needs("note")
@router.post("/shop/{what}/page")
async def keep_typed(request: Request, what: str, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Keeps what was typed, or a price list; or shows the form again with what is wrong."""
    _check(what)
    access = writer_of(request, form)
    typed = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    by = Provenance(access.signed(typed.get("author", "")), "typed")
    problems: list[Problem] = []
    left_out: tuple[str, ...] = ()
    choices: dict[str, tuple[Choice, ...]] = {}
    file = form.get("file")
    try:
        if what == "prices" and isinstance(file, UploadFile) and file.filename:
            by = replace(by, method=f"price list {file.filename}"[:200])
            opened, name = file.file, file.filename

            def from_list() -> tuple[list[CostNote], tuple[str, ...]]:
                table = read_table(opened, name, PRICE_LISTS[access.role])
                reading = ListReading(guess_mapping(table.header), leave_out=typed.get("unknown_parts") == "leave out")
                read = read_prices(table, reading, date.today(), workshop.shop.names)
                return price_notes(read, by), read.left_out

            made, left_out = await read_in_turn(request, from_list)
        else:
            made = [MAKE[what](workshop, typed, by, problems, choices)]
        if problems:
            raise InvalidInput(problems)
        key = typed.get("key", "")
        form_name = f"{access.name}\n{what}\n{key}" if key else ""
        await workshop.work_out(lambda: workshop.shop.keep(made, form_name))
    except InvalidInput as error:
        view = replace(view_of(workshop, what, typed), problems=error.problems[:50], choices=choices)
        return page(request, "shop_data.html", view, title=view.title, status=422, form=True)
    done = urlencode({"done": _kept(made, what, left_out)})
    return RedirectResponse(with_back(request, f"/shop/{what}/page?{done}"), status_code=303)


def _kept(made: list[CostNote], what: str, left_out: tuple[str, ...]) -> str:
    """What was kept, and which rows of a list were left out."""
    text = f"Kept: {len(made)} {KINDS[KIND_OF[what]]}{'s' if len(made) > 1 else ''}."
    if left_out:
        named = ", ".join(one[:40] for one in left_out[:3]) + (" ..." if len(left_out) > 3 else "")
        text += f" {len(left_out)} rows were left out, for no part is known by what they name: {named}."
    return text


@needs("note")
@router.post("/shop/{what}/back")
async def take_batch_back(request: Request, what: str, form: SentForm, workshop: UsesWorkshop) -> Response:
    """Takes a batch back; its history stays."""
    _check(what)
    access = writer_of(request, form)
    author, batch = text_of(form, "author").strip() or access.default_author, text_of(form, "batch")
    if not author:
        told = (Problem("", "say who takes it back: initials or a role will do"),)
        view = replace(view_of(workshop, what, {}), problems=told)
        return page(request, "shop_data.html", view, title=view.title, status=422, form=True)
    by = Provenance(access.signed(author), "taken back by the page")
    notes = workshop.shop.notes
    await workshop.work_out(lambda: notes.append([retraction(notes, batch, by)]))
    return RedirectResponse(f"/shop/{what}/page?{urlencode({'done': 'Taken back.'})}", status_code=303)

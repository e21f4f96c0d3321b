"""`/made`: a bush, a sleeve or a spacer to be made between two parts, with its sizes, price and drawing.

The form is an address: it can be sent, kept and tried again. Drawings are the API's (`/made-parts/KIND.dxf`, `.pdf`);
readings typed here go by POST there, so a page with typed readings draws on the page only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from markupsafe import Markup

from api.addresses import ReadNames, reads
from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.made_asking import MadeAsked, MadeFound, ask_made, reading_names, readings_taken
from graph.errors import InvalidInput, NotFound, Problem
from graph.lookups.index import CatalogueIndex
from graph.made.kinds import MADE_KINDS
from graph.made.model import MadeKind, MadePart, MadeRefused, Reading
from graph.made.picture import made_svg
from graph.made.sheet import LARGER, paper_words, whole_on
from graph.made.words import caution_lines, hole_rows, note_lines, size_rows
from graph.notes.form import Choice
from graph.plates.model import PlateReason

router = page_router()
Short = Annotated[str, Query(max_length=200)]
MOST_SHOWN = 200
FIELDS = ("kind", "a", "b", "size", "gearbox", "engine")
READING = "reading-"  # how the fields of typed readings begin
READING_NAMES = frozenset(f"{READING}{name}" for name in reading_names())


@dataclass(frozen=True, slots=True)
class ReadingField:
    """A reading that may be typed: field `name`, `label`, what was `typed`."""

    name: str
    label: str
    typed: str


@dataclass(frozen=True, slots=True)
class MadeView:
    """The page of a made part.

    `typed`: the form as filled in. `kinds`, `firsts`, `seconds`, `gearboxes`, `engines`: what to choose from, `first`
    and `second` what the two parts are; `readings`: what may be typed; `along`: what the length chains choose.
    `problems`: of what was typed; `refused`: why there is no such part; `title`, `sizes`, `holes`, `notes`, `checks`,
    `price`, `others`, `measure`, `cautions`, `drawing`, `dxf`, `pdf`, `json`: the part, empty where there is none;
    `paper`: what its drawing at 1:1 is printed on; `whole`: its PDF on the one larger paper (`whole_on`) that holds it.
    """

    typed: Mapping[str, str]
    kinds: tuple[Choice, ...]
    first: str = ""
    second: str = ""
    firsts: tuple[Choice, ...] = ()
    seconds: tuple[Choice, ...] = ()
    gearboxes: tuple[Choice, ...] = ()
    engines: tuple[Choice, ...] = ()
    readings: tuple[ReadingField, ...] = ()
    along: str = ""
    problems: tuple[Problem, ...] = ()
    refused: tuple[PlateReason, ...] = ()
    title: str = ""
    sizes: tuple[tuple[str, str, str, str, str], ...] = ()
    holes: tuple[tuple[str, str, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    price: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    drawing: Markup = field(default_factory=Markup)
    dxf: str = ""
    pdf: str = ""
    json: str = ""
    paper: str = ""
    whole_on: str = ""
    whole: str = ""


@reads(ReadNames(READING_NAMES))
@needs("read")
@router.get("/made")
def show_made(
    request: Request, workshop: UsesWorkshop, kind: Short = "", a: Short = "", b: Short = "", size: Short = "",
    gearbox: Short = "", engine: Short = "",
) -> Response:  # fmt: skip
    """A part to be made between two others."""
    given = locals()
    typed = {name: given[name].strip() for name in FIELDS}
    typed |= {name: text[:200] for name, text in request.query_params.items() if name.startswith(READING)}
    return page(request, "made.html", made_view(workshop.shop.standing().index, typed), title="Made part")


def made_view(index: CatalogueIndex, typed: Mapping[str, str]) -> MadeView:
    """The page for a filled-in form; nothing is designed until kind and a part, or a reading, are given."""
    kinds = tuple(Choice(kind.id, f"{kind.label}, {_between(index, kind)}") for kind in MADE_KINDS.values())
    kind = MADE_KINDS.get(typed["kind"])
    if kind is None:
        unknown = (Problem("kind", f"no kind of made part {typed['kind'][:40]!r}"),) if typed["kind"] else ()
        return MadeView(typed, kinds, problems=unknown)
    base = _form(index, typed, kinds, kind)
    readings = {
        name.removeprefix(READING): text for name, text in typed.items() if name.startswith(READING) and text.strip()
    }
    if not (typed["a"] or typed["b"] or readings):
        return base
    asked = MadeAsked(
        kind=kind.id, a=typed["a"], b=typed["b"], size=typed["size"], gearbox=typed["gearbox"],
        engine=typed["engine"], readings=readings,
    )  # fmt: skip
    try:
        return _with_answer(base, ask_made(index, asked), bool(readings))
    except InvalidInput as error:
        return replace(base, problems=error.problems)
    except NotFound as error:
        return replace(base, problems=(Problem("", str(error)),))


def _place(index: CatalogueIndex, position: str) -> str:
    known = index.catalogue.position_kinds.get(position)
    return known.label if known else position


def _between(index: CatalogueIndex, kind: MadeKind) -> str:
    return " to ".join(_place(index, position) for position in kind.between)


def _form(
    index: CatalogueIndex, typed: Mapping[str, str], kinds: tuple[Choice, ...], kind: MadeKind
) -> MadeView:  # fmt: skip
    known = index.catalogue
    holders = [_holders(index, position) for position in kind.between]
    first, second = (_place(index, position) for position in kind.between)
    readings = tuple(
        ReadingField(
            f"{READING}{quantity}",
            f"{known.quantities[quantity].label} ({_place(index, position)}){_from_where(kind, (position, quantity))}",
            typed.get(f"{READING}{quantity}", ""),
        )
        for position, quantity in readings_taken(known, kind)
    )  # fmt: skip
    return MadeView(
        typed, kinds, first, second, holders[0], holders[1], _units(index, "gearbox"), _units(index, "engine"),
        readings, kind.along.name if kind.along else "",
    )  # fmt: skip


def _from_where(kind: MadeKind, reading: Reading) -> str:
    """From which face a depth is read."""
    along = kind.along
    return f", {along.seat_from}" if along is not None and along.to_seat == reading else ""


def _holders(index: CatalogueIndex, position: str) -> tuple[Choice, ...]:
    """The parts that can hold the place; of very many the first."""
    place = index.catalogue.position_kinds.get(position)
    kinds = frozenset[str]().union(*map(index.kinds_under, place.part_kinds)) if place else frozenset[str]()
    parts = (index.catalogue.parts[name] for name in index.listing.of_kinds(kinds)[:MOST_SHOWN])
    return tuple(Choice(part.id, part.label) for part in parts if not part.abstract)


def _units(index: CatalogueIndex, kind: str) -> tuple[Choice, ...]:
    """The units of a kind to choose from; of very many the first."""
    found = index.listing.of_kinds(index.kinds_under(kind))[:MOST_SHOWN]
    return tuple(Choice(name, index.catalogue.parts[name].label) for name in found)


def _with_answer(base: MadeView, answer: MadeFound, typed_readings: bool) -> MadeView:
    if isinstance(answer.found, MadeRefused):
        return replace(base, refused=answer.found.reasons)
    part: MadePart = answer.found
    shown = replace(
        base, title=part.title, sizes=size_rows(part), holes=hole_rows(part), notes=note_lines(part),
        checks=part.kind.to_confirm, price=answer.price, others=answer.others, measure=part.measure,
        cautions=caution_lines(part),
    )  # fmt: skip
    if part.measure:
        return shown
    shown = replace(shown, drawing=Markup(made_svg(part)), paper=paper_words(part))
    if typed_readings:
        return shown
    query = urlencode({name: text for name, text in base.typed.items() if text and name in FIELDS[1:]})
    stem = f"/made-parts/{part.kind.id}"
    pdf, larger = f"{stem}.pdf?{query}", whole_on(part)
    whole = f"{pdf}&paper={larger}" if larger not in ("", LARGER[0]) else ""
    return replace(shown, dxf=f"{stem}.dxf?{query}", pdf=pdf, json=f"{stem}.json?{query}", whole_on=larger, whole=whole)

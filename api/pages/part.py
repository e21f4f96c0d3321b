"""`/browse`: parts by words and kind, misspelt or not; `/part/{id}`: a part's page, also as Turtle and JSON-LD."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from fastapi import Query, Request, Response
from markupsafe import Markup

from api.negotiation import chosen
from api.pages.base import page, page_router
from api.pages.extra import Pages, base_of, notebook_or_none, pages_of
from api.pages.measured_view import FaceView, MeasuredView, list_disputes, list_faces, list_readings
from api.pages.neighbourhood import picture_of
from api.pages.part_rdf import FORMATS, serialized
from api.pages.part_view import ROWS_PER_PAGE, ROWS_SHOWN, Group, PartView, part_href, view_of
from api.pages.photos import Photo, photos_of
from api.pages.places_view import PlacesView, places_of
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer import words
from graph.answer.browse import get_part
from graph.answer.find import LONGEST_QUERY, FoundParts, find_parts
from graph.catalogue.model import Catalogue, Part
from graph.catalogue.terms import Term
from graph.errors import NotFound
from graph.ledger.find import NoteFilter, find_notes
from graph.ledger.record import Entry

router = page_router()
PARTS_PER_PAGE = 50
NOTES_SHOWN = 10
HTML = "text/html"
OFFERS = {HTML: HTML, "application/xhtml+xml": HTML} | {name: name for name in FORMATS}
AS = {"turtle": "text/turtle", "json-ld": "application/ld+json"}


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part of the list: the part, its page, its kind in words, its price in words."""

    part: Part
    href: str
    kind: str
    price: str


@dataclass(frozen=True, slots=True)
class BrowseView:
    """The list of parts. `read_as`: misspelt words with what was taken for them; `more`: the list is cut short.

    `keeps_notes`: whether a part can be added.
    """

    text: str
    kind: str
    kinds: tuple[Term, ...]
    rows: tuple[PartRow, ...]
    pages: Pages
    read_as: tuple[tuple[str, str], ...]
    more: bool
    keeps_notes: bool = False


@dataclass(frozen=True, slots=True)
class PartPage:
    """A part's page. `groups`: the first rows of each; `only`: a group asked for alone, with `pages`.

    `picture`, `faces`: SVG made here. `notes`: the ledger's newest about the part. `formats`: addresses of the same
    page in other spellings. `places`: of a gearbox, engine or vehicle only. `photos`: by note.
    """

    of: PartView
    groups: tuple[Group, ...]
    only: Group | None
    pages: Pages | None
    href: str
    picture: Markup
    readings: tuple[MeasuredView, ...]
    disputes: tuple[str, ...]
    faces: tuple[FaceView, ...]
    notes: tuple[Entry, ...]
    note_texts: dict[str, str]
    keeps_notes: bool
    places: PlacesView | None = None
    photos: Mapping[str, Photo] = field(default_factory=dict)


@needs("read")
@router.get("/browse")
def browse(
    request: Request,
    workshop: UsesWorkshop,
    text: Annotated[str, Query(max_length=10_000)] = "",
    kind: Annotated[str, Query(max_length=200)] = "",
    page_number: Annotated[int, Query(alias="page", ge=1, le=10**6)] = 1,
) -> Response:
    """Parts by words and kind."""
    index = workshop.index
    found = find_parts(index, text[:LONGEST_QUERY], kind)
    start = (page_number - 1) * PARTS_PER_PAGE
    view = BrowseView(
        text=text[:LONGEST_QUERY], kind=kind, kinds=_kinds(index.catalogue),
        rows=tuple(_row(index.catalogue, part) for part in found.parts[start : start + PARTS_PER_PAGE]),
        pages=pages_of("/browse", {"text": text[:LONGEST_QUERY], "kind": kind}, len(found.parts), page_number,
                       PARTS_PER_PAGE),
        read_as=_read_as(found), more=found.more, keeps_notes=notebook_or_none(request) is not None,
    )  # fmt: skip
    return page(request, "browse.html", view, title="Parts")


def _read_as(found: FoundParts) -> tuple[tuple[str, str], ...]:
    return tuple((word, words.listed(near, "or")) for word, near in found.read_as.items())


def _kinds(known: Catalogue) -> tuple[Term, ...]:
    return tuple(sorted(known.part_kinds.values(), key=lambda kind: kind.label))


def _row(known: Catalogue, part: Part) -> PartRow:
    kind = known.part_kinds.get(part.kind)
    price = "" if part.cash_hundredths is None else words.cash(part.cash_hundredths, part.currency or known.currency)
    return PartRow(part, part_href(part.id), kind.label if kind else part.kind, price)


@needs("read")
@router.get("/part/{id:path}")
def show_part(
    request: Request,
    id: str,
    workshop: UsesWorkshop,
    spelling: Annotated[Literal["", "turtle", "json-ld"], Query(alias="as")] = "",
    group: Annotated[str, Query(max_length=40)] = "",
    page_number: Annotated[int, Query(alias="page", ge=1, le=10**6)] = 1,
) -> Response:
    """A part: as a page, or as RDF where the Accept header or `?as=` asks for it."""
    index = workshop.index
    part = get_part(index, id)
    media_type = AS.get(spelling) or chosen(request.headers.get("accept", ""), OFFERS)
    if media_type != HTML:
        body = serialized(index, part, base_of(request), media_type)
        return Response(body, media_type=media_type, headers={"vary": "Accept"})
    view = view_of(index, part)
    only = view.group(group)
    if group and only is None:
        raise NotFound("group", group, [one.key for one in view.groups])
    notes = _notes(request, part)
    readings = list_readings(index, part.id)
    cited = {row.note for one in view.groups for row in one.rows[:ROWS_SHOWN]} | {one.note for one in readings}
    shown = PartPage(
        of=view, groups=tuple(_first(one, ROWS_SHOWN) for one in view.groups),
        only=_page_of(only, page_number) if only else None,
        pages=pages_of(part_href(part.id), {"group": group}, only.total, page_number, ROWS_PER_PAGE) if only else None,
        href=part_href(part.id), picture=Markup(picture_of(view)), readings=readings,
        disputes=(*view.disputes, *list_disputes(index, part.id)), faces=list_faces(index, part.id), notes=notes,
        note_texts={name: index.catalogue.notes[name].text for name in cited if name in index.catalogue.notes},
        keeps_notes=notebook_or_none(request) is not None, places=places_of(index, part),
        photos=photos_of(notebook_or_none(request), notes),
    )  # fmt: skip
    response = page(request, "part.html", shown, title=part.label or part.id)
    response.headers["vary"] = "Accept"
    return response


def _first(group: Group, count: int) -> Group:
    return Group(group.key, group.heading, tuple(group.rows[:count]), group.total)


def _page_of(group: Group, number: int) -> Group:
    start = (number - 1) * ROWS_PER_PAGE
    return Group(group.key, group.heading, tuple(group.rows[start : start + ROWS_PER_PAGE]), group.total)


def _notes(request: Request, part: Part) -> tuple[Entry, ...]:
    notebook = notebook_or_none(request)
    if notebook is None:
        return ()
    iri = part.id if "://" in part.id else notebook.ledger.base + part.id
    return tuple(find_notes(notebook.ledger, NoteFilter(part=iri), limit=NOTES_SHOWN))

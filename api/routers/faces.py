"""Hole patterns off photos and by hand: the sheet to print, what a photo shows, a pattern solved, a face kept.

Photos that a face is to rest on are kept first (`POST /attachments`) and named by their hash; a photo may also be tried
without keeping anything.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from api import problems
from api.files import read_in_turn
from api.json import PlainJson
from api.notebook import UsesNotebook
from api.roles import needs
from api.routers.exchange import BODY
from api.routers.fits_answers import Answered
from api.routers.notes import Key, NoteAnswer, note_as_json, retry_of
from api.security import access_of
from api.workshop import UsesWorkshop
from graph.errors import InvalidInput, Problem
from graph.ledger import attachments
from graph.ledger.book import Ledger
from graph.ledger.record import Entry
from graph.notes.faces import (
    FaceAsked,
    HandAsked,
    PhotosAsked,
    PhotosRead,
    read_photos,
    seen_as_json,
    solve_by_hand,
    write_face,
)
from graph.notes.form import own_kinds
from graph.photo.hand import Solved

router = APIRouter(tags=["faces"])
Line = Annotated[str, Field(max_length=200)]
LineQuery = Annotated[str, Query(max_length=200)]
Lines = Annotated[str, Field(max_length=60_000)]
ACROSS = "what the sheet's check line across measures on your print (drawn 140 mm)"
ALONG = "and the one along (drawn 140 mm)"
UNDER = "what lies between sheet and face; 0.1 mm of paper if left out"


class PrintedBody(BaseModel):
    """What the sheet's check lines measure. Sizes follow from them, so they are never guessed."""

    model_config = ConfigDict(extra="forbid")
    across: Line = Field("", description=ACROSS, examples=["139.6 mm"])
    along: Line = Field("", description=ALONG, examples=["139.8 mm"])
    tool: Literal["calliper", "rule"] = "calliper"
    under: Line = Field("", description=UNDER)


class PhotosBody(PrintedBody):
    """Photos of one face, kept before (`POST /attachments`), by hash."""

    photos: Annotated[list[Line], Field(min_length=1, max_length=6)] = Field(description="hashes of kept photos")
    moved: bool = Field(False, description="the sheet was laid elsewhere between the photos")


class HandBody(BaseModel):
    """Holes and what was measured of them, a line each."""

    model_config = ConfigDict(
        extra="forbid",
        json_schema_extra={"examples": [{"holes": "1; 11 mm\n2; 11 mm\n3; 11 mm",
                                         "entries": "1; 2; 118 mm\n2; 3; outside; 101.5 mm\n1; 3; 140.2 mm",
                                         "clockwise": "1, 2, 3"}]},
    )  # fmt: skip
    holes: Lines = Field(description="a name and, if known, its diameter: 1; 11 mm")
    entries: Lines = Field(
        description="1; 2; 118.3 mm (centres) | 1; 2; outside; 129.3 mm | 1; 2; inside; 107 mm | 1; axis; 168 mm"
        " | 1; angle; 90 deg (anticlockwise from the right)"
    )
    uncertainty: Line = Field("", description="of every length; 0.05 mm, as by calliper, if left out")
    clockwise: Line = Field("", description="three holes that follow each other clockwise, as seen")


class FaceNoteBody(BaseModel):
    """A face to be kept: what it rests on (photos, or readings by hand), which holes belong, of which part."""

    model_config = ConfigDict(extra="forbid")
    photos: PhotosBody | None = None
    by_hand: HandBody | None = None
    part: Line = Field(description="id or words")
    joint: Line = Field(description="joint kind", examples=["engine-face"])
    seen_from: Literal["rear", "front"] = Field(description="rear: from the gearbox towards the engine")
    choices: Annotated[list[Line], Field(max_length=200)] = Field(
        description="HOLE = ROLE [SIZE]; roles: thread, clearance, dowel, bore (its centre is the axis), other",
        examples=[["1 = bore", "2 = thread M10x1.5", "3 = clearance", "4 = dowel 12 mm"]],
    )
    datum: Line = Field("", description="the axis: crank axis, input shaft axis")
    by_bolts: bool = Field(False, description="no bore: the axis is the centre of the circle through the bolts")
    level: Line = Field(
        "", description="two holes that lie level, left then right: 2, 5; up as in the picture if left out"
    )
    author: Line = ""
    text: Annotated[str, Field(max_length=4_000)] = ""
    job: Line = ""
    shareable: bool = False

    def asked(self, author: str) -> FaceAsked:
        """The same as the core asks it."""
        values = self.model_dump(exclude={"photos", "by_hand", "author", "choices"})
        return FaceAsked(author=self.author or author, choices=tuple(self.choices), **values)


class SeenHoleAnswer(Answered):
    """A round hole: place in mm about the sheet's middle, how surely (95 of 100), diameter; `ticked`: nothing speaks
    against it; `seen_in`: in how many photos."""

    number: int
    x_mm: float
    y_mm: float
    u_mm: float
    random_mm: float
    diameter_mm: float
    diameter_u_mm: float
    beside_sheet_mm: float
    doubts: list[str]
    remarks: list[str]
    ticked: bool
    seen_in: int = 1


class PhotoAnswer(Answered):
    """One photo: how well the sheet was seen, and what to know."""

    corners: int
    corners_of: int
    residual_mm: float
    blur_mm: float
    tilt_deg: float
    points_per_mm: float
    view_mm: list[float]
    notes: list[str]


class FaceSeenAnswer(Answered):
    """The holes of all photos together, and each photo's figures."""

    holes: list[SeenHoleAnswer]
    notes: list[str]
    photos: list[PhotoAnswer]


class SolvedHoleAnswer(Answered):
    """A hole where the readings place it."""

    name: str
    x_mm: float
    y_mm: float
    u_mm: float
    diameter_mm: float | None


class ReadingResidualAnswer(Answered):
    """An entry against the answer: how far `off`, how far the others check it, whether it looks like a slip."""

    kind: str
    a: str
    b: str
    value: float
    off: float
    checked: float
    odd: bool
    should_be: float | None


class HandSolvedAnswer(Answered):
    """The pattern; `settled`: every hole's place is determined; else `missing`, `twins`, `mirror_open` say what is."""

    holes: list[SolvedHoleAnswer]
    residuals: list[ReadingResidualAnswer]
    settled: bool
    has_axis: bool
    mirror_open: bool
    twins: list[str]
    missing: list[list[str]]
    notes: list[str]
    rms_mm: float


@needs("read")
@router.get(
    "/faces/sheet.pdf", summary="The sheet to lay on a face", response_model=None,
    responses=problems.responses({"description": "PDF at 1:1", "content": {"application/pdf": {}}}, 422),
)  # fmt: skip
def get_face_sheet(paper: Annotated[Literal["A4", "Letter"], Query()] = "A4") -> Response:
    """Print at 100 %, measure its check lines, lay it flat on the face."""
    from graph.photo.sheet_pdf import sheet_pdf

    name = f'attachment; filename="face-sheet-{paper.lower()}.pdf"'
    return Response(sheet_pdf(paper), media_type="application/pdf", headers={"content-disposition": name})


@needs("note")
@router.post(
    "/faces/photo", summary="Try a photo: its sheet and its holes", response_model=FaceSeenAnswer, openapi_extra=BODY,
    responses=problems.responses({}, 400, 401, 403, 413, 422, 429, 503),
)  # fmt: skip
async def read_face_photo(
    request: Request, across: LineQuery = "", along: LineQuery = "", tool: LineQuery = "calliper",
    under: LineQuery = "",
) -> Response:  # fmt: skip
    """JPEG, PNG or WebP as the body. Nothing is stored."""
    content = await request.body()
    asked = PhotosAsked(photos=(("the photo", content),), across=across, along=along, tool=tool, under=under)
    return PlainJson(seen_as_json(await read_in_turn(request, lambda: read_photos(asked))))


@needs("note")
@router.post(
    "/faces/read", summary="Read kept photos of one face together", response_model=FaceSeenAnswer,
    responses=problems.responses({}, 401, 403, 404, 413, 422, 429, 503),
)  # fmt: skip
async def read_face_photos(body: PhotosBody, request: Request, notebook: UsesNotebook) -> Response:
    """Holes matched and weighed, contradictions told. Nothing is written."""

    def seen() -> Any:
        return seen_as_json(read_photos(_photos(body, notebook.ledger)[0]))

    return PlainJson(await read_in_turn(request, seen))


@needs("read")
@router.post(
    "/faces/by-hand", summary="Solve a hole pattern from distances, angles and radii", response_model=HandSolvedAnswer,
    responses=problems.responses({}, 413, 422),
)  # fmt: skip
async def solve_face_by_hand(body: HandBody, workshop: UsesWorkshop) -> Response:
    """With a residual for each entry, and what is still to be measured. Nothing is stored."""
    return PlainJson(await workshop.work_out(lambda: solved_as_json(solve_by_hand(_hand(body)))))


@needs("note")
@router.post(
    "/faces", status_code=201, summary="Keep a face as measured on these parts", response_model=NoteAnswer,
    responses=problems.responses({}, 401, 403, 404, 409, 413, 422, 429, 503),
)  # fmt: skip
async def keep_face(
    body: FaceNoteBody, request: Request, notebook: UsesNotebook, workshop: UsesWorkshop, idempotency_key: Key = ""
) -> Response:
    """Photos are read anew. The pattern check, the plate design and "which pattern is this" have it at once."""
    access, retry = access_of(request), retry_of(request, idempotency_key, body)
    if (body.photos is None) == (body.by_hand is None):
        raise InvalidInput(
            [Problem("photos, by_hand", "say on which of the two it rests: photos, or readings by hand")]
        )
    asked, ledger = body.asked(access.default_author), notebook.ledger

    def kept() -> Entry:
        index = workshop.index
        found: PhotosRead | Solved
        documents: tuple[str, ...] = ()
        if body.photos is not None:
            photos, documents = _photos(body.photos, ledger)
            found = read_photos(photos)
        else:
            assert body.by_hand is not None
            found = solve_by_hand(_hand(body.by_hand))
        own = tuple(own_kinds(notebook, index.catalogue))
        return write_face(ledger, index, asked, found, documents=lambda: documents, own=own, recorded_by=access.name,
                         retry=retry)[0]  # fmt: skip

    made = await (read_in_turn(request, kept) if body.photos is not None else run_in_threadpool(kept))
    return PlainJson(note_as_json(made), 201, headers={"Location": f"/notes/{made.note_id}"})


def _photos(body: PhotosBody, ledger: Ledger) -> tuple[PhotosAsked, tuple[str, ...]]:
    """The kept photos as asked, and their IRIs. Raises NotFound."""
    found = [attachments.get(ledger, key) for key in body.photos]
    asked = PhotosAsked(
        photos=tuple((known.name, content) for known, content in found), across=body.across, along=body.along,
        tool=body.tool, under=body.under, moved=body.moved,
    )  # fmt: skip
    return asked, tuple(known.iri for known, _ in found)


def _hand(body: HandBody) -> HandAsked:
    return HandAsked(holes=body.holes, entries=body.entries, uncertainty=body.uncertainty, clockwise=body.clockwise)


def solved_as_json(solved: Solved) -> dict[str, Any]:
    """A solved pattern as plain values."""
    residuals = [
        {"kind": one.entry.kind, "a": one.entry.a, "b": one.entry.b, "value": one.entry.value, "off": one.off,
         "checked": one.checked, "odd": one.odd, "should_be": one.should_be}
        for one in solved.residuals
    ]  # fmt: skip
    return {
        "holes": [asdict(hole) for hole in solved.holes], "residuals": residuals, "settled": solved.settled,
        "has_axis": solved.has_axis, "mirror_open": solved.mirror_open, "twins": list(solved.twins),
        "missing": [list(pair) for pair in solved.missing], "notes": list(solved.notes), "rms_mm": solved.rms_mm,
    }  # fmt: skip

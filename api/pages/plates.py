"""`/plates`: an adapter plate between two bolt faces; `/plates/which`: which known pattern is a face.

Both forms are addresses: they can be sent, kept and tried again. Drawings are the API's (`/plates/design.dxf`, `.pdf`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from markupsafe import Markup

from api.pages.base import page, page_router
from api.pages.verdict_view import VerdictView, verdict_of
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.plate_asking import PlateAsked, PlateFound, ask_plate, rank_known
from graph.answer.show import face_of
from graph.catalogue.model import UNIT_KINDS
from graph.derive.centring import TURNED
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import read_nm
from graph.fits.pattern import CLEARANCE, Face, Hole
from graph.fits.tables_drive import load_drive_tables
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice
from graph.plates.hole_table import table_rows
from graph.plates.known import PatternLikeness
from graph.plates.model import PlateDesign, PlateFigure, PlateReason, mm
from graph.plates.picture import piece_svg
from graph.plates.rules import MATERIALS

router = page_router()
Short = Annotated[str, Query(max_length=200)]
Long = Annotated[str, Query(max_length=6000)]
MOST_UNITS_SHOWN = 200
FIELDS = (
    "joint", "a", "b", "thickness", "lean", "material", "opening", "register_bore", "spigot", "engine_thread",
    "gearbox_thread", "frame", "force", "gearbox", "engine",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PieceView:
    """A piece: its `name`, what it is (`made`), its picture (`drawing`), `rows` of holes, the address of its `dxf`."""

    name: str
    made: str
    drawing: Markup
    rows: tuple[tuple[str, str, str, str, str, str], ...]
    dxf: str


@dataclass(frozen=True, slots=True)
class PlateView:
    """The page of a plate.

    `typed`: the form as filled in; `hub`: it joins parts that turn. `joints`, `faces`, `gearboxes`, `engines`,
    `materials`: what to choose from. `problems`: of what was typed; `refused`: why there is no plate; `title`,
    `solved`, `turns`, `order`, `pieces`, `figures`, `moves`, `price`, `measure`, `cautions`, `bending`, `pdf`, `json`:
    the design, empty where there is none.
    """

    typed: Mapping[str, str]
    joints: tuple[Choice, ...]
    faces: tuple[Choice, ...]
    gearboxes: tuple[Choice, ...]
    engines: tuple[Choice, ...]
    materials: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    refused: tuple[PlateReason, ...] = ()
    title: str = ""
    solved: tuple[str, ...] = ()
    turns: tuple[str, ...] = ()
    order: tuple[str, ...] = ()
    pieces: tuple[PieceView, ...] = ()
    figures: tuple[PlateFigure, ...] = ()
    moves: tuple[str, ...] = ()
    price: tuple[str, ...] = ()
    measure: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    bending: VerdictView | None = None
    hub: bool = False
    pdf: str = ""
    json: str = ""


@needs("read")
@router.get("/plates")
def show_plate(
    request: Request, workshop: UsesWorkshop, joint: Short = "engine-face", a: Short = "", b: Short = "",
    thickness: Short = "", lean: Short = "", material: Short = "steel", opening: Short = "", register_bore: Short = "",
    spigot: Short = "", engine_thread: Short = "", gearbox_thread: Short = "", frame: Short = "", force: Short = "",
    gearbox: Short = "", engine: Short = "",
) -> Response:  # fmt: skip
    """A plate between face a (the engine's) and face b (the gearbox's)."""
    given = locals()
    view = plate_view(workshop.shop.standing().index, {name: given[name].strip() for name in FIELDS})
    return page(request, "plates.html", view, title="Adapter plate")


def plate_view(index: CatalogueIndex, typed: Mapping[str, str]) -> PlateView:
    """The page for a filled-in form; nothing is designed until both faces are named."""
    known = index.catalogue
    faces = sorted(known.bolt_faces.values(), key=lambda face: face.of)
    joints = tuple(Choice(name, known.joint_kinds[name].label) for name in sorted({face.joint for face in faces}))
    owners = dict.fromkeys(part for face in faces if face.joint == typed["joint"] for _, part in index.descent(face.of))
    standard = [Choice(f"sae:{row.number}", f"housing SAE No. {row.number}") for row in load_drive_tables().housings]
    parts = (*(Choice(name, known.parts[name].label) for name in owners), *standard)
    base = PlateView(
        typed, joints, parts, _units(index, "gearbox"), _units(index, "engine"), MATERIALS, hub=typed["joint"] in TURNED
    )  # fmt: skip
    if not (typed["a"] and typed["b"]):
        return base
    try:
        found = ask_plate(index, _asked(typed))
        return _with_answer(base, found)
    except InvalidInput as error:
        return _but(base, problems=error.problems)
    except NotFound as error:
        return _but(base, problems=(Problem("", str(error)),))


def _units(index: CatalogueIndex, kind: str) -> tuple[Choice, ...]:
    """The units of a kind to choose from; of very many the first."""
    assert kind in UNIT_KINDS
    found = index.listing.of_kinds(index.kinds_under(kind))[:MOST_UNITS_SHOWN]
    return tuple(Choice(name, index.catalogue.parts[name].label) for name in found)


def _asked(typed: Mapping[str, str]) -> PlateAsked:
    values = {name: text for name, text in typed.items() if name not in ("frame", "register_bore")}
    return PlateAsked(frame=bool(typed["frame"]), register=typed["register_bore"], **values)  # type: ignore[arg-type]


def _but(base: PlateView, **more: object) -> PlateView:
    from dataclasses import replace

    return replace(base, **more)  # type: ignore[arg-type]


def _with_answer(base: PlateView, answer: PlateFound) -> PlateView:
    if not isinstance(answer.found, PlateDesign):
        return _but(base, refused=answer.found.reasons)
    design = answer.found
    query = urlencode({name: ("true" if name == "frame" else text) for name, text in base.typed.items() if text})
    pieces = tuple(
        PieceView(
            piece.name, f"{mm(piece.thickness_um)} mm, {piece.grams / 1000:.2f} kg of {design.wanted.rules.material}",
            Markup(piece_svg(piece, f"piece-{n}")), tuple(table_rows(piece)), f"/plates/design.dxf?{query}&piece={n}",
        )
        for n, piece in enumerate(design.pieces, start=1)
    )  # fmt: skip
    return _but(
        base, title=answer.title, solved=design.solved, turns=design.turns, order=design.order, pieces=pieces,
        figures=design.figures, moves=answer.moves, price=answer.price, measure=design.measure,
        cautions=design.cautions,
        bending=None if design.bending is None else verdict_of(design.bending),
        pdf=f"/plates/design.pdf?{query}", json=f"/plates/design.json?{query}",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class LikenessView:
    """A known pattern: `label`, how it is `turned`, how many holes `met`, the `worst` miss, every one (`misses`), and
    whether it is the same within what was read (`certain`)."""

    label: str
    turned: str
    met: str
    worst: str
    certain: bool
    misses: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhichView:
    """The page of "which pattern is this". `part`, `joint`, `holes`, `uncertainty`: as typed; `faces`: to choose from;
    `found`: best first, once it is `asked`; `problems`: of what was typed."""

    part: str
    joint: str
    holes: str
    uncertainty: str
    faces: tuple[Choice, ...]
    found: tuple[LikenessView, ...] = ()
    asked: bool = False
    problems: tuple[Problem, ...] = ()


@needs("read")
@router.get("/plates/which")
def show_which(
    request: Request, workshop: UsesWorkshop, part: Short = "", joint: Short = "engine-face", holes: Long = "",
    uncertainty: Short = "0.2 mm",
) -> Response:  # fmt: skip
    """A measured face, or places typed line by line, against every known pattern."""
    view = which_view(workshop.index, part.strip(), joint, holes, uncertainty)
    return page(request, "plates_which.html", view, title="Which pattern is this")


def which_view(index: CatalogueIndex, part: str, joint: str, holes: str, uncertainty: str) -> WhichView:
    """The page for a part's face or for typed holes."""
    known = index.catalogue
    owners = {face.of: known.parts[face.of].label for face in known.bolt_faces.values() if face.joint == joint}
    base = WhichView(part, joint, holes, uncertainty, tuple(Choice(*pair) for pair in sorted(owners.items())))
    if not (part or holes.strip()):
        return base
    try:
        face = typed_face(holes, uncertainty) if holes.strip() else face_of(index, part, joint)
        own = ("", "") if holes.strip() else (part, joint)
        found = tuple(_likeness(one) for one in rank_known(index, face, own=own))
        return WhichView(part, joint, holes, uncertainty, base.faces, found, True)
    except InvalidInput as error:
        return WhichView(part, joint, holes, uncertainty, base.faces, (), False, error.problems)
    except NotFound as error:
        return WhichView(part, joint, holes, uncertainty, base.faces, (), False, (Problem("", str(error)),))


def typed_face(holes: str, uncertainty: str) -> Face:
    """A face from lines of `x; y` about the axis, a length each. Raises InvalidInput naming the line."""
    read: list[Hole] = []
    problems: list[Problem] = []
    for number, line in enumerate(_lines(holes), start=1):
        cells = [cell.strip() for cell in line.split(";")]
        if len(cells) != 2:
            problems.append(
                Problem(f"line {number}", f"expected two places such as 118 mm; 120 mm, found {line[:60]!r}")
            )
            continue
        x, y = (read_nm(_with_mm(cell), f"line {number}") for cell in cells)
        read.append(Hole(id=str(number), x_nm=x, y_nm=y, diameter_nm=10_000_000, use=CLEARANCE))
    if problems:
        raise InvalidInput(problems)
    spread = read_nm(_with_mm(uncertainty), "uncertainty")
    return Face(
        id="typed", label="the typed face", holes=tuple(read), axis="as typed", seen_from="rear", uncertainty_nm=spread
    )


def _lines(text: str) -> Iterable[str]:
    return (line for line in text.splitlines() if line.strip())


def _with_mm(text: str) -> str:
    return f"{text} mm" if text and text[-1].isdigit() else text


def _likeness(one: PatternLikeness) -> LikenessView:
    turned = f"turned {one.turned_deg:.2f} degrees" + (", mirrored" if one.mirrored else "")
    misses = tuple(
        f"{hole.measured} on {hole.known}: {hole.miss_nm / 1e6:.2f} mm" if hole.miss_nm is not None
        else (f"{hole.measured}: no hole near" if hole.measured else f"the pattern's {hole.known}: not measured")
        for hole in one.misses
    )  # fmt: skip
    return LikenessView(
        one.label, turned, f"{one.met} of {one.of} measured holes, the pattern has {one.known_holes}",
        f"{one.worst_nm / 1e6:.2f} mm" if one.met else "none", one.certain, misses,
    )  # fmt: skip

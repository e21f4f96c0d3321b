"""New holes in a part, drawn: DXF for the machine, PDF at 1:1 to lay on the part, SVG to look at.

All seen from the gearbox, about the part's own axis. Only new holes stand on layers that are cut (DRILL, TAP); old
holes, rim and opening are on DIMENSIONS, dashed, so that they can be found on the part and are never cut again.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot
from typing import TYPE_CHECKING

from graph.fits.svg import Drawing as Svg
from graph.plain_text import printable
from graph.plates.dxf import DIMENSIONS, DRILL, MARK_MM, TAP, new_drawing, plain, written
from graph.plates.model import DOWEL, TAPPED, PlateHole
from graph.plates.redrill import Redrilled
from graph.plates.redrill_words import CAUTIONS, NEW_HEAD, OLD_HEAD, new_rows, note_lines, old_rows
from graph.plates.sheets import (
    AROUND,
    HOW,
    LINE,
    MARGIN,
    Extent,
    Tile,
    begin_words,
    check_paper,
    check_sheets,
    cross,
    framed,
    heading,
    listed,
    new_pdf,
    paragraph,
    register_marks,
    room,
    sheet_name,
    table,
    tiles_over,
)

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace
    from fpdf import FPDF

WIDTHS = (0.14, 0.14, 0.14, 0.16, 0.42)
NAME_MM, APART_MM, ROW = 12.0, 30.0, 1.8
SVG_WIDE, SVG_MARGIN, SVG_LETTER = 420.0, 30.0, 9.0
PDF_LETTER, LETTER_WIDE = 2.0, 0.62  # mm of a letter of 7 points; how wide one is against its height, at most
_Box = tuple[float, float, float, float]
NOT_PROVEN = "NOT PROVEN: measure first: "


def _extent(found: Redrilled) -> Extent:
    """How far it reaches: the rim where it is known, else the holes; with room for their names."""
    reach = (found.wanted.rim_um or 0) / 2000
    edges = [abs(at) / 1000 + one.widest_um / 2000 + NAME_MM for one in (*found.new, *found.old)
             for at in (one.x_um, one.y_um)]  # fmt: skip
    reach = max(reach, *edges) + AROUND
    return -reach, -reach, reach, reach


def _circles(found: Redrilled) -> tuple[float, ...]:
    """The diameters of rim and opening, those that are known, in mm."""
    return tuple(um / 1000 for um in (found.wanted.rim_um, found.wanted.opening_um) if um)


def _measure_lines(found: Redrilled) -> tuple[str, ...]:
    return tuple(f"{NOT_PROVEN}{one}" for one in found.measure)


def redrill_dxf(found: Redrilled) -> bytes:
    """The DXF file, in millimetres."""
    document = new_drawing()
    space = document.modelspace()
    dashed = {"layer": DIMENSIONS, "linetype": "DASHED"}
    for size in _circles(found):
        space.add_circle((0, 0), size / 2, dxfattribs=dashed)
    for ends in (((-10, 0), (10, 0)), ((0, -10), (0, 10))):
        space.add_line(*ends, dxfattribs={"layer": DIMENSIONS, "linetype": "CENTER"})
    for hole in found.old:
        _dxf_hole(space, hole, dashed)
    for hole in found.new:
        _dxf_hole(space, hole, {"layer": TAP if hole.use == TAPPED else DRILL})
    for hole, place in _names(found, MARK_MM).items():
        name = space.add_text(plain(_name(hole)), dxfattribs={"layer": DIMENSIONS, "height": MARK_MM})
        name.set_placement(place)
    _, _, right, top = _extent(found)
    rows = ["  ".join(row) for row in (NEW_HEAD, *new_rows(found), OLD_HEAD, *old_rows(found))]
    words = (found.title, "seen from the gearbox; millimetres; dashed: there already, not cut", *_measure_lines(found),
             *note_lines(found), *rows, *CAUTIONS)  # fmt: skip
    for number, line in enumerate(words):
        text = space.add_text(plain(line), dxfattribs={"layer": DIMENSIONS, "height": MARK_MM})
        text.set_placement((right + APART_MM, top - number * ROW * MARK_MM))
    return written(document)


def _dxf_hole(space: Modelspace, hole: PlateHole, attributes: dict[str, str]) -> None:
    at = (hole.x_um / 1000, hole.y_um / 1000)
    space.add_circle(at, hole.drill_um / 2000, dxfattribs=attributes)


def redrill_pdf(found: Redrilled, price: Iterable[str] = (), paper: str = "A4") -> bytes:
    """The PDF file: words, then the drawing at 1:1. Raises InvalidInput for an unknown paper, LimitExceeded for too
    many sheets."""
    check_paper(paper)
    tiles = _tiles(found, paper)
    check_sheets(len(tiles), paper)
    pdf = new_pdf(found.title, paper)
    _words(pdf, found, tuple(price), redrill_paper(found, paper))
    pdf.set_auto_page_break(False)
    for tile in tiles:
        _sheet(pdf, found, tile, paper, several=len(tiles) > 1)
    return bytes(pdf.output())


def redrill_paper(found: Redrilled, paper: str = "A4") -> str:
    """What the drawing at 1:1 is printed on."""
    count = len(_tiles(found, paper))
    return f"{count} sheet{'s' if count > 1 else ''} of {paper}" + (", laid cross on cross" if count > 1 else "")


def _tiles(found: Redrilled, paper: str) -> tuple[Tile, ...]:
    left, low, right, top = _extent(found)
    wide, high = room(paper)
    if right - left <= wide and top - low <= high:
        return (Tile(0, 0, -wide / 2, high / 2),)
    return tiles_over((left, low, right, top), paper)


def _words(pdf: FPDF, found: Redrilled, price: tuple[str, ...], paper: str) -> None:
    begin_words(pdf, found.title, HOW)
    paragraph(pdf, "Lay the dashed circles on the old holes: where they do not lie on them, a reading is wrong.")
    listed(pdf, "Measure first: not proven before this is known", found.measure)
    listed(pdf, "How it is drilled", (f"drawing at 1:1: {paper}", *note_lines(found)))
    for title, head, rows in (("New holes", NEW_HEAD, new_rows(found)), ("Old holes", OLD_HEAD, old_rows(found))):
        if rows:
            heading(pdf, title)
            table(pdf, head, rows, WIDTHS)
    for title, lines in (("What it costs", price), ("Take care", CAUTIONS)):
        listed(pdf, title, lines)


def _sheet(pdf: FPDF, found: Redrilled, tile: Tile, paper: str, *, several: bool) -> None:
    wide, high = room(paper)
    which = f"; {sheet_name(tile)}" if several else ""
    proven = "" if found.proven else "; NOT PROVEN, see Measure first"
    told = f"{found.title}, seen from the gearbox{which}; 1:1; dashed: there already{proven}"
    with framed(pdf, (wide, high), (told,)):
        register_marks(pdf, tile, wide, high)
        _part(pdf, found, tile)


def _part(pdf: FPDF, found: Redrilled, tile: Tile) -> None:
    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return MARGIN + x_mm - tile.left_mm, MARGIN + tile.top_mm - y_mm

    cross(pdf, *at(0, 0), 10)
    pdf.set_dash_pattern(2, 1)
    pdf.set_line_width(LINE)
    for size in _circles(found):
        pdf.circle(*at(0, 0), size / 2)
    for hole in found.old:
        pdf.circle(*at(hole.x_um / 1000, hole.y_um / 1000), hole.drill_um / 2000)
    pdf.set_dash_pattern()
    for hole in found.new:
        pdf.set_line_width(2 * LINE)
        pdf.circle(*at(hole.x_um / 1000, hole.y_um / 1000), hole.drill_um / 2000)
        cross(pdf, *at(hole.x_um / 1000, hole.y_um / 1000), hole.drill_um / 2000 + 2)
    for hole, place in _names(found, PDF_LETTER).items():
        pdf.text(*at(*place), printable(_name(hole)))


def redrill_svg(found: Redrilled, prefix: str = "redrill") -> str:
    """The SVG: new holes full, old ones dashed, a dowel in a square."""
    left, _, right, _ = _extent(found)
    scale = (SVG_WIDE - 2 * SVG_MARGIN) / (right - left)
    middle = SVG_WIDE / 2
    said = [f"{row[0]}: {row[4]}, at {row[1]}, {row[2]}" for row in (*new_rows(found), *old_rows(found))]
    drawing = Svg(SVG_WIDE, SVG_WIDE, f"{found.title}, seen from the gearbox", ". ".join(said) + ".", prefix)
    for size in _circles(found):
        drawing.circle(middle, middle, size / 2 * scale, "dashed", 1.0)
    drawing.line(middle - 14, middle, middle + 14, middle, "chain", 0.8)
    drawing.line(middle, middle - 14, middle, middle + 14, "chain", 0.8)
    for hole, style, weight in (
        *((one, "dashed", 1.0) for one in found.old),
        *((one, "full", 2.0) for one in found.new),
    ):
        x, y = middle + hole.x_um / 1000 * scale, middle - hole.y_um / 1000 * scale
        radius = hole.drill_um / 2000 * scale
        drawing.circle(x, y, radius, style, weight)
        if hole.use == DOWEL:
            half = radius + 3
            corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
            drawing.polygon(corners, style, 1.0)
    for hole, (x, y) in _names(found, SVG_LETTER / scale).items():
        drawing.text(middle + x * scale, middle - y * scale, hole.id, size=SVG_LETTER)
    return drawing.markup()


def _names(found: Redrilled, high: float) -> dict[PlateHole, tuple[float, float]]:
    """Where each hole's name begins, in mm, so that letters so high lie on no hole and on no other name: the first free
    place about it, new holes first; to the right of it where none is free."""
    holes = (*found.new, *found.old)
    circles = [(one.x_um / 1000, one.y_um / 1000, one.widest_um / 2000) for one in holes]
    taken: list[_Box] = []
    begins: dict[PlateHole, tuple[float, float]] = {}
    for hole, (x, y, radius) in zip(holes, circles, strict=True):
        wide, away = len(_name(hole)) * LETTER_WIDE * high, radius + high / 3
        near = away * 0.75
        places = [
            (x + near, y + near), (x - near - wide, y + near), (x + near, y - near - high),
            (x - near - wide, y - near - high), (x + away, y - high / 2), (x - away - wide, y - high / 2),
            (x - wide / 2, y + away), (x - wide / 2, y - away - high),
            (x + 2 * away, y + away), (x + near, y + 2 * away),
            (x - wide - 2 * away, y + away), (x + near, y - 2 * away - high),
        ]  # fmt: skip
        boxes = [(left, low, left + wide, low + high) for left, low in places]
        box = next((one for one in boxes if _free(one, circles, taken)), boxes[0])
        taken.append(box)
        begins[hole] = box[:2]
    return begins


def _free(box: _Box, circles: Iterable[tuple[float, float, float]], taken: Iterable[_Box]) -> bool:
    left, low, right, top = box
    if any(left < x2 and x1 < right and low < y2 and y1 < top for x1, y1, x2, y2 in taken):
        return False
    return all(hypot(max(left - x, 0, x - right), max(low - y, 0, y - top)) > radius for x, y, radius in circles)


def _name(hole: PlateHole) -> str:
    return hole.id + (f" {hole.thread}" if hole.use == TAPPED and hole.thread else "")

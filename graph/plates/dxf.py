"""A piece of a plate as a DXF drawing for the machine that cuts it: millimetres, seen from the gearbox's side.

Layers: CUT (outline and opening, closed), DRILL (clearance holes, counterbores, reamed holes), TAP (tapping drills),
ENGRAVE (what is marked on the plate), DIMENSIONS (sizes and the table of holes, not cut). What is cut from the
engine's side only is dashed. Written by ezdxf, which takes half a second to load, so it is loaded when it is wanted.
"""

from __future__ import annotations

import io
from math import hypot
from typing import TYPE_CHECKING

from graph.plates.hole_table import TABLE_HEAD, centring_words, table_rows, tolerance_words
from graph.plates.model import ENGINE, TAPPED, PlateDesign, PlateHole, PlatePiece
from graph.plates.outline import extent_um, points_mm

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

CUT, DRILL, TAP, ENGRAVE, DIMENSIONS = "CUT", "DRILL", "TAP", "ENGRAVE", "DIMENSIONS"
COLOURS = {CUT: 7, DRILL: 3, TAP: 1, ENGRAVE: 5, DIMENSIONS: 8}
VERSION = "R2010"
TEXT_MM, MARK_MM = 4.0, 3.0


def piece_dxf(design: PlateDesign, piece: PlatePiece) -> bytes:
    """The DXF file of one piece."""
    document = new_drawing()
    space = document.modelspace()
    _cut(space, piece)
    for hole in piece.holes:
        _hole(space, piece, hole)
    _dimensions(document, design, piece)
    return written(document)


def new_drawing() -> Drawing:
    """An empty DXF document in millimetres, with the layers of every made part."""
    from ezdxf.filemanagement import new
    from ezdxf.units import MM

    document = new(VERSION, setup=True)
    document.units = MM
    document.header["$MEASUREMENT"] = 1
    for name, colour in COLOURS.items():
        document.layers.add(name, color=colour)
    return document


def written(document: Drawing) -> bytes:
    """The file's bytes."""
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8", "replace")


def plain(text: str) -> str:
    """The text without what a DXF text would take for a code or the end of a line.

    >>> plain("a1" + chr(10) + "%%c50 ^J")
    'a1 % %c50  J'
    """
    kept = "".join(mark if mark.isprintable() else " " for mark in text)
    return kept.replace("%%", "% %").replace("^", " ")


def _cut(space: Modelspace, piece: PlatePiece) -> None:
    corners = [(corner.x_um / 1000, corner.y_um / 1000, corner.bulge) for corner in piece.outline]
    space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": CUT})
    space.add_circle((0, 0), piece.bore_um / 2000, dxfattribs={"layer": CUT})


def _hole(space: Modelspace, piece: PlatePiece, hole: PlateHole) -> None:
    at = (hole.x_um / 1000, hole.y_um / 1000)
    hidden = hole.side == ENGINE and hole.to_um < piece.thickness_um
    line = {"linetype": "DASHED"} if hidden else {}
    layer = TAP if hole.use == TAPPED else DRILL
    space.add_circle(at, hole.drill_um / 2000, dxfattribs={"layer": layer} | line)
    if hole.head_um:
        dashed = {"linetype": "DASHED"} if hole.head_side == ENGINE else {}
        space.add_circle(at, hole.head_um / 2000, dxfattribs={"layer": DRILL} | dashed)
    mark = {"layer": ENGRAVE, "height": MARK_MM}
    space.add_text(plain(hole.id), dxfattribs=mark).set_placement(_mark_at(piece, hole))


def _mark_at(piece: PlatePiece, hole: PlateHole) -> tuple[float, float]:
    """Where a hole's name begins: beside it where there is metal, to the right of it where there is none anywhere."""
    x, y, away = hole.x_um / 1000, hole.y_um / 1000, hole.widest_um / 2000 + 1
    wide = len(hole.id) * MARK_MM
    middle, near = -wide / 2, away * 0.75
    places = [
        (x + away, y), (x - away - wide, y), (x + middle, y + away), (x + middle, y - away - MARK_MM),
        *((x + dx, y + dy) for dx in (near, -near - wide) for dy in (near, -near - MARK_MM)),
    ]  # fmt: skip
    return next((place for place in places if _on_metal(piece, hole, place, wide)), places[0])


def _on_metal(piece: PlatePiece, own: PlateHole, place: tuple[float, float], wide: float) -> bool:
    """Does a name that begins there lie on the plate, clear of the opening and of the other holes?"""
    left, low = place
    right, top = left + wide, low + MARK_MM
    outline = points_mm(piece.outline)
    for (x1, y1), (x2, y2) in zip(outline, (*outline[1:], *outline[:1]), strict=True):  # a band: it bulges everywhere
        if any((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1) < 0 for x in (left, right) for y in (low, top)):
            return False
    rounds = [(0.0, 0.0, piece.bore_um / 2000)]
    rounds += [(one.x_um / 1000, one.y_um / 1000, one.widest_um / 2000) for one in piece.holes if one is not own]
    return all(
        hypot(max(left - x, 0, x - right), max(low - y, 0, y - top)) >= radius for x, y, radius in rounds
    )  # fmt: skip


def _dimensions(document: Drawing, design: PlateDesign, piece: PlatePiece) -> None:
    space = document.modelspace()
    left, low, right, top = (um / 1000 for um in extent_um(piece.outline))
    style = {"dimtxt": TEXT_MM, "dimasz": TEXT_MM, "dimdec": 3, "dimexo": 2.0}
    layer = {"layer": DIMENSIONS}
    for base, start, end, angle in (
        ((left, low - 20), (left, 0), (right, 0), 0), ((left - 20, low), (0, low), (0, top), 90)
    ):  # fmt: skip
        space.add_linear_dim(base=base, p1=start, p2=end, angle=angle, override=style, dxfattribs=layer).render()
    for size_um, side in ((piece.register_um, piece.register_side), (piece.spigot_um, piece.spigot_side)):
        if size_um:
            dashed = {"linetype": "DASHED"} if side == ENGINE else {}
            space.add_circle((0, 0), size_um / 2000, dxfattribs=layer | dashed)
    for x1, y1, x2, y2 in ((-10, 0, 10, 0), (0, -10, 0, 10)):
        space.add_line((x1, y1), (x2, y2), dxfattribs=layer | {"linetype": "CENTER"})
    up_mark = {"layer": ENGRAVE, "height": TEXT_MM}
    space.add_text("UP", dxfattribs=up_mark).set_placement((3, top - 2.5 * TEXT_MM))
    for n, words in enumerate(_words(design, piece)):
        text = {"layer": DIMENSIONS, "height": TEXT_MM}
        space.add_text(plain(words), dxfattribs=text).set_placement((right + 30, top - n * 1.8 * TEXT_MM))


def _words(design: PlateDesign, piece: PlatePiece) -> list[str]:
    """What stands beside the drawing."""
    head = [
        f"{piece.name.upper()}, seen from the gearbox; millimetres; axis of shaft and crank at 0, 0",
        *tolerance_words(piece, design.wanted.rules.material),
        *centring_words(piece),
    ]
    table = ["  ".join(row) for row in (TABLE_HEAD, *table_rows(piece))]
    figures = [
        f"{figure.name}: {figure.value}" for figure in design.figures if figure.name.startswith(f"{piece.name}: ")
    ]
    return [*head, *table, *figures, *design.cautions]

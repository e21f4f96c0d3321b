"""A made part as a DXF drawing, in millimetres, on the layers of a plate's drawing (graph/plates/dxf.py).

A ring is its section along the axis: both halves closed on CUT. A disc is cut as seen from the gearbox (rim and opening
on CUT, holes on DRILL), with its section beside it on DIMENSIONS, which is not cut. Dimensions carry the limits.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from graph.fits.model import NM_PER_MM
from graph.made.model import DISC, OPENING, OUTSIDE, MadePart
from graph.made.profile import MadeSection, Measure, section_of
from graph.made.words import caution_lines, limits_of, note_lines
from graph.plates.dxf import CUT, DIMENSIONS, DRILL, ENGRAVE, MARK_MM, new_drawing, plain, written

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

APART_MM, STEP_MM, TEXT_MM = 20.0, 8.0, 2.5


def made_dxf(part: MadePart) -> bytes:
    """The DXF file. Raises InvalidInput where a size is not known."""
    section = section_of(part)
    document = new_drawing()
    space = document.modelspace()
    across = 0.0
    if part.kind.shape == DISC:
        _front(space, part)
        across = section.across_mm / 2 + 2 * APART_MM
    _section(space, section, across, DIMENSIONS if part.kind.shape == DISC else CUT)
    _dimensions(space, section, across)
    _words(space, part, section, across)
    return written(document)


def _front(space: Modelspace, part: MadePart) -> None:
    """A disc as seen from the gearbox, about its axis."""
    for name in (OUTSIDE, OPENING):
        space.add_circle((0, 0), part.size(name).middle_nm / NM_PER_MM / 2, dxfattribs={"layer": CUT})
    for hole in part.holes:
        at = (hole.x_nm / NM_PER_MM, hole.y_nm / NM_PER_MM)
        radius = hole.drill_nm / NM_PER_MM / 2
        space.add_circle(at, radius, dxfattribs={"layer": DRILL})
        mark = {"layer": ENGRAVE, "height": MARK_MM}
        space.add_text(plain(hole.id), dxfattribs=mark).set_placement((at[0] + radius + 1, at[1]))


def _section(space: Modelspace, section: MadeSection, across: float, layer: str) -> None:
    for half in (section.upper, section.lower):
        points = [(across + x, y) for x, y in half]
        space.add_lwpolyline(points, format="xy", close=True, dxfattribs={"layer": layer})
    ends = ((across - 5, 0), (across + section.long_mm + 5, 0))
    space.add_line(*ends, dxfattribs={"layer": DIMENSIONS, "linetype": "CENTER"})


def _dimensions(space: Modelspace, section: MadeSection, across: float) -> None:
    style = {"dimtxt": TEXT_MM, "dimasz": TEXT_MM, "dimdec": 3, "dimexo": 1.0}
    before, behind, below = across - STEP_MM, across + section.long_mm + STEP_MM, -section.across_mm / 2 - STEP_MM
    for one in section.measures:
        if one.upright:
            left = one.start[0] == 0
            base, angle = ((before if left else behind), 0.0), 90
            before, behind = (before - STEP_MM, behind) if left else (before, behind + STEP_MM)
        else:
            base, angle = (across, below), 0
            below -= STEP_MM
        _dimension(space, one, base, angle, across, style)


def _dimension(
    space: Modelspace, one: Measure, base: tuple[float, float], angle: float, across: float, style: dict[str, float]
) -> None:
    start, end = ((across + x, y) for x, y in (one.start, one.end))
    sign = "%%c" if one.upright else ""
    text = f"{sign}{plain(limits_of(one.size))}{' ' + one.size.fit if one.size.fit else ''}"
    space.add_linear_dim(
        base=base, p1=start, p2=end, angle=angle, text=text, override=style, dxfattribs={"layer": DIMENSIONS}
    ).render()


def _words(space: Modelspace, part: MadePart, section: MadeSection, across: float) -> None:
    lines = (part.title, *note_lines(part), *(f"{one.id}: {one.what}" for one in part.holes), *caution_lines(part))
    top = section.across_mm / 2 + (len(lines) + 2) * 2 * TEXT_MM
    for number, line in enumerate(lines):
        text = space.add_text(plain(line), dxfattribs={"layer": DIMENSIONS, "height": TEXT_MM})
        text.set_placement((across, top - number * 2 * TEXT_MM))

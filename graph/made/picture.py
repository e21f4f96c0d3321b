"""A made part as an SVG, to be looked at: the section with its sizes, and a disc as seen from the gearbox."""

from __future__ import annotations

from graph.fits.model import NM_PER_MM
from graph.fits.svg import Drawing
from graph.made.model import DISC, OPENING, OUTSIDE, MadePart
from graph.made.profile import Measure, Point, section_of
from graph.made.words import limits_of, note_lines

WIDTH, SECTION, STEP, SIDE = 420.0, 190.0, 24.0, 70.0
LETTERS = "ABCDEFGHIJ"


def made_svg(part: MadePart, prefix: str = "made") -> str:
    """The SVG. Raises InvalidInput where a size is not known.

    Letters stand at the dimension lines, the limits below, so that it reads at the width of a telephone.
    """
    section = section_of(part)
    scale = min(SECTION / section.across_mm, (WIDTH - 2 * SIDE - 4 * STEP) / section.long_mm)
    high = section.across_mm * scale
    level = sum(not one.upright for one in section.measures)
    legend = [f"{letter}: {_words(one)}" for letter, one in zip(LETTERS, section.measures, strict=False)]
    front = high + 3 * STEP if part.kind.shape == DISC else 0.0
    notes_at = STEP + high + (level + 2) * STEP + front
    words = [*legend, *note_lines(part)]
    drawing = Drawing(WIDTH, notes_at + len(legend) * 18 + 10, part.title, " ".join(f"{one}." for one in words), prefix)
    left, axis = (WIDTH - section.long_mm * scale) / 2, STEP + high / 2

    def at(point: Point) -> Point:
        return left + point[0] * scale, axis - point[1] * scale

    for half in (section.upper, section.lower):
        drawing.polygon([at(point) for point in half], weight=2)
    for x, y in section.ends:
        drawing.line(*at((x, y)), *at((x, -y)), weight=0.8)
    drawing.line(left - 14, axis, left + section.long_mm * scale + 14, axis, "chain", 0.8)
    sides, below = {True: left, False: left + section.long_mm * scale}, axis + high / 2
    for letter, one in zip(LETTERS, section.measures, strict=False):
        start, end = at(one.start), at(one.end)
        if one.upright:
            side = one.start[0] == 0
            sides[side] += -STEP if side else STEP
            drawing.dimension(sides[side], start[1], sides[side], end[1], letter)
        else:
            below += STEP
            drawing.dimension(start[0], below, end[0], below, letter)
    if part.kind.shape == DISC:
        _front(drawing, part, WIDTH / 2, below + 2 * STEP + high / 2, scale)
    for number, line in enumerate(legend):
        drawing.text(8, notes_at + number * 18, line, size=13)
    return drawing.markup()


def _words(one: Measure) -> str:
    fit = f" {one.size.fit}" if one.size.fit else ""
    return f"{one.size.name} {limits_of(one.size)} mm{fit}"


def _front(drawing: Drawing, part: MadePart, x: float, y: float, scale: float) -> None:
    for name in (OUTSIDE, OPENING):
        drawing.circle(x, y, part.size(name).middle_nm / NM_PER_MM / 2 * scale, weight=2)
    drawing.line(x - 10, y, x + 10, y, "chain", 0.8)
    drawing.line(x, y - 10, x, y + 10, "chain", 0.8)
    for hole in part.holes:
        across, up = hole.x_nm / NM_PER_MM * scale, hole.y_nm / NM_PER_MM * scale
        drawing.circle(x + across, y - up, hole.drill_nm / NM_PER_MM / 2 * scale)
        drawing.text(x + across + hole.drill_nm / NM_PER_MM / 2 * scale + 3, y - up - 3, hole.id, size=11)

"""A made part's drawing at 1:1 as a PDF: the words with every size and its source, then the section with dimensions.

A disc is drawn as seen from the gearbox too. What is wider or higher than one sheet is drawn on several, with crosses
on a 50 mm grid where two overlap; the words say how many, and which paper holds it whole. Sheets carry the check scales
of a plate's (graph/plates/sheets.py); the same part always gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from graph.fits.model import NM_PER_MM
from graph.made.model import DISC, OPENING, OUTSIDE, MadePart
from graph.made.profile import MadeSection, Measure, Point, section_of
from graph.made.words import HOLE_HEAD, SIZE_HEAD, caution_lines, hole_rows, limits_of, note_lines, size_rows
from graph.plain_text import printable
from graph.plates.sheets import (
    LINE,
    MARGIN,
    OVERLAP,
    THIN,
    Extent,
    Tile,
    begin_words,
    check_paper,
    check_sheets,
    cross,
    framed,
    heading,
    items,
    listed,
    new_pdf,
    register_marks,
    room,
    sheet_name,
    table,
    tiles_over,
)

if TYPE_CHECKING:
    from fpdf import FPDF

STEP, ARROW, TEXT_HIGH, APART = 9.0, 2.0, 4.0, 12.0
LIMITS_WIDE = 26.0  # of a length beside its dimension line, in letters of 7 points
NAME_WIDE = 8.0  # of a hole's name beside it
LARGER = ("A4", "A3", "A2", "A1", "A0")
SIZE_WIDTHS = (0.16, 0.18, 0.06, 0.3, 0.3)
HOLE_WIDTHS = (0.12, 0.14, 0.14, 0.6)
HOW = (
    "Print without scaling (100 %, no fit to page) and measure the check scales on every sheet of the drawing, each "
    "within 0.2 mm. Work to the limits in the table, never to a size taken off the paper."
)


@dataclass(frozen=True, slots=True)
class _PartView:
    """One view of the part: what it is called, and how far it reaches with all that stands about it."""

    name: str
    extent: Extent
    draw: Callable[[FPDF, _LaidSheet], None]


@dataclass(frozen=True, slots=True)
class _LaidSheet:
    """One sheet of a view, among all of them, and the room on each."""

    tile: Tile
    all_tiles: Sequence[Tile]
    room: tuple[float, float]

    def at(self, point: Point) -> Point:
        """Where a place of the drawing lies on the paper."""
        return MARGIN + point[0] - self.tile.left_mm, MARGIN + self.tile.top_mm - point[1]

    def clear(self, middle: float, length: float, way: int) -> float:
        """The place next to `middle` where words of that length lie on one sheet: along x (`way` 0) or y (1)."""
        starts = {one.left_mm if way == 0 else one.top_mm - self.room[1] for one in self.all_tiles}
        sheets = sorted((start, start + self.room[way]) for start in starts)
        inside = [min(max(middle, low + length / 2 + 1), high - length / 2 - 1) for low, high in sheets]
        return min(inside, key=lambda place: abs(place - middle))


def made_pdf(part: MadePart, price: Iterable[str] = (), paper: str = "A4") -> bytes:
    """The PDF file. Raises InvalidInput for an unknown paper or size, LimitExceeded for too many sheets."""
    check_paper(paper)
    views = _views(part)
    check_sheets(sum(len(_tiles(one, paper)) for one in views), paper)
    pdf = new_pdf(part.title, paper)
    _words(pdf, part, tuple(price), paper_words(part, paper))
    pdf.set_auto_page_break(False)
    for view in views:
        all_tiles = _tiles(view, paper)
        for tile in all_tiles:
            _sheet(pdf, part, view, _LaidSheet(tile, all_tiles, room(paper)))
    return bytes(pdf.output())


def whole_on(part: MadePart) -> str:
    """The smallest paper that holds each view at 1:1 on one sheet; empty where none does. Raises InvalidInput where a
    size is not known."""
    views = _views(part)
    return next((one for one in LARGER if all(len(_tiles(view, one)) == 1 for view in views)), "")


def paper_words(part: MadePart, paper: str = "A4") -> str:
    """What the drawing at 1:1 is printed on: `at 1:1: 1 sheet of A4`; of several which paper holds it whole."""
    counts = [(view.name, len(_tiles(view, paper))) for view in _views(part)]
    total = sum(count for _, count in counts)
    if total == len(counts):
        return f"at 1:1: {total} sheet{'s' if total > 1 else ''} of {paper}"
    told = ", ".join(f"{name} {count}" for name, count in counts)
    larger = whole_on(part)
    whole = f"; whole on {larger}" if larger else ""
    return f"at 1:1: {total} sheets of {paper} to be laid cross on cross ({told}){whole}"


def _views(part: MadePart) -> tuple[_PartView, ...]:
    section = section_of(part)
    views = (_PartView("section", _section_extent(section), lambda pdf, sheet: _section(pdf, section, sheet)),)
    if part.kind.shape != DISC:
        return views
    reach = section.across_mm / 2 + 2 + NAME_WIDE
    front = _PartView(
        "seen from the gearbox", (-reach, -reach, reach, reach), lambda pdf, sheet: _front(pdf, part, sheet)
    )
    return (*views, front)


def _section_extent(section: MadeSection) -> Extent:
    """The section, with its dimensions left, right and below and room for their words."""
    level = sum(not one.upright for one in section.measures)
    sides = [one.start[0] == 0 for one in section.measures if one.upright]
    left, right = (count * STEP + TEXT_HIGH for count in (sides.count(True), sides.count(False)))
    half, beside = section.across_mm / 2, max(left, right, LIMITS_WIDE)
    return -beside, -half - level * STEP - TEXT_HIGH, section.long_mm + beside, half


def _tiles(view: _PartView, paper: str) -> tuple[Tile, ...]:
    """The sheets of a view; what fits on one stands in the middle of it, near its top."""
    wide, high = room(paper)
    left, low, right, top = view.extent
    if right - left <= wide and top - low <= high:
        down = min(APART, (high - top + low) / 2)
        return (Tile(0, 0, (left + right - wide) / 2, top + down),)
    left, right = min(left, (left + right - wide) / 2), max(right, (left + right + wide) / 2)
    low, top = min(low, top - high + OVERLAP), top + 2
    return tiles_over((left, low, right, top), paper)


def _words(pdf: FPDF, part: MadePart, price: tuple[str, ...], paper: str) -> None:
    begin_words(pdf, part.title, HOW)
    items(pdf, (f"drawing {paper}", *note_lines(part)))
    heading(pdf, "Sizes")
    table(pdf, SIZE_HEAD, size_rows(part), SIZE_WIDTHS)
    if part.holes:
        heading(pdf, "Holes, seen from the gearbox")
        table(pdf, HOLE_HEAD, hole_rows(part), HOLE_WIDTHS)
    for title, lines in (("Check when it is fitted", part.kind.to_confirm), ("What making it costs", price),
                         ("Take care", caution_lines(part))):  # fmt: skip
        listed(pdf, title, lines)


def _sheet(pdf: FPDF, part: MadePart, view: _PartView, sheet: _LaidSheet) -> None:
    """A sheet with its frame, its check scales, what it shows, and its part of the view."""
    wide, high = sheet.room
    several = len(sheet.all_tiles) > 1
    which = f"; {sheet_name(sheet.tile)}" if several else ""
    with framed(pdf, sheet.room, (f"{part.title}, {view.name}{which}; 1:1",)):
        if several:
            register_marks(pdf, sheet.tile, wide, high)
        view.draw(pdf, sheet)


def _section(pdf: FPDF, section: MadeSection, sheet: _LaidSheet) -> None:
    pdf.set_line_width(2 * LINE)
    for half in (section.upper, section.lower):
        pdf.polygon([sheet.at(point) for point in half], style="D")
    pdf.set_line_width(THIN)
    for x, y in section.ends:
        pdf.line(*sheet.at((x, y)), *sheet.at((x, -y)))
    pdf.set_dash_pattern(6, 2)
    pdf.line(*sheet.at((-5, 0)), *sheet.at((section.long_mm + 5, 0)))
    pdf.set_dash_pattern()
    _dimensions(pdf, section, sheet)


def _dimensions(pdf: FPDF, section: MadeSection, sheet: _LaidSheet) -> None:
    """Diameters left and right of the section, lengths below it."""
    sides, below = {"left": 0.0, "right": section.long_mm}, -section.across_mm / 2
    for one in section.measures:
        start, end = one.start, one.end
        if one.upright:
            side = "left" if start[0] == 0 else "right"
            sides[side] += -STEP if side == "left" else STEP
            _line(pdf, one, sheet, (sides[side], start[1]), (sides[side], end[1]), section.long_mm)
            for x, y in (start, end):
                pdf.line(*sheet.at((x, y)), *sheet.at((sides[side], y)))
        else:
            below -= STEP
            _line(pdf, one, sheet, (start[0], below), (end[0], below), section.long_mm)
            for x, y in (start, end):
                pdf.line(*sheet.at((x, y)), *sheet.at((x, below)))


def _line(pdf: FPDF, one: Measure, sheet: _LaidSheet, start: Point, end: Point, long_mm: float) -> None:
    """A dimension line with its words: turned along an upright one; under a level one, or beside the section where it
    is too short for them; whole on one sheet."""
    pdf.set_line_width(THIN)
    pdf.line(*sheet.at(start), *sheet.at(end))
    for x, y in map(sheet.at, (start, end)):
        pdf.line(x - ARROW / 2, y + ARROW / 2, x + ARROW / 2, y - ARROW / 2)
    fit = f" {one.size.fit}" if one.size.fit else ""
    words = printable(f"{'dia. ' if one.upright else ''}{limits_of(one.size)}{fit}")
    long = pdf.get_string_width(words)
    way = 1 if one.upright else 0
    middle = sheet.clear((start[way] + end[way]) / 2, long, way)
    if one.upright:
        x, y = sheet.at((start[0] - 0.8, middle - long / 2))
        with pdf.rotation(90, x, y):
            pdf.text(x, y, words)
    elif long + 2 > end[0] - start[0]:
        pdf.line(*sheet.at(end), *sheet.at((long_mm + 2, end[1])))
        pdf.text(*sheet.at((long_mm + 3, end[1] - 0.8)), words)
    else:
        pdf.text(*sheet.at((middle - long / 2, start[1] - 3)), words)


def _front(pdf: FPDF, part: MadePart, sheet: _LaidSheet) -> None:
    pdf.set_line_width(2 * LINE)
    x, y = sheet.at((0.0, 0.0))
    for name in (OUTSIDE, OPENING):
        pdf.circle(x, y, part.size(name).middle_nm / NM_PER_MM / 2)
    cross(pdf, x, y, 5)
    for hole in part.holes:
        across, up, radius = (one / NM_PER_MM for one in (hole.x_nm, hole.y_nm, hole.drill_nm / 2))
        pdf.set_line_width(2 * LINE)
        pdf.circle(x + across, y - up, radius)
        cross(pdf, x + across, y - up, radius + 2)
        pdf.text(x + across + radius + 1, y - up - 1, printable(hole.id))

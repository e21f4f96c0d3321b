"""A made part's drawing at 1:1 as a PDF: the words with every size and its source, then the section with dimensions.

A disc is drawn as seen from the gearbox too, on a sheet of its own. Sheets carry the check scales of a plate's
(graph/plates/sheets.py); the same part always gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from graph.errors import LimitExceeded
from graph.fits.model import NM_PER_MM
from graph.made.model import DISC, OPENING, OUTSIDE, MadePart
from graph.made.profile import MadeSection, Measure, Point, section_of
from graph.made.words import HOLE_HEAD, SIZE_HEAD, caution_lines, hole_rows, limits_of, note_lines, size_rows
from graph.plain_text import printable
from graph.plates.sheets import LINE, MARGIN, THIN, check_paper, cross, heading, new_pdf, paragraph, room, scales, table

if TYPE_CHECKING:
    from fpdf import FPDF

STEP, ARROW, TEXT_WIDE, TEXT_HIGH, APART = 9.0, 2.0, 80.0, 4.0, 12.0
SIZE_WIDTHS = (0.16, 0.18, 0.06, 0.3, 0.3)
HOLE_WIDTHS = (0.12, 0.14, 0.14, 0.6)
HOW = (
    "Print without scaling (100 %, no fit to page) and measure the check scales on the drawing's sheet, each within "
    "0.2 mm. Work to the limits in the table, never to a size taken off the paper."
)


def made_pdf(part: MadePart, price: Iterable[str] = (), paper: str = "A4") -> bytes:
    """The PDF file. Raises InvalidInput for an unknown paper or size, LimitExceeded where the paper is too small."""
    check_paper(paper)
    section = section_of(part)
    _check_room(part, section, paper)
    pdf = new_pdf(part.title, paper)
    _words(pdf, part, tuple(price))
    _drawn(pdf, part, section, paper)
    return bytes(pdf.output())


def _check_room(part: MadePart, section: MadeSection, paper: str) -> None:
    wide, high = room(paper)
    level = sum(not one.upright for one in section.measures)
    sides = [one.start[0] == 0 for one in section.measures if one.upright]
    beside = max(sides.count(True), sides.count(False)) * STEP + TEXT_HIGH
    wants = (max(section.long_mm + 2 * beside, TEXT_WIDE), section.across_mm + (level + 1) * STEP + 2 * APART)
    if part.kind.shape == DISC:
        wants = (max(wants[0], section.across_mm + 2), wants[1])
    if wants[0] > wide or wants[1] > high:
        said = f"the drawing at 1:1 wants {wants[0]:.0f} x {wants[1]:.0f} mm, {paper} has {wide:.0f} x {high:.0f} mm"
        raise LimitExceeded(f"{said}; take larger paper, or the DXF")


def _words(pdf: FPDF, part: MadePart, price: tuple[str, ...]) -> None:
    pdf.add_page()
    pdf.set_font("helvetica", "B", 13)
    paragraph(pdf, part.title, 6)
    pdf.set_font("helvetica", "", 9)
    paragraph(pdf, HOW)
    for line in note_lines(part):
        paragraph(pdf, f"- {line}")
    heading(pdf, "Sizes")
    table(pdf, SIZE_HEAD, size_rows(part), SIZE_WIDTHS)
    if part.holes:
        heading(pdf, "Holes, seen from the gearbox")
        table(pdf, HOLE_HEAD, hole_rows(part), HOLE_WIDTHS)
    for title, lines in (("Check when it is fitted", part.kind.to_confirm), ("What making it costs", price),
                         ("Take care", caution_lines(part))):  # fmt: skip
        if lines:
            heading(pdf, title)
            for line in lines:
                paragraph(pdf, f"- {line}")


def _drawn(pdf: FPDF, part: MadePart, section: MadeSection, paper: str) -> None:
    wide, _ = room(paper)
    pdf.set_auto_page_break(False)
    _sheet(pdf, f"{part.title}, section; 1:1", paper)
    left, axis = MARGIN + (wide - section.long_mm) / 2, MARGIN + APART + section.across_mm / 2

    def at(point: Point) -> Point:
        return left + point[0], axis - point[1]

    pdf.set_line_width(2 * LINE)
    for half in (section.upper, section.lower):
        pdf.polygon([at(point) for point in half], style="D")
    pdf.set_line_width(THIN)
    for x, y in section.ends:
        pdf.line(*at((x, y)), *at((x, -y)))
    pdf.set_dash_pattern(6, 2)
    pdf.line(left - 5, axis, left + section.long_mm + 5, axis)
    pdf.set_dash_pattern()
    _dimensions(pdf, section, at)
    if part.kind.shape == DISC:
        _sheet(pdf, f"{part.title}, seen from the gearbox; 1:1", paper)
        _front(pdf, part, MARGIN + wide / 2, axis)


def _sheet(pdf: FPDF, words: str, paper: str) -> None:
    """An empty sheet with its frame, its check scales and what it shows."""
    wide, high = room(paper)
    pdf.add_page()
    pdf.set_line_width(THIN)
    pdf.rect(MARGIN, MARGIN, wide, high)
    pdf.set_font("helvetica", "", 7)
    pdf.text(MARGIN, MARGIN + high + 15, printable(words))
    scales(pdf, high)


def _dimensions(pdf: FPDF, section: MadeSection, at: Callable[[Point], Point]) -> None:
    """Diameters left and right of the section, lengths below it."""
    (left, axis), (right, _) = at((0.0, 0.0)), at((section.long_mm, 0.0))
    sides, below = {"left": left, "right": right}, axis + section.across_mm / 2
    for one in section.measures:
        start, end = at(one.start), at(one.end)
        if one.upright:
            side = "left" if one.start[0] == 0 else "right"
            sides[side] += -STEP if side == "left" else STEP
            _line(pdf, one, (sides[side], start[1]), (sides[side], end[1]))
            for x, y in (start, end):
                pdf.line(x, y, sides[side], y)
        else:
            below += STEP
            _line(pdf, one, (start[0], below), (end[0], below))
            for x, y in (start, end):
                pdf.line(x, y, x, below)


def _line(pdf: FPDF, one: Measure, start: Point, end: Point) -> None:
    """A dimension line with its words: turned along an upright one, under a level one."""
    pdf.set_line_width(THIN)
    pdf.line(*start, *end)
    for x, y in (start, end):
        pdf.line(x - ARROW / 2, y + ARROW / 2, x + ARROW / 2, y - ARROW / 2)
    fit = f" {one.size.fit}" if one.size.fit else ""
    words = printable(f"{'dia. ' if one.upright else ''}{limits_of(one.size)}{fit}")
    if one.upright:
        x, y = start[0] - 0.8, (start[1] + end[1]) / 2 + pdf.get_string_width(words) / 2
        with pdf.rotation(90, x, y):
            pdf.text(x, y, words)
    else:
        pdf.text((start[0] + end[0]) / 2 - pdf.get_string_width(words) / 2, start[1] + 3, words)


def _front(pdf: FPDF, part: MadePart, x: float, y: float) -> None:
    pdf.set_line_width(2 * LINE)
    for name in (OUTSIDE, OPENING):
        pdf.circle(x, y, part.size(name).middle_nm / NM_PER_MM / 2)
    cross(pdf, x, y, 5)
    for hole in part.holes:
        across, up, radius = (one / NM_PER_MM for one in (hole.x_nm, hole.y_nm, hole.drill_nm / 2))
        pdf.set_line_width(2 * LINE)
        pdf.circle(x + across, y - up, radius)
        cross(pdf, x + across, y - up, radius + 2)
        pdf.text(x + across + radius + 1, y - up - 1, printable(hole.id))

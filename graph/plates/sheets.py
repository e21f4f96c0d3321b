"""A plate's drawing at 1:1 on as many sheets as it wants, to lay on both parts before anything is cut.

Each sheet carries a check scale of 100 mm across and 200 mm along its edge, its row and column, and crosses on a 50 mm
grid of the drawing: where two sheets overlap, cross lies on cross. The first pages say what is what. Drawn by fpdf2
with the core fonts; the same design always gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from math import ceil
from typing import TYPE_CHECKING

from graph.errors import InvalidInput, LimitExceeded, Problem
from graph.plain_text import ENCODING, printable
from graph.plates.hole_table import TABLE_HEAD, centring_words, table_rows, tolerance_words
from graph.plates.model import ENGINE, TAPPED, PlateDesign, PlateHole, PlatePiece, mm
from graph.plates.outline import extent_um, points_mm

if TYPE_CHECKING:
    from fpdf import FPDF

PAPERS_MM = {
    "A4": (210.0, 297.0), "A3": (297.0, 420.0), "A2": (420.0, 594.0), "A1": (594.0, 841.0), "A0": (841.0, 1189.0),
    "Letter": (215.9, 279.4),
}  # ISO 216; ANSI/ASME Y14.1 size A  # fmt: skip
MARGIN, FOOT, OVERLAP, AROUND, GRID = 14.0, 18.0, 10.0, 5.0, 50.0
ACROSS_MM, ALONG_MM = 100, 200
THIN, LINE = 0.1, 0.2
MOST_SHEETS = 120
WIDTHS = (0.12, 0.11, 0.11, 0.1, 0.38, 0.18)
HOW = (
    "Print without scaling (100 %, no fit to page). Measure the check scales on every sheet: 100.0 mm across and "
    "200.0 mm along the left edge, each within 0.2 mm, or do not use it. Lay cross on cross where sheets overlap. "
    "Paper moves with damp: it shows a mistake, it is no template to drill through."
)


Extent = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's part of a drawing: row and column from the top left, and its corner in mm."""

    row: int
    column: int
    left_mm: float
    top_mm: float


def plate_pdf(design: PlateDesign, title: str, paper: str = "A4") -> bytes:
    """The PDF file. Raises InvalidInput for an unknown paper, LimitExceeded for a plate of too many sheets."""
    check_paper(paper)
    check_sheets(sum(len(tiles(piece, paper)) for piece in design.pieces), paper, "plate")
    pdf = new_pdf(title, paper)
    _words(pdf, design, title)
    pdf.set_auto_page_break(False)
    for piece in design.pieces:
        for tile in tiles(piece, paper):
            _sheet(pdf, piece, tile, paper)
    return bytes(pdf.output())


def check_paper(paper: str) -> None:
    """Raises InvalidInput for a paper that is not known."""
    if paper not in PAPERS_MM:
        raise InvalidInput([Problem("paper", f"expected {', '.join(PAPERS_MM)}, found {paper!r}")])


def check_sheets(count: int, paper: str, what: str = "drawing") -> None:
    """Raises LimitExceeded for more sheets than anybody lays together."""
    if count > MOST_SHEETS:
        raise LimitExceeded(f"this {what} wants {count} sheets of {paper}, at most {MOST_SHEETS}; take larger paper")


def new_pdf(title: str, paper: str) -> FPDF:
    """An empty file at 1:1: no scaling at the printer, the same bytes whenever it is made."""
    from fpdf import FPDF, ViewerPreferences

    pdf = FPDF(orientation="portrait", unit="mm", format=PAPERS_MM[paper])
    pdf.core_fonts_encoding = ENCODING
    pdf.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))
    pdf.set_title(printable(title))
    pdf.set_margin(MARGIN)
    pdf.viewer_preferences = ViewerPreferences(print_scaling="None")
    return pdf


def tiles(piece: PlatePiece, paper: str) -> tuple[Tile, ...]:
    """The sheets that the piece wants, row by row."""
    left, low, right, top = (um / 1000 for um in extent_um(piece.outline))
    return tiles_over((left - AROUND, low - AROUND, right + AROUND, top + AROUND), paper)


def tiles_over(extent: Extent, paper: str) -> tuple[Tile, ...]:
    """The sheets that a drawing of that extent (left, low, right, top in mm) wants, row by row from the top left."""
    wide, high = room(paper)
    left, low, right, top = extent
    columns = max(1, ceil((right - left - OVERLAP) / (wide - OVERLAP)))
    rows = max(1, ceil((top - low - OVERLAP) / (high - OVERLAP)))
    return tuple(
        Tile(row, column, left + column * (wide - OVERLAP), top - row * (high - OVERLAP))
        for row in range(rows) for column in range(columns)
    )  # fmt: skip


def room(paper: str) -> tuple[float, float]:
    """How wide and how high a drawing on one sheet may be, in mm."""
    wide, high = PAPERS_MM[paper]
    return wide - 2 * MARGIN, high - 2 * MARGIN - FOOT


def _words(pdf: FPDF, design: PlateDesign, title: str) -> None:
    begin_words(pdf, title, HOW)
    items(pdf, (*design.solved, *design.turns, *design.order))
    for piece in design.pieces:
        heading(pdf, f"{piece.name}: {mm(piece.thickness_um)} mm {design.wanted.rules.material}")
        for words in tolerance_words(piece, design.wanted.rules.material):
            paragraph(pdf, words)
        table(pdf, TABLE_HEAD, table_rows(piece), WIDTHS)
    heading(pdf, "Figures and where they come from")
    for figure in design.figures:
        paragraph(pdf, f"{figure.name}: {figure.value} ({figure.source})")
    if design.bending is not None:
        heading(pdf, "A first look at bending, no proof")
        for words in (design.bending.summary, *(line.text() for line in design.bending.working.lines)):
            paragraph(pdf, words)
    listed(pdf, "Measure first", design.measure)
    listed(pdf, "Take care", design.cautions)


def begin_words(pdf: FPDF, title: str, how: str) -> None:
    """The first page of words: the title, and how the drawing is printed and used."""
    pdf.set_auto_page_break(True, MARGIN)
    pdf.add_page()
    pdf.set_font("helvetica", "B", 13)
    paragraph(pdf, title, 6)
    pdf.set_font("helvetica", "", 9)
    paragraph(pdf, how)


def items(pdf: FPDF, lines: Iterable[str]) -> None:
    """A line of words each."""
    for line in lines:
        paragraph(pdf, f"- {line}")


def listed(pdf: FPDF, title: str, lines: Sequence[str]) -> None:
    """A heading with its lines; nothing where there are none."""
    if lines:
        heading(pdf, title)
        items(pdf, lines)


def heading(pdf: FPDF, words: str) -> None:
    """A heading among words."""
    pdf.ln(2)
    pdf.set_font("helvetica", "B", 10)
    paragraph(pdf, words, 5)
    pdf.set_font("helvetica", "", 9)


def paragraph(pdf: FPDF, words: str, high: float = 4.2) -> None:
    """Words over the whole width."""
    pdf.multi_cell(0, high, printable(words), new_x="LMARGIN", new_y="NEXT")


def table(pdf: FPDF, head: tuple[str, ...], rows: Iterable[tuple[str, ...]], widths: tuple[float, ...]) -> None:
    """A table in small letters, its first row as headings."""
    pdf.set_font("helvetica", "", 8)
    with pdf.table(col_widths=widths, line_height=4, first_row_as_headings=True) as made:
        for cells in (head, *rows):
            row = made.row()
            for cell in cells:
                row.cell(printable(cell))
    pdf.set_font("helvetica", "", 9)


def _sheet(pdf: FPDF, piece: PlatePiece, tile: Tile, paper: str) -> None:
    wide, high = room(paper)
    told = f"{piece.name}, seen from the gearbox; {sheet_name(tile)}; 1:1"
    with framed(pdf, (wide, high), (told, "; ".join(centring_words(piece))), letters=8):
        _drawn(pdf, piece, tile, wide, high)


@contextmanager
def framed(pdf: FPDF, space: tuple[float, float], told: Iterable[str], letters: float = 7) -> Iterator[None]:
    """A sheet with its frame, words and check scales below it; what is drawn meanwhile ends at the frame."""
    wide, high = space
    pdf.add_page()
    pdf.set_line_width(THIN)
    pdf.rect(MARGIN, MARGIN, wide, high)
    pdf.set_font("helvetica", "", letters)
    for number, line in enumerate(told):
        pdf.text(MARGIN, MARGIN + high + 15 + 4 * number, printable(line))
    pdf.set_font("helvetica", "", 7)
    scales(pdf, high)  # before the clip: its end takes back a font that was first used in it
    with pdf.rect_clip(MARGIN, MARGIN, wide, high):
        yield


def sheet_name(tile: Tile) -> str:
    """Which of several sheets it is."""
    return f"sheet row {tile.row + 1}, column {tile.column + 1}"


def _drawn(pdf: FPDF, piece: PlatePiece, tile: Tile, wide: float, high: float) -> None:
    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return MARGIN + x_mm - tile.left_mm, MARGIN + tile.top_mm - y_mm

    register_marks(pdf, tile, wide, high)
    pdf.set_line_width(LINE)
    pdf.polygon([at(x, y) for x, y in points_mm(piece.outline)], style="D")
    for size_um, side in ((piece.bore_um, ""), (piece.register_um, piece.register_side),
                          (piece.spigot_um, piece.spigot_side)):  # fmt: skip
        if size_um:
            if side == ENGINE:
                pdf.set_dash_pattern(2, 1)
            pdf.circle(*at(0, 0), size_um / 2000)
            pdf.set_dash_pattern()
    cross(pdf, *at(0, 0), 10)
    for hole in piece.holes:
        _hole(pdf, hole, at(hole.x_um / 1000, hole.y_um / 1000))


def register_marks(pdf: FPDF, tile: Tile, wide: float, high: float) -> None:
    """Crosses on the drawing's own 50 mm grid, the same on every sheet: where two overlap, cross lies on cross."""
    for column in range(ceil(tile.left_mm / GRID), int((tile.left_mm + wide) // GRID) + 1):
        for row in range(ceil((tile.top_mm - high) / GRID), int(tile.top_mm // GRID) + 1):
            cross(pdf, MARGIN + column * GRID - tile.left_mm, MARGIN + tile.top_mm - row * GRID, 2)


def _hole(pdf: FPDF, hole: PlateHole, place: tuple[float, float]) -> None:
    pdf.set_line_width(LINE)
    pdf.circle(*place, hole.drill_um / 2000)
    if hole.head_um:
        if hole.head_side == ENGINE:
            pdf.set_dash_pattern(2, 1)
        pdf.circle(*place, hole.head_um / 2000)
        pdf.set_dash_pattern()
    cross(pdf, *place, hole.widest_um / 2000 + 2)
    words = hole.id + (f" {hole.thread}" if hole.use == TAPPED else "")
    pdf.text(place[0] + hole.widest_um / 2000 + 1, place[1] - 1, printable(words))


def cross(pdf: FPDF, x: float, y: float, arm: float) -> None:
    """A thin cross at a place."""
    pdf.set_line_width(THIN)
    pdf.line(x - arm, y, x + arm, y)
    pdf.line(x, y - arm, x, y + arm)


def scales(pdf: FPDF, high: float) -> None:
    """100 mm across below the drawing, 200 mm along the left edge, a tick every 10 mm."""
    pdf.set_line_width(LINE)
    y, x = MARGIN + high + 8, MARGIN - 5
    pdf.line(MARGIN, y, MARGIN + ACROSS_MM, y)
    pdf.line(x, MARGIN, x, MARGIN + ALONG_MM)
    for tick in range(0, ACROSS_MM + 1, 10):
        pdf.line(MARGIN + tick, y - 2, MARGIN + tick, y)
    for tick in range(0, ALONG_MM + 1, 10):
        pdf.line(x, MARGIN + tick, x + 2, MARGIN + tick)
    pdf.text(MARGIN + ACROSS_MM + 2, y, "check scale: 100.0 mm; along the left edge 200.0 mm")

"""The sheet as a PDF at 1:1 on A4 or Letter: the pattern, two check lines, and what to do with it.

Drawn by fpdf2 with the core fonts from rectangles alone, so that a printer's edges are sharp. The same paper always
gives the same bytes.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from graph.errors import InvalidInput, Problem
from graph.photo.sheet import ACROSS_MM, ALONG_MM, HIGH_MM, WIDE_MM, dark_squares
from graph.plain_text import ENCODING, printable

if TYPE_CHECKING:
    from fpdf import FPDF

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
TOP_MM = 28.0
HOW = (
    "Print without scaling (100 %, not fit to page) on plain paper. Measure both check lines between the outsides"
    " of their end ticks, by calliper if there is one, and enter what they measure with the photo: sizes follow from"
    " them.",
    "Lay the sheet flat on the face, arrow up as the part stands; tape it down or stick it on flat card. Take bolts"
    " out, wipe the holes' edges: only edges in the plane under the sheet come out right. Photograph from as far as the"
    " whole face needs, square on, without zoom, uncropped.",
)


def sheet_pdf(paper: str = "A4") -> bytes:
    """The PDF file. Raises InvalidInput for an unknown paper, or where the picture library is not installed."""
    from fpdf import FPDF, ViewerPreferences

    if paper not in PAPERS_MM:
        raise InvalidInput([Problem("paper", f"expected {' or '.join(PAPERS_MM)}, found {paper!r}")])
    squares = dark_squares()
    wide, _ = PAPERS_MM[paper]
    left = (wide - WIDE_MM) / 2
    pdf = FPDF(orientation="portrait", unit="mm", format=PAPERS_MM[paper])
    pdf.core_fonts_encoding = ENCODING
    pdf.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))
    pdf.set_title(f"Sheet for photographing a face, {paper}")
    pdf.viewer_preferences = ViewerPreferences(print_scaling="None")
    pdf.set_auto_page_break(False)
    pdf.add_page()
    _words(pdf, left, paper)
    pdf.set_fill_color(0)
    for x, y, size in squares:
        pdf.rect(left + x, TOP_MM + y, size, size, style="F")
    _line_across(pdf, (wide - ACROSS_MM) / 2, TOP_MM + HIGH_MM + 9)
    _line_along(pdf, left - 6, TOP_MM + (HIGH_MM - ALONG_MM) / 2)
    _arrow(pdf, left + WIDE_MM + 6, TOP_MM + 4)
    return bytes(pdf.output())


def _words(pdf: FPDF, left: float, paper: str) -> None:
    pdf.set_font("helvetica", "B", 9)
    pdf.text(left, 9, printable(f"Sheet for photographing a face ({paper}, 1:1)"))
    pdf.set_font("helvetica", "", 7)
    pdf.set_xy(left - pdf.c_margin, 10.5)
    for words in HOW:
        pdf.multi_cell(WIDE_MM, 3, printable(words), new_x="LEFT", new_y="NEXT")
    y = TOP_MM + HIGH_MM + 14
    pdf.text(left, y, printable(
        f"Check lines as drawn: across {ACROSS_MM:.0f} mm, along {ALONG_MM:.0f} mm."
        "   On this print: across ____________ mm   along ____________ mm"
    ))  # fmt: skip


def _line_across(pdf: FPDF, x: float, y: float) -> None:
    """The short line; its end ticks' outsides lie ACROSS_MM apart."""
    pdf.set_line_width(0.2)
    pdf.line(x + 0.1, y, x + ACROSS_MM - 0.1, y)
    for tick in (0.1, ACROSS_MM - 0.1):
        pdf.line(x + tick, y - 3, x + tick, y + 3)


def _line_along(pdf: FPDF, x: float, y: float) -> None:
    pdf.set_line_width(0.2)
    pdf.line(x, y + 0.1, x, y + ALONG_MM - 0.1)
    for tick in (0.1, ALONG_MM - 0.1):
        pdf.line(x - 3, y + tick, x + 3, y + tick)


def _arrow(pdf: FPDF, x: float, y: float) -> None:
    pdf.set_line_width(0.5)
    pdf.line(x, y, x, y + 22)
    pdf.line(x, y, x - 2.5, y + 6)
    pdf.line(x, y, x + 2.5, y + 6)
    pdf.set_font("helvetica", "B", 8)
    pdf.text(x - 2.2, y + 26, "up")

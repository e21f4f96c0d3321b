"""A paper as PDF, drawn by fpdf2 with the core fonts: nothing is fetched, nothing outside the program is needed.

The core fonts know the letters of Windows-1252. What they lack is written with the nearest letters they have
(a Polish l with stroke as l, a less-or-equal sign as <=), and whatever has none as a question mark.
Pictures are drawn as vectors. The same paper always gives the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any
from xml.sax.saxutils import escape, unescape

from fpdf import FPDF, ViewerPreferences
from fpdf.enums import TableBordersLayout, XPos, YPos

from graph.papers import qr
from graph.papers.model import Blank, Block, Facts, Paper, Picture, Points, QrCode, Section, Table, Text
from graph.plain_text import ENCODING, printable

FONT = "helvetica"
SIZE, SMALL = 9.5, 8.5  # points
LINE = 4.4  # mm
LABEL = 84.0  # mm from the margin to what stands beside a label: the longest label takes one line
MODULE = 0.9  # mm per module of a QR code
TALLEST_PICTURE = 232.0  # mm, below a heading on a sheet of its own
_VIEW_BOX = re.compile(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"')
_WORDS = re.compile(r">([^<>]+)<")
_IN_LATIN_1 = str.maketrans({
    "\N{HORIZONTAL ELLIPSIS}": "...", "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{LEFT SINGLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'", "\N{LEFT DOUBLE QUOTATION MARK}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"', "\N{BULLET}": "-", "\N{EURO SIGN}": "EUR",
})  # fmt: skip
_UNDRAWN = re.compile(r"<(title|desc)[^>]*>.*?</\1>", re.DOTALL)  # words for screen readers; fpdf2 warns of them


def drawn(paper: Paper) -> bytes:
    """The PDF file."""
    pdf = _Pages(paper)
    pdf.add_page()
    for section in paper.sections:
        _section(pdf, section)
    return bytes(pdf.output())


class _Pages(FPDF):
    """A4 pages that carry kind, number, date and page count."""

    def __init__(self, paper: Paper):
        super().__init__(orientation="portrait", unit="mm", format="A4")
        self.core_fonts_encoding = ENCODING
        self.paper = paper
        self.set_margins(14, 10, 14)
        self.set_auto_page_break(True, margin=13)
        self.set_title(printable(f"{paper.kind}{f' {paper.number}' if paper.is_numbered else ''}: {paper.title}"))
        self.set_lang("en")
        self.viewer_preferences = ViewerPreferences(display_doc_title=True)
        self.set_creator("Layshaft")
        self.set_creation_date(_moment(paper.dated))

    def header(self) -> None:
        """Title on the first page, one line on the others."""
        first = self.page_no() == 1
        self.set_font(FONT, "B", 11 if first else SMALL)
        then = (XPos.LMARGIN, YPos.NEXT) if first else (XPos.RIGHT, YPos.TOP)
        kind = printable(self.paper.kind.upper())
        self.cell(0 if first else 40, LINE, kind, new_x=then[0], new_y=then[1])
        if first:
            self.set_font(FONT, "B", 15)
            self.multi_cell(0, 7, printable(self.paper.title), new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.set_font(FONT, "", SMALL)
        dated = printable(self.paper.head_line)
        self.cell(0, LINE, dated, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(1.5)

    def footer(self) -> None:
        """Which page of how many."""
        self.set_y(-12)
        self.set_font(FONT, "", SMALL)
        number = f"{printable(self.paper.number)} - " if self.paper.is_numbered else ""
        self.cell(0, LINE, f"{number}page {self.page_no()} of {{nb}}", align="R")


def _moment(dated: str) -> datetime:
    return datetime.fromisoformat(dated).replace(tzinfo=UTC)


def _section(pdf: _Pages, section: Section) -> None:
    if pdf.will_page_break(24):
        pdf.add_page()
    pdf.ln(1.4)
    pdf.set_font(FONT, "B", 11.5)
    heading, border = section.heading, "B"
    if section.caution:
        heading, border = f"! {heading.upper()} !", "TB"
    pdf.start_section(printable(section.heading))  # the outline, by which a reader goes from part to part
    pdf.multi_cell(0, 5.5, printable(heading), border=border, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    pdf.ln(1)
    for block in section.blocks:
        _DRAWN[type(block)](pdf, block)


def _text(pdf: _Pages, block: Text) -> None:
    _line(pdf, block.text)
    pdf.ln(0.8)


def _line(pdf: _Pages, text: str, style: str = "", size: float = SIZE) -> None:
    pdf.set_font(FONT, style, size)
    pdf.multi_cell(0, LINE, printable(text), new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")


def _facts(pdf: _Pages, block: Facts) -> None:
    for label, value in block.rows:
        if pdf.will_page_break(2 * LINE):
            pdf.add_page()
        top = pdf.get_y()
        pdf.set_font(FONT, "B", SIZE)
        pdf.multi_cell(LABEL - 2, LINE, printable(label), new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")
        below = pdf.get_y()
        pdf.set_xy(pdf.l_margin + LABEL, top)
        pdf.set_font(FONT, "", SIZE)
        if value:
            pdf.multi_cell(0, LINE, printable(value), new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")
        else:
            pdf.line(pdf.l_margin + LABEL, top + LINE, pdf.w - pdf.r_margin, top + LINE)
            pdf.set_xy(pdf.l_margin, top + LINE + 1.2)
        pdf.set_y(max(below, pdf.get_y()) + 0.4)


def _table(pdf: _Pages, block: Table) -> None:
    pdf.set_font(FONT, "", SMALL)
    align = tuple("RIGHT" if column in block.numeric else "LEFT" for column in range(len(block.head)))
    with pdf.table(
        col_widths=block.widths, text_align=align, line_height=LINE - 0.7, padding=(0.3, 0.5),
        borders_layout=TableBordersLayout.ALL, first_row_as_headings=True,
    ) as table:  # fmt: skip
        for cells in (block.head, *block.rows):
            row = table.row()
            for cell in cells:
                row.cell(printable(cell))
        if block.total:
            pdf.set_font(FONT, "B", SMALL)
            row = table.row()
            for cell in block.total:
                row.cell(printable(cell))
    pdf.set_font(FONT, "", SIZE)
    pdf.ln(1.5)


def _points(pdf: _Pages, block: Points) -> None:
    for item in block.items:
        if pdf.will_page_break(2 * LINE):
            pdf.add_page()
        top = pdf.get_y()
        if block.tick:
            pdf.rect(pdf.l_margin + 0.6, top + 0.9, 2.8, 2.8)
        else:
            pdf.set_font(FONT, "B", SIZE)
            pdf.cell(5, LINE, "-")
        pdf.set_xy(pdf.l_margin + 5, top)
        _line(pdf, item)
    pdf.ln(0.8)


def _blank(pdf: _Pages, block: Blank) -> None:
    if pdf.will_page_break(LINE + 7 * block.lines):
        pdf.add_page()
    _line(pdf, block.label, "B")
    if block.boxed:
        pdf.rect(pdf.l_margin, pdf.get_y(), pdf.epw, 7 * block.lines)
        pdf.ln(7 * block.lines)
    else:
        for _ in range(block.lines):
            pdf.ln(6)
            pdf.line(pdf.l_margin, pdf.get_y(), pdf.w - pdf.r_margin, pdf.get_y())
    pdf.ln(1.5)


def _picture(pdf: _Pages, block: Picture) -> None:
    width, height = _size(block.svg, pdf.epw)
    if pdf.will_page_break(height + LINE):
        pdf.add_page()
    top = pdf.get_y()
    drawing = io.BytesIO(_printable(_UNDRAWN.sub("", block.svg)).encode())
    pdf.image(drawing, x=pdf.l_margin, y=top, w=width, h=height, alt_text=printable(block.words))
    pdf.set_xy(pdf.l_margin, top + height)
    _line(pdf, block.words, "", SMALL)


def _size(svg: str, widest: float) -> tuple[float, float]:
    """As wide as the sheet, or as tall as fits on one, in the drawing's own proportions; half as tall as wide where it
    does not say them."""
    box = _VIEW_BOX.search(svg)
    wide, tall = (float(box[1]), float(box[2])) if box else (2.0, 1.0)
    width = min(widest, TALLEST_PICTURE * wide / tall)
    return width, width * tall / wide


def _printable(svg: str) -> str:
    """The drawing with words in letters that fpdf2 can set in one: of the core fonts' letters those of Latin-1."""

    def told(found: re.Match[str]) -> str:
        letters = printable(unescape(found[1])).translate(_IN_LATIN_1)
        return f">{escape(letters.encode('latin-1', 'replace').decode('latin-1'))}<"

    return _WORDS.sub(told, svg)


def _qr(pdf: _Pages, block: QrCode) -> None:
    rows = qr.matrix(block.address)
    side = len(rows) * MODULE
    if pdf.will_page_break(side + 2 * LINE):
        pdf.add_page()
    left, top = pdf.l_margin, pdf.get_y()
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                pdf.rect(left + x * MODULE, top + y * MODULE, MODULE, MODULE, style="F")
    pdf.set_xy(pdf.l_margin, top + side)
    _line(pdf, f"{block.label}: {block.address}", "", SMALL)


_DRAWN: Mapping[type[Block], Callable[[_Pages, Any], None]] = {
    Text: _text, Facts: _facts, Table: _table, Points: _points, Blank: _blank, Picture: _picture, QrCode: _qr,
}  # fmt: skip

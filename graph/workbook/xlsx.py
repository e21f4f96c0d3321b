"""A book as an XLSX file: headers, rows, lists of words to choose from in the cells, and a sheet that says how.

Nothing in it is a formula: a text that would be taken for one is stored as a text with the quote-prefix flag.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any

from graph.catalogue.names import LAY, PROV
from graph.plain_text import for_xml
from graph.workbook.known import Known
from graph.workbook.plan import (
    CHOICES,
    HOW_TO,
    ID,
    LEFT_OUT,
    PARTS,
    REFERENCE,
    TEXT,
    TRUTH,
    UNITS,
    WHAT,
    WORDS,
    SheetColumn,
    class_label,
)
from graph.workbook.rows import Book, SheetTable

MEDIA_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
ROWS_AHEAD = 5_000  # as far down as cells offer their choices
MOST_CHOICES = 2_000
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NAMED_ON = {LAY + "Part": PARTS, LAY + "Note": "Notes", LAY + "BoltFace": "Bolt faces"}
_OPEN = (LAY + "Edge", LAY + "DoesNotFit")  # named by id: nothing to choose from
_WORDS = (
    "Each sheet holds one sort of thing, each row one thing. The first row holds the headers: leave it as it is.",
    "Fill in what you know. An empty cell says nothing and changes nothing; (none) takes away what stands there.",
    "Names tie the sheets together: write a part's name on the sheet Parts once, and use the same name elsewhere.",
    "Leave the column id empty for whatever is new; it is made from the name. Where it is filled in, leave it.",
    "Several values in one cell stand apart by a bar: first | second. A text with a bar of its own: \\|.",
    "Readings keep their unit as they were read: 7.480 in, 14 thou, 45.012 mm. Others have the unit of their header.",
    "A condition is a test and its words: torque_nm <= 240: up to 240 Nm.",
    "The columns 'who says so' to 'may be shared' say how a row is known; else what the upload says holds. On a row "
    "that you change put yourself into 'who says so'; left as it was, whoever sends the workbook in says so.",
    "No formulas, no merged cells. A column headed 'own: paint code' keeps a property of your own.",
    "Before anything is written you are shown what would change, and every fault with its sheet, row and column.",
)  # fmt: skip


def write_book(book: Book, known: Known) -> bytes:
    """The file. `known`: whose names are offered."""
    from openpyxl import Workbook  # here, because it takes half a second to load

    made = Workbook()
    made.remove(made.worksheets[0])
    _write_how_to(made.create_sheet(HOW_TO), book)
    sheets = [(table, made.create_sheet(table.sheet.title)) for table in book.tables]
    offered = _Offered(made.create_sheet(CHOICES), book, known)
    for table, sheet in sheets:
        _write_table(sheet, table)
        for place, header in enumerate(table.headers, start=1):
            if rule := offered.rule_for(table, header):
                sheet.add_data_validation(rule)
                letter = sheet.cell(1, place).column_letter
                rule.add(f"{letter}2:{letter}{ROWS_AHEAD}")
    if book.left_out:
        _write_lines(
            made.create_sheet(LEFT_OUT), ["What stands in the workshop and not in these sheets", *book.left_out]
        )
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


def _write_lines(sheet: Any, lines: Iterable[str]) -> None:
    for number, line in enumerate(lines, start=1):
        _put(sheet, number, 1, line)
    sheet.column_dimensions["A"].width = 120


def _write_how_to(sheet: Any, book: Book) -> None:
    from openpyxl.styles import Font

    _write_lines(sheet, [HOW_TO, "", *_WORDS, ""])
    at = len(_WORDS) + 4
    for place, words in enumerate(("sheet and column", "what it holds", "needed"), start=1):
        _put(sheet, at, place, words)
    for table in book.tables:
        at += 1
        _put(sheet, at, 1, table.sheet.title)
        sheet.cell(at, 1).font = Font(bold=True)
        _put(sheet, at, 2, table.sheet.hint)
        for header, column in table.columns.items():
            at += 1
            several = " Several, apart by |." if column.many else ""
            values = (f"    {header}", f"{column.kind}: {column.hint}{several}", "needed" if column.needed else "")
            for place, words in enumerate(values, start=1):
                _put(sheet, at, place, words)
    sheet.cell(1, 1).font = Font(bold=True, size=14)
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 34, 110


def _write_table(sheet: Any, table: SheetTable) -> None:
    from openpyxl.styles import Font, PatternFill

    needed = PatternFill("solid", fgColor="FFE9D8A6")
    for place, header in enumerate(table.headers, start=1):
        _put(sheet, 1, place, header)
        cell = sheet.cell(1, place)
        cell.font = Font(bold=True)
        column = table.columns.get(header)
        if header == WHAT or (column is not None and column.needed):
            cell.fill = needed
        size = sheet.column_dimensions[cell.column_letter]
        size.width = 30 if place <= 3 else 18
        if column is None or column.kind == TEXT:  # so that the spreadsheet leaves 3/4 and 007 alone
            size.number_format = "@"
    for number, row in enumerate(table.rows, start=2):
        for place, header in enumerate(table.headers, start=1):
            if (value := row.get(header)) is not None:
                _put(sheet, number, place, value)
    sheet.freeze_panes = "A2"


def _put(sheet: Any, row: int, column: int, value: object) -> None:
    cell = sheet.cell(row, column)
    if not isinstance(value, str):
        cell.value = value
        return
    cell.value = for_xml(value)
    cell.data_type = "s"
    cell.number_format = "@"
    if value.startswith(STARTS_A_FORMULA):
        cell.quotePrefix = True


class _Offered:
    """The lists of words, one a column on a sheet of their own, and the rules of cells that offer them."""

    def __init__(self, sheet: Any, book: Book, known: Known):
        self._sheet, self._known = sheet, known
        self._tables = {table.sheet.title: table for table in book.tables}
        self._lists: dict[tuple[str, ...], str] = {}

    def rule_for(self, table: SheetTable, header: str) -> Any:
        """The rule for the cells of a column; None where anything may stand there."""
        column = table.columns.get(header)
        if header == WHAT:
            return self._rule(self._words(tuple(class_label(name) for name in table.sheet.classes)), True)
        if header == WORDS["evidence"]:
            return self._rule(self._names((LAY + "EvidenceLevel",)), True)
        if header == WORDS["shareable"] or (column and column.kind == TRUTH):
            return self._rule(self._words(("yes", "no")), True)
        if column is None or not (column.words or column.kind == REFERENCE):
            return None
        where = self._words(column.words) if column.words else self._reference(table, column)
        return self._rule(where, bool(column.words)) if where else None

    def _reference(self, table: SheetTable, column: SheetColumn) -> str:
        if set(column.classes) & set(_OPEN) or not column.classes:
            return ""
        named = _NAMED_ON.get(column.classes[0])
        if named:
            title = UNITS if column.header == "unit" else named
            other = self._tables[title]
            header = "name" if "name" in other.headers else ID
            letter = _letter(other.headers.index(header) + 1)
            return f"'{title}'!${letter}$2:${letter}${ROWS_AHEAD}"
        return self._names(column.classes)

    def _names(self, classes: tuple[str, ...]) -> str:
        if classes == (PROV + "Agent",):
            return f"'People'!$A$2:$A${ROWS_AHEAD}"
        return self._words(tuple(self._known.names(classes)[:MOST_CHOICES]))

    def _words(self, words: tuple[str, ...]) -> str:
        if not words:
            return ""
        if words not in self._lists:
            place = len(self._lists) + 1
            for number, word in enumerate(words, start=1):
                _put(self._sheet, number, place, word)
            letter = _letter(place)
            self._lists[words] = f"'{CHOICES}'!${letter}$1:${letter}${len(words)}"
        return self._lists[words]

    def _rule(self, where: str, strict: bool) -> Any:
        from openpyxl.worksheet.datavalidation import DataValidation

        return DataValidation(type="list", formula1=where, allow_blank=True, showErrorMessage=strict)


def _letter(place: int) -> str:
    from openpyxl.utils import get_column_letter

    return str(get_column_letter(place))

"""Tables out of CSV, TSV and XLSX: sizes, encodings, XML bombs, formulas and links are judged here. No meaning is read.

XLSX is a zip of XML (ECMA-376, parts 1 and 2): what it would unpack to is checked before anything is unpacked,
declarations of entities are refused wherever they stand, and the parser is defusedxml's. A formula is refused, for
its value is what some program last worked out, or nothing. Runs in a child process (see `reader`).
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, time, timedelta
from types import NoneType
from typing import IO, Any, TypeVar

from defusedxml.common import DefusedXmlException

from graph.errors import InvalidInput, LayshaftError, LimitExceeded, Problem
from graph.guarded.scan import is_recoded

MOST_ROWS = 200_000
MOST_COLUMNS = 200
MOST_CELLS = 4_000_000
MOST_CELL = 20_000  # characters
MOST_UNPACKED = 256 << 20
MOST_MEMBERS = 1_000
MOST_TEXTS = 500_000  # different ones in a workbook: each is read, whether or not a cell has it
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384  # of a sheet (common practice of the programs that write them)
MOST_SHOWN = 20
MOST_FAULTS = 200  # of cells as they stand, in a workbook
ZIP = b"PK\x03\x04"
_DECLARES = re.compile(rb"<\0?!\0?(?:D\0?O\0?C\0?T\0?Y\0?P\0?E|E\0?N\0?T\0?I\0?T\0?Y)")

Cell = str | int | float | bool | date | time | timedelta | None
_Row = TypeVar("_Row")
_MERGED = re.compile(rb"<(?:\w+:)?mergeCell\s[^>]*?ref=\"([A-Z0-9:]{1,30})\"")
_PLAIN = (str, int, float, date, time, timedelta, NoneType)


@dataclass(frozen=True, slots=True)
class SheetRow:
    """`number`: which row it is; `line`: on which line of the file it ends (the same in a spreadsheet)."""

    number: int
    line: int
    cells: tuple[Cell, ...]


def iter_rows(file: IO[bytes], name: str) -> Iterator[SheetRow]:
    """The rows that hold anything: XLSX by its content, else CSV. Raises InvalidInput, LimitExceeded with `name`."""
    file.seek(0)
    start = file.read(len(ZIP))
    file.seek(0)
    return _limited(_xlsx_rows(file, name) if start == ZIP else _text_rows(file, name), name)


def _limited(rows: Iterable[SheetRow], name: str) -> Iterator[SheetRow]:
    found = cells = 0
    for row in rows:
        if len(row.cells) > LAST_COLUMN:
            raise _invalid(f"{name} row {row.number}", f"has columns beyond {LAST_COLUMN:,}")
        width = _width(row.cells)
        if not width:
            continue
        found, cells = found + 1, cells + width
        if found > MOST_ROWS + 1:
            raise LimitExceeded(f"{name}: more than {MOST_ROWS:,} rows; split the list")
        if cells > MOST_CELLS:
            raise LimitExceeded(f"{name}: more than {MOST_CELLS:,} cells; split the list")
        if width > MOST_COLUMNS:
            raise _invalid(f"{name} row {row.number}", f"more than {MOST_COLUMNS} columns")
        yield SheetRow(row.number, row.line, _checked(row, width, name))


def _width(cells: tuple[Cell, ...]) -> int:
    """How many cells there are without the empty ones behind the last."""
    width = len(cells)
    while width and cells[width - 1] in (None, ""):
        width -= 1
    return width


def _checked(row: SheetRow, width: int, name: str) -> tuple[Cell, ...]:
    cells = row.cells[:width]
    for place, cell in enumerate(cells, start=1):
        if isinstance(cell, str) and len(cell) > MOST_CELL:
            message = f"{len(cell):,} characters in cell {place}; at most {MOST_CELL:,}"
            raise _invalid(f"{name} row {row.number}", message)
    return cells


def _text_rows(file: IO[bytes], name: str) -> Iterator[SheetRow]:
    """UTF-8, fields apart by comma, semicolon or tab: whichever the first line has most of."""
    data = file.read()
    if data.count(b"\n") + data.count(b"\r") > 2 * LAST_ROW:  # an empty row costs its reader as much as any
        raise LimitExceeded(f"{name}: has rows beyond {LAST_ROW:,}; split the list")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise _invalid(f"{name} row {line}", "not UTF-8; save the table as CSV UTF-8") from None
    if "\0" in text:
        raise _invalid(name, "expected text, found a binary file")
    first = text.partition("\n")[0]
    csv.field_size_limit(MOST_CELL + 1)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max("\t;,", key=first.count), strict=True)
    try:
        for number, cells in enumerate(reader, start=1):
            yield SheetRow(number, reader.line_num, tuple(cells))
    except csv.Error as fault:
        place = f"{name} line {reader.line_num}"
        raise _invalid(place, f"not readable as a row of a table ({fault}); check its quotes") from None


def _xlsx_rows(file: IO[bytes], name: str) -> Iterator[SheetRow]:
    """The first sheet of the workbook."""
    yield from _guarded(_sheet_rows(file, name), name)


def _guarded(rows: Iterator[_Row], name: str) -> Iterator[_Row]:
    """The same, with every error of the libraries that unpack and parse told in words."""
    try:
        yield from rows
    except LayshaftError:
        raise
    except DefusedXmlException:
        raise _invalid(name, "the workbook declares XML entities, which a table does not need: refused") from None
    except MemoryError:
        raise
    except Exception as fault:  # a damaged file brings out any error in the libraries that unpack and parse it
        message = f"not readable as a spreadsheet ({type(fault).__name__}); save it again as XLSX"
        raise _invalid(name, message) from fault


def _check_members(file: IO[bytes], name: str) -> None:
    with zipfile.ZipFile(file) as packed:
        members = packed.infolist()
        unpacked = sum(member.file_size for member in members)
        if len(members) > MOST_MEMBERS or unpacked > MOST_UNPACKED:
            raise _invalid(name, f"unpacks to {len(members):,} files of {unpacked:,} bytes: refused as a bomb")
        if any(member.filename.lower().startswith("xl/externallinks/") for member in members):
            raise _invalid(name, "takes values from other workbooks; paste the values and save it again")
        for member in members:
            _check_declares_nothing(packed, member, name)


def _check_declares_nothing(packed: zipfile.ZipFile, member: zipfile.ZipInfo, name: str) -> None:
    """No document type anywhere in the member, in no encoding that the parser knows; nor too many rows or texts.

    They are counted here, at the price of unpacking: reading a million of them takes a minute.
    """
    before, rows, texts = b"", 0, 0
    with packed.open(member) as opened:
        while part := opened.read(1 << 16):
            seen = before + part
            rows, texts = rows + _count(b"<row", before, part), texts + _count(b"<si>", before, part)
            if rows > LAST_ROW or texts > MOST_TEXTS:
                what = f"rows beyond {LAST_ROW:,}" if rows > LAST_ROW else f"more than {MOST_TEXTS:,} texts"
                raise LimitExceeded(f"{name}: {member.filename} has {what}; split the list")
            if (not before and is_recoded(seen)) or _DECLARES.search(seen):
                raise _invalid(name, f"{member.filename} declares XML entities or is not UTF-8: refused")
            before = part[-32:]


def _count(word: bytes, before: bytes, part: bytes) -> int:
    """How often the word stands in a part, or lies across its beginning."""
    return part.count(word) + (before[1 - len(word) :] + part[: len(word) - 1]).count(word)


def _sheet_rows(file: IO[bytes], name: str) -> Iterator[SheetRow]:
    from openpyxl import load_workbook

    _check_members(file, name)
    book = load_workbook(file, read_only=True, data_only=False, keep_links=False)
    sheet = book.worksheets[0]
    sheet.reset_dimensions()
    formulas: list[Problem] = []
    for number, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        if number > LAST_ROW:
            raise _invalid(name, f"has rows beyond {LAST_ROW:,}")
        if not cells:
            continue
        plain = tuple(cell for cell in cells if isinstance(cell, _PLAIN) and not _is_formula(cell))
        if len(plain) < len(cells):
            formulas += [
                Problem(f"{name} row {number} cell {place}", "is a formula; paste its value")
                for place, cell in enumerate(cells, start=1)
                if _is_formula(cell)
            ]
        if len(formulas) > MOST_SHOWN:
            break
        yield SheetRow(number, number, plain)
    book.close()
    if formulas:
        raise InvalidInput(formulas[:MOST_SHOWN])


@dataclass(frozen=True, slots=True)
class SheetFault:
    """What is wrong with cells as they stand, whatever they say. `cell`: of one, its row and column from 1; else
    (0, 0), and `where` names the cells."""

    where: str
    message: str
    cell: tuple[int, int] = (0, 0)


def iter_book(
    file: IO[bytes], name: str, leave: Collection[str] = ()
) -> Iterator[tuple[str, SheetRow | SheetFault]]:  # fmt: skip
    """The rows that hold anything, of every sheet of a workbook but those to `leave`, each with its sheet's title.

    Merged cells, formulas and the like come as faults among them; a row comes without its cells at fault. Raises
    InvalidInput for what is no workbook at all, LimitExceeded.
    """
    file.seek(0)
    if file.read(len(ZIP)) != ZIP:
        raise _invalid(name, "is no workbook; save it as XLSX and send that")
    file.seek(0)
    yield from _guarded(_book_rows(file, name, leave), name)


def _book_rows(file: IO[bytes], name: str, leave: Collection[str]) -> Iterator[tuple[str, SheetRow | SheetFault]]:
    from openpyxl import load_workbook

    _check_members(file, name)
    book = load_workbook(file, read_only=True, data_only=False, keep_links=False)
    found = cells_in_all = told = 0
    for sheet in book.worksheets:
        if sheet.title in leave:
            continue
        yield from ((sheet.title, fault) for fault in _faults_of_sheet(file, sheet))
        sheet.reset_dimensions()
        for number, cells in enumerate(sheet.iter_rows(), start=1):
            values: tuple[Any, ...] = tuple(cell.value for cell in cells)
            width = _width(values)
            if not width:
                continue
            found, cells_in_all = found + 1, cells_in_all + width
            if found > MOST_ROWS or cells_in_all > MOST_CELLS:
                raise LimitExceeded(f"{name}: more than {MOST_ROWS:,} rows or {MOST_CELLS:,} cells; split it")
            faults = _faults_of_row(number, cells[:width])
            wrong = {fault.cell[1] for fault in faults}
            told += len(faults)
            yield from ((sheet.title, fault) for fault in faults if told <= MOST_FAULTS)
            if width <= MOST_COLUMNS:
                kept = tuple(None if place in wrong else one for place, one in enumerate(values[:width], start=1))
                yield sheet.title, SheetRow(number, number, kept)
    book.close()


def _faults_of_sheet(file: IO[bytes], sheet: Any) -> list[SheetFault]:
    """Merged cells, and more rows than anybody fills in: mostly empty ones, each of which costs its reader as much."""
    rows, before, merged = 0, b"", list[str]()
    with zipfile.ZipFile(file) as packed, packed.open(sheet._worksheet_path) as opened:
        while part := opened.read(1 << 16):
            rows += _count(b"<row", before, part)
            if rows > MOST_ROWS:
                told = (
                    f"has more than {MOST_ROWS:,} rows, empty ones counted: delete those below the last one filled in"
                )
                raise InvalidInput([Problem(f"sheet {sheet.title!r}", told)])
            seen = before[-200:] + part
            merged += [found for found in map(bytes.decode, _MERGED.findall(seen)) if found not in merged]
            before = part
    return [
        SheetFault(f"cells {cells}", "are merged; unmerge them, and fill in each cell by itself")
        for cells in merged[:MOST_SHOWN]
    ]


def _faults_of_row(number: int, cells: Any) -> list[SheetFault]:
    if len(cells) > MOST_COLUMNS:
        return [SheetFault(f"row {number}", f"more than {MOST_COLUMNS} columns")]
    faults = []
    for place, cell in enumerate(cells, start=1):
        if cell.value is None:
            continue
        at = number, place
        if cell.data_type == "f" or not isinstance(cell.value, _PLAIN):
            faults.append(SheetFault("", "is a formula; paste its value", at))
        elif cell.data_type == "e":
            told = f"is an error of the spreadsheet ({str(cell.value)[:20]}); write what is meant"
            faults.append(SheetFault("", told, at))
        elif isinstance(cell.value, str) and len(cell.value) > MOST_CELL:
            faults.append(SheetFault("", f"{len(cell.value):,} characters; at most {MOST_CELL:,}", at))
    return faults


def cell_place(title: str, row: int, column: int, header: str = "") -> str:
    """A cell as a person finds it; `column` counts from 1.

    >>> cell_place("Parts", 4, 28, "cash")
    "sheet 'Parts' row 4 column AB (cash)"
    """
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"sheet {title!r} row {row} column {letters}" + (f" ({header})" if header else "")


def _is_formula(cell: object) -> bool:
    return cell.startswith("=") if isinstance(cell, str) else not isinstance(cell, _PLAIN)


def _invalid(path: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(path, message)])

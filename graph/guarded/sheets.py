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
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, time, timedelta
from types import NoneType
from typing import IO

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
ZIP = b"PK\x03\x04"
_DECLARES = re.compile(rb"<\0?!\0?(?:D\0?O\0?C\0?T\0?Y\0?P\0?E|E\0?N\0?T\0?I\0?T\0?Y)")

Cell = str | int | float | bool | date | time | timedelta | None
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
    try:
        _check_members(file, name)
        yield from _sheet_rows(file, name)
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


def _is_formula(cell: object) -> bool:
    return cell.startswith("=") if isinstance(cell, str) else not isinstance(cell, _PLAIN)


def _invalid(path: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(path, message)])

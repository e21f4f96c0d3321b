"""Tables out of CSV and XLSX bytes, guarded: sizes, encodings, XML bombs, formulas. No meaning is read here.

A row keeps its line number, so that every message can name it. XLSX is a zip of XML: what it would unpack to is
checked before anything is parsed, declarations of entities are refused, and the parser is defusedxml's.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from defusedxml.common import DefusedXmlException
from openpyxl import load_workbook

from graph.errors import InvalidInput, LayshaftError, LimitExceeded, Problem

MOST_BYTES = 50_000_000
MOST_UNPACKED = 200_000_000
MOST_ROWS = 200_000
MOST_COLUMNS = 100
MOST_CHARACTERS = 2_000

Cell = str | int | float | date | None


@dataclass(frozen=True, slots=True)
class Row:
    """One row with its line in the file (the header is on line 1)."""

    line: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A header and rows of the same width."""

    header: tuple[str, ...]
    rows: tuple[Row, ...]


def read_table(data: bytes, name: str) -> Table:
    """The table in a file called `name`: XLSX by its content, else CSV. Raises InvalidInput, LimitExceeded."""
    if len(data) > MOST_BYTES:
        raise LimitExceeded(f"{name}: {len(data):,} bytes, at most {MOST_BYTES:,}; split the list")
    return read_xlsx(data, name) if data[:4] == b"PK\x03\x04" else read_csv(data, name)


def read_csv(data: bytes, name: str = "list.csv") -> Table:
    """A CSV table in UTF-8, fields apart by comma, semicolon or tab."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise _invalid(f"{name} line {line}", "expected UTF-8 text; save the list as CSV in UTF-8") from None
    if "\0" in text:
        raise _invalid(name, "expected text, found a binary file")
    first = text.split("\n", 1)[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    lines: list[Row] = []
    try:
        for cells in reader:
            lines.append(Row(reader.line_num, tuple(cells)))
            if len(lines) > MOST_ROWS + 1:
                raise LimitExceeded(f"{name}: more than {MOST_ROWS:,} rows; split the list")
    except csv.Error as fault:
        raise _invalid(f"{name} line {reader.line_num}", f"not a CSV row ({fault}); check its quotes") from None
    return _table(lines, name)


def read_xlsx(data: bytes, name: str = "list.xlsx") -> Table:
    """The first sheet of an XLSX workbook; values only, a formula is kept as its text and refused by the reader."""
    try:
        _guard_zip(data, name)
        lines = _lines_of(data, name)
    except LayshaftError:
        raise
    except DefusedXmlException:
        raise _invalid(name, "the workbook declares XML entities; a price list needs none: refused") from None
    except Exception as fault:  # a damaged file brings out any error in the libraries that unpack and parse it
        raise _invalid(name, f"not a readable XLSX workbook ({type(fault).__name__}); save it again as XLSX") from fault
    return _table(lines, name)


def _lines_of(data: bytes, name: str) -> list[Row]:
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
    sheet = book.worksheets[0]
    sheet.reset_dimensions()
    lines: list[Row] = []
    for line, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        if len(lines) > MOST_ROWS:
            raise LimitExceeded(f"{name}: more than {MOST_ROWS:,} rows; split the list")
        if any(cell is not None for cell in cells):
            lines.append(Row(line, tuple(_cell(cell) for cell in cells)))
    book.close()
    return lines


def _guard_zip(data: bytes, name: str) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        if sum(member.file_size for member in packed.infolist()) > MOST_UNPACKED:
            raise _invalid(name, f"unpacks to more than {MOST_UNPACKED:,} bytes: refused as a decompression bomb")
        for member in packed.infolist():
            if member.filename.lower().endswith((".xml", ".rels")):
                with packed.open(member) as opened:
                    start = opened.read(4096)
                if b"<!DOCTYPE" in start or b"<!ENTITY" in start:
                    raise _invalid(name, f"{member.filename} declares XML entities: refused")


def _cell(value: object) -> Cell:
    if isinstance(value, datetime):
        return value.date()
    if value is None or isinstance(value, (str, int, float, date)):
        return value
    return str(value)


def _table(lines: Iterable[Row], name: str) -> Table:
    rows = list(lines)
    if not rows:
        raise _invalid(name, "the file is empty; expected a header line and rows")
    header = tuple(str(cell or "").strip() for cell in rows[0].cells)
    while header and not header[-1]:
        header = header[:-1]
    problems = []
    if not header:
        problems.append(Problem(f"{name} line 1", "expected a header line"))
    if len(header) > MOST_COLUMNS:
        problems.append(Problem(f"{name} line 1", f"{len(header)} columns, at most {MOST_COLUMNS}"))
    doubles = sorted({column for column in header if column and header.count(column) > 1})
    problems += [Problem(f"{name} line 1", f"column {column!r} stands twice") for column in doubles]
    if problems:
        raise InvalidInput(problems)
    body = [_padded(row, len(header)) for row in rows[1:] if any(cell not in (None, "") for cell in row.cells)]
    return Table(header, tuple(body))


def _padded(row: Row, width: int) -> Row:
    cells = row.cells
    while len(cells) > width and cells[-1] in (None, ""):
        cells = cells[:-1]
    return Row(row.line, cells + (None,) * (width - len(cells)))


def _invalid(path: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(path, message)])

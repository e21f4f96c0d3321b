"""Tables of a price list: a header and rows as wide as it, each with its line, so that every message can name it.

The file is read in a child process (`graph.guarded`); no meaning is read here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from typing import IO, Any

from graph.errors import InvalidInput, LimitExceeded, Problem
from graph.guarded.bounds import OWNER, Bounds
from graph.guarded.reader import Source, read
from graph.guarded.sheets import iter_rows

MOST_COLUMNS = 100
MOST_CHARACTERS = 2_000

Cell = str | int | float | date | None


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row with its line in the file (the header is on line 1)."""

    line: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class ReadTable:
    """A header and rows of the same width."""

    header: tuple[str, ...]
    rows: tuple[TableRow, ...]


def read_table(source: Source, name: str, bounds: Bounds = OWNER) -> ReadTable:
    """The table in a file called `name`: XLSX by its content, else CSV; a child reads it within the bounds.

    Raises InvalidInput, LimitExceeded, Busy.
    """
    rows = read(table_lines, source, name, {"items": bounds.items}, bounds)
    header = tuple(next(rows)[1])
    return ReadTable(header, tuple(TableRow(line, tuple(map(_plain, cells))) for line, cells in rows))


def table_lines(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[tuple[int, list[Any]]]:
    """The task for the child: header and rows, each with its line; a date as a list of its text. Given: items."""
    name, items = given["name"], given["items"]
    rows = (TableRow(row.line, tuple(map(_cell, row.cells))) for row in iter_rows(file, name))
    table = _table(islice(rows, items + 2), name)
    if len(table.rows) > items:
        raise LimitExceeded(f"{name}: more than {items:,} rows; split the list")
    yield 1, list(table.header)
    for row in table.rows:
        yield row.line, [[cell.isoformat()] if isinstance(cell, date) else cell for cell in row.cells]


def _plain(cell: Any) -> Cell:
    return date.fromisoformat(cell[0]) if isinstance(cell, list) else cell


def _cell(cell: object) -> Cell:
    if isinstance(cell, datetime):
        return cell.date()
    if cell is None or isinstance(cell, (str, int, float, date)):
        return cell
    return str(cell)


def _table(lines: Iterable[TableRow], name: str) -> ReadTable:
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
    return ReadTable(header, tuple(body))


def _padded(row: TableRow, width: int) -> TableRow:
    cells = row.cells
    while len(cells) > width and cells[-1] in (None, ""):
        cells = cells[:-1]
    return TableRow(row.line, cells + (None,) * (width - len(cells)))


def _invalid(path: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(path, message)])

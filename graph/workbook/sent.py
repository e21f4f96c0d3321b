"""A workbook as it was sent: its sheets, rows and cells, read in a child process, not yet understood."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import IO, Any

from graph.errors import LimitExceeded
from graph.guarded.bounds import Bounds
from graph.guarded.reader import Source, read
from graph.guarded.sheets import iter_book
from graph.workbook.plan import CHOICES, HOW_TO, LEFT_OUT


@dataclass(frozen=True, slots=True)
class SentRow:
    """A row as it was sent: its cells that say something, by place from 0."""

    number: int
    cells: Mapping[int, Any]


@dataclass(slots=True)
class SentSheet:
    """A sheet as it was sent."""

    title: str
    headers: list[str]
    rows: list[SentRow] = field(default_factory=list)


def book_lines(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[Any]:
    """The task for the child: per row its sheet, number and cells; a date as a list. Given: name, items."""
    rows = iter_book(file, given["name"], (HOW_TO, CHOICES, LEFT_OUT))
    for found, (title, row) in enumerate(rows, start=1):
        if found > given["items"]:
            raise LimitExceeded(f"{given['name']}: more than {given['items']:,} rows; split it")
        yield title, row.number, [_sendable(cell) for cell in row.cells]


def _sendable(cell: object) -> object:
    if isinstance(cell, datetime):
        return ["date", cell.date().isoformat() if cell.time() == datetime.min.time() else cell.isoformat()]
    if isinstance(cell, date):
        return ["date", cell.isoformat()]
    return cell if cell is None or isinstance(cell, (str, int, float, bool)) else ["time", str(cell)]


def read_book(source: Source, name: str, bounds: Bounds) -> list[SentSheet]:
    """The sheets of a workbook. Raises InvalidInput, LimitExceeded, Busy."""
    found: dict[str, SentSheet] = {}
    for title, number, cells in read(book_lines, source, name, {"items": bounds.items}, bounds):
        if title not in found:
            found[title] = SentSheet(title, [str(cell if cell is not None else "").strip() for cell in cells])
            continue
        headers = found[title].headers
        headers += [""] * (len(cells) - len(headers))
        filled = {place: cell for place, cell in enumerate(cells) if cell not in (None, "") and str(cell).strip()}
        found[title].rows.append(SentRow(number, filled))
    return list(found.values())

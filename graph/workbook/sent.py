"""A workbook as it was sent: its sheets, rows and cells, read in a child process, not yet understood."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from importlib import import_module
from typing import IO, Any

from graph.errors import Busy, LimitExceeded, Problem
from graph.guarded.bounds import Bounds
from graph.guarded.reader import Source, read
from graph.guarded.sheets import SheetFault, cell_place, iter_book
from graph.workbook.plan import CHOICES, HOW_TO, LEFT_OUT


@dataclass(frozen=True, slots=True)
class SentRow:
    """A row as it was sent: its cells that say something, by place from 0."""

    number: int
    cells: Mapping[int, Any]


@dataclass(slots=True)
class SentSheet:
    """A sheet as it was sent. `header_row`: which row its headers are."""

    title: str
    headers: list[str]
    header_row: int = 1
    rows: list[SentRow] = field(default_factory=list)


def book_lines(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[Any]:
    """The task for the child: per row its sheet, number and cells; a date as a list; a fault with number 0, and where
    it is, what it is, row and column instead of cells. Given: name, items."""
    found = 0
    for title, row in iter_book(file, given["name"], (HOW_TO, CHOICES, LEFT_OUT)):
        if isinstance(row, SheetFault):
            yield title, 0, [row.where, row.message, *row.cell]
            continue
        found += 1
        if found > given["items"]:
            raise LimitExceeded(f"{given['name']}: more than {given['items']:,} rows; split it")
        yield title, row.number, [_sendable(cell) for cell in row.cells]


def _sendable(cell: object) -> object:
    if isinstance(cell, datetime):
        return ["date", cell.date().isoformat() if cell.time() == datetime.min.time() else cell.isoformat()]
    if isinstance(cell, date):
        return ["date", cell.isoformat()]
    return cell if cell is None or isinstance(cell, (str, int, float, bool)) else ["time", str(cell)]


@dataclass(frozen=True, slots=True)
class SentBook:
    """A workbook as it was sent. `problems`: of cells as they stand, such as formulas; their rows come without them."""

    sheets: list[SentSheet]
    problems: list[Problem]


def nothing(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[Any]:
    """The task of a child that is made ready: it loads what reads a workbook, and says nothing."""
    import_module("openpyxl")
    yield from ()


def make_ready(bounds: Bounds) -> None:
    """Has a child loaded before the first workbook comes: on a busy machine that takes longer than to read one."""
    with suppress(Busy, LimitExceeded):
        list(read(nothing, b"", "nothing", {}, bounds))


def read_book(source: Source, name: str, bounds: Bounds) -> SentBook:
    """Raises InvalidInput for what is no workbook, LimitExceeded, Busy."""
    found: dict[str, SentSheet] = {}
    faults: list[tuple[str, list[Any]]] = []
    for title, number, cells in read(book_lines, source, name, {"items": bounds.items}, bounds):
        if not number:
            faults.append((title, cells))
            continue
        if title not in found:
            headers = [str(cell if cell is not None else "").strip() for cell in cells]
            found[title] = SentSheet(title, headers, number)
            continue
        headers = found[title].headers
        headers += [""] * (len(cells) - len(headers))
        filled = {place: cell for place, cell in enumerate(cells) if cell not in (None, "") and str(cell).strip()}
        found[title].rows.append(SentRow(number, filled))
    return SentBook(list(found.values()), [_problem(title, cells, found.get(title)) for title, cells in faults])


def _problem(title: str, fault: list[Any], sheet: SentSheet | None) -> Problem:
    where, message, row, column = fault
    if where:
        return Problem(f"sheet {title!r} {where}", message)
    headers = sheet.headers if sheet and row != sheet.header_row else []
    return Problem(cell_place(title, row, column, headers[column - 1] if column <= len(headers) else ""), message)

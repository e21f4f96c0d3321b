"""The workshop as a file, and the template, as whoever asks for one gets it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from graph.costing.known_names import KnownNames
from graph.costing.notes import MemoryNotes
from graph.costing.store import SqlNotes
from graph.errors import InvalidInput, Problem
from graph.ledger.notebook import Notebook
from graph.workbook.costs import cost_tables
from graph.workbook.known import read_known
from graph.workbook.rows import book_of, empty_book
from graph.workbook.xlsx import write_book

MOST_ROWS = 100_000


@dataclass(frozen=True, slots=True)
class WorkshopFile:
    """The XLSX file; how many rows it has; what it does not hold, a line each."""

    data: bytes
    rows: int
    left_out: tuple[str, ...]


def template_file(notebook: Notebook) -> bytes:
    """An empty workbook, which offers the names that are known."""
    known, empty = read_known(notebook), empty_book()
    return write_book(replace(empty, tables=(*empty.tables, *cost_tables(MemoryNotes(), known))), known)


def workshop_file(notebook: Notebook, *, whole: bool) -> WorkshopFile:
    """What the notes say; with `whole` also what the files of facts say. Raises InvalidInput where it is too much."""
    notebook.catalogue()  # so that it is known which notes are left out
    if whole and notebook.is_packed:
        told = (
            "the files of facts are so many that they are kept packed: take them as files, and the notes as a workbook"
        )
        raise InvalidInput([Problem("all", told)])
    known = read_known(notebook)
    book = book_of(known, whole=whole, hidden=notebook.hidden())
    strange: list[str] = []
    tables = cost_tables(SqlNotes(notebook.ledger), known, KnownNames(notebook.catalogue()), strange)
    book = replace(book, tables=(*book.tables, *tables), left_out=(*book.left_out, *strange))
    if book.row_count > MOST_ROWS:
        told = f"{book.row_count:,} rows, at most {MOST_ROWS:,} go into one workbook: export RDF instead"
        raise InvalidInput([Problem("workbook", told)])
    return WorkshopFile(write_book(book, known), book.row_count, book.left_out)

"""Which column of a sent sheet says what: by its header, with what was meant where no header is so."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from graph.catalogue.near import near_matches
from graph.errors import Problem
from graph.guarded.sheets import cell_place
from graph.workbook.known import Known, plain
from graph.workbook.plan import HOLES, ID, OWN, WHAT, WORDS, Sheet, SheetColumn, sheets
from graph.workbook.rows import own_column
from graph.workbook.sent import SentRow, SentSheet

ID_FORM = re.compile(r"[A-Za-z0-9][A-Za-z0-9._~-]*")


@dataclass(slots=True)
class ReadSheet:
    """A sheet with its columns found. `columns`, `words`, `fixed`: by place."""

    sheet: Sheet
    sent: SentSheet
    columns: dict[int, SheetColumn]
    words: dict[int, str]
    fixed: dict[str, int]

    def place(self, row: int, at: int) -> str:
        return cell_place(self.sent.title, row, at + 1, self.sent.headers[at])

    def cell(self, row: SentRow, name: str) -> str:
        """The text of a cell that is no property's."""
        cell = row.cells.get(self.fixed[name]) if name in self.fixed else None
        return "" if cell is None else str(cell).strip()


def columns_of(
    known: Known, sent: SentSheet, problems: list[Problem], beside: Sequence[str] = ()
) -> ReadSheet | None:  # fmt: skip
    """The sheet with its columns found; None, with a problem, where it is none or has no headers. `beside`: titles of
    sheets that are read elsewhere, one of which may have been meant."""
    titles = {plain(sheet.title): sheet for sheet in sheets()}
    sheet = titles.get(plain(sent.title))
    if sheet is None:
        near = _meant(sent.title, [*(one.title for one in sheets()), *beside])
        hint = f"; did you mean {near!r}?" if near else ";"
        told = f"is none of this workbook's sheets{hint} rename it or delete it"
        problems.append(Problem(f"sheet {sent.title!r}", told))
        return None
    if _has_no_headers(sheet, sent):
        told = f"row {sent.header_row} holds no header of this sheet: put its headers there, such as"
        told += f" {', '.join(column.header for column in sheet.columns[:4])}; rows under it are not read yet"
        problems.append(Problem(f"sheet {sent.title!r}", told))
        return None
    read = ReadSheet(sheet, sent, {}, {}, {})
    headers = {plain(column.header): column for column in sheet.columns}
    words = {} if sheet.title == HOLES else {plain(header): name for name, header in WORDS.items()}
    for at, header in enumerate(sent.headers):
        if header:
            _find_column(known, read, at, headers, words, problems)
        elif row := next((row for row in sent.rows if at in row.cells), None):
            told = f"this column has no header in row {sent.header_row}"
            problems.append(Problem(read.place(row.number, at), told))
    return read


def _find_column(
    known: Known, read: ReadSheet, at: int, headers: Mapping[str, SheetColumn], words: Mapping[str, str],
    problems: list[Problem],
) -> None:  # fmt: skip
    """What the column holds, by its header, put on `read`; a problem where it holds nothing that this sheet has.
    `headers`, `words`: what the sheet's columns of either sort are headed."""
    sent, header = read.sent, read.sent.headers[at]
    where, said = read.place(sent.header_row, at), plain(header)
    if said in map(plain, sent.headers[:at]):
        problems.append(Problem(where, "two columns have this header; leave one of them"))
    elif said in (ID, WHAT):
        read.fixed[said] = at
    elif said in headers:
        read.columns[at] = headers[said]
    elif said in words:
        read.words[at] = words[said]
    elif said.startswith(OWN.strip()):
        column = _own(known, header, problems, where)
        if column:
            read.columns[at] = column
    else:
        alike = near_matches(said, [*headers, *words])
        hint = f"; did you mean {alike[0]!r}?" if alike else ""
        told = f"no column is headed so on this sheet{hint}; for a property of your own write {OWN}{header[:40]}"
        problems.append(Problem(where, told))


def _meant(title: str, titles: Sequence[str]) -> str:
    """The title that was meant: first one that differs by spaces and the like alone; empty where none looks like it."""
    squeezed = {re.sub(r"[\W_]", "", one).casefold(): one for one in titles}
    said = re.sub(r"[\W_]", "", title).casefold()
    near = [said] if said in squeezed else near_matches(said, squeezed)
    return squeezed[near[0]] if near else ""


def _has_no_headers(sheet: Sheet, sent: SentSheet) -> bool:
    headers = {plain(column.header) for column in sheet.columns} | set(map(plain, WORDS.values())) | {ID, WHAT}
    said = [plain(one) for one in sent.headers if one]
    return bool(said) and not any(one in headers or one.startswith(OWN.strip()) for one in said)


def _own(known: Known, header: str, problems: list[Problem], where: str) -> SheetColumn | None:
    name = header[len(OWN.strip()) :].strip()
    if "://" in name:
        return own_column(name, name)
    slug = re.sub(r"\s+", "-", name)
    if not ID_FORM.fullmatch(slug):
        problems.append(Problem(where, "expected a name of letters and digits after 'own:'"))
        return None
    return own_column(slug, known.base + slug)

"""Does the ledger still say what was written? Nothing is changed for it, so media that can only be read will do.

Checked in one state of the ledger: the database's own pages, every line and the chain, the head, checkpoints that were
kept outside, what lines vouch for (notes of cost, attachments), the keys of requests, and the content of every
attachment. What cannot be read is a fault as well.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, func, inspect, select
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError

from graph.errors import InvalidInput, Problem
from graph.ledger import schema
from graph.ledger.book import Ledger
from graph.ledger.covered import CoveredRows
from graph.ledger.database import DamagedDatabase, one_state, opened_read_only
from graph.ledger.identity import digest
from graph.ledger.record import ACTIONS, GENESIS, Entry, chained_hash

MAX_FAULTS = 100
BATCH = 1_000
TOLD_EVERY = 2_000
Tell = Callable[[str, int, int], None]  # what is being checked, how far, of how many
_CHECKPOINT = re.compile(r"\b(\d{1,18}):([0-9a-f]{64})\b")


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A position and its hash, kept outside the ledger (in a file, a backup, on paper)."""

    position: int
    hash: str

    def __str__(self) -> str:
        return f"{self.position}:{self.hash}"


@dataclass(frozen=True, slots=True)
class Report:
    """What `verify` found. `faults` is empty for a sound ledger; `checkpoint` is worth writing down."""

    lines: int
    checkpoint: Checkpoint
    faults: tuple[Problem, ...]
    attachments: int = 0

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def parse_checkpoint(text: str) -> Checkpoint:
    """The one checkpoint in a text, `POSITION:HASH` or a line of a file or QR code. Raises InvalidInput."""
    found = _CHECKPOINT.findall(text)
    if len(found) != 1:
        message = f"expected POSITION:HASH as verify prints it, or a checkpoint's line, found {text[:200]!r}"
        raise InvalidInput([Problem("checkpoint", message)])
    return Checkpoint(int(found[0][0]), found[0][1])


def read_checkpoints(text_or_file: str) -> list[Checkpoint]:
    """Every checkpoint in a file, or the one that the text itself is. Raises InvalidInput."""
    path = Path(text_or_file)
    if _CHECKPOINT.search(text_or_file) or not path.is_file():
        return [parse_checkpoint(text_or_file)]
    found = [Checkpoint(int(one[1]), one[2]) for one in _CHECKPOINT.finditer(path.read_text(errors="replace"))]
    if not found:
        raise InvalidInput([Problem(str(path), "holds no checkpoint (POSITION:HASH)")])
    return found


def verify(ledger: Ledger, since: Sequence[Checkpoint] = (), tell: Tell | None = None) -> Report:
    """Reads the whole ledger. `since`: checkpoints from outside, which also show a cut and rewritten tail.

    Raises StoreProblem if it cannot be opened.
    """
    return verify_database(ledger.engine.url, since, tell)


def verify_database(
    url: str | URL, since: Sequence[Checkpoint] = (), tell: Tell | None = None, *, still: bool = False
) -> Report:  # fmt: skip
    """The same for a ledger that nobody has opened. `still`: nobody writes it; then nothing is made beside it."""
    try:
        with opened_read_only(url, still=still) as engine:
            return verify_engine(engine, since, tell)
    except DamagedDatabase as error:  # so much that it cannot even be opened
        why = getattr(error.__cause__, "orig", error)
        return Report(0, Checkpoint(0, GENESIS), (Problem("pages", f"cannot be read: {why}"),))


def verify_engine(engine: Engine, since: Sequence[Checkpoint] = (), tell: Tell | None = None) -> Report:
    """The same over an engine that reads only."""
    with one_state(engine) as connection:
        check = _Check(connection, tell or (lambda what, done, of: None), {one.position: one.hash for one in since})
        return check.run(since)


@dataclass(slots=True)
class _Check:
    connection: Connection
    tell: Tell
    kept: dict[int, str]
    faults: list[Problem] = field(default_factory=list)
    last: Checkpoint = Checkpoint(0, GENESIS)
    lines: int = 0
    attachments: int = 0
    broken: bool = False  # the lines could not be read to their end
    revisions: dict[str, int] = field(default_factory=dict)
    seen: dict[int, str] = field(default_factory=dict)  # hashes found at the positions of checkpoints

    def run(self, since: Sequence[Checkpoint]) -> Report:
        """Everything, in order; the first faults are the ones to look at."""
        known = set(inspect(self.connection).get_table_names())
        vouches = "covers" in _columns(self.connection)  # an earlier schema's lines spoke for themselves alone
        self._take("pages", self._pages())
        self._take("lines", self._lines())
        if not self.broken:
            self._take("head", _head_faults(self.connection, self.last))
            self._take("checkpoint", self._since(since))
        if vouches and not self.broken:
            self._take("notes of cost", self._covered())
        for table, rows in ((schema.idempotency_keys, self._keys), (schema.attachments, self._attachments)):
            if table.name in known:
                self._take(table.name.replace("_", " "), rows())
        return Report(self.lines, self.last, tuple(self.faults), self.attachments)

    def _take(self, where: str, found: Iterator[Problem]) -> None:
        try:
            for fault in found:
                if len(self.faults) >= MAX_FAULTS:
                    return
                self.faults.append(fault)
        except DBAPIError as error:
            at = f"line {self.last.position + 1} and what follows" if where == "lines" else where
            self.broken = self.broken or where == "lines"
            self.faults.append(Problem(at, f"cannot be read: {error.orig}"))

    def _pages(self) -> Iterator[Problem]:
        """SQLite's own look at every page and index of its file (sqlite.org/pragma.html#pragma_integrity_check)."""
        if self.connection.dialect.name != "sqlite":
            return
        pages = int(self.connection.exec_driver_sql("PRAGMA page_count").scalar() or 0)
        self.tell("pages", 0, pages)
        for (text,) in self.connection.exec_driver_sql(f"PRAGMA integrity_check({MAX_FAULTS})"):
            yield from (Problem("pages", line) for line in str(text).splitlines() if line not in ("ok", _OF_MAIN))
        self.tell("pages", pages, pages)

    def _lines(self) -> Iterator[Problem]:
        if 0 in self.kept:
            self.seen[0] = GENESIS
        of = int(self.connection.scalar(select(func.max(schema.entries.c.position))) or 0)
        query = _entries_of(self.connection).order_by(schema.entries.c.position)
        with self.connection.execution_options(yield_per=BATCH).execute(query) as rows:
            for row in rows.mappings():
                yield from self.line(row)
                if self.lines % TOLD_EVERY == 0 or self.lines == of:
                    self.tell("lines", self.lines, of)

    def line(self, row: RowMapping) -> Iterator[Problem]:
        """One line, which must follow from the one before it."""
        entry = _entry_of(row)
        if entry is None:
            yield Problem(f"line {row['position']}", "was changed after it was written: it cannot be read as a line")
        else:
            yield from _line_faults(entry, self.last, self.revisions)
            self.revisions[entry.note_id] = entry.revision
        self.last, self.lines = Checkpoint(row["position"], row["hash"]), self.lines + 1
        if row["position"] in self.kept:
            self.seen[row["position"]] = row["hash"]

    def _covered(self) -> Iterator[Problem]:
        column = schema.entries.c
        rows = CoveredRows(self.connection)
        of = int(self.connection.scalar(select(func.count()).where(column.covers != "")) or 0)
        query = select(schema.entries).where(column.covers != "").order_by(column.position)
        with self.connection.execution_options(yield_per=BATCH).execute(query) as found:
            for done, row in enumerate(found.mappings(), start=1):
                entry = _entry_of(row)
                if entry is not None:
                    yield from rows.faults_of(entry)
                self.tell("notes of cost", done, of)
        yield from rows.faults_after()

    def _since(self, since: Sequence[Checkpoint]) -> Iterator[Problem]:
        for kept in since:
            found = self.seen.get(kept.position, "")
            if found != kept.hash:
                what = f"the ledger has {found[:12]}…" if found else "the ledger has no such line"
                yield Problem(f"checkpoint {kept.position}", f"{what}: it was cut or rewritten since")

    def _keys(self) -> Iterator[Problem]:
        column = schema.idempotency_keys.c
        wrong = (column.first_position < 1) | (column.last_position < column.first_position)
        query = select(column.key).where(wrong | (column.last_position > self.last.position)).limit(MAX_FAULTS)
        for key in self.connection.scalars(query):
            yield Problem(f"key {key}", "names lines that the ledger does not have")

    def _attachments(self) -> Iterator[Problem]:
        column = schema.attachments.c
        of = int(self.connection.scalar(select(func.count()).select_from(schema.attachments)) or 0)
        query = select(column.hash, column.size, column.content)
        with self.connection.execution_options(yield_per=1).execute(query) as rows:
            for key, size, content in rows:
                self.attachments += 1
                if not isinstance(content, bytes) or digest(content) != key or len(content) != size:
                    yield Problem(f"attachment {key[:12]}…", "is not the file that was kept: its content was changed")
                self.tell("attachments", self.attachments, of)


def newest_line_faults(connection: Connection, count: int) -> Iterator[Problem]:
    """What is wrong with the newest lines and the head; the line before them is taken as it stands."""
    column = schema.entries.c
    newest = int(connection.scalar(select(func.max(column.position))) or 0)
    query = _entries_of(connection).where(column.position >= newest - count).order_by(column.position)
    check = _Check(connection, lambda what, done, of: None, {})
    for row in connection.execute(query).mappings():
        if check.lines == 0 and row["position"] > 1:
            check.last, check.lines = Checkpoint(row["position"], row["hash"]), 1
        else:
            yield from check.line(row)
    yield from _head_faults(connection, check.last)


def _head_faults(connection: Connection, last: Checkpoint) -> Iterator[Problem]:
    row = connection.execute(select(schema.head)).mappings().first()
    if row is None:
        if last.position:
            yield Problem("head", f"is gone, though the last line found is {last.position}: somebody emptied it")
    elif row["position"] > last.position:
        where = f"the ledger was at line {row['position']}, the last line found is {last.position}"
        yield Problem("head", f"{where}: the tail was cut")
    elif row["position"] < last.position:
        where = f"says that the ledger ends at line {row['position']}, the last line found is {last.position}"
        yield Problem("head", f"{where}: the head was set back, or lines were added behind its back")
    elif row["hash"] != last.hash:
        yield Problem("head", f"line {last.position} is not the one that the head names")


def _columns(connection: Connection) -> set[str]:
    return {column["name"] for column in inspect(connection).get_columns(schema.entries.name)}


def _entries_of(connection: Connection) -> Select[Any]:
    """The lines with the columns that they have: a backup may be older than this program."""
    known = _columns(connection)
    return select(*(column for column in schema.entries.c if column.name in known))


_OF_MAIN = "*** in database main ***"


def _entry_of(row: RowMapping) -> Entry | None:
    """The line; None if what stands there cannot be one."""
    try:
        return Entry(**{**row, "settles": tuple(json.loads(row["settles"]))})
    except (ValueError, TypeError):
        return None


def _line_faults(entry: Entry, last: Checkpoint, revisions: dict[str, int]) -> Iterator[Problem]:
    where = f"line {entry.position}"
    if entry.position != last.position + 1:
        yield Problem(where, f"follows line {last.position}: lines are missing")
    if entry.previous_hash != last.hash:
        yield Problem(where, "does not follow from the line before it: the chain is broken here")
    if _hash_now(entry) != entry.hash:
        yield Problem(where, f"note {entry.note_id} was changed after it was written")
    if entry.action not in ACTIONS:
        yield Problem(where, f"unknown action {entry.action!r}")
    if entry.revision <= revisions.get(entry.note_id, 0):
        yield Problem(where, f"revision {entry.revision} of note {entry.note_id} comes out of order")


def _hash_now(entry: Entry) -> str:
    """The hash that the line must carry; empty where a damaged text has no bytes to take it over."""
    try:
        return chained_hash(entry.previous_hash, entry)
    except (ValueError, TypeError):
        return ""

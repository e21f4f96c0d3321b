"""Cost notes in the shop's ledger: SQLite on a file, or PostgreSQL by its address.

An append is one line of the ledger that vouches for all its notes (graph/ledger/covered.py), and with it, where a job
was closed or looked back on, a readable note: one transaction, on the disk before `append` returns.
Notes are never changed and never deleted; a note that takes others back is one more line.
"""

from __future__ import annotations

import json
import sqlite3
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import fields
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, func, select
from sqlalchemy.exc import IntegrityError

from graph.costing.admission import admit, check_cost_notes
from graph.costing.notes import RETRACTION, CostNote
from graph.costing.told import draft_of_retraction, drafts_of_batches, line_of
from graph.errors import Conflict
from graph.ledger.book import Ledger
from graph.ledger.covered import numbered
from graph.ledger.database import open_database, reading, sqlite_url
from graph.ledger.drafts import check_draft
from graph.ledger.identity import id_for, new_id, note_iri
from graph.ledger.lines import Appending, LineValues, find_newest, line_values
from graph.ledger.record import COST, NOTE, RETRACT, Draft
from graph.ledger.schema import cost_notes

_TEXTS = tuple(each.name for each in fields(CostNote) if each.name != "body")
_FILTERS = ("kind", "about", "job", "batch")


class SqlNotes:
    """The notes of cost of a ledger. See `graph.costing.notes.CostNotes`."""

    def __init__(self, ledger: Ledger):
        self.ledger = ledger

    @classmethod
    def on_file(cls, path: Path) -> SqlNotes:
        """Notes in an SQLite file, made if it is not there."""
        return cls.on_database(sqlite_url(path))

    @classmethod
    def on_database(cls, url: str) -> SqlNotes:
        """Notes in the ledger's database of that address. Raises InvalidInput, StoreProblem."""
        return cls(Ledger(open_database(url)))

    def append(self, notes: Sequence[CostNote]) -> None:
        """See CostNotes. Raises InvalidInput besides, for a text that may not be kept; Conflict and NotFound where
        another writer was first with a job's number, its closing, or what is taken back."""
        if not notes:
            return
        rows = [_row(note) for note in notes]
        check_cost_notes(notes, rows)
        line = self._line(notes, rows)
        with self._appending() as under_lock:
            admit(_Within(under_lock.connection), notes)
            under_lock.write([line, *self._told(under_lock, notes)])

    def line_of(self, notes: Sequence[CostNote]) -> LineValues:
        """The line that keeps them, for whoever writes it among others of the ledger; none of a job's. Raises
        InvalidInput for a text that may not be kept."""
        rows = [_row(note) for note in notes]
        check_cost_notes(notes, rows)
        return self._line(notes, rows)

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """See CostNotes."""
        return self.at(None).list_notes(kind=kind, about=about, job=job, batch=batch)

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        """See CostNotes."""
        return self.at(None).list_since(position, kinds)

    def position(self, kinds: Sequence[str] = ()) -> int:
        """See CostNotes: the ledger's position where the last of them stands."""
        return self.at(None).position(kinds)

    def at(self, position: int | None) -> NotesAt:
        """The notes as they stood at a position of the ledger; None: as they stand."""
        return NotesAt(self.ledger, position)

    def take_over(self, path: Path) -> int:
        """Copies the notes of a file of their own, as earlier versions kept them, once; hands back how many came.

        Nothing is done if there is no such file or this ledger has notes of cost already. The file stays as it is.
        """
        if not path.is_file() or self.position():
            return 0
        with _copied(path) as old:
            notes = old.list_notes()
        if not notes:
            return 0
        with self._appending() as under_lock:
            if _Within(under_lock.connection).position():  # another process took them over meanwhile
                return 0
            under_lock.write([self._line(notes, [_row(note) for note in notes], f"Taken over from {path.name}: ")])
        return len(notes)

    def close(self) -> None:
        """Lets go of the database."""
        self.ledger.engine.dispose()

    @contextmanager
    def _appending(self) -> Iterator[Appending]:
        try:
            with self.ledger.appending() as under_lock:
                yield under_lock
        except IntegrityError:
            raise Conflict("a note with one of these ids is there already; nothing was kept") from None

    def _told(self, under_lock: Appending, notes: Sequence[CostNote]) -> list[LineValues]:
        """The lines of readable notes that come, and go, with the notes."""
        lines = []
        for batch, draft in drafts_of_batches(notes).items():
            lines.append(self._note_line(id_for(batch), 1, NOTE, draft))
        for note in notes:
            told = find_newest(under_lock.connection, id_for(note.retracts)) if note.kind == RETRACTION else None
            if told is not None and not told.retracted:
                draft = draft_of_retraction(note)
                lines.append(self._note_line(told.note_id, told.revision + 1, RETRACT, draft))
        return lines

    def _line(self, notes: Sequence[CostNote], rows: Sequence[dict[str, str]], prefix: str = "") -> LineValues:
        made, covers = numbered(rows)
        name = new_id()
        line = line_values(name, f"{self.ledger.base}costs/{name}", 1, COST, line_of(notes, prefix))
        return line | {"covers": covers, "rows": made}

    def _note_line(self, note_id: str, revision: int, action: str, draft: Draft) -> LineValues:
        check_draft(draft, self.ledger.levels)
        return line_values(note_id, note_iri(self.ledger.base, note_id), revision, action, draft)


class NotesAt:
    """The notes of cost of a ledger at one position. See `graph.costing.notes.CostNotes`; the past takes no more."""

    def __init__(self, ledger: Ledger, as_of: int | None):
        self._ledger, self._as_of = ledger, as_of

    def append(self, notes: Sequence[CostNote]) -> None:
        """Raises Conflict: what stood then is not added to."""
        raise Conflict("the past is not added to: keep notes where they stand now")

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """See CostNotes."""
        wanted = {"kind": kind, "about": about, "job": job, "batch": batch}
        with reading(self._ledger.engine) as connection:
            return _listed(connection, wanted, self._as_of)

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        """See CostNotes."""
        query = _until(select(cost_notes).where(cost_notes.c.position > position), self._as_of)
        query = query.where(cost_notes.c.kind.in_(kinds)).order_by(cost_notes.c.position, cost_notes.c.number)
        with reading(self._ledger.engine) as connection:
            rows = connection.execute(query).mappings().all()
        return [_note_of(row) for row in rows], rows[-1]["position"] if rows else position

    def position(self, kinds: Sequence[str] = ()) -> int:
        """See CostNotes."""
        with reading(self._ledger.engine) as connection:
            return _position(connection, kinds, self._as_of)


class _Within:
    """The notes as a transaction sees them."""

    def __init__(self, connection: Connection):
        self._connection = connection

    def append(self, notes: Sequence[CostNote]) -> None:
        raise NotImplementedError

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        return _listed(self._connection, {"kind": kind, "about": about, "job": job, "batch": batch}, None)

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        raise NotImplementedError

    def position(self, kinds: Sequence[str] = ()) -> int:
        return _position(self._connection, kinds, None)


@contextmanager
def _copied(path: Path) -> Iterator[SqlNotes]:
    """The notes of a file, read from a copy that is brought up to date and thrown away."""
    with tempfile.TemporaryDirectory(prefix="layshaft-costs-") as folder:
        copy = Path(folder) / path.name
        with (
            closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as old,
            closing(sqlite3.connect(copy)) as new,
        ):
            old.backup(new)
        notes = SqlNotes.on_file(copy)
        try:
            yield notes
        finally:
            notes.close()


def _row(note: CostNote) -> dict[str, str]:
    texts = {name: getattr(note, name) for name in _TEXTS}
    return {**texts, "body": json.dumps(dict(note.body), sort_keys=True)}


def _listed(connection: Connection, wanted: dict[str, str], as_of: int | None) -> list[CostNote]:
    query = _until(select(cost_notes), as_of).order_by(cost_notes.c.position, cost_notes.c.number)
    for name in _FILTERS:
        if wanted[name]:
            query = query.where(cost_notes.c[name] == wanted[name])
    return [_note_of(row) for row in connection.execute(query).mappings()]


def _position(connection: Connection, kinds: Sequence[str], as_of: int | None) -> int:
    query = _until(select(func.max(cost_notes.c.position)), as_of)
    if kinds:
        query = query.where(cost_notes.c.kind.in_(kinds))
    return connection.execute(query).scalar() or 0


def _until(query: Select[Any], as_of: int | None) -> Select[Any]:
    return query if as_of is None else query.where(cost_notes.c.position <= as_of)


def _note_of(row: RowMapping) -> CostNote:
    return CostNote(**{name: row[name] for name in _TEXTS}, body=json.loads(row["body"]))

"""Cost notes in the shop's database, beside the ledger's lines: SQLite on a file, or PostgreSQL by its address.

An append is one transaction, on the disk before `append` returns; rows are never changed and never deleted. The tables
are made by the ledger's migrations, so that one database, and one backup, holds all that the shop knows.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, func, insert, select
from sqlalchemy.exc import IntegrityError

from graph.costing.notes import CostNote
from graph.errors import Conflict
from graph.ledger.database import open_database, reading, sqlite_url, writing
from graph.ledger.schema import cost_notes

_TEXTS = tuple(each.name for each in fields(CostNote) if each.name != "body")
_LOCK = 4719872  # PostgreSQL: writers take turns, so that positions are seen in the order in which they are given


class SqlNotes:
    """Notes in a database whose schema is up to date. See `graph.costing.notes.CostNotes`."""

    def __init__(self, engine: Engine):
        self._engine = engine

    @classmethod
    def on_file(cls, path: Path) -> SqlNotes:
        """Notes in an SQLite file, a ledger's or one of their own, made if it is not there."""
        return cls(open_database(sqlite_url(path)))

    @classmethod
    def on_database(cls, url: str) -> SqlNotes:
        """Notes in the database of that address. Raises InvalidInput, StoreProblem."""
        return cls(open_database(url))

    def append(self, notes: Sequence[CostNote]) -> None:
        """See CostNotes."""
        if not notes:
            return
        try:
            with writing(self._engine) as connection:
                first = _next_position(connection)
                connection.execute(insert(cost_notes), [_row(first + at, note) for at, note in enumerate(notes)])
        except IntegrityError:
            raise Conflict("a note with one of these ids is there already; nothing was kept") from None

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """See CostNotes."""
        query = select(cost_notes).order_by(cost_notes.c.seq)
        for name, value in (("kind", kind), ("about", about), ("job", job), ("batch", batch)):
            if value:
                query = query.where(cost_notes.c[name] == value)
        with reading(self._engine) as connection:
            return list(_read(connection, query))

    def list_since(self, position: int, kinds: Sequence[str]) -> tuple[list[CostNote], int]:
        """See CostNotes."""
        column = cost_notes.c.seq
        query = select(cost_notes).where(column > position, cost_notes.c.kind.in_(kinds)).order_by(column)
        with reading(self._engine) as connection:
            rows = connection.execute(query).mappings().all()
        return [_note_of(row) for row in rows], rows[-1]["seq"] if rows else position

    def position(self, kinds: Sequence[str] = ()) -> int:
        """See CostNotes."""
        query = select(func.max(cost_notes.c.seq))
        if kinds:
            query = query.where(cost_notes.c.kind.in_(kinds))
        with reading(self._engine) as connection:
            return connection.execute(query).scalar() or 0

    def take_over(self, path: Path) -> int:
        """Copies the notes of a file of their own, as earlier versions kept them, once; hands back how many came.

        Nothing is done if there is no such file or this database has notes of cost already.
        """
        if not path.is_file() or self.position():
            return 0
        with opened(path) as old:
            notes = old.list_notes()
        self.append(notes)
        return len(notes)

    def close(self) -> None:
        """Lets go of the database."""
        self._engine.dispose()


@contextmanager
def opened(path: Path) -> Iterator[SqlNotes]:
    """The notes of a file, closed afterwards."""
    notes = SqlNotes.on_file(path)
    try:
        yield notes
    finally:
        notes.close()


def _next_position(connection: Connection) -> int:
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")
    return (connection.execute(select(func.max(cost_notes.c.seq))).scalar() or 0) + 1


def _row(position: int, note: CostNote) -> dict[str, object]:
    texts = {name: getattr(note, name) for name in _TEXTS}
    return {"seq": position, **texts, "body": json.dumps(dict(note.body), sort_keys=True)}


def _read(connection: Connection, query: Select[Any]) -> Iterator[CostNote]:
    return map(_note_of, connection.execute(query).mappings())


def _note_of(row: RowMapping) -> CostNote:
    return CostNote(**{name: row[name] for name in _TEXTS}, body=json.loads(row["body"]))

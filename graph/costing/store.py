"""Cost notes in a database, through SQLAlchemy: one append-only table, SQLite on a file unless told otherwise.

An insert is one transaction, synced before `append` returns; rows are never changed and never deleted.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path

from sqlalchemy import (
    Column,
    Connection,
    Engine,
    Integer,
    MetaData,
    Table,
    Text,
    create_engine,
    event,
    func,
    insert,
    select,
)
from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from graph.costing.notes import CostNote
from graph.errors import Conflict, StoreProblem

_metadata = MetaData()
_notes = Table(
    "cost_notes",
    _metadata,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("kind", Text, nullable=False, index=True),
    Column("about", Text, nullable=False, index=True),
    Column("body", Text, nullable=False),
    Column("made_on", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("method", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("job", Text, nullable=False, index=True),
    Column("batch", Text, nullable=False, index=True),
    Column("retracts", Text, nullable=False),
)


_TEXTS = tuple(each.name for each in fields(CostNote) if each.name != "body")


class SqlNotes:
    """Notes behind a database URL (`sqlite:///costs.db`). See `graph.costing.notes.CostNotes`."""

    def __init__(self, url: str):
        self._engine: Engine = create_engine(url)
        if self._engine.dialect.name == "sqlite":
            event.listen(self._engine, "connect", _sync_fully)
        try:
            _metadata.create_all(self._engine)
        except SQLAlchemyError as fault:
            raise StoreProblem(f"the cost notes cannot be opened at {self._engine.url!r}: {fault}") from fault

    @classmethod
    def on_file(cls, path: Path) -> SqlNotes:
        """Notes in an SQLite file, made if it is not there."""
        return cls(f"sqlite:///{path}")

    def append(self, notes: Sequence[CostNote]) -> None:
        """See CostNotes."""
        rows = [
            {**{name: getattr(note, name) for name in _TEXTS}, "body": json.dumps(dict(note.body), sort_keys=True)}
            for note in notes
        ]
        if not rows:
            return
        try:
            with self._engine.begin() as connection:
                connection.execute(insert(_notes), rows)
        except IntegrityError:
            raise Conflict("a note with one of these ids is there already; nothing was kept") from None
        except DBAPIError as fault:
            raise StoreProblem(f"the cost notes were not kept, none of them: {fault.orig}") from fault

    def list_notes(self, *, kind: str = "", about: str = "", job: str = "", batch: str = "") -> list[CostNote]:
        """See CostNotes."""
        query = select(_notes).order_by(_notes.c.seq)
        for name, value in (("kind", kind), ("about", about), ("job", job), ("batch", batch)):
            if value:
                query = query.where(_notes.c[name] == value)
        with self._engine.connect() as connection:
            return _read(connection, query)

    def position(self, kinds: Sequence[str] = ()) -> int:
        """See CostNotes."""
        query = select(func.max(_notes.c.seq))
        if kinds:
            query = query.where(_notes.c.kind.in_(kinds))
        with self._engine.connect() as connection:
            return connection.execute(query).scalar() or 0

    def close(self) -> None:
        """Lets go of the database."""
        self._engine.dispose()


def _read(connection: Connection, query) -> list[CostNote]:  # type: ignore[no-untyped-def]
    notes = []
    for row in connection.execute(query).mappings():
        texts = {name: row[name] for name in _TEXTS}
        notes.append(CostNote(**texts, body=json.loads(row["body"])))
    return notes


def _sync_fully(connection: object, _record: object) -> None:
    cursor = connection.cursor()  # type: ignore[attr-defined]
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "busy_timeout=10000"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()

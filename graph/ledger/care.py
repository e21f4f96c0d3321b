"""Backup and restore: a verified copy of the whole ledger in one SQLite file, whatever database it comes from.

A backup is read in one transaction, so it is consistent while others write. Both ends are verified: a backup that
does not verify is not kept, a restore goes only into an empty database and is checked against the backup's hash. A
backup is one plain file without a log beside it: it is read where it lies, and never written.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import Connection, Engine, Table, inspect, select

from graph.errors import Conflict, InvalidInput, Problem, StoreProblem
from graph.ledger import schema
from graph.ledger.book import Ledger
from graph.ledger.database import (
    one_state,
    open_database,
    opened_read_only,
    reading,
    schema_of,
    sqlite_url,
    writing,
)
from graph.ledger.disk import full_words, means_full
from graph.ledger.verify import Report, Tell, verify_database

BATCH = 1_000
LARGE = (schema.attachments.name,)  # tables whose rows may be tens of megabytes: one at a time


def backup(ledger: Ledger, path: Path, tell: Tell | None = None) -> Report:
    """Writes the ledger to a new file and verifies it. Raises InvalidInput if the file exists, StoreProblem."""
    if path.exists():
        raise InvalidInput([Problem(str(path), "exists already; name a new file, so no older backup is lost")])
    unfinished = path.with_name(path.name + ".unfinished")
    with _plain_words(path):
        _remove(unfinished)
        try:
            with one_state(ledger.engine) as reader:
                _copy(reader, sqlite_url(unfinished))
            _make_plain(unfinished)
            report = verify_database(sqlite_url(unfinished), tell=tell, still=True)
            if not report.sound:
                raise StoreProblem(f"the copy does not verify ({report.faults[0]}); run `python -m graph verify`")
            _put_in_place(unfinished, path)
        finally:
            _remove(unfinished)
    return report


def restore(path: Path, url: str, tell: Tell | None = None) -> Report:
    """Fills an empty database from a backup and verifies it. Raises Conflict where there are notes already."""
    if not path.is_file():
        raise InvalidInput([Problem(str(path), "no such backup file")])
    kept = verify_database(sqlite_url(path), tell=tell, still=True)
    if not kept.sound:
        raise StoreProblem(f"{path} does not verify ({kept.faults[0]}); take another backup")
    with (
        opened_read_only(sqlite_url(path), still=True) as source,
        _of_this_schema(source) as current,
        one_state(current) as reader,
    ):
        _copy(reader, url, only_if_empty=True)
    report = verify_database(url, [kept.checkpoint], tell)
    if not report.sound:
        raise StoreProblem(f"what was restored is not what the backup holds ({report.faults[0]})")
    return report


def _copy(reader: Connection, url: str, only_if_empty: bool = False) -> None:
    target = open_database(url)
    try:
        if only_if_empty and _position(target):
            raise Conflict(f"{target.url.render_as_string()} holds notes already; restore into an empty database")
        known = set(inspect(reader).get_table_names())
        with writing(target) as writer:
            writer.execute(schema.head.delete())
            for table in schema.metadata.sorted_tables:
                if table.name in known and table.name not in schema.PASSING:
                    _copy_table(reader, writer, table)
    finally:
        target.dispose()  # folds SQLite's write-ahead file into the one file


def _copy_table(reader: Connection, writer: Connection, table: Table) -> None:
    size = 1 if table.name in LARGE else BATCH
    with reader.execution_options(yield_per=size).execute(select(table)) as rows:
        for group in rows.mappings().partitions(size):
            writer.execute(table.insert(), [dict(row) for row in group])


@contextmanager
def _of_this_schema(source: Engine) -> Iterator[Engine]:
    """The backup itself, or a copy of it that was brought up to this program's schema."""
    with reading(source) as connection:
        found = schema_of(connection)
    if found == schema.REVISION:
        yield source
        return
    with TemporaryDirectory(prefix="layshaft-restore-") as folder:
        copy = Path(folder) / "ledger.db"
        with closing(source.raw_connection()) as reading_it, closing(sqlite3.connect(copy)) as writing_it:
            reading_it.driver_connection.backup(writing_it)  # type: ignore[union-attr]
        open_database(sqlite_url(copy)).dispose()
        with opened_read_only(sqlite_url(copy), still=True) as current:
            yield current


def _make_plain(path: Path) -> None:
    """Ends the write-ahead mode, in which even reading a file wants to write beside it."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")


def _put_in_place(unfinished: Path, path: Path) -> None:
    """The name is on the disk as well as the file when this returns."""
    os.replace(unfinished, path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


@contextmanager
def _plain_words(path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, sqlite3.Error) as error:
        if means_full(error):
            raise StoreProblem(f"{full_words(path)}: no backup was made") from error
        raise StoreProblem(f"{path} could not be written ({error}): no backup was made") from error


def _position(engine: Engine) -> int:
    with reading(engine) as connection:
        return int(connection.scalar(select(schema.head.c.position)) or 0)


def _remove(path: Path) -> None:
    for suffix in ("", "-wal", "-shm", ".lock"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)

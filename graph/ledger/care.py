"""Backup and restore: a verified copy of the whole ledger in one SQLite file, whatever database it comes from.

A backup is read in one transaction, so it is consistent while others write. Both ends are verified: a backup that
does not verify is not kept, a restore goes only into an empty database and is checked against the backup's hash.
"""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy import Connection, Engine, Table, select

from graph.errors import Conflict, InvalidInput, Problem, StoreProblem
from graph.ledger import schema
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, reading, sqlite_url, writing
from graph.ledger.verify import Report, verify

BATCH = 1_000
TABLES = (schema.entries, schema.idempotency_keys, schema.tokens, schema.attachments, schema.cost_notes)


def backup(ledger: Ledger, path: Path) -> Report:
    """Writes the ledger to a new file and verifies it. Raises InvalidInput if the file exists, StoreProblem."""
    if path.exists():
        raise InvalidInput([Problem(str(path), "exists already; name a new file, so no older backup is lost")])
    unfinished = path.with_name(path.name + ".unfinished")
    _remove(unfinished)
    try:
        report = _copied(ledger.engine, open_database(sqlite_url(unfinished)))
        if not report.sound:
            raise StoreProblem(f"the copy does not verify ({report.faults[0]}); run `python -m graph verify`")
        os.replace(unfinished, path)
    finally:
        _remove(unfinished)
    return report


def restore(path: Path, url: str) -> Report:
    """Fills an empty database from a backup and verifies it. Raises Conflict where there are notes already."""
    if not path.is_file():
        raise InvalidInput([Problem(str(path), "no such backup file")])
    source = open_database(sqlite_url(path))
    kept = verify(Ledger(source))
    if not kept.sound:
        raise StoreProblem(f"{path} does not verify ({kept.faults[0]}); take another backup")
    target = open_database(url)
    if _position(target):
        raise Conflict(f"{target.url.render_as_string()} holds notes already; restore into an empty database")
    report = _copied(source, target)
    source.dispose()
    if report.checkpoint != kept.checkpoint:
        raise StoreProblem("what was restored is not what the backup holds; the database refused something")
    return report


def _copied(source: Engine, target: Engine) -> Report:
    with reading(source) as reader, writing(target) as writer:
        if source.dialect.name == "postgresql":
            reader.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        writer.execute(schema.head.delete())
        for table in (schema.head, *TABLES):
            _copy_table(reader, writer, table)
    report = verify(Ledger(target))
    target.dispose()  # folds SQLite's write-ahead file into the one file
    return report


def _copy_table(reader: Connection, writer: Connection, table: Table) -> None:
    with reader.execution_options(yield_per=BATCH).execute(select(table)) as rows:
        for group in rows.mappings().partitions(BATCH):
            writer.execute(table.insert(), [dict(row) for row in group])


def _position(engine: Engine) -> int:
    with reading(engine) as connection:
        return int(connection.scalar(select(schema.head.c.position)) or 0)


def _remove(path: Path) -> None:
    for suffix in ("", "-wal", "-shm", ".lock"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)

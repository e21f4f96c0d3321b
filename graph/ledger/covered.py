"""Rows that stand outside the lines, and how a line vouches for them: notes of cost, attachments.

A row's hash is SHA-256 over its canonical JSON (see record.py), its number in the line among its fields. The line
holds, under `covers`, how many rows it has and SHA-256 over their hashes in order, each with a line feed: so the chain
covers every row, fifty thousand of them cost one line, and a row that was changed is still known by its own hash.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, RowMapping, insert, select

from graph.errors import Problem
from graph.ledger.identity import digest
from graph.ledger.record import ATTACHMENT, COST, Entry, canonical_json
from graph.ledger.schema import attachments, cost_notes

BATCH = 1_000
_MOST_DIGITS = 10
COST_FIELDS = (
    "id", "kind", "about", "body", "made_on", "author", "method", "evidence", "job", "batch", "retracts",
)  # fmt: skip
FILE_FIELDS = ("hash", "media_type", "size", "name", "recorded_at")
Row = Mapping[str, Any] | RowMapping


def numbered(rows: Iterable[Row]) -> tuple[list[dict[str, Any]], str]:
    """Rows of cost with their numbers and hashes, and what their line has to hold under `covers`."""
    made = [dict(row) | {"number": number, "hash": row_hash(row, number)} for number, row in enumerate(rows, start=1)]
    return made, covers_of([row["hash"] for row in made])


def row_hash(row: Row, number: int) -> str:
    """The hash of a row of cost that is the line's `number`-th."""
    return digest(canonical_json({name: row[name] for name in COST_FIELDS} | {"number": number}))


def covers_of(hashes: Sequence[str]) -> str:
    """How many rows, and the digest of their hashes."""
    found = hashlib.sha256()
    for one in hashes:
        found.update(f"{one}\n".encode())
    return f"{len(hashes)}:{found.hexdigest()}"


def covers_of_file(row: Row) -> str:
    """What the line of an attachment holds under `covers`; the content is known by the row's own `hash`."""
    return covers_of([digest(canonical_json({name: row[name] for name in FILE_FIELDS}))])


def write_rows(connection: Connection, position: int, rows: Sequence[Row]) -> None:
    """Puts numbered rows of cost under the line at `position`."""
    for start in range(0, len(rows), BATCH):
        connection.execute(
            insert(cost_notes), [dict(row) | {"position": position} for row in rows[start : start + BATCH]]
        )


class CoveredRows:
    """The rows beside the lines, checked while somebody walks in order through the lines that vouch for some.

    Whether an attachment's content is the one that its row names is another question, see verify.py.
    """

    def __init__(self, connection: Connection):
        self._connection = connection
        self._groups = _grouped(connection)
        self._next = next(self._groups, None)
        self._files: set[str] = set()

    def faults_of(self, line: Entry) -> Iterator[Problem]:
        """What is wrong with the rows that the line vouches for, and with rows that stand before it under no line."""
        yield from self._strays(line.position)
        rows: list[RowMapping] = []
        if self._next is not None and self._next[0] == line.position:
            rows, self._next = self._next[1], next(self._groups, None)
        if line.action == ATTACHMENT:
            yield from self._file_faults(line)
        if line.action == COST or rows:
            yield from _cost_faults(line, rows)

    def faults_after(self) -> Iterator[Problem]:
        """Rows and attachments that no line vouches for, once all lines have been walked through."""
        yield from self._strays(None)
        for key in self._connection.scalars(select(attachments.c.hash).order_by(attachments.c.hash)).all():
            if key not in self._files:
                yield Problem(f"attachment {key}", "no line vouches for it: it was put there past the ledger")

    def _strays(self, before: int | None) -> Iterator[Problem]:
        while self._next is not None and (before is None or self._next[0] < before):
            position, rows = self._next
            yield Problem(f"line {position}", f"{_named(rows)} stands under a line that vouches for nothing")
            self._next = next(self._groups, None)

    def _file_faults(self, line: Entry) -> Iterator[Problem]:
        key = line.document.rpartition("/")[2]
        where = f"line {line.position}, attachment {key}"
        self._files.add(key)
        query = select(*(attachments.c[name] for name in FILE_FIELDS)).where(attachments.c.hash == key)
        row = self._connection.execute(query).mappings().first()
        if row is None:
            yield Problem(where, f"{line.text or 'the file'} is missing")
        elif _found(lambda: covers_of_file(row)) != line.covers:
            yield Problem(where, "its name, type, size or time was changed after it was kept")


def _grouped(connection: Connection) -> Iterator[tuple[int, list[RowMapping]]]:
    query = select(cost_notes).order_by(cost_notes.c.position, cost_notes.c.number)
    with connection.execution_options(yield_per=BATCH).execute(query) as rows:
        for position, group in groupby(rows.mappings(), key=lambda row: row["position"]):
            yield position, list(group)


def _cost_faults(line: Entry, rows: Sequence[RowMapping]) -> Iterator[Problem]:
    where = f"line {line.position}"
    found, wanted = len(rows), _count_of(line)
    there = {row["number"] for row in rows}
    for number in range(1, wanted + 1):
        if number not in there:
            yield Problem(where, f"cost note {number} of {wanted} is missing ({line.text})")
    changed = [row for row in rows if _found(partial(row_hash, row, row["number"])) != row["hash"]]
    for row in changed:
        yield Problem(f"{where}, cost note {row['id']}", f"{_about(row)} was changed after it was written")
    if not changed and found == wanted and covers_of([row["hash"] for row in rows]) != line.covers:
        yield Problem(where, f"its {found} cost notes are not those that were written ({line.text})")
    if found > wanted:
        extra = [row for row in rows if row["number"] > wanted] or rows
        yield Problem(where, f"{wanted} cost notes were written, {found} are there: {_named(extra)}")


def _count_of(line: Entry) -> int:
    """How many rows of cost the line has. A line that was changed may say anything; its own hash shows that."""
    count = line.covers.partition(":")[0]
    return int(count) if line.action == COST and count.isdecimal() and len(count) < _MOST_DIGITS else 0


def _found(make: Callable[[], str]) -> str:
    """The digest; empty where a damaged text has no bytes to take it over."""
    try:
        return make()
    except (ValueError, TypeError):
        return ""


def _about(row: Row) -> str:
    batch = f", batch {row['batch']}" if row["batch"] else ""
    return f"{row['kind']} of {row['about']}{batch},"


def _named(rows: Sequence[Row]) -> str:
    more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
    return f"cost note {rows[0]['id']}{more}"

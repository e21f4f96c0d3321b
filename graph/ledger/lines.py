"""Lines of the ledger on a connection: read, put in the chain behind the locked head, never changed.

Writers lock the one `head` row, so lines have gapless positions and one hash chain.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from graph.errors import Conflict
from graph.ledger import schema
from graph.ledger.covered import write_rows
from graph.ledger.drafts import moment, now
from graph.ledger.record import DRAFT_FIELDS, ENTRY_FIELDS, NOTE_ACTIONS, RETRACT, Draft, Entry, hash_of

BATCH = 1_000
# How far the clock may be behind the last line's: what clocks of several machines differ by (common practice).
SKEW = timedelta(minutes=2)
LineValues = dict[str, Any]


class KeyReused(Conflict):
    """The idempotency key was used before, for another request."""


@dataclass(frozen=True, slots=True)
class Retry:
    """An idempotency key, and a digest of the request it stands for. `also`: further keys of the same request."""

    key: str
    request_hash: str
    also: tuple[Retry, ...] = ()


@dataclass(frozen=True, slots=True)
class Head:
    """Where the ledger stands: its last position, that line's hash and time, and the shop's base IRI."""

    position: int
    hash: str
    recorded_at: str
    base: str


def read_head(connection: Connection, *, locked: bool = False) -> Head:
    """The head; `locked`: nobody else writes until the transaction ends."""
    query = select(schema.head)
    row = connection.execute(query.with_for_update() if locked else query).mappings().one()
    return Head(row["position"], row["hash"], row["recorded_at"], row["base"])


class Appending:
    """A transaction that writes, with the head locked. What it writes enters whole when it ends, or not at all."""

    def __init__(self, connection: Connection):
        self.connection = connection
        self.head = read_head(connection, locked=True)

    def write(self, lines: Sequence[LineValues], retry: Retry | None = None) -> list[Entry]:
        """Puts the lines in the chain, in order. `rows` of a line: numbered rows of cost that it vouches for."""
        if not lines:
            return []
        recorded_at = stamped(now(), self.head.recorded_at)
        written = []
        for line in lines:
            written.append(self._chained(line, recorded_at))
        for start in range(0, len(written), BATCH):
            self.connection.execute(schema.entries.insert(), [_row(one) for one in written[start : start + BATCH]])
        for line, entry in zip(lines, written, strict=True):
            write_rows(self.connection, entry.position, line.get("rows", ()))
        moved = {"position": self.head.position, "hash": self.head.hash, "recorded_at": recorded_at}
        self.connection.execute(schema.head.update().values(**moved))
        done = {"first_position": written[0].position, "last_position": written[-1].position}
        for one in (retry, *retry.also) if retry is not None else ():
            row = {"key": one.key, "request_hash": one.request_hash, **done}
            self.connection.execute(schema.idempotency_keys.insert().values(**row))
        return written

    def _chained(self, line: LineValues, recorded_at: str) -> Entry:
        values = {"covers": "", **{name: value for name, value in line.items() if name != "rows"}}
        values |= {"position": self.head.position + 1, "recorded_at": recorded_at, "previous_hash": self.head.hash}
        entry = Entry(**values, hash=hash_of(self.head.hash, values))
        self.head = Head(entry.position, entry.hash, recorded_at, self.head.base)
        return entry


def stamped(clock: str, last: str) -> str:
    """When a line was recorded. A clock a little behind the `last` line's must not reorder the past, so it waits.

    One that is far behind is another matter: either clock has jumped, and what is told is told truthfully.

    >>> stamped("2026-03-01T10:00:00.000000Z", "2026-03-01T10:00:30.000000Z")
    '2026-03-01T10:00:30.000000Z'
    >>> stamped("2026-03-01T10:00:00.000000Z", "2099-01-01T00:00:00.000000Z")
    '2026-03-01T10:00:00.000000Z'
    """
    if last <= clock:
        return clock
    behind = datetime.fromisoformat(last) - datetime.fromisoformat(clock)
    return last if behind <= SKEW else clock


def line_values(note_id: str, iri: str, revision: int, action: str, draft: Draft) -> LineValues:
    """A line before it has a position."""
    values = {name: getattr(draft, name) for name in DRAFT_FIELDS}
    values["made_at"] = moment(draft.made_at)
    return {**values, "note_id": note_id, "iri": iri, "revision": revision, "action": action}


def find_done(connection: Connection, retry: Retry | None) -> list[Entry]:
    """The lines that the same request wrote when it was sent before. Raises KeyReused for the key of another one."""
    if retry is None:
        return []
    keys, column = schema.idempotency_keys, schema.entries.c
    row = connection.execute(select(keys).where(keys.c.key == retry.key)).mappings().first()
    if row is None:
        return []
    if row["request_hash"] != retry.request_hash:
        raise KeyReused(f"the idempotency key {retry.key!r} was used for another request: make a new key")
    written = column.position.between(row["first_position"], row["last_position"])
    query = select(schema.entries).where(written).order_by(column.position)
    return [entry_of(line) for line in connection.execute(query).mappings()]


def entry_of(row: RowMapping) -> Entry:
    """A row of the table as an entry."""
    return Entry(**{**row, "settles": tuple(json.loads(row["settles"]))})


def find_newest(connection: Connection, note_id: str, as_of: int | None = None) -> Entry | None:
    """The newest revision of a note, at a past position."""
    column = schema.entries.c
    query = select(schema.entries).where(column.note_id == note_id, column.action.in_(NOTE_ACTIONS))
    if as_of is not None:
        query = query.where(column.position <= as_of)
    row = connection.execute(query.order_by(column.revision.desc()).limit(1)).mappings().first()
    return entry_of(row) if row else None


def find_newest_of(connection: Connection, note_ids: Sequence[str]) -> dict[str, Entry]:
    """The newest revision of each of the notes that the ledger holds, by id, inside a transaction."""
    found: dict[str, Entry] = {}
    column = schema.entries.c
    for start in range(0, len(note_ids), BATCH):
        query = current(None, include_retracted=True).where(column.note_id.in_(note_ids[start : start + BATCH]))
        found.update((row["note_id"], entry_of(row)) for row in connection.execute(query).mappings())
    return found


def current(as_of: int | None, include_retracted: bool = False) -> Any:
    """The query for the newest revisions of notes, at a past position."""
    later, entries = schema.entries.alias("later"), schema.entries
    newer = select(later.c.position).where(later.c.note_id == entries.c.note_id, later.c.revision > entries.c.revision)
    query = select(entries)
    if as_of is not None:
        newer = newer.where(later.c.position <= as_of)
        query = query.where(entries.c.position <= as_of)
    query = query.where(~newer.exists(), entries.c.action.in_(NOTE_ACTIONS))
    return query if include_retracted else query.where(entries.c.action != RETRACT)


def _row(entry: Entry) -> dict[str, Any]:
    values = {name: getattr(entry, name) for name in ENTRY_FIELDS}
    return {**values, "settles": json.dumps(list(entry.settles))}

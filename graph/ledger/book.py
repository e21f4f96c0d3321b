"""The ledger itself: notes are added, revised and taken back by adding lines; nothing is ever edited.

Writers lock the one `head` row, so lines have gapless positions and one hash chain. A writer who revises
says which revision it has read; the loser of a race gets RevisionConflict with both texts.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, func, select

from graph.errors import Conflict, InvalidFacts, LimitExceeded, NotFound, Problem, StoreProblem
from graph.ledger import schema
from graph.ledger.database import reading, writing
from graph.ledger.drafts import check_draft, moment, now
from graph.ledger.identity import DEFAULT_BASE, checked_base, new_id, note_iri
from graph.ledger.record import (
    DRAFT_FIELDS,
    ENTRY_FIELDS,
    GENESIS,
    NOTE,
    RETRACT,
    REVISE,
    Draft,
    Entry,
    draft_of,
    hash_of,
)

BATCH = 1_000
MAX_LIST = 1_000
Drafts = Sequence[tuple[str, Draft]]  # each with the id of its note, or the IRI of another shop's
Check = Callable[[Drafts, Sequence[str]], None]


class RevisionConflict(Conflict):
    """Somebody else was first. `sent`: what the writer wanted to say; `stored`: the newest revision."""

    def __init__(self, sent: Draft, stored: Entry, expected: int):
        self.sent, self.stored, self.expected = sent, stored, expected
        super().__init__(
            f"note {stored.note_id} is at revision {stored.revision}, you read revision {expected}: "
            f"read it again, then send your change on top of it"
        )


class KeyReused(Conflict):
    """The idempotency key was used before, for another request."""


@dataclass(frozen=True, slots=True)
class Retry:
    """An idempotency key, and a digest of the request it stands for."""

    key: str
    request_hash: str


@dataclass(frozen=True, slots=True)
class Head:
    """Where the ledger stands: its last position, that line's hash and time, and the shop's base IRI."""

    position: int
    hash: str
    recorded_at: str
    base: str


class Ledger:
    """The notes of one shop, in one SQL database.

    `check(added, removed)` judges the facts as they would stand with the drafts and without the notes named
    (raises InvalidFacts); `levels` are the evidence ids in use.
    """

    def __init__(
        self,
        engine: Engine,
        base: str = "",
        check: Check | None = None,
        levels: Collection[str] = (),
    ):
        self.engine = engine
        self.check = check
        self.levels = levels
        self.base = _settled_base(engine, base)

    def head(self) -> Head:
        """The newest line's position and hash (position 0 for an empty ledger)."""
        with reading(self.engine) as connection:
            return _head(connection)

    # Writing

    def append(self, draft: Draft, *, note_id: str = "", retry: Retry | None = None) -> Entry:
        """A new note. The same `retry` key writes once and answers the same line again.

        Raises InvalidFacts for a note that breaks the rules, KeyReused for a key of another request.
        """
        return self.append_all([(note_id or new_id(), draft)], retry=retry)[0]

    def append_all(self, drafts: Drafts, *, retry: Retry | None = None) -> list[Entry]:
        """New notes, all or none, in order. Each comes with the id it shall have."""
        self.judge(drafts)
        lines = [_line(note_id, note_iri(self.base, note_id), 1, NOTE, draft) for note_id, draft in drafts]
        with writing(self.engine) as connection:
            head = _locked_head(connection)
            if done := _find_done(connection, retry):
                return done
            self._check_settles(connection, [draft for _, draft in drafts])
            return _write(connection, head, lines, retry)

    def revise(self, note_id: str, expected: int, draft: Draft, *, retry: Retry | None = None) -> Entry:
        """A new revision of a note, if `expected` is still its newest one; otherwise RevisionConflict.

        A note that came from another shop is not revised here: add a note of your own that settles it.
        """
        self.judge([(note_id, draft)], [note_id])
        return self._follow(note_id, expected, draft, REVISE, retry)

    def retract(self, note_id: str, expected: int, draft: Draft, *, retry: Retry | None = None) -> Entry:
        """Takes a note back; the draft's text says why. What it said stays readable in its history."""
        if draft.statements:
            raise InvalidFacts(
                [
                    Problem(
                        "statements",
                        "taking a note back says nothing new; leave them out",
                    )
                ]
            )
        check_draft(draft, self.levels)
        if self.check is not None:
            self.check([], [note_id])
        return self._follow(note_id, expected, draft, RETRACT, retry)

    def judge(self, added: Drafts, removed: Sequence[str] = ()) -> None:
        """Raises InvalidFacts if any of the drafts may not enter, or what remains would not hold together."""
        for _, draft in added:
            check_draft(draft, self.levels)
        if self.check is not None:
            self.check(added, removed)

    def _follow(
        self,
        note_id: str,
        expected: int,
        draft: Draft,
        action: str,
        retry: Retry | None,
    ) -> Entry:
        with writing(self.engine) as connection:
            head = _locked_head(connection)
            if done := _find_done(connection, retry):
                return done[0]
            newest = _find_newest(connection, note_id)
            if newest is None:
                raise NotFound("note", note_id)
            if newest.iri != note_iri(self.base, note_id):
                raise Conflict(f"<{newest.iri}> belongs to another shop: add a note of your own that settles it")
            if newest.revision != expected:
                raise RevisionConflict(draft, newest, expected)
            if newest.retracted:
                raise Conflict(f"note {note_id} was taken back: add a new note")
            self._check_settles(connection, [draft])
            if action == RETRACT:  # those who were told of the note must be told of its end
                draft = replace(draft, shareable=newest.shareable)
            line = _line(note_id, newest.iri, expected + 1, action, draft)
            return _write(connection, head, [line], retry)[0]

    def _check_settles(self, connection: Connection, drafts: Sequence[Draft]) -> None:
        wanted = {iri for draft in drafts for iri in draft.settles}
        if not wanted:
            return
        known = set(connection.scalars(select(schema.entries.c.iri).where(schema.entries.c.iri.in_(wanted))))
        if missing := sorted(wanted - known):
            raise InvalidFacts([Problem("settles", f"<{iri}> is no note of this ledger") for iri in missing])

    # Reading

    def get_note(self, note_id: str, as_of: int | None = None) -> Entry:
        """The newest revision of a note (at a past position). Raises NotFound; a retracted note is returned."""
        with reading(self.engine) as connection:
            entry = _find_newest(connection, note_id, as_of)
        if entry is None:
            raise NotFound("note", note_id)
        return entry

    def get_history(self, note_id: str) -> list[Entry]:
        """Every revision of a note, oldest first. Raises NotFound."""
        query = select(schema.entries).where(schema.entries.c.note_id == note_id).order_by(schema.entries.c.revision)
        with reading(self.engine) as connection:
            lines = [_entry(row) for row in connection.execute(query).mappings()]
        if not lines:
            raise NotFound("note", note_id)
        return lines

    def list_notes(
        self, *, as_of: int | None = None, shareable: bool | None = None, author: str = "", evidence: str = "",
        job: str = "", after: int = 0, limit: int = 100, include_retracted: bool = False,
    ) -> list[Entry]:  # fmt: skip
        """Current notes by position, those after position `after`; with filters. Raises LimitExceeded."""
        if not 1 <= limit <= MAX_LIST:
            raise LimitExceeded(f"a list holds 1 to {MAX_LIST} notes, asked for {limit}")
        column = schema.entries.c
        query = _current(as_of, include_retracted).where(column.position > after).order_by(column.position).limit(limit)
        if shareable is not None:
            query = query.where(column.shareable == shareable)
        for name, value in (("author", author), ("evidence", evidence), ("job", job)):
            query = query.where(column[name] == value) if value else query
        with reading(self.engine) as connection:
            return [_entry(row) for row in connection.execute(query).mappings()]

    def iter_current(
        self, as_of: int | None = None, shareable: bool | None = None, include_retracted: bool = False
    ) -> Iterator[Entry]:
        """All notes that stand (at a past position), by position, a batch at a time; one state of the ledger."""
        limit = self.head().position if as_of is None else as_of
        query = _current(limit, include_retracted).order_by(schema.entries.c.position)
        if shareable is not None:
            query = query.where(schema.entries.c.shareable == shareable)
        yield from self._stream(query)

    def iter_lines(self, after: int = 0) -> Iterator[Entry]:
        """Every line after a position, in order."""
        yield from self._stream(select(schema.entries).where(schema.entries.c.position > after)
                                .order_by(schema.entries.c.position))  # fmt: skip

    def _stream(self, query: Any) -> Iterator[Entry]:
        with (
            reading(self.engine) as connection,
            connection.execution_options(yield_per=BATCH).execute(query) as result,
        ):
            for row in result.mappings():
                yield _entry(row)

    def find_line(self, position: int) -> Entry | None:
        """The line at a position."""
        with reading(self.engine) as connection:
            row = (
                connection.execute(select(schema.entries).where(schema.entries.c.position == position))
                .mappings()
                .first()
            )
        return _entry(row) if row else None

    def position_at(self, time: str) -> int:
        """The last position recorded at or before a time (ISO 8601). Raises InvalidFacts for another text."""
        try:
            limit = moment(time)
        except ValueError:
            raise InvalidFacts(
                [
                    Problem(
                        "as_of",
                        f"expected a position or an ISO 8601 time, found {time!r}",
                    )
                ]
            ) from None
        column = schema.entries.c
        with reading(self.engine) as connection:
            found = connection.scalar(select(func.max(column.position)).where(column.recorded_at <= limit))
        return int(found or 0)


def append_lines(ledger: Ledger, make_lines: Callable[[Connection], list[dict[str, Any]]]) -> list[Entry]:
    """Appends lines whose iri and revision are given (merging another shop's notes), all or none."""
    with writing(ledger.engine) as connection:
        head = _locked_head(connection)
        return _write(connection, head, make_lines(connection), None)


def line_values(note_id: str, iri: str, revision: int, action: str, draft: Draft) -> dict[str, Any]:
    """The columns of a line before it has a position (for `append_lines`)."""
    return _line(note_id, iri, revision, action, draft)


def find_newest_of(connection: Connection, note_ids: Sequence[str]) -> dict[str, Entry]:
    """The newest revision of each of the notes that the ledger holds, by id, inside a transaction."""
    found: dict[str, Entry] = {}
    column = schema.entries.c
    for start in range(0, len(note_ids), BATCH):
        query = _current(None, include_retracted=True).where(column.note_id.in_(note_ids[start : start + BATCH]))
        found.update((row["note_id"], _entry(row)) for row in connection.execute(query).mappings())
    return found


def _settled_base(engine: Engine, base: str) -> str:
    with writing(engine) as connection:
        row = connection.execute(select(schema.head)).mappings().first()
        if row is None:
            if lines := connection.scalar(select(func.count()).select_from(schema.entries)):
                raise StoreProblem(
                    f"the ledger's head is gone, though {lines:,} lines are there: somebody emptied it; nothing was "
                    f"changed; run `python -m graph verify`, restore the last backup into an empty ledger"
                )
            base = checked_base(base or DEFAULT_BASE)
            connection.execute(schema.head.insert().values(id=1, position=0, hash=GENESIS, recorded_at="", base=base))
            return base
    if base and base != row["base"]:
        raise Conflict(f"this ledger belongs to <{row['base']}>, not to <{base}>: notes keep the names they were given")
    return str(row["base"])


def _head(connection: Connection) -> Head:
    row = connection.execute(select(schema.head)).mappings().one()
    return Head(row["position"], row["hash"], row["recorded_at"], row["base"])


def _locked_head(connection: Connection) -> Head:
    row = connection.execute(select(schema.head).with_for_update()).mappings().one()
    return Head(row["position"], row["hash"], row["recorded_at"], row["base"])


def _entry(row: RowMapping) -> Entry:
    return Entry(**{**row, "settles": tuple(json.loads(row["settles"]))})


def _find_newest(connection: Connection, note_id: str, as_of: int | None = None) -> Entry | None:
    column = schema.entries.c
    query = select(schema.entries).where(column.note_id == note_id).order_by(column.revision.desc()).limit(1)
    if as_of is not None:
        query = query.where(column.position <= as_of)
    row = connection.execute(query).mappings().first()
    return _entry(row) if row else None


def _current(as_of: int | None, include_retracted: bool = False) -> Any:
    later, entries = schema.entries.alias("later"), schema.entries
    newer = select(later.c.position).where(later.c.note_id == entries.c.note_id, later.c.revision > entries.c.revision)
    query = select(entries)
    if as_of is not None:
        newer = newer.where(later.c.position <= as_of)
        query = query.where(entries.c.position <= as_of)
    query = query.where(~newer.exists())
    return query if include_retracted else query.where(entries.c.action != RETRACT)


def _line(note_id: str, iri: str, revision: int, action: str, draft: Draft) -> dict[str, Any]:
    values = {name: getattr(draft, name) for name in DRAFT_FIELDS}
    values["made_at"] = moment(draft.made_at)
    return {
        **values,
        "note_id": note_id,
        "iri": iri,
        "revision": revision,
        "action": action,
    }


def _find_done(connection: Connection, retry: Retry | None) -> list[Entry]:
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
    return [_entry(line) for line in connection.execute(query).mappings()]


def _write(connection: Connection, head: Head, lines: list[dict[str, Any]], retry: Retry | None) -> list[Entry]:
    if not lines:
        return []
    recorded_at = max(now(), head.recorded_at)  # a clock that was set back must not reorder the past
    written, last_hash = [], head.hash
    for offset, line in enumerate(lines, start=1):
        place: dict[str, Any] = {"position": head.position + offset, "recorded_at": recorded_at}
        place["previous_hash"] = last_hash
        last_hash = hash_of(last_hash, line | place)
        written.append(Entry(**line, **place, hash=last_hash))
    for start in range(0, len(written), BATCH):
        connection.execute(
            schema.entries.insert(),
            [_row(entry) for entry in written[start : start + BATCH]],
        )
    last = written[-1].position
    connection.execute(schema.head.update().values(position=last, hash=last_hash, recorded_at=recorded_at))
    if retry is not None:
        done = {"first_position": written[0].position, "last_position": last}
        row = {"key": retry.key, "request_hash": retry.request_hash, **done}
        connection.execute(schema.idempotency_keys.insert().values(**row))
    return written


def _row(entry: Entry) -> dict[str, Any]:
    values = {name: getattr(entry, name) for name in ENTRY_FIELDS}
    return {**values, "settles": json.dumps(list(entry.settles))}


__all__ = [
    "Head",
    "KeyReused",
    "Ledger",
    "Retry",
    "RevisionConflict",
    "append_lines",
    "draft_of",
    "line_values",
]

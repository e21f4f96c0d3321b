"""The ledger itself: notes are added, revised and taken back by adding lines; nothing is ever edited.

A writer who revises says which revision it has read; the loser of a race gets RevisionConflict with both texts.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, Protocol

from sqlalchemy import Connection, Engine, case, func, select

from graph.errors import Conflict, InvalidFacts, LimitExceeded, NotFound, Problem, StoreProblem
from graph.ledger import schema
from graph.ledger.database import WAIT_S, reading, writing
from graph.ledger.drafts import check_draft, moment
from graph.ledger.identity import DEFAULT_BASE, checked_base, new_id, note_iri
from graph.ledger.lines import (
    BATCH,
    Appending,
    Head,
    KeyReused,
    Retry,
    current,
    entry_of,
    find_done,
    find_newest,
    line_values,
    read_head,
)
from graph.ledger.record import GENESIS, NOTE, NOTE_ACTIONS, RETRACT, REVISE, Draft, Entry

MAX_LIST = 1_000
MOST_JUDGED_AGAIN = 2  # times that much is judged without the lock, before it is judged while others wait
SHORT_S = 0.5  # what is judged in less may be judged while others wait
Drafts = Sequence[tuple[str, Draft]]  # each with the id of its note, or the IRI of another shop's


class DraftVerdict(Protocol):
    """That drafts may enter, and of which state of the ledger that is true. `took_s`: seconds of looking."""

    @property
    def took_s(self) -> float: ...

    def holds_at(self, position: int) -> bool:
        """Whether it is still true where the ledger stands now, at `position`."""
        ...


Check = Callable[[Drafts, Sequence[str]], DraftVerdict | None]


class RevisionConflict(Conflict):
    """Somebody else was first. `sent`: what the writer wanted to say; `stored`: the newest revision."""

    def __init__(self, sent: Draft, stored: Entry, expected: int):
        self.sent, self.stored, self.expected = sent, stored, expected
        super().__init__(
            f"note {stored.note_id} is at revision {stored.revision}, you read revision {expected}: "
            f"read it again, then send your change on top of it"
        )


class Ledger:
    """The notes of one shop, in one SQL database.

    `check(added, removed)` judges the facts as they would stand with the drafts and without the notes named: it raises
    InvalidFacts, or hands back what it has judged (None: what is true of any state). `levels`: evidence ids in use.

    Facts are judged before the writer's lock is taken, and what others have written meanwhile is looked through under
    it: where it bears on the verdict, the judging is done once more, so that what enters was judged as it is written.
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
        self._turn = threading.Lock()
        self.base = _settled_base(engine, base)

    def head(self) -> Head:
        """The newest line's position and hash (position 0 for an empty ledger)."""
        with reading(self.engine) as connection:
            return read_head(connection)

    # Writing

    @contextmanager
    def appending(self) -> Iterator[Appending]:
        """A transaction with the head locked, in which lines are written. Raises StoreProblem after a long wait.

        Writers of one process take turns before they take a connection, so that the one whose turn it is can read.
        """
        if not self._turn.acquire(timeout=WAIT_S):
            raise StoreProblem(f"others have been writing for {WAIT_S} s: nothing was written; send it again")
        try:
            with writing(self.engine) as connection:
                yield Appending(connection)
        finally:
            self._turn.release()

    def append(self, draft: Draft, *, note_id: str = "", retry: Retry | None = None) -> Entry:
        """A new note. The same `retry` key writes once and answers the same line again.

        Raises InvalidFacts for a note that breaks the rules, KeyReused for a key of another request.
        """
        return self.append_all([(note_id or new_id(), draft)], retry=retry)[0]

    def append_all(self, drafts: Drafts, *, retry: Retry | None = None) -> list[Entry]:
        """New notes, all or none, in order. Each comes with the id it shall have."""
        if done := self.sent_before(retry):
            return done
        self.check_words(drafts)
        lines = [line_values(note_id, note_iri(self.base, note_id), 1, NOTE, draft) for note_id, draft in drafts]

        def written(under_lock: Appending) -> list[Entry]:
            self._check_settles(under_lock.connection, [draft for _, draft in drafts])
            return under_lock.write(lines, retry)

        return self.admit(drafts, (), written, retry)

    def revise(self, note_id: str, expected: int, draft: Draft, *, retry: Retry | None = None) -> Entry:
        """A new revision of a note, if `expected` is still its newest one; otherwise RevisionConflict.

        A note that came from another shop is not revised here: add a note of your own that settles it.
        """
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
        return self._follow(note_id, expected, draft, RETRACT, retry)

    def judge(self, added: Drafts, removed: Sequence[str] = ()) -> DraftVerdict | None:
        """Raises InvalidFacts if any of the drafts may not enter, or what remains would not hold together."""
        self.check_words(added)
        return None if self.check is None else self.check(added, removed)

    def check_words(self, drafts: Drafts) -> None:
        """Raises InvalidFacts for drafts that are wrong in themselves, whatever else is known."""
        for _, draft in drafts:
            check_draft(draft, self.levels)

    def admit(
        self, added: Drafts, removed: Sequence[str], write: Callable[[Appending], list[Entry]],
        retry: Retry | None = None, look: Callable[[Appending], None] = lambda under_lock: None,
    ) -> list[Entry]:  # fmt: skip
        """Judges the drafts, whose words were checked before, and calls `write` under the writer's lock when the
        verdict is true of what stands there.

        `look`: called under the lock before that, to refuse what needs no judging. A long judging that was overtaken
        is done again without the lock a few times, so that others do not wait for it. Raises InvalidFacts.
        """
        for tries_left in range(MOST_JUDGED_AGAIN, -1, -1):
            try:
                verdict = self.check(added, removed) if self.check is not None else None
            except InvalidFacts:
                if done := self.sent_before(retry):  # the same request has come in between
                    return done
                raise
            with self.appending() as under_lock:
                if done := find_done(under_lock.connection, retry):
                    return done
                look(under_lock)
                if self.check and verdict is not None and not verdict.holds_at(under_lock.head.position):
                    if verdict.took_s > SHORT_S and tries_left:
                        continue
                    self.check(added, removed)
                return write(under_lock)
        raise AssertionError("the last time it is judged under the lock")

    def sent_before(self, retry: Retry | None) -> list[Entry]:
        """What the same request wrote when it was sent before: nothing is judged again for it."""
        if retry is None:
            return []
        with reading(self.engine) as connection:
            return find_done(connection, retry)

    def _follow(
        self,
        note_id: str,
        expected: int,
        draft: Draft,
        action: str,
        retry: Retry | None,
    ) -> Entry:
        if done := self.sent_before(retry):
            return done[0]
        self.check_words([(note_id, draft)])
        added = [] if action == RETRACT else [(note_id, draft)]

        read: list[Entry] = []

        def look(under_lock: Appending) -> None:
            read[:] = [self._revisable(under_lock.connection, note_id, expected, draft)]

        def written(under_lock: Appending) -> list[Entry]:
            newest = read[0]
            self._check_settles(under_lock.connection, [draft])
            # those who were told of the note must be told of its end
            said = replace(draft, shareable=newest.shareable) if action == RETRACT else draft
            return under_lock.write([line_values(note_id, newest.iri, expected + 1, action, said)], retry)

        return self.admit(added, [note_id], written, retry, look)[0]

    def _revisable(self, connection: Connection, note_id: str, expected: int, draft: Draft) -> Entry:
        """The newest revision, if it is the one that the writer has read and may still be changed here."""
        newest = find_newest(connection, note_id)
        if newest is None:
            raise NotFound("note", note_id)
        if newest.iri != note_iri(self.base, note_id):
            raise Conflict(f"<{newest.iri}> belongs to another shop: add a note of your own that settles it")
        if newest.revision != expected:
            raise RevisionConflict(draft, newest, expected)
        if newest.retracted:
            raise Conflict(f"note {note_id} was taken back: add a new note")
        return newest

    def _check_settles(self, connection: Connection, drafts: Sequence[Draft]) -> None:
        wanted = {iri for draft in drafts for iri in draft.settles}
        if not wanted:
            return
        column = schema.entries.c
        query = select(column.iri).where(column.iri.in_(wanted), column.action.in_(NOTE_ACTIONS))
        known = set(connection.scalars(query))
        if missing := sorted(wanted - known):
            raise InvalidFacts([Problem("settles", f"<{iri}> is no note of this ledger") for iri in missing])

    # Reading

    def get_note(self, note_id: str, as_of: int | None = None) -> Entry:
        """The newest revision of a note (at a past position). Raises NotFound; a retracted note is returned."""
        with reading(self.engine) as connection:
            entry = find_newest(connection, note_id, as_of)
        if entry is None:
            raise NotFound("note", note_id)
        return entry

    def get_history(self, note_id: str) -> list[Entry]:
        """Every revision of a note, oldest first. Raises NotFound."""
        column = schema.entries.c
        query = select(schema.entries).where(column.note_id == note_id, column.action.in_(NOTE_ACTIONS))
        query = query.order_by(column.revision)
        with reading(self.engine) as connection:
            lines = [entry_of(row) for row in connection.execute(query).mappings()]
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
        query = current(as_of, include_retracted).where(column.position > after).order_by(column.position).limit(limit)
        if shareable is not None:
            query = query.where(column.shareable == shareable)
        for name, value in (("author", author), ("evidence", evidence), ("job", job)):
            query = query.where(column[name] == value) if value else query
        with reading(self.engine) as connection:
            return [entry_of(row) for row in connection.execute(query).mappings()]

    def iter_current(
        self, as_of: int | None = None, shareable: bool | None = None, include_retracted: bool = False
    ) -> Iterator[Entry]:
        """All notes that stand (at a past position), by position, a batch at a time; one state of the ledger."""
        limit = self.head().position if as_of is None else as_of
        query = current(limit, include_retracted).order_by(schema.entries.c.position)
        if shareable is not None:
            query = query.where(schema.entries.c.shareable == shareable)
        yield from self._stream(query)

    def iter_lines(self, after: int = 0) -> Iterator[Entry]:
        """Every line after a position, in order; those that are no note's too."""
        yield from self._stream(select(schema.entries).where(schema.entries.c.position > after)
                                .order_by(schema.entries.c.position))  # fmt: skip

    def iter_note_lines(self, after: int, until: int) -> Iterator[Entry]:
        """The lines of notes after a position and up to another one, in order."""
        column = schema.entries.c
        query = select(schema.entries).where(column.position > after, column.position <= until)
        yield from self._stream(query.where(column.action.in_(NOTE_ACTIONS)).order_by(column.position))

    def _stream(self, query: Any) -> Iterator[Entry]:
        with (
            reading(self.engine) as connection,
            connection.execution_options(yield_per=BATCH).execute(query) as result,
        ):
            for row in result.mappings():
                yield entry_of(row)

    def find_line(self, position: int) -> Entry | None:
        """The line at a position."""
        with reading(self.engine) as connection:
            row = (
                connection.execute(select(schema.entries).where(schema.entries.c.position == position))
                .mappings()
                .first()
            )
        return entry_of(row) if row else None

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
        with reading(self.engine) as connection:
            return _cut_at(connection, limit)


def _cut_at(connection: Connection, time: str) -> int:
    """The position that parts what was recorded up to a time from what came after, with the fewest lines on the wrong
    side: one line stamped by a clock that had jumped moves nothing."""
    column = schema.entries.c
    sides = case((column.recorded_at > time, 1), else_=-1)
    wrong = func.sum(sides).over(order_by=column.position, rows=(None, 0)).label("wrong")
    cuts = select(column.position, wrong).subquery()
    best = select(cuts).order_by(cuts.c.wrong, cuts.c.position.desc()).limit(1)
    row = connection.execute(best).first()
    return int(row.position) if row is not None and row.wrong <= 0 else 0


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


__all__ = [
    "BATCH",
    "Head",
    "KeyReused",
    "Ledger",
    "Retry",
    "RevisionConflict",
]

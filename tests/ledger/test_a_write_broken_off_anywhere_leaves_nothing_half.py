"""A write fails, or its process dies, before any one of its statements: all of it is there afterwards, or nothing.

For each kind of write every statement in turn, by SQLAlchemy's event before a statement is sent; the failure is what a
disk gives (SQLITE_IOERR, SQLITE_FULL: sqlite.org/rescode.html; 58030, 53100: PostgreSQL's manual, appendix A), the
death is `os._exit` in a child. With PostgreSQL every fourth statement, with LAYSHAFT_ALL_BREAKS every one.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

import psycopg
import pytest
from sqlalchemy import event

from graph.costing.notes import CostNote
from graph.costing.store import SqlNotes
from graph.errors import StoreProblem
from graph.ledger import attachments, lines
from graph.ledger.book import Ledger
from graph.ledger.database import open_database
from graph.ledger.identity import id_for
from graph.ledger.lines import Retry
from graph.ledger.record import Draft
from graph.ledger.verify import verify, verify_database

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 100
FIRST = "0198c0de-0000-7000-8000-000000000001"
WRITES: dict[str, Callable[[Ledger], object]] = {
    "a note": lambda ledger: ledger.append(Draft(text="new"), retry=Retry("key", "a" * 64)),
    "a revision": lambda ledger: ledger.revise(FIRST, 1, Draft(text="better")),
    "a retraction": lambda ledger: ledger.retract(FIRST, 1, Draft(text="was wrong")),
    "an import": lambda ledger: ledger.append_all([(id_for(f"row-{n}"), Draft(text="row")) for n in range(5)]),
    "cost notes": lambda ledger: SqlNotes(ledger).append(
        [CostNote(id=f"c-{n}", kind="shelf", about="ring") for n in range(3)]
    ),
    "an attachment": lambda ledger: attachments.keep(ledger, PNG, "image/png", "seat.png"),
}
FAILURES = ("SQLITE_IOERR", "SQLITE_FULL")
ALL = bool(os.environ.get("LAYSHAFT_ALL_BREAKS"))


@pytest.fixture
def url(any_url: str) -> str:
    """A ledger with one note."""
    engine = open_database(any_url)
    Ledger(engine).append(Draft(text="first"), note_id=FIRST)
    engine.dispose()
    return any_url


def step(url: str) -> int:
    """From one statement that fails to the next."""
    return 1 if ALL or url.startswith("sqlite") else 4


@contextmanager
def broken_off(ledger: Ledger, before: int, how: Callable[[], None]) -> Iterator[list[str]]:
    """Calls `how` before the statement of this number (from 0), commits counted too; hands back what was sent."""
    sent: list[str] = []

    def counted(text: str) -> None:
        if len(sent) == before:
            sent.append("broken off")
            how()
        sent.append(text)

    def on_statement(connection: object, cursor: object, statement: str, *_: object) -> None:
        counted(statement)

    def on_commit(connection: object) -> None:
        counted("COMMIT")

    event.listen(ledger.engine, "before_cursor_execute", on_statement)
    event.listen(ledger.engine, "commit", on_commit)
    try:
        yield sent
    finally:
        event.remove(ledger.engine, "before_cursor_execute", on_statement)
        event.remove(ledger.engine, "commit", on_commit)


def disk_failure(name: str, url: str) -> Callable[[], None]:
    """Raises what the database's driver raises."""

    def failing() -> None:
        if not url.startswith("sqlite"):
            raise psycopg.errors.IoError if name == "SQLITE_IOERR" else psycopg.errors.DiskFull
        error = sqlite3.OperationalError("disk I/O error" if name == "SQLITE_IOERR" else "database or disk is full")
        error.sqlite_errorname = name
        raise error

    return failing


def is_committed(sent: list[str]) -> bool:
    """Whether a commit was sent after something was written; one after mere reading keeps nothing."""
    wrote = [at for at, text in enumerate(sent) if text.startswith(("INSERT", "UPDATE"))]
    return bool(wrote) and "COMMIT" in sent[wrote[0] :]


def held(ledger: Ledger) -> dict[str, int]:
    """How many rows each table of what was said holds."""
    with ledger.engine.connect() as connection:
        tables = ("entries", "cost_notes", "attachments", "idempotency_keys")
        return {name: connection.exec_driver_sql(f"SELECT count(*) FROM {name}").scalar_one() for name in tables}


@pytest.mark.parametrize("kind", WRITES)
def test_a_failing_disk_at_any_statement_leaves_all_or_nothing_and_heals(kind: str, url: str) -> None:
    write, number, over = WRITES[kind], 0, False
    ledger = Ledger(open_database(url))
    before = held(ledger)
    while not over:
        name = FAILURES[number % 2]
        failures = (StoreProblem, sqlite3.OperationalError, psycopg.OperationalError)
        with suppress(*failures), broken_off(ledger, number, disk_failure(name, url)) as sent:
            write(ledger)
        over = "broken off" not in sent
        changed = held(ledger) != before
        assert verify(ledger).sound
        assert changed == is_committed(sent), (number, sent)
        if changed and not over:  # broken off behind the commit that counts: it is there, and whole
            break
        number += step(url)
    assert number > 3
    assert held(ledger) != before
    ledger.engine.dispose()


@pytest.mark.parametrize("kind", WRITES)
def test_a_process_that_dies_before_any_statement_leaves_all_or_nothing(kind: str, url: str) -> None:
    before, dead, number = 1, True, 0
    while dead and number < 60:
        dead = died(url, kind, number)
        report = verify_database(url)
        assert report.sound, (number, report.faults)
        if report.lines != before:
            break
        number += step(url)

    assert number > 3
    assert report.lines == before + (5 if kind == "an import" else 1)


def died(url: str, kind: str, number: int) -> bool:
    """Whether a child that does the write, and dies before that statement, got so far."""
    child = os.fork()
    if child == 0:
        try:
            ledger = Ledger(open_database(url))
            with broken_off(ledger, number, lambda: os._exit(9)):
                WRITES[kind](ledger)
            os._exit(0)
        except BaseException as error:
            sys.stderr.write(f"{error}\n")
            os._exit(1)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    assert status in (0, 9)
    return status == 9


def test_a_clock_that_jumps_back_or_ahead_breaks_nothing(any_ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    ledger = any_ledger
    for when in ("2026-03-01T12:00:00.000Z", "2031-01-01T00:00:00.000Z", "2019-01-01T00:00:00.000Z",
                 "2026-03-01T12:05:00.000Z"):  # fmt: skip
        monkeypatch.setattr(lines, "now", lambda when=when: when)
        ledger.append(Draft(text=when))

    assert verify(ledger).sound
    assert [entry.text[:4] for entry in ledger.iter_lines()] == ["2026", "2031", "2019", "2026"]

"""The notes of cost live in the ledger's database: they only grow, and are backed up with it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Delete, Update, delete, update
from sqlalchemy.exc import DBAPIError

from graph.costing.notes import CostNote, MemoryNotes, Provenance
from graph.costing.shop import list_rates, rate_note
from graph.costing.store import SqlNotes
from graph.errors import Conflict, LayshaftError
from graph.ledger.book import Ledger
from graph.ledger.care import backup, restore
from graph.ledger.database import open_database, sqlite_url, writing
from graph.ledger.record import Draft
from graph.ledger.schema import cost_notes
from tests.ledger.conftest import any_url, postgres

__all__ = ["any_url", "postgres"]  # fixtures: SQLite, and PostgreSQL where it is installed
BENCH = Provenance("counter", made_on="2026-06-30T10:00:00+00:00")


def rate(per_hour: str) -> CostNote:
    return rate_note("bench", {"per_hour": per_hour, "currency": "EUR"}, BENCH)


@pytest.fixture
def notes(any_url: str) -> Iterator[SqlNotes]:
    kept = SqlNotes.on_database(any_url)
    yield kept
    kept.close()


def test_notes_come_back_as_they_were_in_their_order(notes: SqlNotes) -> None:
    made = [rate("60"), rate("61"), rate("62")]
    notes.append(made[:1])
    notes.append(made[1:])

    assert notes.list_notes() == made
    assert notes.position() == notes.position(("rate",)) == 2, "one line for each append"
    assert notes.position(("price",)) == 0


def test_an_id_that_is_taken_keeps_the_whole_batch_out(notes: SqlNotes) -> None:
    first = rate("60")
    notes.append([first])

    with pytest.raises(Conflict, match="nothing was kept"):
        notes.append([rate("61"), first])

    assert notes.list_notes() == [first]


@pytest.mark.parametrize("change", [delete(cost_notes), update(cost_notes).values(about="x")])
def test_the_database_itself_refuses_to_change_or_drop_a_note(
    any_url: str, notes: SqlNotes, change: Delete | Update
) -> None:
    notes.append([rate("60")])
    engine = open_database(any_url)

    with pytest.raises((DBAPIError, LayshaftError)), writing(engine) as connection:
        connection.execute(change)

    engine.dispose()
    assert len(notes.list_notes()) == 1


def test_one_database_holds_lines_and_costs_and_one_backup_both(any_url: str, tmp_path: Path) -> None:
    ledger = Ledger(open_database(any_url))
    ledger.append(Draft(text="the bore was measured", author="bench", evidence="measured-on-these-parts"))
    kept = SqlNotes(ledger)
    kept.append([rate("60")])

    backup(ledger, tmp_path / "copy.db")
    restore(tmp_path / "copy.db", sqlite_url(tmp_path / "again.db"))

    again = SqlNotes.on_file(tmp_path / "again.db")
    assert again.list_notes() == kept.list_notes()
    again.append([rate("61")])
    assert again.position() == 3, "positions go on where the backup ended"
    again.close()
    kept.close()


def old_file(path: Path) -> None:
    """A file as it was kept before the notes shared the ledger's database."""
    texts = ("kind", "about", "body", "made_on", "author", "method", "evidence", "job", "batch", "retracts")
    columns = ", ".join(f"{name} TEXT NOT NULL" for name in texts)
    with sqlite3.connect(path) as old:
        old.execute(f"CREATE TABLE cost_notes (seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, {columns})")
        body = json.dumps({"per_hour": "58", "currency": "EUR"})
        old.execute(
            "INSERT INTO cost_notes VALUES (1, 'r-1', 'rate', 'bench', ?, '', '', '', '', '', 'r-1', '')", (body,)
        )
    old.close()


def test_a_file_of_before_is_taken_over_once(tmp_path: Path) -> None:
    old_file(tmp_path / "costs.db")
    notes = SqlNotes.on_file(tmp_path / "ledger.db")

    assert notes.take_over(tmp_path / "costs.db") == 1
    assert notes.take_over(tmp_path / "costs.db") == 0
    assert [each.hundredths for each in list_rates(notes)] == [5800]
    notes.close()


def test_without_a_file_of_before_nothing_is_taken_over(tmp_path: Path) -> None:
    notes = SqlNotes.on_file(tmp_path / "ledger.db")

    assert notes.take_over(tmp_path / "costs.db") == 0
    assert notes.list_notes() == MemoryNotes().list_notes()
    notes.close()

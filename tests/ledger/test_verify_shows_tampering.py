"""`verify` names the line that was changed, dropped, swapped or cut off, as whoever holds the file could do it."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from graph.ledger.book import Ledger
from graph.ledger.record import Draft
from graph.ledger.verify import Checkpoint, parse_checkpoint, verify


def _forge(ledger: Ledger, *statements: str) -> None:
    with sqlite3.connect(str(ledger.engine.url.database)) as connection:
        connection.execute("DROP TRIGGER entries_no_update")
        connection.execute("DROP TRIGGER entries_no_delete")
        for statement in statements:
            connection.execute(statement)


def _three_notes(ledger: Ledger) -> None:
    for text in ("disc 240 mm", "bush 16 mm", "plate 12 mm"):
        ledger.append(Draft(text=text, author="bench"))


def test_a_sound_ledger_has_no_faults(any_ledger: Ledger) -> None:
    _three_notes(any_ledger)

    report = verify(any_ledger)

    assert report.sound
    assert report.checkpoint == Checkpoint(3, any_ledger.head().hash)


@pytest.mark.parametrize(
    ("forgery", "where"),
    [
        ("UPDATE entries SET text = 'disc 230 mm' WHERE position = 1", "line 1"),
        ("UPDATE entries SET author = 'nobody' WHERE position = 2", "line 2"),
        ("UPDATE entries SET shareable = 1 WHERE position = 3", "line 3"),
        ("DELETE FROM entries WHERE position = 2", "line 3"),
        ("DELETE FROM entries WHERE position = 3", "head"),
        ("DELETE FROM entries", "head"),
    ],
)
def test_a_forgery_is_found_where_it_was_made(ledger: Ledger, forgery: str, where: str) -> None:
    _three_notes(ledger)

    _forge(ledger, forgery)

    assert where in [problem.path for problem in verify(ledger).faults]


def test_a_tail_cut_off_with_its_head_is_shown_by_an_outside_checkpoint(
    ledger: Ledger,
) -> None:
    _three_notes(ledger)
    kept = verify(ledger).checkpoint

    _forge(ledger, "DELETE FROM entries WHERE position = 3",
           "UPDATE head SET position = 2, hash = (SELECT hash FROM entries WHERE position = 2)")  # fmt: skip

    assert verify(ledger).sound
    assert [problem.path for problem in verify(ledger, [kept]).faults] == ["checkpoint 3"]


def test_the_hash_can_be_recomputed_with_nothing_but_sha256_and_json(
    ledger: Ledger,
) -> None:
    # Independent of the project's code: the definition in words, done by hand (SHA-256: FIPS 180-4).
    _three_notes(ledger)
    connection = sqlite3.connect(str(ledger.engine.url.database))
    connection.row_factory = sqlite3.Row
    last = "0" * 64

    for row in connection.execute("SELECT * FROM entries ORDER BY position"):
        record = {name: row[name] for name in tuple(row.keys()) if name not in ("hash", "previous_hash")}
        record["settles"], record["shareable"] = (
            json.loads(row["settles"]),
            bool(row["shareable"]),
        )
        assert record.pop("covers") == "", "it is part of the record only where a line vouches for other rows"
        text = json.dumps(record, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        last = hashlib.sha256((last + "\n" + text).encode()).hexdigest()

        assert row["hash"] == last


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(text=st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=50).filter(str.strip))
def test_any_readable_text_survives_the_round_trip(ledger: Ledger, text: str) -> None:
    note = ledger.append(Draft(text=text, author=text[:10]))

    assert ledger.get_note(note.note_id).text == text
    assert verify(ledger).sound


def test_a_checkpoint_is_read_as_it_is_printed() -> None:
    assert parse_checkpoint("12:" + "a" * 64) == Checkpoint(12, "a" * 64)


def test_a_database_file_that_is_no_database_is_named(tmp_path: Path) -> None:
    from graph.errors import StoreProblem
    from graph.ledger.database import open_database, sqlite_url

    (tmp_path / "ledger.db").write_bytes(b"this is a shopping list, not a database" * 100)

    with pytest.raises(StoreProblem, match="damaged"):
        open_database(sqlite_url(tmp_path / "ledger.db"))

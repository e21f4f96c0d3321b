"""A backup is the ledger, verified, from either database into either; a full disk is said plainly and loses nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import event

from graph.errors import Conflict, InvalidInput, StoreProblem
from graph.ledger.book import Ledger, Retry
from graph.ledger.care import backup, restore
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.record import Draft
from graph.ledger.tokens import Tokens
from graph.ledger.verify import verify
from tests.ledger.disks import Disk
from tests.ledger.postgres import Postgres


def test_a_backup_restores_every_line_key_and_token(any_ledger: Ledger, any_url: str, tmp_path: Path) -> None:
    note = any_ledger.append(Draft(text="kept"), retry=Retry("key", "a" * 64))
    any_ledger.revise(note.note_id, 1, Draft(text="kept too"))
    _, secret = Tokens(any_ledger.engine).add("bench", "note")
    backup(any_ledger, tmp_path / "backup.db")

    restore(tmp_path / "backup.db", sqlite_url(tmp_path / "restored.db"))

    again = Ledger(open_database(sqlite_url(tmp_path / "restored.db")))
    assert list(again.iter_lines()) == list(any_ledger.iter_lines())
    assert again.append(Draft(text="kept"), retry=Retry("key", "a" * 64)) == note
    assert Tokens(again.engine).find(secret) is not None
    again.engine.dispose()


def test_a_sqlite_backup_restores_into_postgresql(ledger: Ledger, tmp_path: Path, postgres: Postgres) -> None:
    url = postgres.new_url()
    ledger.append(Draft(text="moves to a real server"))
    backup(ledger, tmp_path / "backup.db")

    report = restore(tmp_path / "backup.db", url)

    engine = open_database(url)
    assert report.checkpoint == verify(Ledger(engine)).checkpoint
    engine.dispose()


def test_a_backup_is_one_file_and_never_overwrites(ledger: Ledger, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    backup(ledger, folder / "backup.db")

    assert [path.name for path in folder.iterdir()] == ["backup.db"]
    with pytest.raises(InvalidInput, match="exists already"):
        backup(ledger, folder / "backup.db")


def test_restore_goes_only_into_an_empty_ledger(ledger: Ledger, tmp_path: Path) -> None:
    ledger.append(Draft(text="here"))
    backup(ledger, tmp_path / "backup.db")

    with pytest.raises(Conflict, match="holds notes already"):
        restore(tmp_path / "backup.db", ledger.engine.url.render_as_string())


def test_a_disk_that_is_full_is_named_and_reading_goes_on(ledger: Ledger) -> None:
    kept = ledger.append(Draft(text="before"))

    @event.listens_for(ledger.engine, "checkout")
    def _full(connection: object, *_: object) -> None:
        connection.execute("PRAGMA max_page_count = 1").close()  # type: ignore[attr-defined]

    with pytest.raises(StoreProblem, match="is full .*nothing was written"):
        _fill(ledger, [])

    assert ledger.get_note(kept.note_id) == kept
    assert verify(ledger).sound


def test_on_a_real_full_disk_nothing_acknowledged_is_lost(small_disk: Disk, tmp_path: Path) -> None:
    ledger = Ledger(open_database(sqlite_url(small_disk.path / "ledger.db")))
    acknowledged: list[str] = []

    with pytest.raises(StoreProblem, match="full"):
        _fill(ledger, acknowledged)
    ledger.engine.dispose()

    again = Ledger(open_database(sqlite_url(small_disk.path / "ledger.db")))
    assert len(acknowledged) > 10
    assert [line.hash for line in again.iter_lines()][: len(acknowledged)] == acknowledged
    assert verify(again).sound
    again.engine.dispose()


def test_a_torn_last_page_loses_nothing_acknowledged(ledger: Ledger, tmp_path: Path) -> None:
    # The write-ahead file is cut in its last frame, as by a power loss in the middle of a write (SQLite file
    # format, section 4.1: a frame counts only with its checksum and a commit).
    for number in range(20):
        ledger.append(Draft(text=f"note {number}"))
    source = Path(str(ledger.engine.url.database))
    copy = tmp_path / "torn.db"
    copy.write_bytes(source.read_bytes())
    log = source.with_name(source.name + "-wal").read_bytes()
    copy.with_name("torn.db-wal").write_bytes(log + log[32:2_000])  # a frame begun after the last commit

    torn = Ledger(open_database(sqlite_url(copy)))

    assert list(torn.iter_lines()) == list(ledger.iter_lines())
    assert verify(torn).sound
    torn.engine.dispose()


def _fill(ledger: Ledger, acknowledged: list[str]) -> None:
    for _ in range(1_000):
        acknowledged.append(ledger.append(Draft(text="x" * 20_000)).hash)

"""`verify` looks at everything that the ledger holds and changes nothing; what is wrong is named, never served."""

from __future__ import annotations

import hashlib
import os
import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory

from graph.cli.main import main
from graph.errors import StoreProblem
from graph.ledger import migrations, schema
from graph.ledger.attachments import keep
from graph.ledger.book import Ledger
from graph.ledger.care import backup, restore
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.notebook import open_notebook
from graph.ledger.quick import quick_faults
from graph.ledger.record import Draft
from graph.ledger.verify import Checkpoint, Report, verify_database
from tests.ledger.disks import Disk

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40
LINES = 400


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A ledger of some hundred lines and a photo, closed: one file that holds all of it."""
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    ledger = Ledger(engine)
    ledger.append_all([(f"note-{number}", Draft(text=f"Seat {number} measures 16.05 mm.")) for number in range(LINES)])
    keep(ledger, PNG, "", "seat.png")
    engine.dispose()
    return tmp_path / "ledger.db"


def verified(path: Path, *since: Checkpoint) -> Report:
    return verify_database(sqlite_url(path), since)


def forge(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)


def places(path: Path) -> list[str]:
    return [fault.path for fault in verified(path).faults]


def state_of(folder: Path) -> dict[str, str]:
    return {one.name: hashlib.sha256(one.read_bytes()).hexdigest() for one in folder.iterdir() if one.is_file()}


def test_an_emptied_head_is_found_and_no_new_one_is_made(kept: Path) -> None:
    forge(kept, "DELETE FROM head")

    assert places(kept) == ["head"]
    with pytest.raises(StoreProblem, match="head: is gone, though the last line found is 4"):
        open_notebook(kept.parent)
    with pytest.raises(StoreProblem, match="head is gone, though 4"):
        Ledger(open_database(sqlite_url(kept)))
    assert places(kept) == ["head"]


def test_a_head_that_was_set_back_is_found(kept: Path) -> None:
    forge(kept, f"UPDATE head SET position = 0, hash = '{'0' * 64}'")

    assert places(kept) == ["head"]


def test_a_changed_photo_is_found(kept: Path) -> None:
    forge(kept, "UPDATE attachments SET content = CAST(replace(hex(content), 'FF', '00') AS BLOB)")

    assert [fault.message for fault in verified(kept).faults] == [
        "is not the file that was kept: its content was changed"
    ]


def test_a_text_that_is_no_longer_utf8_is_found_at_its_line(kept: Path) -> None:
    forge(kept, "UPDATE entries SET text = CAST(x'ff' AS TEXT) WHERE position = 7")

    assert "line 7" in places(kept)


def test_any_flipped_page_is_found(kept: Path, tmp_path: Path) -> None:
    """Of each page that is in use one byte is turned round; the free ones hold nothing."""
    whole, damaged = kept.read_bytes(), tmp_path / "damaged.db"
    with closing(sqlite3.connect(kept)) as connection:
        size = int(connection.execute("PRAGMA page_size").fetchone()[0])
        used = connection.execute("SELECT DISTINCT pageno FROM dbstat").fetchall()  # sqlite.org/dbstat.html
    missed = []
    for (page,) in used[1:]:
        place = (page - 1) * size + random.Random(page).randrange(size)
        damaged.write_bytes(whole[:place] + bytes([whole[place] ^ 0xFF]) + whole[place + 1 :])
        if _unseen(damaged):
            missed.append((page, place % size))
    assert len(used) > 20
    assert missed == []


def _unseen(damaged: Path) -> bool:
    """Whether all seems well, although what is said is no longer what was."""
    try:
        return verified(damaged).sound and not _says_the_same(damaged)
    except StoreProblem:
        return False


def _says_the_same(damaged: Path) -> bool:
    dumps = []
    for file in (damaged, damaged.with_name("ledger.db")):
        with closing(sqlite3.connect(f"file:{file}?mode=ro&immutable=1", uri=True)) as connection:
            dumps.append("\n".join(connection.iterdump()))
    return dumps[0] == dumps[1]


def test_a_file_that_was_cut_short_is_found(kept: Path) -> None:
    with kept.open("r+b") as file:
        file.truncate(kept.stat().st_size * 2 // 3 // 4096 * 4096)

    assert "pages" in places(kept)


def test_verify_says_how_far_it_is(kept: Path) -> None:
    told: list[tuple[str, int, int]] = []

    verify_database(sqlite_url(kept), tell=lambda *far: told.append(far))

    assert {what for what, done, of in told if done == of} == {"pages", "lines", "notes of cost", "attachments"}


def test_verify_changes_nothing(kept: Path) -> None:
    before = state_of(kept.parent)

    assert verified(kept).sound

    after = state_of(kept.parent)
    assert {name: after[name] for name in before} == before


@pytest.mark.parametrize("in_use", [False, True])
def test_verify_reads_media_that_cannot_be_written(small_disk: Disk, in_use: bool) -> None:
    ledger = Ledger(open_database(sqlite_url(small_disk.path / "ledger.db")))
    ledger.append(Draft(text="kept"))
    copy = small_disk.path / "copy"
    copy.mkdir()
    if not in_use:
        ledger.engine.dispose()
    for one in small_disk.path.glob("ledger.db*"):  # with its write-ahead file, as a copy of a running ledger has it
        (copy / one.name).write_bytes(one.read_bytes())
    ledger.engine.dispose()
    small_disk.protect()

    report = verified(copy / "ledger.db")

    assert (report.lines, report.sound) == (1, True)


def test_restore_reads_a_backup_on_media_that_cannot_be_written(ledger: Ledger, small_disk: Disk) -> None:
    ledger.append(Draft(text="kept"))
    backup(ledger, small_disk.path / "backup.db")
    before = state_of(small_disk.path)
    small_disk.protect()

    restore(small_disk.path / "backup.db", sqlite_url(Path(str(ledger.engine.url.database)).with_name("new.db")))

    assert state_of(small_disk.path) == before


def test_restore_leaves_the_backup_as_it_was(ledger: Ledger, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    ledger.append(Draft(text="kept"))
    backup(ledger, folder / "backup.db")
    before = state_of(folder)
    os.utime(folder / "backup.db", (0, 0))

    restore(folder / "backup.db", sqlite_url(tmp_path / "new.db"))

    assert state_of(folder) == before
    assert (folder / "backup.db").stat().st_mtime == 0


def test_a_ledger_of_a_newer_program_is_named_with_both_versions(
    kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    forge(kept, "UPDATE alembic_version SET version_num = '9999'")

    for command in (["verify"], ["rebuild"], ["backup", str(tmp_path / "backup.db")], ["token", "list"]):
        assert main([command[0], "--data", str(kept.parent), *command[1:]]) == 2
        said = capsys.readouterr().err
        assert "its schema is 9999, this program knows them up to 000" in said
        assert "Traceback" not in said


def test_the_revisions_are_those_of_the_migrations() -> None:
    """They stand in the program a second time, so that a start need not load what runs migrations."""
    scripts = ScriptDirectory(str(Path(migrations.__file__).parent))

    assert [script.revision for script in scripts.walk_revisions()] == [*reversed(schema.REVISIONS)]


def test_verify_of_no_ledger_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", "--data", str(tmp_path)]) == 2

    assert "there is no ledger at" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


# At the start: the same few looks however long the ledger is.


def test_a_sound_ledger_starts(kept: Path) -> None:
    engine = open_database(sqlite_url(kept))

    assert quick_faults(engine) == []
    engine.dispose()


@pytest.mark.parametrize(
    "forgery",
    [
        "DELETE FROM head",
        f"UPDATE head SET position = 0, hash = '{'0' * 64}'",
        f"DELETE FROM entries WHERE position = {LINES}",
        f"UPDATE entries SET text = 'Seat measures 16.10 mm.' WHERE position > {LINES - 20}",
        "DELETE FROM entries",
    ],
)
def test_what_a_quick_look_finds_keeps_the_service_from_starting(kept: Path, forgery: str) -> None:
    forge(kept, forgery)

    with pytest.raises(StoreProblem, match="python -m graph verify"):
        open_notebook(kept.parent)


def test_a_cut_file_keeps_the_service_from_starting(kept: Path) -> None:
    with kept.open("r+b") as file:
        file.truncate(kept.stat().st_size // 2 // 4096 * 4096)

    with pytest.raises(StoreProblem, match="python -m graph verify"):
        open_notebook(kept.parent)

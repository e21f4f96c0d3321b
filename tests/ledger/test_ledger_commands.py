"""The commands that look after the notes, run as a person runs them."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from graph.cli.main import main
from tests.ledger.test_files_become_notes import TABLE, TURTLE

WHO = ("--author", "counter", "--evidence", "measured-on-these-parts")


@pytest.fixture
def data(tmp_path: Path) -> Path:
    prefixes, _, facts = TURTLE.partition(b"shop:us")
    (tmp_path / "shelf.ttl").write_bytes(prefixes + facts.partition(b"60.00 .")[2])
    (tmp_path / "bushes.csv").write_text(TABLE)
    own = tmp_path / "data" / "facts"
    own.mkdir(parents=True)
    (own / "shop.ttl").write_bytes(TURTLE.partition(b"shop:disc-240")[0])
    return tmp_path


def run(data: Path, *arguments: object) -> int:
    return main([str(arguments[0]), "--data", str(data / "data"), *map(str, arguments[1:])])


def test_import_export_and_merge_carry_notes_to_another_shop(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(data, "import", *WHO, "--shareable", data / "shelf.ttl") == 0
    assert run(data, "export", data / "out.trig") == 0
    other = ("--data", str(data / "other"))
    assert main(["restore", *other, str(data / "none.db")]) == 2

    assert run(data, "merge", data / "out.trig") == 0

    assert "known already 1" in capsys.readouterr().out


def test_verify_exits_1_and_names_the_forged_line(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(data, "import", *WHO, data / "shelf.ttl")
    assert run(data, "verify") == 0
    with sqlite3.connect(data / "data" / "ledger.db") as connection:
        connection.execute("DROP TRIGGER entries_no_update")
        connection.execute("UPDATE entries SET text = 'forged' WHERE position = 1")
    connection.close()

    assert run(data, "verify") == 1

    assert "line 1: note" in capsys.readouterr().err


def test_backup_then_restore_elsewhere_gives_the_same_checkpoint(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(data, "import", *WHO, data / "shelf.ttl")
    assert run(data, "backup", data / "backup.db") == 0
    checkpoint = capsys.readouterr().out.strip().rpartition(" ")[2]

    assert main(["restore", "--data", str(data / "other"), str(data / "backup.db")]) == 0

    assert main(["verify", "--data", str(data / "other"), "--since", checkpoint]) == 0


def test_a_table_is_previewed_checked_and_imported(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(data, "import", *WHO, data / "shelf.ttl")
    assert run(data, "import", *WHO, "--preview", data / "bushes.csv") == 0
    assert "in stock -> inStock (boolean): yes, no" in capsys.readouterr().out

    assert run(data, "import", *WHO, "--dry-run", data / "bushes.csv") == 0
    assert run(data, "import", *WHO, data / "bushes.csv") == 0

    assert "wrote 2 notes" in capsys.readouterr().out
    assert run(data, "rebuild") == 0
    assert "the graph stands at line 3" in capsys.readouterr().out


def test_a_token_is_shown_once_listed_without_its_secret_and_revoked(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(data, "token", "add", "bench 2", "--role", "note")
    secret, _, rest = capsys.readouterr().out.partition("\n")
    run(data, "token", "list")
    listed = capsys.readouterr().out

    assert run(data, "token", "revoke", rest.partition("revoke ")[2].split()[0]) == 0

    assert secret.startswith("lay_")
    assert secret not in listed
    run(data, "token", "list")
    assert "revoked" in capsys.readouterr().out


def test_a_wrong_role_or_file_exits_2_with_one_line(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(data, "token", "add", "bench", "--role", "boss") == 2
    assert run(data, "export", data / "out.xyz") == 2

    assert "expected one of read, note, manage" in capsys.readouterr().err

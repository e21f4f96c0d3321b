"""The head of the chain in a file, over HTTP and on paper; what was kept tells a continued ledger from another.

What it guards against: FIPS 180-4 (SHA-256): no second text with the same digest is known. Time stamps: RFC 3339.
"""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from graph.cli.main import main
from graph.errors import InvalidInput, StoreProblem
from graph.ledger.book import Ledger
from graph.ledger.checkpoint import keep_checkpoint, take_checkpoint
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.record import Draft
from graph.ledger.verify import parse_checkpoint, read_checkpoints, verify
from graph.papers import qr
from graph.papers.checkpoint import checkpoint_paper
from graph.papers.model import QrCode
from tests.api.notebooks import SAID, notebook_app
from tests.papers.reading import squeezed, text_by_pdfium

LINE = r"ledger checkpoint \d+:[0-9a-f]{64} at \d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ"


def filled(folder: Path, *texts: str) -> Path:
    """A data folder whose ledger holds these notes."""
    engine = open_database(sqlite_url(folder / "ledger.db"))
    ledger = Ledger(engine)
    for text in texts:
        ledger.append(Draft(text=text))
    engine.dispose()
    return folder


def test_a_file_gets_a_line_for_each_new_head_and_no_other(ledger: Ledger, tmp_path: Path) -> None:
    file = tmp_path / "outside" / "checkpoints"
    for text in ("one", "two"):
        ledger.append(Draft(text=text))
        keep_checkpoint(take_checkpoint(ledger), file)
        keep_checkpoint(take_checkpoint(ledger), file)

    lines = file.read_text().splitlines()

    assert len(lines) == 2
    assert all(re.fullmatch(LINE, line) for line in lines)
    assert verify(ledger, read_checkpoints(str(file))).sound


@pytest.mark.parametrize("form", ["file", "text of the code", "position and hash"])
def test_verify_says_whether_the_ledger_continues_what_was_kept(
    form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, other = filled(tmp_path / "data", "one", "two"), filled(tmp_path / "other", "one", "three", "four")
    assert main(["checkpoint", "--data", str(data), str(tmp_path / "kept")]) == 0
    line = capsys.readouterr().out.strip()
    kept = {"file": str(tmp_path / "kept"), "text of the code": line, "position and hash": line.split()[2]}[form]
    filled(data, "five")

    assert main(["verify", "--data", str(data), "--since", kept]) == 0
    assert "continues 1 checkpoint" in capsys.readouterr().out
    assert main(["verify", "--data", str(other), "--since", kept]) == 1
    assert "DOES NOT CONTINUE 1 of 1 checkpoint" in capsys.readouterr().out


def test_a_ledger_written_anew_from_the_start_does_not_continue(tmp_path: Path) -> None:
    """Somebody who can write the whole file makes a ledger that is sound in itself; only what is outside tells."""
    data = filled(tmp_path / "data", "paid 100", "paid 200")
    engine = open_database(sqlite_url(data / "ledger.db"))
    kept = take_checkpoint(Ledger(engine)).checkpoint
    engine.dispose()
    (data / "ledger.db").unlink()
    engine = open_database(sqlite_url(filled(data, "paid 100", "paid 20") / "ledger.db"))

    assert verify(Ledger(engine)).sound
    assert [fault.path for fault in verify(Ledger(engine), [kept]).faults] == ["checkpoint 2"]
    engine.dispose()


def test_a_damaged_ledger_is_never_said_to_continue(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = filled(tmp_path / "data", "one", "two")
    main(["checkpoint", "--data", str(data), str(tmp_path / "kept")])
    with sqlite3.connect(data / "ledger.db") as connection:
        connection.execute("DROP TRIGGER entries_no_update")
        connection.execute("UPDATE entries SET text = 'changed' WHERE position = 1")
    connection.close()

    assert main(["verify", "--data", str(data), "--since", str(tmp_path / "kept")]) == 1
    assert "continues 1 checkpoint cannot be told" in capsys.readouterr().out


@pytest.mark.parametrize("text", ["", "12", "12:abc", "ledger checkpoint at", "\0", "9" * 40])
def test_what_holds_no_checkpoint_is_refused(text: str) -> None:
    with pytest.raises(InvalidInput, match="POSITION:HASH"):
        parse_checkpoint(text)


def test_a_place_that_cannot_be_written_is_named(ledger: Ledger, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")

    with pytest.raises(StoreProblem, match="no checkpoint was kept"):
        keep_checkpoint(take_checkpoint(ledger), tmp_path / "file" / "kept")


def test_the_paper_carries_the_line_as_words_and_as_a_code(ledger: Ledger) -> None:
    from graph.papers.pdf import as_pdf

    ledger.append(Draft(text="one"))
    taken = take_checkpoint(ledger)

    paper = checkpoint_paper(taken)

    codes = [block.address for section in paper.sections for block in section.blocks if isinstance(block, QrCode)]
    assert codes == [taken.text]
    assert len(qr.matrix(codes[0])) <= 57  # modules with the quiet zone: version 8 of ISO/IEC 18004, read off a screen
    assert taken.checkpoint.hash in squeezed(text_by_pdfium(as_pdf(paper)))


def test_page_api_and_papers_say_the_same(tmp_path: Path) -> None:
    with notebook_app(tmp_path) as (app, notebook), TestClient(app) as client:
        notebook.ledger.append(SAID)
        told = client.get("/ledger/checkpoint").json()

        assert parse_checkpoint(told["text"]).hash == told["hash"] == notebook.ledger.head().hash
        assert told["hash"] in client.get("/keeping").text
        assert told["hash"] in client.get("/ledger/checkpoint.html").text
        assert client.get("/ledger/checkpoint.pdf").content.startswith(b"%PDF-")
        assert client.get("/ledger/verification", params={"since": told["text"]}).json()["sound"]
        assert client.get("/ledger/checkpoint.txt").status_code == 422

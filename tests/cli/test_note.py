"""Writing a note from the command line: what the form takes, with its checks, and told at the option it belongs to."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from graph.cli.main import main
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url


def note(data: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["note", *words, "--data", str(data)])
    out, errors = capsys.readouterr()
    return status, out, errors


def test_a_relation_a_reading_and_a_price_are_written_and_the_next_question_knows_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = ("--author", "ab", "--evidence", "measured-on-these-parts")

    fits = note(
        tmp_path, capsys, "does-not-fit", "plate-20", "bell-hollin", "--reason", "two holes off", *said, "--json"
    )
    read = note(tmp_path, capsys, "reading", "plate-20", "plate-thickness=20,05", "--spread", "0.02", "--author", "ab")
    price = note(tmp_path, capsys, "price", "plate-20", "31,50", "--author", "ab")

    ledger = Ledger(open_database(sqlite_url(tmp_path / "ledger.db")))
    first = ledger.get_note(json.loads(fits[1])["note"])
    assert (fits[0], read[0], price[0]) == (0, 0, 0), (fits, read, price)
    assert (first.author, first.evidence) == ("ab", "measured-on-these-parts") and "two holes off" in first.statements
    assert "20,05 mm" in ledger.get_note(read[1].split(": ")[1]).statements
    assert main(["prices", "list", "--data", str(tmp_path)]) == 0
    assert "plate-20" in (listed := capsys.readouterr().out) and "31.5" in listed


@pytest.mark.parametrize(("words", "told"), [
    (("fits", "hollin bell", "nothing-known"), (
        "PART: which part is meant?", "bell-hollin-spare", "OTHER PART: no part has the words", "--author: say who",
        "--evidence: say how")),
    (("requires-machining", "shaft-tansy-23", "bearing-6309", "--evidence", "guess"), (
        "--work: say what has to be machined", "--evidence: 'guess' is no way of knowing")),
    (("reading", "plate-20", "thickness=20"), ("thickness: no such quantity", "plate-thickness", "--author: say who")),
    (("price", "plate-20", "cheap"), ("MONEY: expected a number", "--author: say who says so")),
])  # fmt: skip
def test_every_fault_is_told_at_once_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: tuple[str, ...]
) -> None:
    status, out, errors = note(tmp_path, capsys, *words)

    assert status == 2 and not out
    for one in told:
        assert one in errors


def test_what_is_stated_already_is_written_again_only_if_that_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = ("fits", "plate-20", "bell-tansy", "--author", "ab", "--evidence", "measured-on-these-parts")
    refused = note(tmp_path, capsys, *said)

    assert refused[0] == 2 and "--again: this is stated already, by fitter" in refused[2]
    assert note(tmp_path, capsys, *said, "--again")[0] == 0

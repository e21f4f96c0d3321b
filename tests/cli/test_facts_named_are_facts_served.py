"""Whoever names facts gets these or a plain word that they are not there, never the demo's instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.__main__ import main as start
from graph.cli.main import main

SHOP, LAY, XSD = "https://shop.example/", "https://layshaft.example/vocabulary#", "http://www.w3.org/2001/XMLSchema#"
FACTS = f"""<{SHOP}us> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <{LAY}Shop> .
<{SHOP}us> <http://www.w3.org/2000/01/rdf-schema#label> "us" .
<{SHOP}us> <{LAY}currency> "EUR" .
<{SHOP}us> <{LAY}rate> "60.00"^^<{XSD}decimal> .
"""


@pytest.fixture(autouse=True)
def nothing_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LAYSHAFT_FACTS", raising=False)
    monkeypatch.delenv("LAYSHAFT_DATA", raising=False)


@pytest.mark.parametrize("there", [False, True])
def test_a_named_folder_without_facts_is_an_error(
    tmp_path: Path, there: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    named = tmp_path / "named"
    if there:
        named.mkdir()

    assert main(["parts", "--facts", str(named)]) == 2
    monkeypatch.setenv("LAYSHAFT_FACTS", str(named))
    assert main(["parts"]) == 2

    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count(str(named)) == 2
    assert ("holds no facts" in told.err) is there


def test_an_empty_facts_folder_is_an_empty_workshop_and_said_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "facts").mkdir()

    assert start(["--data", str(tmp_path), "--no-serve"]) == 0

    told = capsys.readouterr().out
    assert f"none yet: {tmp_path / 'facts'} holds no facts file" in told
    assert "demo" not in told
    assert "Gearboxes: none yet" in told
    assert main(["parts", "--data", str(tmp_path)]) == 0
    assert "hollin" not in capsys.readouterr().out


def test_facts_in_another_syntax_than_turtle_are_own_facts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "facts").mkdir()
    (tmp_path / "facts" / "shop.nt").write_text(FACTS)

    assert start(["--data", str(tmp_path), "--no-serve"]) == 0

    assert "this workshop's own" in capsys.readouterr().out


def test_own_facts_that_are_gone_are_missed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "facts").mkdir()
    (tmp_path / "facts" / "shop.nt").write_text(FACTS)
    start(["--data", str(tmp_path), "--no-serve"])
    (tmp_path / "facts").rename(tmp_path / "elsewhere")
    capsys.readouterr()

    assert start(["--data", str(tmp_path), "--no-serve"]) == 2
    assert main(["parts", "--data", str(tmp_path)]) == 2

    told = capsys.readouterr()
    assert told.err.count("is gone, though this workshop had facts of its own") == 2
    assert "hollin" not in told.out


def test_a_link_that_leads_nowhere_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "facts").symlink_to(tmp_path / "not-mounted")

    assert start(["--data", str(tmp_path), "--no-serve"]) == 2

    assert "not-mounted" in capsys.readouterr().err


def test_a_new_data_folder_starts_with_the_demo_and_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert start(["--data", str(tmp_path / "new"), "--no-serve"]) == 0

    assert "the demo workshop, all of it invented" in capsys.readouterr().out

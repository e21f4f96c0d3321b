"""What scripts/start runs: facts loaded, one question answered, the API served on loopback at a free port."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import httpx
import pytest

from graph.ledger.notebook import open_notebook
from graph.ledger.record import Draft
from tests.cli.conftest import ROOT, SHOP

pytestmark = pytest.mark.takes_turns(2)

START = [sys.executable, "-u", "-m", "api"]


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*START, *arguments], capture_output=True, text=True, check=False, cwd=ROOT, timeout=60,
        env={**os.environ, **environment},
    )  # fmt: skip


def test_the_demo_is_loaded_and_one_question_is_answered_in_full(tmp_path: Path) -> None:
    done = run("--no-serve", "--data", str(tmp_path / "data"))

    assert (done.returncode, done.stderr) == (0, "")
    assert f"Data folder: {tmp_path / 'data'}" in done.stdout
    assert "$ python -m graph ask " in done.stdout
    assert "; cheapest if the Hollin 5 and the Ouzel clutch cover carry the torque, which nobody has" in " ".join(
        done.stdout.split()
    )  # it asks with a torque, and the demo states no rating
    assert (tmp_path / "data").is_dir()


def test_the_command_that_is_shown_gives_the_answer_that_is_shown(tmp_path: Path) -> None:
    started = run("--no-serve", "--data", str(tmp_path))
    command = re.search(r"^\$ python (-m graph ask .*)$", started.stdout, re.MULTILINE)
    assert command is not None

    asked = subprocess.run(
        [sys.executable, *command[1].split()], capture_output=True, text=True, check=True, cwd=ROOT, timeout=60
    )

    assert asked.stdout.rstrip() in started.stdout


def test_a_ledger_with_entries_is_served_without_an_answer_first(tmp_path: Path) -> None:
    """What it says of its demo question could take as long as its notes are many; a start may not."""
    with closing(open_notebook(tmp_path)) as notebook:
        notebook.ledger.append(Draft(text="Bush turned.", author="bench", evidence="hearsay"))

    done = run("--no-serve", "--data", str(tmp_path))

    assert (done.returncode, done.stderr) == (0, "")
    assert "The ledger has 1 entries. To ask here: python -m graph ask " in done.stdout
    assert "proven" not in done.stdout


def test_a_shops_own_facts_take_the_place_of_the_demo(tmp_path: Path) -> None:
    (tmp_path / "facts").mkdir()
    (tmp_path / "facts" / "shop.ttl").write_text(SHOP.read_text())

    done = run("--no-serve", LAYSHAFT_DATA=str(tmp_path))

    assert done.returncode == 0, done.stderr
    assert "Gearboxes: birch-4" in done.stdout


def test_facts_that_are_wrong_end_with_2_and_a_message(tmp_path: Path) -> None:
    (tmp_path / "facts").mkdir()
    (tmp_path / "facts" / "shop.ttl").write_text("@prefix : <")

    done = run("--no-serve", "--data", str(tmp_path))

    assert done.returncode == 2
    assert "shop.ttl" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_taken_port_gives_way_to_a_free_one_that_is_printed(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        service = subprocess.Popen(
            [*START, "--data", str(tmp_path), "--port", str(port)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        try:
            assert service.stdout is not None
            printed = next(line for line in service.stdout if line.startswith("Open http"))
            found = re.search(r"http://127\.0\.0\.1:(\d+) ", printed)
            assert found is not None
            assert int(found[1]) != port
            assert httpx.get(f"http://127.0.0.1:{found[1]}/healthz").json()["status"] == "ok"
        finally:
            service.terminate()
            service.communicate(timeout=20)

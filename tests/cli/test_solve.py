"""`python -m graph solve FILE`, as the route definition states it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from api.documents import HAND_EXAMPLE
from tests.cli.conftest import ROOT, Run

DOCUMENT = json.dumps(HAND_EXAMPLE)


def test_one_json_object_with_the_sums_worked_by_hand(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "conversion.json"
    file.write_text(DOCUMENT)

    done = run("solve", str(file), "--alternatives", "1")

    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    assert set(found) >= {"status", "objective", "routes", "front", "look_first", "open"}
    assert [(route["total"], route["expected"]) for route in found["routes"]] == [(581, 844.2), (870, 895.2)]
    assert set(found["routes"][0]) == {
        "picks", "links", "tasks", "cash", "hours", "total", "expected", "days", "spread", "chains", "assumed",
        "unmeasured",
    }  # fmt: skip


def test_a_dash_reads_standard_input_and_another_objective_may_be_named(run: Run) -> None:
    done = run("solve", "-", "--objective", "hours", "--alternatives", "0", stdin=DOCUMENT)

    found = json.loads(done.stdout)
    assert (found["objective"], len(found["routes"]), found["routes"][0]["hours"]) == ("hours", 1, 5.6)


def test_no_route_is_an_answer_with_exit_status_0(run: Run) -> None:
    done = run("solve", "-", stdin=json.dumps({**HAND_EXAMPLE, "deadline": 0.1}))

    assert done.returncode == 0
    found = json.loads(done.stdout)
    assert (found["status"], found["routes"]) == ("no route", [])
    assert found["open"][0]["what"] == "deadline"


def test_an_invalid_document_ends_with_2_and_one_line_per_fault_with_its_path(run: Run) -> None:
    wrong = {"tasks": [{"id": "a", "hours": -1}], "positions": [{"id": "p", "candidates": [{"id": "c", "cash": "x"}]}]}

    done = run("solve", "-", stdin=json.dumps(wrong))

    assert (done.returncode, done.stdout) == (2, "")
    lines = done.stderr.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("tasks[0].hours: ")
    assert lines[1].startswith("positions[0].candidates[0].cash: ")


@pytest.mark.parametrize(
    ("arguments", "stdin", "said"),
    [
        (["-"], "{", "not JSON"),
        (["-"], "[1]", "expected an object"),
        (["-"], '{"rate": NaN}', "rate"),
        (["-", "--objective", "speed"], "{}", "objective: expected one of expected, total, cash, hours"),
        (["-", "--alternatives", "-1"], "{}", "alternatives: expected 0 to"),
        (["nowhere.json"], "", "nowhere.json"),
    ],
)
def test_what_cannot_be_read_says_why_without_a_trace(run: Run, arguments: list[str], stdin: str, said: str) -> None:
    done = run("solve", *arguments, stdin=stdin)

    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_solve_imports_no_triple_store_no_web_framework_and_no_tables() -> None:
    script = (
        "import sys; from graph.cli import main; import graph.cli.solve\n"
        "slow = ('rdflib', 'pyoxigraph', 'pyshacl', 'fastapi', 'pydantic', 'rich', 'sqlalchemy', 'scipy')\n"
        "print([name for name in slow if name in sys.modules])"
    )

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)

    assert done.stdout.strip() == "[]"

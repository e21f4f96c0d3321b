"""The commands of fits, run as a person runs them, on the demo workshop."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from graph.cli.question import DEMO_FACTS

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

ROOT = Path(__file__).parents[2]


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "graph", *arguments], capture_output=True, text=True, check=False, cwd=ROOT, timeout=60
    )


def test_a_check_prints_verdict_margin_and_working() -> None:
    done = run("fit-check", "axial-location", "width=25 mm +/- 0.01 mm", "spacing=23 mm +/- 0.02 mm from the shoulder")

    assert done.returncode == 0
    assert done.stdout.startswith("axial location: holds with work\n")
    assert "cut = width - spacing = 25.000 - 23.000 = 2.000 mm" in done.stdout


def test_a_check_without_inputs_says_what_it_takes() -> None:
    assert "spacing: shoulder to ring, with its datum" in run("fit-check", "axial-location").stdout
    assert "length-chains: " in run("fit-check").stdout


def test_bad_input_ends_with_status_two_and_a_line_per_fault() -> None:
    done = run("fit-check", "axial-location", "width=25", "spasing=23 mm +/- 0.02 mm")

    assert done.returncode == 2
    assert [line.split(":")[0] for line in done.stderr.splitlines()] == ["spasing", "width"]


def test_an_overlay_writes_its_drawing(tmp_path: Path) -> None:
    file = tmp_path / "faces.svg"

    done = run(
        "overlay", "case-tansy", "bell-tansy-spare", "--joint", "housing-to-case", "--svg", str(file),
        "--facts", str(DEMO_FACTS),
    )  # fmt: skip

    assert done.returncode == 0
    assert "6 of 6 load bolts" in done.stdout
    assert file.read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    ("arguments", "key"),
    [
        (("identify", "sedge", "tail-length=310 mm", "--json"), "variants"),
        (("working", "case-hollin-late-fits-bearing-6309", "--json"), "standing"),
    ],
)
def test_answers_come_as_json_too(arguments: tuple[str, ...], key: str) -> None:
    assert key in json.loads(run(*arguments, "--facts", str(DEMO_FACTS)).stdout)


def test_what_to_measure_next_is_said_with_its_worth() -> None:
    done = run("measure-next", "hollin-5", "ouzel-20", "--own", "disc-half-measured", "--facts", str(DEMO_FACTS))

    assert "measure spline minor diameter of Disc 228 out of a crate" in done.stdout
    assert "4.20 EUR" in done.stdout

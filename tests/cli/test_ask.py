"""ask, convert, check and parts over the workshop that is worked by hand (figures: tests/answer/shop.ttl)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import SHOP, Run

pytestmark = pytest.mark.takes_turns(2)


def test_the_answer_is_readable_and_without_colour_when_it_goes_to_a_file(run: Run) -> None:
    done = run("ask", "birch-4", "alder-20", "--set", "torque_nm=180")

    assert (done.returncode, done.stderr) == (0, "")
    assert "Total 611.00 XTS = 245.00 cash + 6.1 h at 60.00 XTS per hour" in done.stdout
    assert "874.20 XTS expected" in done.stdout
    assert "Expected 786.85 XTS" in " ".join(done.stdout.split())
    assert "CAUTION: Strap the box to the jack" in done.stdout
    assert "\x1b" not in done.stdout


def test_the_answer_as_json_is_the_same_as_that_of_the_service(run: Run) -> None:
    done = run("ask", "birch-4", "alder-20", "--json", "--set", "torque_nm=180")

    best = json.loads(done.stdout)["routes"][0]
    assert (best["total"], best["expected"], best["provisional"]) == (611, 874.2, False)


def test_every_option_reaches_the_question(run: Run) -> None:
    done = run(
        "ask", "birch-4", "alder-20", "--json", "--own", "bush-long", "--avoid", "disc-30", "--rate", "50.50",
        "--deadline", "20", "--evidence-floor", "hearsay", "--refuse-disputed", "--objective", "total",
        "--alternatives", "1", "--set", "torque_nm=180", "--set", "tools=press,lathe",
        "--seconds", "12", "--memory-mb", "256", "--assembly", "by-hand", "--instead", "900", "--most-assumed", "3",
        "--demand", "first gear at least 3.3",
        "--without-machining", "--from-shelf", "--price", "disc-other=44.50", "--odds", "doubt/any=30%",
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["question"] == {
        "gearbox": "birch-4", "engine": "alder-20", "vehicle": "", "assembly": "by-hand",
        "avoid": ["disc-30"], "own": ["bush-long"],
        "context": {"torque_nm": "180", "tools": ["press", "lathe"]}, "features": [],
        "demands": ["first gear at least 3.3"], "evidence_floor": "hearsay",
        "refuse_disputed": True, "without_machining": True, "from_shelf": True,
        "rate": 50.5, "deadline": 20, "objective": "total", "alternatives": 1,
        "seconds": 12, "memory_mb": 256, "instead": 900, "most_assumed": 3, "part_exchange": False,
        "prices": {"disc-other": 44.5}, "odds": {"doubt/any": 0.3},
    }  # fmt: skip


def test_no_route_says_what_stays_open_and_ends_with_0(run: Run) -> None:
    done = run("ask", "birch-4", "alder-20", "--avoid", "disc-other", "--avoid", "shaft-long")

    assert done.returncode == 0
    assert "no route" in done.stdout
    assert "nearest miss: Alder disc to Birch input shaft does not fit: 23 teeth on a shaft of 22" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["ask", "birch-5", "alder-20"], "no gearbox with the id 'birch-5'; did you mean birch-4?"),
        (
            ["ask", "birch-4", "alder-20", "--assembly", "transaxel"],
            "no assembly with the id 'transaxel'; did you mean transaxle",
        ),
        (["ask", "birch-4", "alder-20", "--own", "disc-otter"], "did you mean disc-other"),
        (["ask", "birch-4", "alder-20", "--rate", "cheap"], "--rate: expected a number"),
        (["ask", "birch-4", "alder-20", "--set", "torque"], "--set: expected KEY=VALUE"),
        (["ask", "birch-4", "alder-20", "--objective", "speed"], "objective: expected one of"),
        (["parts", "disc-otter"], "no part with the id 'disc-otter'"),
        (["parts", "--kind", "clutch-disk"], "did you mean clutch-disc"),
        (["ask", "birch-4", "alder-20", "--facts", "nowhere"], "nowhere"),
        (["check", "nowhere.ttl"], "nowhere.ttl"),
    ],
)
def test_a_mistake_is_told_in_a_line_with_exit_status_2(run: Run, arguments: list[str], said: str) -> None:
    done = run(*arguments)

    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_convert_prints_a_document_that_solve_takes(run: Run) -> None:
    document = run("convert", "birch-4", "alder-20")
    solved = run("solve", "-", stdin=document.stdout)

    assert json.loads(solved.stdout)["routes"][0]["expected"] == 874.2


def test_check_passes_good_facts_and_names_the_place_of_bad_ones(run: Run, tmp_path: Path) -> None:
    good = run("check", str(SHOP))
    bad_file = tmp_path / "bad.ttl"
    bad_file.write_text(SHOP.read_text().replace("lay:cash 48.00", "lay:cash -48.00"))
    bad = run("check", str(bad_file))

    assert good.returncode == 0, good.stderr
    assert bad.returncode == 2
    assert "bad.ttl" in bad.stderr
    assert "cash" in bad.stderr


def test_parts_lists_and_shows(run: Run) -> None:
    listed = run("parts", "--kind", "clutch-disc", "--json")
    shown = run("parts", "disc-other")

    assert [part["id"] for part in json.loads(listed.stdout)] == ["disc-20", "disc-30", "disc-other"]
    assert "price: 135.00 XTS" in shown.stdout
    assert "swap-disc" in shown.stdout


def test_a_reader_that_stops_early_leaves_no_trace() -> None:
    import subprocess
    import sys

    from tests.cli.conftest import ROOT

    listing = subprocess.Popen(
        [sys.executable, "-m", "graph", "parts", "--facts", str(SHOP)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT,
    )  # fmt: skip
    assert listing.stdout is not None
    listing.stdout.close()
    _, said = listing.communicate(timeout=60)

    assert b"Traceback" not in said

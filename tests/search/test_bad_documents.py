"""Documents that are wrong: `python -m graph solve` ends with status 2 and names the place of every fault."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from graph.cli.main import main
from graph.conversion.parse import parse_conversion
from graph.errors import InvalidDocument
from tests.reference.maker import TINY, make_document

Document = dict[str, Any]
Spoil = Callable[[Document], object]


def candidate(document: Document) -> Document:
    found: Document = document["positions"][1]["candidates"][0]
    return found


def link(document: Document) -> Document:
    found: Document = document["joints"][0]["links"][1]
    return found


def doubt(document: Document) -> Document:
    found: Document = document["faults"][0]
    del found["position"]
    return found


def many(prefix: str, count: int) -> list[Document]:
    return [{"id": f"{prefix}{number}", "part": f"{prefix}{number}"} for number in range(count)]


def circle(document: Document) -> None:
    document["tasks"][0]["after"] = ["t2"]
    document["tasks"][1]["after"] = ["t0"]
    document["tasks"][2]["after"] = ["t1"]


BAD: dict[str, tuple[Spoil, str]] = {
    "hours that are not a number": (
        lambda d: candidate(d).update(hours=float("nan")),
        "positions[1].candidates[0].hours",
    ),
    "endless cash": (lambda d: link(d).update(cash=float("inf")), "joints[0].links[1].cash"),
    "negative hours": (lambda d: d["tasks"][2].update(hours=-0.5), "tasks[2].hours"),
    "negative cash": (lambda d: candidate(d).update(cash=-1), "positions[1].candidates[0].cash"),
    "negative rate": (lambda d: d.update(rate=-60), "rate"),
    "negative days": (lambda d: candidate(d).update(days=-2), "positions[1].candidates[0].days"),
    "money finer than a hundredth": (lambda d: candidate(d).update(cash=1.005), "positions[1].candidates[0].cash"),
    "a length finer than a micrometre": (lambda d: candidate(d).update(shifts={"k0": 1.00005}), "shifts.k0"),
    "a huge number": (lambda d: candidate(d).update(cash=1e300), "positions[1].candidates[0].cash"),
    "tasks in a circle": (circle, "after"),
    "a task after itself": (lambda d: d["tasks"][1].update(after=["t1"]), "tasks[1].after"),
    "low above high": (lambda d: d["chains"][0].update(low=3, high=2), "chains[0].low"),
    "a joint without links": (lambda d: d["joints"][1].update(links=[]), "joints[1].links"),
    "a joint from a position to itself": (lambda d: d["joints"][0].update(between=["p0", "p0"]), "joints[0].between"),
    "a joint at an unknown position": (lambda d: d["joints"][0].update(between=["p0", "p9"]), "joints[0].between"),
    "a joint between three": (lambda d: d["joints"][0].update(between=["p0", "p1", "p2"]), "joints[0].between"),
    "a link of an unknown part": (lambda d: link(d).update(parts=["p0c0", "nowhere"]), "joints[0].links[1].parts"),
    "a link of parts from elsewhere": (lambda d: link(d).update(parts=["p0c0", "p0c1"]), "joints[0].links[1].parts"),
    "an unknown kind of link": (lambda d: link(d).update(kind="glued"), "joints[0].links[1].kind"),
    "a position without candidates": (lambda d: d["positions"][0].update(candidates=[]), "positions[0].candidates"),
    "an unknown task": (lambda d: candidate(d).update(tasks=["t77"]), "positions[1].candidates[0].tasks"),
    "an unknown task in after": (lambda d: d["tasks"][1].update(after=["t77"]), "tasks[1].after"),
    "an unknown chain": (lambda d: candidate(d).update(shifts={"k77": 1}), "positions[1].candidates[0].shifts"),
    "a doubt on an unknown choice": (lambda d: doubt(d).update(on=["nobody"]), "faults[0].on"),
    "a doubt on a fault": (lambda d: doubt(d).update(on=[d["faults"][1]["id"]]), "faults[0].on"),
    "a doubt on a text": (lambda d: doubt(d).update(on="p0c0"), "faults[0].on"),
    "a doubt on nothing": (lambda d: doubt(d).update(on=[]), "faults[0].position"),
    "a doubt at a position as well": (lambda d: doubt(d).update(on=["p0c0"], position="p0"), "faults[0].on"),
    "a doubt on too much": (lambda d: doubt(d).update(on=["p0c0"] * 40_001), "faults"),
    "instead below nothing": (lambda d: d.update(instead=-1), "instead"),
    "instead in words": (lambda d: d.update(instead="much"), "instead"),
    "part of an assumed pick": (lambda d: d.update(most_assumed=1.5), "most_assumed"),
    "fewer assumed picks than none": (lambda d: d.update(most_assumed=-1), "most_assumed"),
    "a huge count": (lambda d: d.update(most_assumed=10**30), "most_assumed"),
    "true as a count": (lambda d: d.update(most_assumed=True), "most_assumed"),
    "assumed in words": (lambda d: link(d).update(assumed="yes"), "joints[0].links[1].assumed"),
    "an unknown chain left open": (lambda d: link(d).update(unmeasured=["k77"]), "joints[0].links[1].unmeasured"),
    "an inspection behind an unknown task": (
        lambda d: d["inspections"][0].update(tasks=["t77"]),
        "inspections[0].tasks",
    ),
    "an unknown choice in a rule": (lambda d: d["rules"][0].update(when="nobody"), "rules[0].when"),
    "an unknown need": (lambda d: d["rules"][0].update(needs_any=["nobody"]), "rules[0].needs_any"),
    "an unknown exclusion": (lambda d: d["rules"][0].update(excludes=["nobody"]), "rules[0].excludes"),
    "a fault nowhere": (lambda d: d["faults"][0].update(position="p77"), "faults[0].position"),
    "a fault behind an unknown task": (lambda d: d["faults"][0].update(reach=["t77"]), "faults[0].reach"),
    "odds above one": (lambda d: d["faults"][1].update(odds=1.2), "faults[1].odds"),
    "odds below nothing": (lambda d: d["faults"][1].update(odds=-0.1), "faults[1].odds"),
    "a test of an unknown fault": (lambda d: d["inspections"][0].update(settles=["x77"]), "inspections[0].settles"),
    "a day without hours": (lambda d: d.update(day_hours=0), "day_hours"),
    "a deadline in the past": (lambda d: d.update(deadline=-1), "deadline"),
    "an unknown key": (lambda d: candidate(d).update(price=3), "positions[1].candidates[0].price"),
    "an unknown key on top": (lambda d: d.update(currency="EUR"), "currency"),
    "the same task twice": (lambda d: d["tasks"].append({"id": "t0"}), "tasks[4].id"),
    "the same position twice": (lambda d: d["positions"][2].update(id="p0"), "positions[2].id"),
    "the same joint twice": (lambda d: d["joints"][1].update(id=d["joints"][0]["id"]), "joints[1].id"),
    "the same chain twice": (lambda d: d["chains"].append({"id": "k0"}), "chains[1].id"),
    "the same fault twice": (lambda d: d["faults"][1].update(id="x0"), "faults[1].id"),
    "the same test twice": (lambda d: d["inspections"][1].update(id="i0"), "inspections[1].id"),
    "a link with a candidate's id": (lambda d: link(d).update(id="p0c0"), "joints[0].links[1].id"),
    "an empty id": (lambda d: candidate(d).update(id=""), "positions[1].candidates[0].id"),
    "an id that is a number": (lambda d: candidate(d).update(id=7), "positions[1].candidates[0].id"),
    "hours in words": (lambda d: candidate(d).update(hours="two"), "positions[1].candidates[0].hours"),
    "hours that are true": (lambda d: candidate(d).update(hours=True), "positions[1].candidates[0].hours"),
    "as found in words": (lambda d: candidate(d).update(as_found="yes"), "positions[1].candidates[0].as_found"),
    "tasks that are no list": (lambda d: candidate(d).update(tasks="t0"), "positions[1].candidates[0].tasks"),
    "positions that are no list": (lambda d: d.update(positions={}), "positions"),
    "a candidate that is a text": (
        lambda d: d["positions"][0].update(candidates=["p0c0"]),
        "positions[0].candidates[0]",
    ),
    "shifts that are a list": (lambda d: candidate(d).update(shifts=[1]), "positions[1].candidates[0].shifts"),
    "ten thousand candidates in one place": (
        lambda d: d["positions"][0].update(candidates=many("c", 10_000)),
        "positions[0].candidates",
    ),
    "ten thousand candidates in ten places": (
        lambda d: d["positions"].extend({"id": f"q{n}", "candidates": many(f"q{n}c", 1000)} for n in range(10)),
        "positions",
    ),
    "ten thousand positions": (
        lambda d: d.update(positions=[{"id": f"q{n}", "candidates": many(f"q{n}c", 1)} for n in range(10_000)]),
        "positions",
    ),
    "a million links": (
        lambda d: d.update(joints=[dict(d["joints"][0], id=f"q{n}", links=[{}] * 10_000) for n in range(100)]),
        "joints",
    ),
    "joints between all the candidates of two large places": (
        lambda d: d.update(
            positions=[{"id": name, "candidates": many(name, 900)} for name in ("p0", "p1")],
            joints=[{"id": f"q{n}", "between": ["p0", "p1"], "links": [{"id": "one"}]} for n in range(300)],
        ),
        "joints",
    ),
    "rules without end": (
        lambda d: d.update(rules=[{"when": "p0c0", "excludes": ["p1c0"] * 9000} for _ in range(9)]),
        "rules",
    ),
    "a list of names without end": (
        lambda d: candidate(d).update(facts=["note"] * 20_000),
        "positions[1].candidates[0].facts",
    ),
    "days as small as nothing": (lambda d: candidate(d).update(days=1e-200), "positions[1].candidates[0].days"),
    "ten thousand rules": (lambda d: d.update(rules=[{"when": "p0c0"}] * 10_000), "rules"),
}


@pytest.mark.parametrize("what", BAD)
def test_a_bad_document_ends_with_status_2_and_the_place_of_the_fault(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil, place = BAD[what]
    document = make_document(3, TINY)
    spoil(document)

    status, lines = solve_status(json.dumps(document), tmp_path, capsys)

    assert status == 2
    assert any(place in line.split(": ")[0] for line in lines), lines
    assert all(": " in line for line in lines)


def test_the_document_that_is_spoilt_is_good_before(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, lines = solve_status(json.dumps(make_document(3, TINY)), tmp_path, capsys)

    assert (status, lines) == (0, [])


def test_every_fault_has_its_own_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = make_document(3, TINY)
    candidate(document).update(hours=-1)
    document["tasks"][0]["cash"] = "free"
    document["faults"][0]["odds"] = 3

    status, lines = solve_status(json.dumps(document), tmp_path, capsys)

    assert status == 2
    assert [line.split(": ")[0] for line in lines] == [
        "tasks[0].cash",
        "positions[1].candidates[0].hours",
        "faults[0].odds",
    ]


def test_a_number_with_more_decimals_than_anything_is_known_to_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = json.dumps(make_document(3, TINY)).replace('"odds": 0.', f'"odds": 0.{"0" * 1000}', 1)

    status, lines = solve_status(text, tmp_path, capsys)

    assert status == 2
    assert lines[0].startswith("faults[0].odds: expected at most 40 decimals")


def test_what_is_too_large_is_said_with_its_count_and_its_limit_before_anything_else_is_read() -> None:
    """Nothing in the links is looked at, so a million of them cost no more than counting their lists."""

    class Unread(list[Document]):
        def __iter__(self) -> Iterator[Document]:
            raise AssertionError("a document that is too large was read")

    document = make_document(3, TINY)
    document["joints"] = [{"id": f"q{n}", "between": ["p0", "p1"], "links": Unread([{}] * 20_000)} for n in range(50)]

    with pytest.raises(InvalidDocument) as refused:
        parse_conversion(document)

    assert [str(one) for one in refused.value.problems] == [
        "joints: 1000000 links together; at most 40000 can be read in one document"
    ]


@pytest.mark.parametrize(
    "text",
    ["", "null", "[]", "7", "{", '{"tasks": [}', '{"rate": 1, "rate": 2}', "[" * 50_000, "\x00", '"gearbox"'],
    ids=["empty", "null", "list", "number", "cut short", "broken", "key twice", "deep", "zero byte", "text"],
)
def test_what_is_no_document_at_all_ends_with_status_2(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, lines = solve_status(text, tmp_path, capsys)

    assert status == 2
    assert len(lines) >= 1


def test_bytes_that_are_not_text_end_with_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "document.json"
    file.write_bytes(b"\xff\xfe\x00{")

    assert main(["solve", str(file)]) == 2
    assert capsys.readouterr().err


def test_the_program_itself_prints_no_stack_trace_on_standard_input() -> None:
    document = make_document(3, TINY)
    document["tasks"][2]["hours"] = -1

    command = [sys.executable, "-m", "graph", "solve", "-"]
    done = subprocess.run(command, input=json.dumps(document), capture_output=True, text=True, check=False)

    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("tasks[2].hours: ")
    assert done.stderr.count("\n") == 1


def solve_status(text: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, list[str]]:
    """Exit status and the lines on standard error."""
    file = folder / "document.json"
    file.write_text(text)
    status = main(["solve", str(file)])
    return status, capsys.readouterr().err.splitlines()

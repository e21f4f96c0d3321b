"""Every facts file is checked, found by folder; every wrong example says its fault, its place and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import check_facts, load_catalogue
from graph.errors import InvalidFacts
from tests.facts.files import GOOD, WRONG

pytestmark = pytest.mark.takes_turns(2)


def expectations(file: Path) -> list[str]:
    lines = file.read_text(encoding="utf-8").splitlines()
    return [line.removeprefix("# expect: ") for line in lines if line.startswith("# expect: ")]


def test_the_facts_that_are_shipped_are_complete() -> None:
    assert check_facts([FACTS_FOLDER]) == []


@pytest.mark.parametrize("file", GOOD, ids=lambda file: file.stem)
def test_a_good_example_has_no_problem(file: Path) -> None:
    assert check_facts([file]) == []


@pytest.mark.parametrize("file", WRONG, ids=lambda file: file.stem)
def test_a_wrong_example_is_refused_with_its_place_and_what_to_do(file: Path) -> None:
    with pytest.raises(InvalidFacts) as refusal:
        load_catalogue([file])

    problems = [str(problem) for problem in refusal.value.problems]
    assert expectations(file)
    assert [wanted for wanted in expectations(file) if not any(wanted in problem for problem in problems)] == []
    assert all(file.name in problem or "facts/kinds" in problem for problem in problems)


@pytest.mark.parametrize("file", WRONG, ids=lambda file: file.stem)
def test_checking_finds_what_loading_finds(file: Path) -> None:
    with pytest.raises(InvalidFacts) as refusal:
        load_catalogue([file])

    assert check_facts([file]) == list(refusal.value.problems)


def test_checking_asks_pyshacl_about_what_the_quick_checker_lets_through(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("graph.catalogue.load.list_violations", lambda facts, shapes: iter(()))
    file = next(file for file in WRONG if file.stem == "no-reason")

    problems = check_facts([file])

    assert ["shop:e lay:reason: say with lay:reason why" in str(problem) for problem in problems] == [True]


def test_all_problems_of_all_files_are_reported_together() -> None:
    files = [file for file in WRONG if file.stem in ("negative-hours", "cycle-in-after", "low-above-high")]

    with pytest.raises(InvalidFacts) as refusal:
        load_catalogue(files)

    text = str(refusal.value)
    assert all(file.name in text for file in files)


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InvalidFacts, match="nowhere: no such file or folder"):
        load_catalogue([tmp_path / "nowhere"])


def test_text_that_is_not_utf8_is_named(tmp_path: Path) -> None:
    (tmp_path / "old.ttl").write_bytes(b"# Gr\xf6\xdfe\n")

    with pytest.raises(InvalidFacts, match="old.ttl: not UTF-8 text at byte 4; save it as UTF-8"):
        load_catalogue([tmp_path])

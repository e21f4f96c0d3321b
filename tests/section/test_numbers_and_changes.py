"""Whoever reads the section on a telephone: numbers that can be found, and what differs said in words."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree as ET

import pytest

from graph.answer.section_drawing import section_drawing
from graph.section.changes import changes_between
from graph.section.layout import plan_sheet
from graph.section.marks import LEFT, RIGHT, Mark, marks_of
from graph.section.model import AFTER, BEFORE, BELL, CASE, FLYWHEEL, HOLDS, SPACER, AssemblyCut, CutGap, CutPiece
from tests.section.reading import SVG
from tests.section.test_section import PAIRS, asked


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: "+".join(filter(None, pair)))
def test_every_piece_and_gap_has_a_number_of_its_own_that_lies_over_no_other(pair: tuple[str, str, str]) -> None:
    for route in asked(*pair).routes:
        assert route.section is not None
        for column in plan_sheet(route.section.cuts()).columns:
            marks = marks_of(column.labels)

            pointing = [one for one in column.labels if one.spot]
            assert [mark.text for mark in marks] == [str(n) for n in range(1, len(pointing) + 1)]
            assert not [(a.text, b.text) for a, b in combinations(marks, 2) if _meet(a, b)]
            assert all(mark.box[0] >= LEFT and mark.box[2] <= RIGHT for mark in marks)


def _meet(a: Mark, b: Mark) -> bool:
    (left, top, right, bottom), (x1, y1, x2, y2) = a.box, b.box
    return min(right, x2) > max(left, x1) and min(bottom, y2) > max(top, y1)


def test_each_number_stands_in_the_drawing_and_before_its_words() -> None:
    root = ET.fromstring(section_drawing(asked(*PAIRS[0]).routes[0], AFTER))
    written = [text.text for text in root.iter(f"{SVG}text")]

    assert all(written.count(str(number)) == 2 for number in range(1, 20))


def test_a_case_of_no_stated_length_is_drawn_alike_before_and_after() -> None:
    """The shaft reaches farther into it after than before; a longer hatched case would look like another length."""
    route = asked(*PAIRS[0]).routes[0]
    assert route.section is not None
    first, second = (
        next(shape.height for shape in column.shapes if ("piece", CASE) in shape.named)
        for column in plan_sheet(route.section.cuts()).columns
    )

    assert first == pytest.approx(second)


def _piece(name: str, part: str, words: str, first: int | None = None, last: int | None = None) -> CutPiece:
    return CutPiece(name=name, label=part, part=part, words=words, brief=words, from_um=first, to_um=last)


def test_what_differs_is_told_and_what_nobody_stated_is_told_as_that() -> None:
    before = AssemblyCut(
        when=BEFORE, title="", gaps=(_gap("release-gap", 4_000), _gap("pilot-overlap", None), _gap("tip", 9_000)),
        pieces=(_piece(BELL, "early", "165.0 mm", 0, 165_000), _piece(FLYWHEEL, "f", "21.0 mm", 0, 21_000),
                _piece(CASE, "case", "length not stated", 165_000)),
    )  # fmt: skip
    after = AssemblyCut(
        when=AFTER, title="", gaps=(_gap("release-gap", 4_000), _gap("pilot-overlap", 13_000), _gap("tip", None)),
        pieces=(_piece(SPACER, "s", "5.0 mm", 0, 5_000), _piece(BELL, "late", "150.0 mm", 0, 150_000),
                _piece(FLYWHEEL, "f", "21.0 mm", 5_000, 26_000)),
    )  # fmt: skip

    assert changes_between(before, after) == (
        "flywheel spacer comes in: 5.0 mm",
        "bell housing, another one. Before: 165.0 mm. After: 150.0 mm (15.0 mm shorter)",
        "gearbox case goes: length not stated",
        "pilot-overlap. Before: not known. After: 13.0 mm",
        "tip. Before: 9.0 mm. After: not known",
    )
    assert changes_between(before, before) == ()


def _gap(chain: str, value: int | None) -> CutGap:
    return CutGap(chain=chain, label=chain, state=HOLDS, words=(), value_um=value)


def test_the_answer_says_what_changes() -> None:
    section = asked(*PAIRS[0]).routes[0].section

    assert section is not None
    assert "clutch cover, another one. Before: 40.0 mm. After: 48.0 mm (8.0 mm longer)" in section.changes

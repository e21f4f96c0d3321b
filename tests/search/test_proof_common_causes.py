"""Faults with a common cause (document key `causes`), against enumeration of every set of worn faults.

`tests/reference/causes.py` adds up the chance of each set over every state of the causes, with Bayes and Jeffrey done
on that table; the search works with worlds, tables and bounds.
"""

from __future__ import annotations

import json
import os
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.conversion.as_json import conversion_as_json
from graph.conversion.parse import parse_conversion
from graph.errors import InvalidDocument
from graph.search import spread
from graph.search.result import LookFirst
from tests.reference.causes import Joint, blind, joint_of, look, ranked, with_causes
from tests.reference.enumerate import Way, front, list_ways, subsets
from tests.reference.maker import SMALL, TINY, Document, Shape, make_document
from tests.search.asking import ask, list_changes

COUNT = int(os.environ.get("LAYSHAFT_CAUSES", "2"))  # documents of each shape; 60 were run once
SHAPES = {
    "tiny": TINY,
    "small": SMALL,
    "four faults": Shape(2, 4, 1, tasks=4, chains=0, faults=4, rules=0, inspections=3, density=0.9),
    "five faults": Shape(3, 2, 3, tasks=5, chains=1, faults=5, rules=1, inspections=2, density=0.9),
}


def tied(seed: int, shape: Shape) -> Document:
    return with_causes(make_document(seed, shape), seed)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("seed", range(COUNT))
def test_every_part_of_the_answer_is_what_enumeration_finds(seed: int, shape: str) -> None:
    document = tied(seed, SHAPES[shape])
    joint, ways, found = joint_of(document), list_ways(document), ask(document, alternatives=4)

    assert [(dict(one.picks), sorted(one.tasks), *_sums(one)) for one in found.routes] == [
        (way.picks, sorted(way.tasks), joint.expected(way), *(joint.quantile(way, Fraction(n, 10)) for n in (5, 9)))
        for way in ranked(ways, joint)[:5]
    ]
    if ways:
        points = {(Fraction(one.cash_hundredths, 100), Fraction(one.hours_hundredths, 100)) for one in found.front}
        assert points == front(ways)
        _check_looking(document, ways, joint, found.look_first)


def _sums(route: Any) -> tuple[Fraction, Fraction, Fraction]:
    return route.expected, route.p50, route.p90


def _check_looking(document: Document, ways: list[Way], joint: Joint, found: LookFirst | None) -> None:
    ids = [each["id"] for each in document["inspections"]]
    worths = {chosen: look(document, ways, chosen, joint) for chosen in subsets(ids) if chosen}
    paying = {chosen: worth for chosen, worth in worths.items() if worth is not None}
    now = blind(document, ways, joint)
    if found is None:
        assert not paying or min(paying.values()) >= now
        return
    assert found.expected == min(paying.values()) < now
    assert paying[tuple(one for one in ids if one in found.inspections)] == found.expected
    for fault, (low, high) in found.odds_range.items():
        assert low <= joint.odds(fault) <= high
        for end, bound in ((low, 0), (high, 1)):
            moved = joint.moved(fault, end)
            looking = look(document, ways, tuple(found.inspections), moved)
            assert looking is not None
            blindly = blind(document, ways, moved)
            assert looking == blindly or (end == bound and looking < blindly)


@pytest.mark.parametrize("shape", ["tiny", "four faults"])
@pytest.mark.parametrize("seed", range(COUNT))
def test_the_nearest_odds_that_change_the_answer_are_where_another_route_is_as_cheap(seed: int, shape: str) -> None:
    document = tied(seed, SHAPES[shape])
    joint, ways = joint_of(document), list_ways(document)
    if not ways:
        return
    best = ranked(ways, joint)[0]
    for change in list_changes(document):
        if change.kind != "odds":
            continue
        for odds in (
            (Fraction(0), Fraction(1)) if change.value is None else (change.value, (change.now + change.value) / 2)
        ):
            moved = joint.moved(change.what, odds)
            assert moved.expected(best) == min(moved.expected(way) for way in ways)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_a_cause_that_changes_no_odds_changes_no_answer(seed: int) -> None:
    document = make_document(seed, SHAPES["four faults"])
    same = {"id": "c", "odds": 0.3, "if_there": {one["id"]: one["odds"] for one in document["faults"]}}

    assert ask(document | {"causes": [same]}) == ask(document)


def test_two_worn_parts_with_one_cause_by_hand() -> None:
    """Odds 0.5 each; the cause is there in half of all boxes, and then each is worn in nine of ten.

    So without it one in ten. Any worn: 0.5 * (1 - 0.1 * 0.1) + 0.5 * (1 - 0.9 * 0.9) = 0.59, where independent faults
    give 0.75. Coming back costs 300, each repair 40: 0.59 * 300 + 2 * 0.5 * 40 = 217 against 265.
    Both worn in 0.5 * 0.81 + 0.5 * 0.01 = 0.41: 380, so nine times in ten at most 380; none in 0.41: 0.
    """
    document: Document = {
        "gearbox": "g", "engine": "e", "tasks": [{"id": "strip", "cash": 300}],
        "positions": [
            {"id": name, "candidates": [{"id": f"{name} as found", "as_found": True}]} for name in ("ring", "bearing")
        ],
        "faults": [
            {"id": f"worn {name}", "position": name, "odds": 0.5, "cash": 40, "reach": ["strip"]}
            for name in ("ring", "bearing")
        ],
    }  # fmt: skip
    cause = {"id": "dirty oil", "odds": 0.5, "if_there": {"worn ring": 0.9, "worn bearing": 0.9}}

    apart, together = ask(document).routes[0], ask(document | {"causes": [cause]}).routes[0]

    assert (apart.expected, together.expected) == (265, 217)
    assert (together.p50, together.p90) == (340, 380)


@pytest.mark.parametrize("seed", range(3))
def test_a_spread_too_large_to_be_exact_still_holds_the_true_one_between_its_ends(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = tied(seed, SHAPES["five faults"])
    exact = ask(document).routes
    monkeypatch.setattr(spread, "ALWAYS_EXACT", 0)
    monkeypatch.setattr(spread, "MOST_STATES", 1)

    rounded = ask(document).routes

    assert [one.picks for one in rounded] == [one.picks for one in exact]
    for ends, true in zip(rounded, exact, strict=True):
        assert ends.p50_least is not None and ends.p90_least is not None
        assert ends.p50_least <= true.p50 <= ends.p50
        assert ends.p90_least <= true.p90 <= ends.p90


def test_a_document_with_causes_is_written_and_read_again_as_it_is() -> None:
    read = parse_conversion(tied(1, SHAPES["four faults"]))

    assert read.causes
    assert parse_conversion(json.loads(json.dumps(conversion_as_json(read), default=float))) == read


BAD: dict[str, tuple[dict[str, Any], str]] = {
    "certain": ({"odds": 1}, "causes[0].odds: expected more than 0 and less than 1"),
    "one fault": ({"if_there": {"x0": 0.2}}, "causes[0].if_there: a cause ties two faults or more"),
    "nobody's": ({"if_there": {"x0": 0.2, "x9": 0.2}}, "causes[0].if_there: no fault with the id 'x9'"),
    "too often": ({"if_there": {"x0": 1, "x1": 1}}, "contradict the fault's own odds of 0.2; expected from 0 to 0.4"),
    "no odds": ({"if_there": {"x0": 2, "x1": 0.2}}, "causes[0].if_there.x0: expected from 0 to 1, found 2"),
    "words": ({"if_there": {"x0": "often", "x1": 0.2}}, "causes[0].if_there.x0: expected a number"),
}  # fmt: skip


def test_a_cause_without_odds_is_told_that_they_are_missing() -> None:
    document = make_document(0, SHAPES["four faults"]) | {"causes": [{"id": "c", "if_there": {"x0": 0.3, "x1": 0.3}}]}

    with pytest.raises(InvalidDocument) as refused:
        parse_conversion(document)

    assert [str(one).partition(":")[0] for one in refused.value.problems] == ["causes[0].odds"]
    assert "is not there" in str(refused.value)


@pytest.mark.parametrize("name", BAD)
def test_causes_that_cannot_be_are_refused_with_their_place(name: str) -> None:
    changed, told = BAD[name]
    document = make_document(0, SHAPES["four faults"])
    for fault in document["faults"]:
        fault["odds"] = 0.2
    cause = {"id": "c", "odds": 0.5, "if_there": {"x0": 0.3, "x1": 0.3}} | changed

    with pytest.raises(InvalidDocument) as refused:
        parse_conversion(document | {"causes": [cause]})

    assert any(told in str(problem) for problem in refused.value.problems), refused.value.problems


def test_a_fault_of_two_causes_and_a_doubt_are_refused() -> None:
    document = make_document(0, SHAPES["four faults"])
    for fault in document["faults"]:
        fault["odds"] = 0.2
    del document["faults"][2]["position"]
    document["faults"][2]["on"] = [document["positions"][0]["candidates"][0]["id"]]
    first = {"id": "c", "odds": 0.5, "if_there": {"x0": 0.3, "x1": 0.3}}
    second = {"id": "d", "odds": 0.5, "if_there": {"x0": 0.3, "x2": 0.3}}

    with pytest.raises(InvalidDocument) as refused:
        parse_conversion(document | {"causes": [first, second]})

    told = [str(problem) for problem in refused.value.problems]
    assert any("is tied by the cause 'c' already" in one for one in told)
    assert any("only faults of a position can share a cause" in one for one in told)

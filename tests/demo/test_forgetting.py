"""Forgetting never cheapens: take one statement out of the demo, and no answer that assumes nothing becomes cheaper.

A few statements, other ones every day; all of them with `-m slow`, which LAYSHAFT_FORGET=N cuts to every Nth.
"""

from __future__ import annotations

import os
from datetime import date
from fractions import Fraction
from functools import cache

import pytest

from graph.catalogue.model import CONTAINS
from tests.demo.forgetting import Forgotten, Pair, about, pairs, proven, reading_it, statements, without
from tests.demo.shop import catalogue, index

EVERY = int(os.environ.get("LAYSHAFT_FORGET", "1"))
A_DAY, PAIRS_A_DAY = 3, 2


@cache
def before(pair: Pair) -> Fraction | None:
    return proven(index(), pair)


def cheapened(forgotten: Forgotten, most: int | None = None) -> list[str]:
    """What became cheaper, in words; `most`: of how many pairs that read the statement."""
    known = without(forgotten)
    found = []
    for pair in list(reading_it(forgotten, pairs()))[:most]:
        was, now = before(pair), proven(known, pair)
        if now is not None and (was is None or now < was) and not general_instead(forgotten):
            found.append(f"{' '.join(pair)} without {' '.join(forgotten)}: {now} instead of {was}")
    return found


def general_instead(forgotten: Forgotten) -> bool:
    """Does what is stated of a family take the place of what the variant says of the same place or joint?"""
    table, name = forgotten
    if table != "edges":
        return False
    edge = catalogue().edges[name]
    families = {family for one in about(forgotten) for family in index().lineage(one)[1:]}
    same = (other for other in catalogue().edges.values() if other.kind == edge.kind and other.id != name)
    return any(
        other.source in families and (other.position, other.joint) == (edge.position, edge.joint) for other in same
    )


def test_a_few_statements_of_the_demo_other_ones_every_day_are_never_cheaper_forgotten() -> None:
    told = statements()
    start = date.today().toordinal() * A_DAY

    found = [line for at in range(A_DAY) for line in cheapened(told[(start + at) % len(told)], PAIRS_A_DAY)]

    assert found == []


@pytest.mark.parametrize(
    ("gearbox", "engine"), [("tansy-5", "ouzel-20"), ("sedge-4a", "pipit-16"), ("hollin-5", "ouzel-20")]
)
def test_forgetting_what_the_engine_has_never_makes_a_cheaper_answer(gearbox: str, engine: str) -> None:
    """The disc of each: without it the answer used to be 921.20, 482 and 693.20, and was called proven."""
    pair = (gearbox, engine, "")
    (disc,) = [
        ("edges", edge.id) for edge in catalogue().edges.values()
        if edge.kind == CONTAINS and edge.source == engine and edge.position == "at-clutch-disc"
    ]  # fmt: skip

    was, now = before(pair), proven(without(disc), pair)

    assert was is not None
    assert now is None or now >= was


def test_forgetting_a_retainer_brings_in_no_part_that_the_known_retainer_rules_out() -> None:
    """The box was once rebuilt for 1838 in another case and bell housing, which the retainer known had ruled out."""
    pair = ("tansy-5s", "pipit-16", "")

    assert before(pair) is None
    assert proven(without(("edges", "tansy-has-retainer-tansy")), pair) is None


@pytest.mark.parametrize(
    ("length", "pair"),
    [
        ("case-hollin-late-pilot-overlap", ("hollin-5l", "ouzel-20", "")),
        ("flange-adaptor-90-75-prop-length", ("tansy-5", "ouzel-20", "sorrel-pick-up")),
    ],
)
def test_forgetting_the_one_length_of_its_kind_leaves_it_open_instead_of_none(length: str, pair: Pair) -> None:
    """Nobody else of that kind said that it moves the dimension: the answers were 802.20 for 932.20, 1884 for 2006."""
    was, now = before(pair), proven(without(("edges", length)), pair)

    assert was is not None
    assert now is None or now >= was


@pytest.mark.slow
def test_no_statement_of_the_demo_is_cheaper_forgotten() -> None:
    assert [line for forgotten in statements()[::EVERY] for line in cheapened(forgotten)] == []

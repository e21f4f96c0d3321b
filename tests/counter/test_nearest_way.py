"""Where wishes leave no route, the nearest one that breaks the fewest: found by asking each with less, as at a counter.

Routes and sums are those of tests/demo: Tansy behind Pipit needs a journal ground (1838.00, 6.3 days); common practice
says to offer the customer what gives way least.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from graph.answer.text import answer_as_text
from graph.counter.shop import Shop
from graph.reading.question import Question
from tests.demo.shop import index

PIPIT = Question(gearbox="tansy-5", engine="pipit-16")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return Shop(index())


def test_without_machining_the_nearest_way_is_the_one_with_it(shop: Shop) -> None:
    answer = shop.ask(replace(PIPIT, without_machining=True))

    assert answer.routes == ()
    assert [way.wishes for way in answer.nearest] == [("nothing machined",)]
    assert "1838.00 EUR" in answer.nearest[0].words and "6.3 days" in answer.nearest[0].words
    assert answer.nearest[0].question["without_machining"] is False
    assert "The nearest way" in answer_as_text(answer)


def test_two_wishes_that_each_rule_it_out_are_both_named_and_no_third(shop: Shop) -> None:
    asked = replace(PIPIT, without_machining=True, deadline=Fraction(1), avoid=("adapter-plate",))

    broken = [way.wishes for way in shop.ask(asked).nearest]

    assert broken == [("nothing machined", "within 1 day")]


def test_a_pair_that_nothing_joins_has_no_nearest_way(shop: Shop) -> None:
    answer = shop.ask(Question(gearbox="sedge-4a", engine="dunlin-25d", without_machining=True))

    assert answer.routes == () and answer.nearest == ()


def test_an_answer_with_a_route_needs_none(shop: Shop) -> None:
    assert shop.ask(replace(PIPIT, deadline=Fraction(30))).nearest == ()

"""The trade's own wishes as constraints: nothing machined, only what is on the shelf, ready by a day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest

from api.pages.question_view import working_days_to_friday
from graph.answer.asking import answer_question
from graph.answer.model.fit import MACHINING
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

ASKED = Question(gearbox="tansy-5", engine="ouzel-20", vehicle="sorrel-pick-up", context={"torque_nm": "180"})
GROUND = Question(gearbox="tansy-5", engine="pipit-16")  # its only ways grind a shoulder


@pytest.fixture(scope="module")
def demo() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO_FACTS]))


def test_without_machining_no_joint_is_closed_by_machining(demo: CatalogueIndex) -> None:
    usual, wished = answer_question(demo, GROUND), answer_question(demo, replace(GROUND, without_machining=True))

    assert usual.routes[0].verdict == MACHINING
    assert all(joint.verdict != MACHINING for route in wished.routes for joint in route.joints)
    assert any("nothing is to be machined" in out.why for out in wished.left_out)


def test_a_wish_never_makes_the_best_route_cheaper(demo: CatalogueIndex) -> None:
    """A constraint only takes routes away."""
    usual = answer_question(demo, ASKED).routes[0].expected

    for wish in ({"without_machining": True}, {"from_shelf": True}, {"avoid": ("adapter-plate",)}):
        routes = [one for one in answer_question(demo, replace(ASKED, **wish)).routes if not one.assumptions]
        assert all(route.expected >= usual for route in routes)


def test_from_the_shelf_every_part_is_in_stock_or_in_hand(demo: CatalogueIndex) -> None:
    answer = answer_question(demo, replace(ASKED, from_shelf=True, own=("plate-15",)))

    assert all(part.in_stock or part.in_hand for route in answer.routes for part in route.parts if not part.is_unit)
    assert any("not on the shelf" in out.why for out in answer.left_out)


@pytest.mark.parametrize("day", [date(2026, 11, 23) + timedelta(days=n) for n in range(14)], ids=str)
def test_by_friday_is_a_deadline_in_working_days(day: date) -> None:
    """Counted by hand on a calendar: every day after today that is no weekend, up to and with the Friday that comes."""
    days, at = -(day.weekday() < 5), day
    while True:
        days += at.weekday() < 5
        if at.weekday() == 4:
            break
        at += timedelta(days=1)

    assert working_days_to_friday(day) == days


def test_a_deadline_of_the_wish_is_kept(demo: CatalogueIndex) -> None:
    answer = answer_question(demo, replace(ASKED, deadline=Fraction(5)))

    assert all(route.days <= 5 for route in answer.routes)

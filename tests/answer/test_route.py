"""A route ready to read: verdict, parts, side effects, faults, where the money goes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from graph.answer.ground import Ground
from graph.answer.model.fit import DIRECT, MACHINING, MADE_SPECIALLY, UNKNOWN, WITH_PARTS
from graph.answer.route import answered_route
from graph.answer.verdict import heaviest
from graph.catalogue.model import Part
from graph.search.result import Route
from tests.answer.by_hand import CATALOGUE, CONVERSION, DISC_AND_BUSH, GROUND, LONG_SHAFT, amounts


def test_the_verdict_is_the_heaviest_work_on_the_way() -> None:
    assert answered_route(GROUND, DISC_AND_BUSH, 1).verdict == WITH_PARTS
    assert answered_route(GROUND, LONG_SHAFT, 1).verdict == MACHINING
    assert heaviest([DIRECT, MACHINING, WITH_PARTS]) == MACHINING
    assert heaviest([]) == DIRECT


def test_a_part_that_has_to_be_made_makes_the_route_a_special_one() -> None:
    made = Part(id="bush", label="extended bush", kind="bush", condition="made")
    ground = Ground(CONVERSION, replace(CATALOGUE, parts={**CATALOGUE.parts, "bush": made}))

    assert answered_route(ground, DISC_AND_BUSH, 1).verdict == MADE_SPECIALLY


def test_an_open_condition_is_to_confirm_and_its_joint_is_unknown_not_passed() -> None:
    route = answered_route(GROUND, LONG_SHAFT, 1)

    assert route.provisional
    assert route.to_confirm == ("nose not hardened through",)
    assert [joint.verdict for joint in route.joints] == [WITH_PARTS, UNKNOWN]
    assert route.irreversible == ("long nose: grind the nose to 15 mm",)


def test_side_effects_say_how_far_and_how_close_to_the_limit() -> None:
    (overlap,) = answered_route(GROUND, DISC_AND_BUSH, 1).side_effects

    assert (overlap.value_um, overlap.margin_um) == (12500, 500)
    assert overlap.words == (
        "12.5 mm; allowed 12.0 mm to 16.0 mm; margin 0.5 mm; worst case and RSS not known,"
        " no length states its uncertainty (thin: measure again before cutting);"
        " 5.0 mm of what stays and +7.5 mm by extended bush"
    )
    assert [(moved.what, moved.shift_um) for moved in overlap.moved_by] == [("bush", 7500)]


def test_the_parts_list_says_what_to_ask_for_at_the_counter() -> None:
    disc, bush = answered_route(GROUND, DISC_AND_BUSH, 1).parts

    assert (disc.part, disc.number, disc.condition, disc.price_hundredths) == ("disc1", "D-1", "new", 13500)
    assert (bush.part, bush.price_hundredths, bush.lead_days) == ("bush", 11000, 5)


def test_the_weakest_statement_on_the_way_is_named() -> None:
    assert answered_route(GROUND, DISC_AND_BUSH, 1).weakest_evidence == "measured"
    assert answered_route(GROUND, LONG_SHAFT, 1).weakest_evidence_words == "hearsay"


def test_a_fault_is_unseen_where_the_gearbox_stays_shut_and_seen_where_it_is_opened() -> None:
    (shut,) = answered_route(GROUND, DISC_AND_BUSH, 1).faults
    (opened,) = answered_route(GROUND, LONG_SHAFT, 1).faults

    assert (shut.state, shut.repair) == ("unseen", 72)
    assert (opened.state, opened.expected) == ("seen", Fraction(2520, 100))
    assert "up to 680.00 EUR to get there again" in shut.words


@pytest.mark.parametrize(
    ("route", "split"),
    [
        (DISC_AND_BUSH, {"parts": 245, "sublet": 0, "bench": 336, "likely_faults": Fraction(26320, 100)}),
        (LONG_SHAFT, {"parts": 270, "sublet": 20, "bench": 612, "likely_faults": Fraction(2520, 100)}),
    ],
)
def test_the_cost_splits_into_parts_sublet_bench_and_likely_faults(route: Route, split: dict[str, Fraction]) -> None:
    answered = answered_route(GROUND, route, 1)

    assert amounts(answered.split) == split
    assert sum(amounts(answered.split).values()) == route.expected

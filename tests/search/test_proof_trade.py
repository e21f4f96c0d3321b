"""Jobs of the trade that can be done by hand; every figure was worked out on paper first.

Hours and prices are working estimates of the trade; what is checked is the reckoning.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.reference.trade import plate_window, spline_and_pilot, while_it_is_split
from tests.search.asking import answer, ask, faults_found, list_changes, picked

DISC_AND_BUSH, SHAFT = {"disc1", "bush1", "shaft0"}, {"long", "disc0", "bush0"}


@pytest.mark.parametrize(
    ("odds", "expected", "parts"),
    [(0.1, 656.2, DISC_AND_BUSH), (0.35, 844.2, DISC_AND_BUSH), (0.5, 906, SHAFT), (0.85, 931.2, SHAFT)],
)
def test_disc_and_bush_win_while_the_ring_is_likely_sound(odds: float, expected: float, parts: set[str]) -> None:
    best = ask(spline_and_pilot(odds)).routes[0]

    assert float(best.expected) == expected
    assert parts <= picked(best)


def test_the_two_ways_cost_581_and_870_before_any_fault() -> None:
    routes = answer(spline_and_pilot(0.35), "total")["routes"]

    assert [route["total"] for route in routes] == [581, 870]
    assert [(route["cash"], route["hours"]) for route in routes] == [(245, 5.6), (270, 10)]


def test_expected_costs_are_581_plus_752_p_and_870_plus_72_p() -> None:
    """Above p = 0.603 disc and bush do better to open the box and look: 581 + 410 + 72 p."""
    for hundredths in range(0, 101, 5):
        odds = Fraction(hundredths, 100)
        routes = ask(spline_and_pilot(float(odds))).routes

        by_parts = {picked(route) & {"long", "disc1"}: route.expected for route in routes}
        assert by_parts == {
            frozenset({"disc1"}): min(581 + 752 * odds, 991 + 72 * odds),
            frozenset({"long"}): 870 + 72 * odds,
        }


@pytest.mark.parametrize(("odds", "expected"), [(0.35, 767.35), (0.5, 821.5)])
def test_a_test_for_60_pays_between_0153_and_0792(odds: float, expected: float) -> None:
    look = ask(spline_and_pilot(odds)).look_first

    assert look is not None
    assert (look.inspections, float(look.expected)) == (("look",), expected)
    low, high = look.odds_range["worn"]
    assert (low, high) == (Fraction(60, 391), Fraction(229, 289))
    assert (round(float(low), 3), round(float(high), 3)) == (0.153, 0.792)


@pytest.mark.parametrize("odds", [0.1, 0.15, 0.8, 0.85, 1.0])
def test_outside_that_range_the_test_is_not_worth_its_60(odds: float) -> None:
    assert ask(spline_and_pilot(odds)).look_first is None


@pytest.mark.parametrize("odds", [0.1, 0.35, 0.5, 0.85])
def test_the_best_route_changes_at_odds_of_0425(odds: float) -> None:
    change = next(each for each in list_changes(spline_and_pilot(odds)) if each.kind == "odds")

    assert change.value == Fraction(289, 680)
    assert round(float(change.value), 3) == 0.425
    assert change.route is not None
    assert (DISC_AND_BUSH if odds > 0.425 else SHAFT) <= picked(change.route)


def test_known_worn_ring_is_renewed_through_the_one_strip() -> None:
    """Stand-alone prices (441, 410, 870, 752) add up to 1603 with disc and bush, 1622 with the shaft: the wrong way."""
    routes = answer(spline_and_pilot(1.0, ring_may_be_renewed=True, sound_ring=True), "total")["routes"]

    assert [(route["total"], route["hours"], route["cash"]) for route in routes] == [(942, 10.4, 318), (1063, 11, 403)]
    assert routes[0]["picks"]["shaft"] == "long"


def test_a_ring_that_may_be_renewed_stays_where_it_is_found_sound() -> None:
    best = ask(spline_and_pilot(0.1, ring_may_be_renewed=True)).routes[0]

    assert float(best.expected) == 656.2


def test_five_millimetres_of_shim_and_milling_make_the_stock_plate_do() -> None:
    solution = ask(plate_window(), "total", alternatives=5)

    assert [float(route.total) for route in solution.routes[:3]] == [177, 319, 320]
    assert {"plate 20", "shim 5", "pad -5"} <= picked(solution.routes[0])
    assert solution.routes[0].chains_um == {
        "overlap": 13000,
        "shoulder": 9000,
        "gap": 4000,
        "rest": 3500,
        "mesh": 16500,
    }
    assert faults_found(plate_window(), solution) == []


def test_a_stricter_pilot_overlap_leaves_only_the_new_plate() -> None:
    solution = ask(plate_window(least_overlap_mm=14), "total", alternatives=5)

    assert "plate 15" in picked(solution.routes[0])
    assert float(solution.routes[0].total) == 320


@pytest.mark.parametrize(
    ("part", "cash", "hours", "odds", "now", "later", "break_even"),
    [
        ("release bearing", 48, 0.2, 0.60, 59, 664, 0.089),
        ("gearbox input seal", 22, 0.5, 0.50, 49.5, 654.5, 0.076),
        ("crank rear seal", 35, 1.0, 0.40, 90, 695, 0.129),
        ("ring gear", 110, 1.2, 0.15, 176, 781, 0.225),
        ("dual clutch plates", 420, 0.6, 0.35, 453, 1058, 0.428),
    ],
)
def test_a_part_is_renewed_while_it_is_split_where_its_odds_are_above_break_even(
    part: str, cash: float, hours: float, odds: float, now: float, later: float, break_even: float
) -> None:
    document = while_it_is_split(cash, hours, odds)

    solution = ask(document, alternatives=1)
    change = next(each for each in list_changes(document) if each.kind == "odds")

    costs = {route.picks["part"]: float(route.expected) - 605 for route in solution.routes}
    assert costs == pytest.approx({"new": now, "old": odds * later})
    assert solution.routes[0].picks["part"] == ("new" if odds > break_even else "old")
    assert change.value is not None
    assert round(float(change.value), 3) == break_even

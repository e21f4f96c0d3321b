"""The split tractor, number for number: rate 55, split and rejoin 8 h + loader 3 h, once. Worked example by hand."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.conversion.document import Candidate, Conversion, Fault, Position, Task
from graph.costing.spread import fault_costs, fault_spread, task_costs
from graph.costing.while_open import LEAVE, LOOK, REPLACE, OpenOption, expected_later, plan_while_open, while_open

# part, own hundredths of an hour, odds, now, later, break-even, decision
TABLE = [
    ("release bearing", 48, 20, "0.60", "59", "664", 0.089, REPLACE),
    ("gearbox input seal", 22, 50, "0.50", "49.5", "654.5", 0.076, REPLACE),
    ("crank rear seal", 35, 100, "0.40", "90", "695", 0.129, REPLACE),
    ("ring gear", 110, 120, "0.15", "176", "781", 0.225, LEAVE),
    ("dual clutch plates", 420, 60, "0.35", "453", "1058", 0.428, LEAVE),
]
PICKS = {"inside": "as it is"}


def tractor(shows: bool = False) -> Conversion:
    tasks = (Task("loader", "loader off and on", (), 0, 300), Task("split", "split and rejoin", ("loader",), 0, 800))
    inside = Candidate(id="as it is", label="as it is", part="tractor", as_found=True)
    faults = tuple(
        Fault(name, name, "inside", Fraction(odds), part * 100, hours, ("split",), shows)
        for name, part, hours, odds, *_ in TABLE
    )
    return Conversion(
        "tractor", "engine", 5500, tasks=tasks, positions=(Position("inside", "casing", "casing", (inside,)),),
        faults=faults,
    )  # fmt: skip


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row[0])
def test_every_part_of_the_split_tractor_is_advised_as_reckoned_by_hand(
    row: tuple[str, int, int, str, int, int, float, str],
) -> None:
    name, *_, now, later, edge, decision = row

    states, _ = while_open(tractor(), PICKS, ["loader", "split"])

    (advice,) = [each for state in states for each in state.advice if each.option.id == name]
    assert (advice.now, advice.later, advice.decision) == (Fraction(now), Fraction(later), decision)
    assert float(advice.break_even) == pytest.approx(edge, abs=0.0005)


def test_the_three_parts_to_replace_cost_198_50_and_the_base_bill_comes_to_885() -> None:
    _, plan = while_open(tractor(), PICKS, ["loader", "split"])

    access, pilot_ring = 11 * 55, 65 + Fraction(3, 10) * 55

    assert plan.now == Fraction("198.5")
    assert access + pilot_ring + plan.now == 885
    assert plan.proven


def test_two_postponed_parts_share_one_later_split() -> None:
    _, plan = while_open(tractor(), PICKS, ["loader", "split"])

    own = Fraction("0.15") * 176 + Fraction("0.35") * 453
    split_again = (1 - Fraction("0.85") * Fraction("0.65")) * 605
    counted_twice = Fraction("0.15") * 781 + Fraction("0.35") * 1058

    assert plan.expected_later == own + split_again
    assert counted_twice - plan.expected_later == Fraction("0.15") * Fraction("0.35") * 605


def test_wear_that_shows_is_looked_at_not_gambled_on() -> None:
    states, plan = while_open(tractor(shows=True), PICKS, ["loader", "split"])

    assert {advice.decision for state in states for advice in state.advice} == {LOOK}
    assert plan.now == 0 == plan.expected_later


def test_a_state_that_the_route_does_not_open_gets_no_advice() -> None:
    states, _ = while_open(tractor(), PICKS, ["loader"])

    assert states == []


odds_drawn = st.fractions(min_value=0, max_value=1, max_denominator=20)


@settings(deadline=None)
@given(st.lists(st.tuples(odds_drawn, st.integers(1, 500), st.sampled_from([("a",), ("a", "b"), ("c",)])), max_size=5))
def test_the_plan_is_the_cheapest_of_all_sets_and_agrees_with_the_spread(
    rows: list[tuple[Fraction, int, tuple[str, ...]]],
) -> None:
    cost = {"a": Fraction(300), "b": Fraction(120), "c": Fraction(77)}
    options = [OpenOption(str(i), str(i), p, Fraction(own), reach) for i, (p, own, reach) in enumerate(rows)]

    plan = plan_while_open(options, cost)

    def brute(kept: tuple[bool, ...]) -> Fraction:
        left = [each for each, keep in zip(options, kept, strict=True) if keep]
        return sum((o.own for o in options if o not in left), Fraction(0)) + expected_later(left, cost)

    assert plan.now + plan.expected_later == min(map(brute, product([True, False], repeat=len(options))))


def test_leaving_everything_is_expected_to_cost_what_the_exact_spread_says() -> None:
    conversion = tractor()
    faults = fault_costs(conversion, PICKS, ["loader", "split"])

    spread = fault_spread(Fraction(605), faults, task_costs(conversion))
    options = [OpenOption(f.id, f.id, f.odds, f.repair, f.reach) for f in faults]

    assert spread.mean == 605 + expected_later(options, task_costs(conversion))

"""The spread of the cost against enumeration of every outcome and against a million seeded draws."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import prod
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import triang

from graph.costing import spread as spread_module
from graph.costing.plot import plot_spread
from graph.costing.signs import common_cause
from graph.costing.spread import (
    FaultCost,
    HoursRange,
    Spread,
    blur_with_hours,
    fault_spread,
    sample_costs,
    sampled_spread,
)
from graph.errors import InvalidInput, LimitExceeded

# The kit car worked by hand: rate 60, out and in 4.5 h = 270, strip 5.0 h and 110 = 410, ring 48 + 0.4 h = 72.
TASKS = {"out": Fraction(270), "strip": Fraction(410)}


def ring(odds: str, seen: bool = False) -> FaultCost:
    return FaultCost("ring", Fraction(odds), Fraction(72), ("out", "strip"), seen)


def enumerated(total: Fraction, faults: list[FaultCost], tasks: dict[str, Fraction]) -> dict[Fraction, Fraction]:
    chances: dict[Fraction, Fraction] = {}
    for worn in product([False, True], repeat=len(faults)):
        p, amount, again = Fraction(1), total, set[str]()
        for fault, bad in zip(faults, worn, strict=True):
            p *= fault.odds if bad else 1 - fault.odds
            amount += fault.repair if bad else 0
            again |= set(fault.reach) if bad and not fault.seen else set()
        amount += sum((tasks[task] for task in again), Fraction(0))
        if p:
            chances[amount] = chances.get(amount, Fraction(0)) + p
    return chances


@pytest.mark.parametrize(
    ("odds", "unopened", "opened"),
    [("0.10", "656.2", None), ("0.35", "844.2", "895.2"), ("0.50", "957", "906"), ("0.85", None, "931.2")],
)  # fmt: skip
def test_the_kit_car_is_expected_to_cost_what_was_reckoned_by_hand(
    odds: str, unopened: str | None, opened: str | None
) -> None:
    outside = fault_spread(Fraction(581), [ring(odds)], TASKS)
    inside = fault_spread(Fraction(870), [ring(odds, seen=True)], TASKS)

    assert unopened is None or outside.mean == Fraction(unopened)
    assert opened is None or inside.mean == Fraction(opened)


def test_the_kit_cars_spread_has_its_median_and_its_90th_percentile() -> None:
    spread = fault_spread(Fraction(581), [ring("0.35")], TASKS)

    assert (spread.quantile(Fraction(1, 2)), spread.quantile(Fraction(9, 10))) == (581, 1333)
    assert spread.exceeds(Fraction(600)) == Fraction(7, 20)
    assert spread.exceeds(Fraction(1333)) == 0


fault_lists = st.lists(
    st.tuples(
        st.fractions(min_value=0, max_value=1, max_denominator=20),
        st.integers(0, 300),
        st.sampled_from([(), ("out",), ("out", "strip"), ("tail",)]),
        st.booleans(),
    ),
    max_size=7,
)


@settings(deadline=None)
@given(fault_lists)
def test_the_spread_is_that_of_every_outcome_enumerated(
    rows: list[tuple[Fraction, int, tuple[str, ...], bool]],
) -> None:
    tasks = {**TASKS, "tail": Fraction(55)}
    faults = [FaultCost(str(i), p, Fraction(cost), reach, seen) for i, (p, cost, reach, seen) in enumerate(rows)]

    spread = fault_spread(Fraction(581), faults, tasks)

    assert dict(zip(spread.amounts, spread.chances, strict=True)) == enumerated(Fraction(581), faults, tasks)
    assert sum(spread.chances) == 1


FAULTS = [
    ring("0.35"),
    FaultCost("seal", Fraction(3, 10), Fraction(90), ("out",)),
    FaultCost("bush", Fraction(2, 5), Fraction(45), (), True),
]
HOURS = [HoursRange("out", 400, 450, 700), HoursRange("disc", 50, 60, 60)]


def test_spread_with_uncertain_hours_agrees_with_a_million_seeded_draws() -> None:
    exact = blur_with_hours(fault_spread(Fraction(581), FAULTS, TASKS), HOURS, 6000)

    draws = sample_costs(Fraction(581), FAULTS, TASKS, HOURS, 6000, samples=1_000_000, seed=11)

    error = draws.std() / 1000
    assert draws.mean() == pytest.approx(exact.mean, abs=4 * error)
    for chance in (0.1, 0.5, 0.75, 0.9):
        # the quantile's standard error is sqrt(p(1-p)/n)/density; checked on the probability side instead
        assert exact.not_above(float(np.quantile(draws, chance))) == pytest.approx(chance, abs=0.003)
    assert exact.exceeds(1000) == pytest.approx((draws > 1000).mean(), abs=0.002)


def test_the_same_seed_draws_the_same_costs() -> None:
    first, second = (sample_costs(Fraction(581), FAULTS, TASKS, HOURS, 6000, 1000, seed=3) for _ in range(2))

    assert (first == second).all()


@pytest.mark.parametrize(("low", "usual", "high"), [(400, 450, 700), (100, 100, 300), (100, 300, 300), (200, 200, 200)])
def test_uncertain_hours_have_the_mean_and_the_chances_of_scipys_triangle(low: int, usual: int, high: int) -> None:
    one = Spread((Fraction(0),), (Fraction(1),))

    blurred = blur_with_hours(one, [HoursRange("out", low, usual, high)], 100)

    assert blurred.mean == pytest.approx(((low + usual + high) / 3 - usual) / 100, abs=1e-6)
    if low < high:
        reference = triang((usual - low) / (high - low), loc=(low - usual) / 100, scale=(high - low) / 100)
        assert blurred.quantile(0.9) == pytest.approx(reference.ppf(0.9), abs=0.011)


def test_hours_out_of_order_are_refused() -> None:
    with pytest.raises(InvalidInput, match="0 <= low <= usual <= high"):
        HoursRange("out", 500, 450, 700)


def test_a_shared_cause_fattens_the_tail_and_keeps_the_mean() -> None:
    faults = [
        FaultCost("bearing", Fraction(2, 5), Fraction(300)), FaultCost("layshaft", Fraction(3, 10), Fraction(500)),
    ]  # fmt: skip
    odds = {fault.id: fault.odds for fault in faults}
    ratios = {"bearing": Fraction(2), "layshaft": Fraction(3)}
    cause = common_cause("metal on the magnet", Fraction(3, 10), odds, ratios)

    apart, tied = fault_spread(Fraction(0), faults, {}), fault_spread(Fraction(0), faults, {}, (cause,))

    assert tied.mean == apart.mean
    there, gone = cause.if_there, {fault: cause.if_not(fault, p) for fault, p in odds.items()}
    both = cause.odds * prod(there.values()) + (1 - cause.odds) * prod(gone.values())
    assert tied.exceeds(Fraction(700)) == both > apart.exceeds(Fraction(700))


def test_too_many_outcomes_end_with_the_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spread_module, "MOST_STATES", 1000)
    faults = [FaultCost(str(i), Fraction(1, 3), Fraction(3**i, 100)) for i in range(12)]

    with pytest.raises(LimitExceeded, match="sample them instead"):
        fault_spread(Fraction(0), faults, {})

    drawn = sampled_spread(Fraction(0), faults, {})
    mean = sum((fault.odds * fault.repair for fault in faults), Fraction(0))
    deviation = sum(float(fault.odds * (1 - fault.odds) * fault.repair**2) for fault in faults) ** 0.5
    assert sum(drawn.chances) == 1
    assert float(drawn.mean) == pytest.approx(float(mean), abs=4 * deviation / 200_000**0.5)


def test_the_plot_is_well_formed_and_says_in_words_what_it_shows() -> None:
    spread = fault_spread(Fraction(581), [ring("0.35")], TASKS)

    drawn = ElementTree.fromstring(plot_spread(spread, "EUR", Fraction(600)))

    names = {"s": "http://www.w3.org/2000/svg"}
    said = drawn.findtext("s:desc", namespaces=names) or ""
    assert drawn.get("role") == "img"
    assert "median 581.00 EUR" in said and "90 % 1,333.00 EUR" in said and "exceeding the limit 35.0%" in said
    dashes = {line.get("stroke-dasharray") for line in drawn.findall("s:line", names)} - {None}
    assert len(dashes) == 3  # median, 90 % and limit are told apart without colour

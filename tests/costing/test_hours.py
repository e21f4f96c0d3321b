"""Learnt hours against scipy's normal distribution and a direct solution of the whole linear model (credibility)."""

from __future__ import annotations

import pickle
from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from graph.costing.hours import HoursBelief, HoursRecord, ShopHours, learnt_hours
from graph.errors import InvalidInput

BELIEF = HoursBelief(job_worth=10**9)  # the spread of single jobs as good as known: the model can be solved directly


def records(operation: str, *ratios: float) -> list[HoursRecord]:
    return [HoursRecord(operation, 10_000, round(10_000 * ratio)) for ratio in ratios]


def test_before_any_job_the_expected_hours_are_the_planned_ones() -> None:
    hours = learnt_hours({"out": 450}, [])["out"]

    assert hours.expected_hundredths == 450
    assert hours.low_hundredths < hours.usual_hundredths < hours.high_hundredths
    assert "no job of its own yet" in hours.words


def test_one_job_that_took_twice_as_long_does_not_make_the_hours_jump() -> None:
    hours = learnt_hours({"out": 450}, records("out", 2.0))["out"]

    assert 450 < hours.expected_hundredths < 1.3 * 450
    assert "1 job, a small sample" in hours.words


def test_forty_jobs_that_took_half_as_long_again_are_believed() -> None:
    hours = learnt_hours({"out": 450}, records("out", *[1.5] * 40))["out"]

    assert hours.expected_hundredths == pytest.approx(1.5 * 450, rel=0.05)


def test_what_other_operations_took_moves_one_that_was_never_done() -> None:
    hours = learnt_hours({"out": 450, "clutch": 50}, records("out", *[1.5] * 20))["clutch"]

    assert hours.jobs == 0 and hours.expected_hundredths > 50


ratios = st.floats(0.4, 3.0)


@settings(deadline=None)
@given(st.lists(ratios, max_size=4), st.lists(ratios, max_size=3), st.lists(ratios, max_size=2))
def test_the_belief_is_the_best_linear_one_of_all_records(
    first: list[float], second: list[float], third: list[float]
) -> None:
    # Reference: the linear regression of the asked operation's ratio on every record, from all covariances.
    noted = [*records("a", *first), *records("b", *second), *records("c", *third)]
    owner = ["a"] * len(first) + ["b"] * len(second) + ["c"] * len(third)
    same = np.array([[one == other for other in ["a", *owner]] for one in ["a", *owner]], dtype=float)
    covariance = np.expm1(BELIEF.shop**2) + np.expm1(BELIEF.operation**2) * same
    noise = np.diag([0.0] + [np.expm1(BELIEF.job**2)] * len(noted))
    total = covariance + noise
    gain = np.linalg.solve(total[1:, 1:], total[1:, 0]) if noted else np.zeros(0)
    mean = 1 + gain @ np.array([record.ratio - 1 for record in noted])
    variance = covariance[0, 0] - gain @ total[1:, 0]

    hours = learnt_hours({"a": 1_000_000}, noted, BELIEF)["a"]

    assert hours.expected_hundredths == pytest.approx(1_000_000 * mean, rel=1e-4)
    own = np.expm1(hours.own**2 - BELIEF.job**2)  # of the operation's factor, which scales with the mean
    assert (hours.shared * mean) ** 2 + own == pytest.approx(variance, rel=1e-6)
    spread = np.hypot(hours.shared, hours.own)
    middle = log(mean) - spread**2 / 2
    assert hours.usual_hundredths == pytest.approx(1_000_000 * exp(middle), rel=1e-4)
    assert hours.high_hundredths == pytest.approx(1_000_000 * exp(norm(middle, spread).ppf(0.9)), rel=1e-4)


@pytest.mark.parametrize("jobs", [1, 3, 5, 20, 200])
def test_jobs_exactly_on_plan_leave_the_plan_as_it_is(jobs: int) -> None:
    assert learnt_hours({"out": 300}, records("out", *[1.0] * jobs))["out"].expected_hundredths == 300


def test_hours_of_zero_are_no_record() -> None:
    with pytest.raises(InvalidInput, match="planned and actual hours above 0"):
        HoursRecord("out", 450, 0)


def test_a_record_knows_its_log_ratio() -> None:
    assert HoursRecord("out", 400, 600).log_ratio == pytest.approx(log(1.5))


def test_what_was_learnt_goes_to_other_processes() -> None:
    """Stock jobs are worked out in processes of their own, which are sent the catalogue with its learnt hours."""
    asked = ShopHours.of([HoursRecord("out", 450, 540)])

    assert pickle.loads(pickle.dumps(asked))("out", 450) == asked("out", 450) > 450

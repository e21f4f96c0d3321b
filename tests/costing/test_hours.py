"""Learnt hours against scipy's normal distribution and a direct solution of the whole normal-normal model."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from graph.costing.hours import HoursBelief, HoursRecord, learnt_hours
from graph.errors import InvalidInput

BELIEF = HoursBelief(job_worth=10**9)  # the spread of single jobs as good as known: the model can be solved directly


def records(operation: str, *ratios: float) -> list[HoursRecord]:
    return [HoursRecord(operation, 10_000, round(10_000 * ratio)) for ratio in ratios]


def test_before_any_job_the_expected_hours_are_the_planned_ones():
    hours = learnt_hours({"out": 450}, [])["out"]

    assert hours.expected_hundredths == 450
    assert hours.low_hundredths < hours.usual_hundredths < hours.high_hundredths
    assert "no job of its own yet" in hours.words


def test_one_job_that_took_twice_as_long_does_not_make_the_hours_jump():
    hours = learnt_hours({"out": 450}, records("out", 2.0))["out"]

    assert 450 < hours.expected_hundredths < 1.3 * 450
    assert "1 job, a small sample" in hours.words


def test_forty_jobs_that_took_half_as_long_again_are_believed():
    hours = learnt_hours({"out": 450}, records("out", *[1.5] * 40))["out"]

    assert hours.usual_hundredths == pytest.approx(1.5 * 450, rel=0.04)


def test_what_other_operations_took_moves_one_that_was_never_done():
    hours = learnt_hours({"out": 450, "clutch": 50}, records("out", *[1.5] * 20))["clutch"]

    assert hours.jobs == 0 and hours.expected_hundredths > 50


ratios = st.floats(0.4, 3.0)


@settings(deadline=None)
@given(st.lists(ratios, max_size=4), st.lists(ratios, max_size=3), st.lists(ratios, max_size=2))
def test_the_belief_is_that_of_the_joint_normal_distribution_conditioned_on_all_records(first, second, third):
    # Reference: the joint normal of (mean of the asked operation, every record), conditioned with numpy.
    noted = [*records("a", *first), *records("b", *second), *records("c", *third)]
    owner = ["a"] * len(first) + ["b"] * len(second) + ["c"] * len(third)
    start = -(BELIEF.shop**2 + BELIEF.operation**2 + BELIEF.job**2) / 2
    same = np.array([[one == other for other in ["a", *owner]] for one in ["a", *owner]], dtype=float)
    covariance = BELIEF.shop**2 + BELIEF.operation**2 * same
    noise = np.diag([0.0] + [BELIEF.job**2] * len(noted))
    total = covariance + noise
    gain = np.linalg.solve(total[1:, 1:], total[1:, 0]) if noted else np.zeros(0)
    mean = start + gain @ np.array([record.log_ratio - start for record in noted])
    variance = covariance[0, 0] - gain @ total[1:, 0]

    hours = learnt_hours({"a": 1_000_000}, noted, BELIEF)["a"]

    spread = (variance + BELIEF.job**2) ** 0.5
    assert hours.usual_hundredths == pytest.approx(1_000_000 * exp(mean), rel=1e-4)
    assert hours.expected_hundredths == pytest.approx(1_000_000 * exp(mean + spread**2 / 2), rel=1e-4)
    assert hours.high_hundredths == pytest.approx(1_000_000 * exp(norm(mean, spread).ppf(0.9)), rel=1e-4)


def test_hours_of_zero_are_no_record():
    with pytest.raises(InvalidInput, match="planned and actual hours above 0"):
        HoursRecord("out", 450, 0)


def test_a_record_knows_its_log_ratio():
    assert HoursRecord("out", 400, 600).log_ratio == pytest.approx(log(1.5))

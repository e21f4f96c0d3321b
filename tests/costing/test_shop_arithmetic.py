"""Shop arithmetic over simulated years: nine in ten means nine in ten, and estimates are not off one way.

The hidden truth is drawn from the models that the estimates state (mean-1 lognormal factors of hours, Beta odds), so
coverage and bias follow from probability alone. 200 years are slow: `pytest -m slow`; a tenth runs each time.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from numpy.typing import NDArray

from graph.catalogue.model import StatedFault
from graph.costing.applied import boxes_behind
from graph.costing.hours import HoursBelief, HoursRecord, learnt_hours
from graph.costing.odds import BetaOdds, Finding
from graph.costing.signs import SignRatio
from graph.costing.spread import Spread, blur_with_hours

PLANNED = {"out": 450, "strip": 500, "dial in": 150, "shaft": 110, "clutch": 80}
BELIEF = HoursBelief()
ZERO = Spread((Fraction(0),), (Fraction(1),))


def factors(random: np.random.Generator, spread: float, size: int) -> NDArray[np.float64]:
    return np.asarray(np.exp(random.normal(-(spread**2) / 2, spread, size)), dtype=np.float64)


def factor(random: np.random.Generator, spread: float) -> float:
    return float(factors(random, spread, 1)[0])


def a_year(random: np.random.Generator) -> tuple[float, float, float]:
    """(share of later jobs within nine-in-ten, expected hours, true expected hours) of one shop."""
    shop = factor(random, BELIEF.shop)
    truth = {name: shop * factor(random, BELIEF.operation) for name in PLANNED}
    records = [
        HoursRecord(name, hours, max(1, round(hours * truth[name] * factor(random, BELIEF.job))))
        for name, hours in PLANNED.items()
        for _ in range(int(random.integers(0, 13)))
    ]
    learnt = learnt_hours(PLANNED, records)
    ninth = blur_with_hours(ZERO, [each.range for each in learnt.values()], 100)
    usual = sum(each.usual_hundredths for each in learnt.values()) / 100
    later = sum(hours / 100 * truth[name] * factors(random, BELIEF.job, 200) for name, hours in PLANNED.items())
    expected = sum(each.expected_hundredths for each in learnt.values()) / 100
    true = sum(hours / 100 * truth[name] for name, hours in PLANNED.items())
    return float(np.mean(later <= usual + ninth.quantile(0.9))), expected, float(true)


def years(count: int, seed: int) -> tuple[float, float]:
    """(coverage of nine in ten, mean estimate over mean truth) of many shops."""
    random = np.random.default_rng(seed)
    covered, expected, true = np.array([a_year(random) for _ in range(count)]).mean(axis=0)
    return float(covered), float(expected / true)


def test_nine_in_ten_of_learnt_hours_is_about_that_in_a_few_years() -> None:
    coverage, bias = years(20, 1)

    assert 0.83 <= coverage <= 0.96
    assert abs(bias - 1) < 0.06


@pytest.mark.slow
def test_nine_in_ten_of_learnt_hours_covers_nine_in_ten_over_200_years() -> None:
    coverage, bias = years(200, 2)

    assert 0.88 <= coverage <= 0.92
    assert abs(bias - 1) < 0.02


def test_the_nine_in_ten_of_a_route_is_that_of_its_own_model_drawn() -> None:
    """200,000 draws of the stated distribution against the convolution; percentiles as hard ends were 4 % low."""
    random = np.random.default_rng(3)
    records = [HoursRecord("out", 450, round(450 * ratio)) for ratio in (0.8, 1.4, 1.1)]
    learnt = list(learnt_hours(PLANNED, records).values())
    shared = random.normal(size=200_000)
    drawn = sum(
        each.expected_hundredths
        / 100
        * np.exp(each.shared * shared + each.own * random.normal(size=200_000) - (each.shared**2 + each.own**2) / 2)
        for each in learnt
    )
    usual = sum(each.usual_hundredths for each in learnt) / 100

    blurred = blur_with_hours(ZERO, [each.range for each in learnt], 100)

    for chance in (0.1, 0.5, 0.9, 0.99):
        assert usual + blurred.quantile(chance) == pytest.approx(float(np.quantile(drawn, chance)), rel=0.006)
    assert usual + blurred.mean == pytest.approx(sum(e.expected_hundredths for e in learnt) / 100, rel=1e-3)


def test_boxes_opened_because_of_a_sign_do_not_raise_the_base_rate() -> None:
    """Bayes: of boxes with a sign of ratio 8, p 8 / (p 8 + 1 - p) are worn: 2/3 where p is 0.2."""
    ratio = SignRatio("crunch", "hot and cold", "ring", Fraction(8), "working estimate")
    prior = BetaOdds("ring", Fraction(1, 2), Fraction(2), "working estimate")
    random = np.random.default_rng(5)
    seen = (("crunch", "hot and cold"),)
    boxes = [Finding("ring", True, bool(random.random() < 2 / 3), signs=seen) for _ in range(600)]

    learnt = prior.with_findings(boxes, [ratio])
    plain = prior.with_findings([replace(box, signs=()) for box in boxes], [ratio])

    assert float(learnt.mean) == pytest.approx(0.2, abs=0.03)
    assert float(plain.mean) == pytest.approx(2 / 3, abs=0.06)
    assert learnt.interval().low < 0.2 < learnt.interval().high


RATIO = SignRatio("crunch", "hot and cold", "ring", Fraction(8), "working estimate")


def odds_of_years(count: int, seed: int) -> tuple[float, float, float]:
    """(mean estimate over mean truth, the same where signs are ignored, coverage of the 90 % interval).

    Each year draws its hidden odds from the prior that is stated, and opens 0 to 12 boxes plainly and as many because
    of a sign. Law of total expectation: the mean of posterior means is the prior mean.
    """
    random = np.random.default_rng(seed)
    prior = BetaOdds("ring", Fraction(2, 5), Fraction(4), "working estimate")
    rows = []
    for _ in range(count):
        truth = random.beta(1.6, 2.4)
        chances = {(): truth, (("crunch", "hot and cold"),): truth * 8 / (truth * 8 + 1 - truth)}
        boxes = [
            Finding("ring", True, bool(random.random() < chance), signs=signs)
            for signs, chance in chances.items()
            for _ in range(int(random.integers(0, 13)))
        ]
        learnt = prior.with_findings(boxes, [RATIO])
        plain = prior.with_findings([replace(box, signs=()) for box in boxes], [RATIO])
        interval = learnt.interval()
        rows.append((truth, float(learnt.mean), float(plain.mean), interval.low <= truth <= interval.high))
    true, estimate, ignoring, covered = np.array(rows, dtype=float).mean(axis=0)
    return float(estimate / true), float(ignoring / true), float(covered)


@pytest.mark.slow
def test_odds_learnt_with_sign_selected_boxes_are_off_by_less_than_two_per_cent() -> None:
    bias, ignoring, coverage = odds_of_years(3_000, 6)

    assert abs(bias - 1) < 0.02
    assert ignoring > 1.1  # what it was: a base rate raised by why the box was opened
    assert 0.88 <= coverage <= 0.92


def test_odds_learnt_with_sign_selected_boxes_are_about_right_in_a_few_years() -> None:
    bias, ignoring, _ = odds_of_years(60, 7)

    assert abs(bias - 1) < 0.12
    assert ignoring > bias + 0.03


@pytest.mark.parametrize(
    ("source", "boxes"), [("5 worn of 12 opened", 12), ("3 of 30 boxes, own count", 30), ("working estimate", 4)]
)
def test_stated_odds_are_worth_the_boxes_that_were_counted(source: str, boxes: int) -> None:
    assert boxes_behind(StatedFault(id="f", label="f", odds=Fraction(2, 5), source=source)) == boxes

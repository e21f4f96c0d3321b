"""Odds against scipy's beta and beta-binomial distributions, and Bayes' rule by hand."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, betabinom

from graph.costing.odds import BetaOdds, Finding, odds_text, sample_warning
from graph.costing.priors import load_priors, load_signs
from graph.costing.signs import SignRatio, bayes, common_cause, independence_text, odds_given_signs
from graph.errors import InvalidFacts, InvalidInput

fractions_between = st.fractions(min_value=Fraction(1, 50), max_value=Fraction(49, 50), max_denominator=100)


def ring(opened: int = 0, worn: int = 0) -> BetaOdds:
    return BetaOdds("ring", Fraction(17, 40), Fraction(4), "working estimate", opened, worn)


@settings(deadline=None)
@given(fractions_between, st.integers(1, 40), st.integers(0, 60), st.data())
def test_the_odds_are_the_posterior_mean_and_interval_of_scipys_beta(
    prior: Fraction, strength: int, opened: int, data: st.DataObject
) -> None:
    worn = data.draw(st.integers(0, opened))

    odds = BetaOdds("ring", prior, Fraction(strength), "working estimate", opened, worn)

    reference = beta(float(prior * strength + worn), float((1 - prior) * strength + opened - worn))
    assert float(odds.mean) == pytest.approx(reference.mean(), rel=1e-12)
    assert odds.interval(0.9).low == pytest.approx(reference.ppf(0.05), rel=1e-9)
    assert odds.interval(0.9).high == pytest.approx(reference.ppf(0.95), rel=1e-9)


def test_the_odds_are_the_chance_that_scipys_beta_binomial_gives_the_next_box() -> None:
    odds = ring(opened=7, worn=5)

    assert float(odds.mean) == pytest.approx(betabinom(1, float(odds.alpha), float(odds.beta)).pmf(1), rel=1e-12)


def test_boxes_that_were_not_opened_do_not_count() -> None:
    findings = [
        Finding("ring", True, True), Finding("ring", False), Finding("ring", True, False), Finding("seal", True),
    ]  # fmt: skip

    after = ring().with_findings(findings)

    assert (after.opened, after.worn) == (2, 1)


def test_small_samples_say_so() -> None:
    assert "no box opened yet" in sample_warning(ring())
    assert "only 1 box opened" in sample_warning(ring(1, 1))
    assert "small sample" in sample_warning(ring(6, 3))
    assert sample_warning(ring(30, 12)) == ""
    assert "3 worn of 6 opened" in odds_text(ring(6, 3))


def test_more_worn_than_opened_is_refused() -> None:
    with pytest.raises(InvalidInput, match="expected 0 to 2 opened, found 3"):
        ring(opened=2, worn=3)


def test_a_sign_moves_the_odds_as_bayes_rule_says() -> None:
    # P(worn | sign) = P(sign | worn) P(worn) / P(sign), with P(sign | worn) 0.8, P(sign | sound) 0.1, P(worn) 0.425.
    worn, seen_if_worn, seen_if_sound = Fraction(17, 40), Fraction(4, 5), Fraction(1, 10)
    total = seen_if_worn * worn + seen_if_sound * (1 - worn)

    assert bayes(worn, seen_if_worn / seen_if_sound) == seen_if_worn * worn / total


def test_the_interval_after_a_sign_holds_the_same_belief_as_scipy_draws() -> None:
    odds = ring(opened=12, worn=4)
    crunch = SignRatio("crunch", "hot and cold", "ring", Fraction(8), "working estimate")

    after = odds_given_signs(odds, {"crunch": "hot and cold"}, [crunch])

    draws = beta(float(odds.alpha), float(odds.beta)).rvs(200_000, random_state=7)
    moved = draws * 8 / (draws * 8 + 1 - draws)
    inside = ((moved > after.interval.low) & (moved < after.interval.high)).mean()
    assert inside == pytest.approx(0.9, abs=0.005)
    assert after.after > after.before


def test_signs_used_together_are_said_to_be_taken_as_independent() -> None:
    odds = load_priors()["second-synchro-ring"]

    after = odds_given_signs(odds, {"crunch": "cold only", "mileage class": "high"}, load_signs())

    assert after.after == bayes(bayes(odds.mean, Fraction(2)), Fraction(9, 5))
    assert "independent" in after.assumed and "crunch" in after.assumed


def test_a_shared_cause_keeps_each_faults_own_odds_and_ties_them() -> None:
    odds = {"bearing": Fraction(2, 5), "layshaft": Fraction(3, 10)}

    ratios = {"bearing": Fraction(2), "layshaft": Fraction(3)}

    cause = common_cause("metal on the magnet", Fraction(3, 10), odds, ratios)

    seen = {fault: cause.if_there[fault] for fault in odds}
    unseen = {fault: cause.if_not(fault, p) for fault, p in odds.items()}
    assert seen == {"bearing": Fraction(5714, 10_000), "layshaft": Fraction(5625, 10_000)}, "4/7 and 9/16, to 0.0001"
    assert all(cause.odds * seen[one] + (1 - cause.odds) * unseen[one] == p for one, p in odds.items())
    both = cause.odds * seen["bearing"] * seen["layshaft"] + (1 - cause.odds) * unseen["bearing"] * unseen["layshaft"]
    assert both > odds["bearing"] * odds["layshaft"]
    said = independence_text(["bearing", "layshaft", "seal"], ["bearing", "layshaft"], cause.id)
    assert "tied by metal on the magnet" in said and "seal" in said


def test_a_sign_seen_too_often_for_its_ratio_is_refused() -> None:
    with pytest.raises(InvalidInput, match="contradicts odds"):
        common_cause("metal", Fraction(9, 10), {"teeth": Fraction(1, 10)}, {"teeth": Fraction(12)})


def test_every_prior_and_ratio_names_its_source_and_speaks_of_a_known_fault() -> None:
    priors = load_priors()

    assert {odds.source for odds in priors.values()} == {"working estimate"}
    assert {ratio.fault for ratio in load_signs()} <= set(priors)


def test_a_bad_row_is_reported_by_line_and_column(tmp_path: Path) -> None:
    table = tmp_path / "priors.csv"
    table.write_text("fault,prior,strength_boxes,source\nring,often,4,working estimate\n", encoding="utf-8")

    with pytest.raises(InvalidFacts, match=r"priors\.csv line 2, column prior: expected a number, found often"):
        load_priors(table)


def test_what_the_shop_found_is_counted_into_the_priors() -> None:
    prior = load_priors()["ring-gear"]

    learnt = prior.with_findings([Finding("ring-gear", True, True), Finding("ring-gear", True, False)])

    assert learnt.mean == (Fraction(15, 100) * 4 + 1) / 6

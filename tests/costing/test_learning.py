"""A year of 300 simulated jobs with hidden truth, a few times over; scripts/benchmarks/learning.py runs 200 years."""

from __future__ import annotations

from scripts.benchmarks.learning import simulate


def test_a_year_of_jobs_teaches_the_hidden_odds_and_hours() -> None:
    learnt = simulate(years=12, seed=4)

    # 12 years of 19 faults: the binomial standard error of a coverage of 0.90 is 0.02.
    assert 0.85 <= learnt.coverage <= 0.95
    assert learnt.miss_with_learnt < learnt.miss_with_priors / 2

"""Does the shop's record learn the truth? A year of 300 simulated jobs with hidden odds and hours, repeated.

Every year draws its own hidden truth, not from the priors: odds anywhere from 5 to 80 %, and per operation how far
the planned hours are off. On each job some parts are laid open, some operations are done; the findings and hours
are closed into the record by the code that the shop uses. Then: do the 90 % intervals cover the hidden odds, and do
estimates made with what was learnt miss the true mean cost by less than those made with the priors?

Prints one JSON object. `--years N` (200), `--seed N` (1).
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict, dataclass
from fractions import Fraction
from math import exp
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from graph.costing.hours import HoursRecord, learnt_hours
from graph.costing.odds import BetaOdds, Finding
from graph.costing.priors import load_priors

JOBS, RATE = 300, 60
OPERATIONS = {"gearbox out and in": 450, "clutch off and on": 50, "strip": 500, "dial in": 150, "propshaft": 110}
JOB_SPREAD = 0.3  # of the logarithm of hours from job to job
REPAIR = 150  # money per worn part, to weigh odds against hours


@dataclass(frozen=True, slots=True)
class Learning:
    """`coverage`: share of hidden odds inside their 90 % interval; misses: mean distance from the true mean cost."""

    years: int
    jobs: int
    coverage: float
    miss_with_priors: float
    miss_with_learnt: float
    years_better: float


@dataclass(frozen=True, slots=True)
class _Truth:
    odds: dict[str, float]
    opened: dict[str, float]
    off: dict[str, float]

    @property
    def mean_cost(self) -> float:
        hours = sum(OPERATIONS[name] / 100 * exp(off + JOB_SPREAD**2 / 2) for name, off in self.off.items())
        return RATE * hours + REPAIR * sum(self.odds.values())


def simulate(years: int, seed: int = 1) -> Learning:
    """Runs the years and sums up what was learnt in each."""
    random = np.random.default_rng(seed)
    priors = load_priors()
    results = [_year(random, priors) for _ in range(years)]
    covered, with_priors, with_learnt = (np.array(column) for column in zip(*results, strict=True))
    return Learning(
        years, JOBS, round(float(covered.mean()), 4), round(float(with_priors.mean()), 2),
        round(float(with_learnt.mean()), 2), round(float((with_learnt < with_priors).mean()), 4),
    )  # fmt: skip


def _year(random: np.random.Generator, priors: dict[str, BetaOdds]) -> tuple[float, float, float]:
    truth = _Truth(
        {fault: random.uniform(0.05, 0.8) for fault in priors},
        {fault: random.uniform(0.15, 0.9) for fault in priors},
        {name: random.normal(0.15, 0.2) for name in OPERATIONS},
    )
    findings, records = _closed_jobs(random, truth)
    learnt = {name: odds.with_findings(one for one in findings if one.fault == name) for name, odds in priors.items()}
    inside = [odds.interval().low <= truth.odds[fault] <= odds.interval().high for fault, odds in learnt.items()]
    before, after = _estimate(priors, []), _estimate(learnt, records)
    return sum(inside) / len(inside), abs(before - truth.mean_cost), abs(after - truth.mean_cost)


def _closed_jobs(random: np.random.Generator, truth: _Truth) -> tuple[list[Finding], list[HoursRecord]]:
    findings: list[Finding] = []
    records: list[HoursRecord] = []
    for job in range(JOBS):
        for fault, p in truth.odds.items():
            worn, opened = random.random() < p, random.random() < truth.opened[fault]
            findings.append(Finding(fault, bool(opened), bool(worn and opened), str(job)))
        for name, off in truth.off.items():
            if random.random() < 0.5:
                actual = round(OPERATIONS[name] * exp(random.normal(off, JOB_SPREAD)))
                records.append(HoursRecord(name, OPERATIONS[name], max(1, actual), str(job)))
    return findings, records


def _estimate(odds: dict[str, BetaOdds], records: list[HoursRecord]) -> float:
    hours = sum(each.expected_hundredths for each in learnt_hours(OPERATIONS, records).values()) / 100
    worn = sum((each.mean for each in odds.values()), Fraction(0))
    return RATE * hours + REPAIR * float(worn)


def main() -> None:
    arguments = argparse.ArgumentParser(description="Does the shop's record learn the truth?")
    arguments.add_argument("--years", type=int, default=200)
    arguments.add_argument("--seed", type=int, default=1)
    chosen = arguments.parse_args()
    print(json.dumps(asdict(simulate(chosen.years, chosen.seed)), indent=2))


if __name__ == "__main__":
    main()

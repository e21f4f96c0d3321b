"""Hours learnt from the shop's own jobs, drawn towards the planned figure so that one job does not make them jump.

The logarithm of actual / planned is taken as normal: y = m + t(operation) + e(job). The shop as a whole is off by m,
an operation by t, a single job by e. With the three spreads known, the belief about m + t(operation) follows exactly
from the normal-normal rule (empirical Bayes; the spread of single jobs is pooled with its working estimate from all
records). Before any record the expected hours are the planned ones. Floating point; results in whole hundredths.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist

from graph.costing.spread import HoursRange
from graph.errors import InvalidInput, Problem

_STANDARD = NormalDist()

FEW_JOBS = 5


@dataclass(frozen=True, slots=True)
class HoursBelief:
    """Working estimates of the three spreads of log(actual / planned), and how many records the last is worth."""

    shop: float = 0.15
    operation: float = 0.15
    job: float = 0.35
    job_worth: int = 10


@dataclass(frozen=True, slots=True)
class HoursRecord:
    """Planned and actual hours (whole hundredths) of one operation on one job."""

    operation: str
    planned_hundredths: int
    actual_hundredths: int
    job: str = ""

    def __post_init__(self) -> None:
        if self.planned_hundredths <= 0 or self.actual_hundredths <= 0:
            found = f"{self.planned_hundredths} and {self.actual_hundredths}"
            raise InvalidInput([Problem(self.operation, f"expected planned and actual hours above 0, found {found}")])

    @property
    def log_ratio(self) -> float:
        """log(actual / planned)."""
        return log(self.actual_hundredths / self.planned_hundredths)


@dataclass(frozen=True, slots=True)
class LearntHours:
    """Hours to reckon with, in whole hundredths. `expected`: the mean; low and high: 10th and 90th percentile."""

    operation: str
    planned_hundredths: int
    expected_hundredths: int
    low_hundredths: int
    usual_hundredths: int
    high_hundredths: int
    jobs: int
    words: str

    @property
    def range(self) -> HoursRange:
        """Low, usual and high, as the spread reads them."""
        return HoursRange(self.operation, self.low_hundredths, self.usual_hundredths, self.high_hundredths)


@dataclass(frozen=True, slots=True)
class _Group:
    count: int
    mean: float


def learnt_hours(
    planned: Mapping[str, int], records: Iterable[HoursRecord], belief: HoursBelief | None = None
) -> dict[str, LearntHours]:
    """Hours per operation. `planned`: operation -> planned hundredths; operations of 0 h are left as they are."""
    spreads = belief or HoursBelief()
    by_operation: dict[str, list[float]] = {}
    for record in records:
        by_operation.setdefault(record.operation, []).append(record.log_ratio)
    groups = {name: _Group(len(ys), sum(ys) / len(ys)) for name, ys in by_operation.items()}
    job = sqrt(_pooled_variance(by_operation.values(), spreads))
    return {
        operation: _learnt(operation, hours, groups, spreads, job) if hours else _fixed(operation)
        for operation, hours in planned.items()
    }


def _pooled_variance(groups: Iterable[Sequence[float]], belief: HoursBelief) -> float:
    squares, free = belief.job**2 * belief.job_worth, belief.job_worth
    for ys in groups:
        mean = sum(ys) / len(ys)
        squares += sum((y - mean) ** 2 for y in ys)
        free += len(ys) - 1
    return squares / free


def _learnt(operation: str, planned: int, groups: Mapping[str, _Group], belief: HoursBelief, job: float) -> LearntHours:
    mean, variance = _shop_without(operation, groups, belief, job)
    variance += belief.operation**2
    own = groups.get(operation, _Group(0, 0.0))
    if own.count:
        noise = job**2 / own.count
        both = noise + variance
        mean, variance = (mean * noise + own.mean * variance) / both, noise * variance / both
    spread = sqrt(variance + job**2)

    def at(chance: float) -> int:
        return round(planned * exp(mean + _STANDARD.inv_cdf(chance) * spread))

    expected = round(planned * exp(mean + spread**2 / 2))
    return LearntHours(
        operation, planned, expected, at(0.1), at(0.5), at(0.9), own.count, _words(planned, expected, own.count)
    )


def _shop_without(operation: str, groups: Mapping[str, _Group], belief: HoursBelief, job: float) -> tuple[float, float]:
    """Belief about the shop's own m from all other operations. It starts where expected hours equal planned ones."""
    precision = 1 / belief.shop**2
    start = -(belief.shop**2 + belief.operation**2 + job**2) / 2
    weighted = start * precision
    for name, group in groups.items():
        if name != operation:
            weight = 1 / (belief.operation**2 + job**2 / group.count)
            precision += weight
            weighted += group.mean * weight
    return weighted / precision, 1 / precision


def _fixed(operation: str) -> LearntHours:
    return LearntHours(operation, 0, 0, 0, 0, 0, 0, "no hours planned")


def _words(planned: int, expected: int, jobs: int) -> str:
    shown = f"{expected / 100:.2f} h for {planned / 100:.2f} h planned"
    if not jobs:
        return f"{shown}: no job of its own yet"
    counted = "1 job" if jobs == 1 else f"{jobs} jobs"
    return f"{shown}: from {counted}{', a small sample' if jobs < FEW_JOBS else ''}"

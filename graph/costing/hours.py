"""Hours learnt from the shop's own jobs, drawn towards the planned figure so that one job does not make them jump.

Actual over planned = shop x operation x job, three factors of mean 1. The expected ratio of an operation is the best
linear one (hierarchical credibility: Buehlmann and Straub, Jewell), which is unbiased whatever the shape: jobs exactly
on plan leave the plan as it is. A single job is lognormal about it; the spread of single jobs is pooled with its
working estimate from all records. What the shop as a whole is off by is not known either and moves all operations
together, so the hours of a route are summed for given values of it and then mixed (`graph.costing.spread`).
Floating point; results in whole hundredths.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, expm1, hypot, log, log1p, sqrt
from statistics import NormalDist

from graph.costing.spread import LearntRange
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
    def ratio(self) -> float:
        """Actual over planned."""
        return self.actual_hundredths / self.planned_hundredths

    @property
    def log_ratio(self) -> float:
        """log(actual / planned)."""
        return log(self.actual_hundredths / self.planned_hundredths)


@dataclass(frozen=True, slots=True)
class LearntHours:
    """Hours to reckon with, in whole hundredths. `expected`: the mean; low and high: 10th and 90th percentile.

    `shared`, `own`: spread of the logarithm that this operation shares with all others (the shop's own factor is not
    known exactly) and that is its own.
    """

    operation: str
    planned_hundredths: int
    expected_hundredths: int
    low_hundredths: int
    usual_hundredths: int
    high_hundredths: int
    jobs: int
    words: str
    shared: float = 0.0
    own: float = 0.0

    @property
    def range(self) -> LearntRange:
        """The distribution, as the spread reads it."""
        return LearntRange(self.operation, self.expected_hundredths, self.usual_hundredths, self.shared, self.own)


@dataclass(frozen=True, slots=True)
class _HoursGroup:
    count: int
    mean: float  # of actual over planned


def learnt_hours(
    planned: Mapping[str, int], records: Iterable[HoursRecord], belief: HoursBelief | None = None
) -> dict[str, LearntHours]:
    """Hours per operation. `planned`: operation -> planned hundredths; operations of 0 h are left as they are."""
    shop = ShopHours.of(records, belief)
    return {operation: shop.learnt(operation, hours) for operation, hours in planned.items()}


@dataclass(frozen=True, slots=True)
class ShopHours:
    """What a shop's records say of hours, to ask operation by operation: a task, a part fitted, a joint closed."""

    groups: Mapping[str, _HoursGroup]
    belief: HoursBelief
    job: float
    jobs: int = 0

    @property
    def words(self) -> str:
        """By what the hours of work that no job has noted are multiplied, and from how many jobs that is learnt."""
        counted = "1 job" if self.jobs == 1 else f"{self.jobs} jobs"
        small = ", a small sample" if self.jobs < FEW_JOBS else ""
        return (
            f"hours are as this shop's own jobs took them, learnt from {counted}{small}: {_all_by(self)[0]:.2f} times "
            "those stated for work that no job has noted; work that was noted goes by its own hours too"
        )

    @classmethod
    def of(cls, records: Iterable[HoursRecord], belief: HoursBelief | None = None) -> ShopHours:
        """All records of the shop."""
        spreads = belief or HoursBelief()
        by_operation: dict[str, list[HoursRecord]] = {}
        for record in records:
            by_operation.setdefault(record.operation, []).append(record)
        groups = {
            name: _HoursGroup(len(own), sum(r.ratio for r in own) / len(own)) for name, own in by_operation.items()
        }
        job = sqrt(_pooled_variance([[r.log_ratio for r in own] for own in by_operation.values()], spreads))
        return cls(groups, spreads, job, len({one for own in by_operation.values() for one in _jobs_of(own)}))

    def learnt(self, operation: str, planned: int) -> LearntHours:
        """The hours to reckon with for an operation planned at so many hundredths; 0 stays 0."""
        return _learnt(operation, planned, self.groups, self.belief, self.job) if planned else _fixed(operation)

    def __call__(self, operation: str, planned: int) -> int:
        """The expected hundredths alone: what a catalogue carries, to other processes too, and compares by value."""
        return self.learnt(operation, planned).expected_hundredths


def _jobs_of(records: Iterable[HoursRecord]) -> set[str]:
    return {record.job for record in records}


def _pooled_variance(groups: Iterable[Sequence[float]], belief: HoursBelief) -> float:
    squares, free = belief.job**2 * belief.job_worth, belief.job_worth
    for ys in groups:
        mean = sum(ys) / len(ys)
        squares += sum((y - mean) ** 2 for y in ys)
        free += len(ys) - 1
    return squares / free


def _learnt(
    operation: str, planned: int, groups: Mapping[str, _HoursGroup], belief: HoursBelief, job: float
) -> LearntHours:
    between, noise = expm1(belief.operation**2), expm1(job**2)  # variances of a lognormal factor of mean 1
    shop, precision = _shop_factor(groups, belief, between, noise)
    own = groups.get(operation, _HoursGroup(0, 0.0))
    trust = between / (between + noise / own.count) if own.count else 0.0
    mean = trust * own.mean + (1 - trust) * shop
    shared = (1 - trust) / sqrt(precision) / mean
    alone = sqrt(log1p((1 - trust) * between) + job**2)
    spread = hypot(shared, alone)
    middle = log(mean) - spread**2 / 2

    def at(chance: float) -> int:
        return round(planned * exp(middle + _STANDARD.inv_cdf(chance) * spread))

    expected = round(planned * mean)
    return LearntHours(
        operation, planned, expected, at(0.1), at(0.5), at(0.9), own.count, _words(planned, expected, own.count),
        shared, alone,
    )  # fmt: skip


def _shop_factor(
    groups: Mapping[str, _HoursGroup], belief: HoursBelief, between: float, noise: float
) -> tuple[float, float]:
    """What the shop as a whole takes for an hour that is stated, and how exactly that is known (1 / variance)."""
    precision, weighted = 1 / expm1(belief.shop**2), 1 / expm1(belief.shop**2)
    for group in groups.values():
        weight = 1 / (between + noise / group.count)
        precision += weight
        weighted += group.mean * weight
    return weighted / precision, precision


def _all_by(shop: ShopHours) -> tuple[float, float]:
    return _shop_factor(shop.groups, shop.belief, expm1(shop.belief.operation**2), expm1(shop.job**2))


def _fixed(operation: str) -> LearntHours:
    return LearntHours(operation, 0, 0, 0, 0, 0, 0, "no hours planned")


def _words(planned: int, expected: int, jobs: int) -> str:
    shown = f"{expected / 100:.2f} h for {planned / 100:.2f} h planned"
    if not jobs:
        return f"{shown}: no job of its own yet"
    counted = "1 job" if jobs == 1 else f"{jobs} jobs"
    return f"{shown}: from {counted}{', a small sample' if jobs < FEW_JOBS else ''}"

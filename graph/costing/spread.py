"""The spread of what a route will cost: exact over the faults, hours between low and high on top.

Faults: each part as found may be worn. Seen faults cost their repair. Unseen ones cost their repair and,
whatever fails, each task of their reach once more (ROUTES: the comeback). The states are followed exactly with
whole numbers (amounts in 1/10000 of the currency unit, odds over a common denominator), equal states merged.
Hours as stated: low, usual, high are read as a triangular distribution (its mean is their third part sum), each
operation independent, which is said to the reader. Hours as learnt: lognormal, dependent through the shop's own
factor. The sum is convolved on a grid of 0.01 h.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, exp, log

import numpy as np
from numpy.typing import NDArray

from graph.common_cause import CommonCause
from graph.conversion.causes import CauseState, states_of
from graph.conversion.document import Conversion
from graph.costing.while_open import closed_reach
from graph.errors import InvalidInput, LimitExceeded, Problem

MONEY = 10_000  # amounts are whole ten-thousandths: cash and rate * hours are both exact in them
MOST_STATES = 400_000
_NODES = 15  # of the integration over what learnt hours share
_REACH = 5.0  # standard deviations of a learnt operation that are followed


@dataclass(frozen=True, slots=True)
class Spread:
    """An exact distribution of money: `amounts` ascending in currency units, `chances` summing to 1."""

    amounts: tuple[Fraction, ...]
    chances: tuple[Fraction, ...]

    @property
    def mean(self) -> Fraction:
        """The expected amount."""
        return sum((a * p for a, p in zip(self.amounts, self.chances, strict=True)), Fraction(0))

    def quantile(self, chance: Fraction) -> Fraction:
        """The smallest amount that is not exceeded with probability `chance` (0..1)."""
        reached = Fraction(0)
        for amount, p in zip(self.amounts, self.chances, strict=True):
            reached += p
            if reached >= chance:
                return amount
        return self.amounts[-1]

    def exceeds(self, limit: Fraction) -> Fraction:
        """The probability that the cost is above the customer's limit."""
        return sum((p for a, p in zip(self.amounts, self.chances, strict=True) if a > limit), Fraction(0))


@dataclass(frozen=True, slots=True)
class FaultCost:
    """One fault as the spread sees it; money in currency units. `seen`: no comeback."""

    id: str
    odds: Fraction
    repair: Fraction
    reach: tuple[str, ...] = ()
    seen: bool = False


@dataclass(frozen=True, slots=True)
class HoursRange:
    """An operation's hours in whole hundredths: low, usual (most likely) and high."""

    operation: str
    low_hundredths: int
    usual_hundredths: int
    high_hundredths: int

    def __post_init__(self) -> None:
        if not 0 <= self.low_hundredths <= self.usual_hundredths <= self.high_hundredths:
            found = f"{self.low_hundredths}, {self.usual_hundredths}, {self.high_hundredths}"
            raise InvalidInput([Problem(self.operation, f"expected 0 <= low <= usual <= high, found {found}")])


@dataclass(frozen=True, slots=True)
class LearntRange:
    """An operation's hours as learnt: lognormal about `expected` (whole hundredths), `usual` its median.

    `shared`: the part of the logarithm's spread that all learnt operations share; `own`: the rest.
    """

    operation: str
    expected_hundredths: int
    usual_hundredths: int
    shared: float
    own: float


def fault_costs(
    conversion: Conversion, picks: Mapping[str, str], tasks: Iterable[str], links: Iterable[str] = ()
) -> list[FaultCost]:
    """The faults that a route can still meet; those of parts that it replaces are gone.

    `links`: the ids of the links picked; doubts sit on them as on candidates. What is due is no chance any more.
    """
    done, by_id = set(tasks), {task.id: task for task in conversion.tasks}
    as_found = {c.id for position in conversion.positions for c in position.candidates if c.as_found}
    picked, costs = {*picks.values(), *links}, []
    for fault in conversion.faults:
        if fault.odds < 1 and not picked.isdisjoint(fault.on) if fault.on else picks.get(fault.position) in as_found:
            reach = closed_reach(fault.reach, by_id)
            repair = Fraction(fault.cash_hundredths, 100) + Fraction(
                fault.hours_hundredths * conversion.rate_hundredths, MONEY
            )
            costs.append(FaultCost(fault.id, fault.odds, repair, reach, fault.shows and set(reach) <= done))
    return costs


def task_costs(conversion: Conversion) -> dict[str, Fraction]:
    """What doing each task once costs, in currency units."""
    rate = conversion.rate_hundredths
    return {
        t.id: Fraction(t.cash_hundredths, 100) + Fraction(t.hours_hundredths * rate, MONEY) for t in conversion.tasks
    }


def fault_spread(
    total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction], causes: Sequence[CommonCause] = ()
) -> Spread:
    """The exact distribution of total + faults, these independent but for common causes.

    Raises LimitExceeded past 400,000 states.
    """
    states = states_of(causes, {fault.id: fault.odds for fault in faults})
    if len(states) == 1:
        return _independent_spread(total, faults, task_cost)
    return mixed((state.chance, _independent_spread(total, in_state(faults, state), task_cost)) for state in states)


def in_state(faults: Iterable[FaultCost], state: CauseState) -> list[FaultCost]:
    """The faults with the odds that they have where the causes are in this state."""
    return [replace(fault, odds=state.odds[fault.id]) for fault in faults]


def mixed(parts: Iterable[tuple[Fraction, Spread]]) -> Spread:
    """One spread of several, each as likely as stated."""
    chances: dict[Fraction, Fraction] = {}
    for share, spread in parts:
        for amount, p in zip(spread.amounts, spread.chances, strict=True):
            chances[amount] = chances.get(amount, Fraction(0)) + share * p
    ordered = sorted(chances)
    return Spread(tuple(ordered), tuple(chances[amount] for amount in ordered))


def _independent_spread(total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction]) -> Spread:
    weights: dict[tuple[int, frozenset[str]], int] = {(_whole(total), frozenset()): 1}
    denominator = 1
    for fault in sorted(faults, key=lambda each: each.seen):
        weights = _with_fault(weights, fault, task_cost)
        denominator *= fault.odds.denominator
        if len(weights) > MOST_STATES:
            raise LimitExceeded(f"more than {MOST_STATES:,} outcomes of {len(faults)} faults; sample them instead")
    amounts: dict[int, int] = {}
    for (amount, _), weight in weights.items():
        amounts[amount] = amounts.get(amount, 0) + weight
    ordered = sorted(amounts)
    return Spread(
        tuple(Fraction(amount, MONEY) for amount in ordered),
        tuple(Fraction(amounts[amount], denominator) for amount in ordered),
    )


def spread_of_route(
    conversion: Conversion, picks: Mapping[str, str], tasks: Iterable[str], total: Fraction, links: Iterable[str] = ()
) -> Spread:
    """The exact spread of a route whose `total` (currency units) is known, over all its fault outcomes."""
    return fault_spread(total, fault_costs(conversion, picks, tasks, links), task_costs(conversion), conversion.causes)


@dataclass(frozen=True, slots=True)
class BlurredSpread:
    """A spread whose hours are uncertain too: the exact fault amounts, each blurred by the hours' distribution.

    `money_steps`: extra money over the usual hours, ascending; `hour_chances`: their probabilities.
    """

    faults: Spread
    money_steps: NDArray[np.float64]
    hour_chances: NDArray[np.float64]

    @property
    def mean(self) -> float:
        """The expected amount, in currency units."""
        return float(self.faults.mean) + float(self.money_steps @ self.hour_chances)

    def not_above(self, limit: float) -> float:
        """The probability that the cost is at most `limit`."""
        reached = np.cumsum(self.hour_chances)
        total = 0.0
        for amount, p in zip(self.faults.amounts, self.faults.chances, strict=True):
            index = int(np.searchsorted(self.money_steps, limit - float(amount) + 1e-9, side="right"))
            total += float(p) * (float(reached[index - 1]) if index else 0.0)
        return total

    def exceeds(self, limit: float) -> float:
        """The probability that the cost is above the customer's limit."""
        return max(0.0, 1.0 - self.not_above(limit))

    def quantile(self, chance: float) -> float:
        """The smallest amount not exceeded with probability `chance`, to a thousandth."""
        low = float(self.faults.amounts[0]) + float(self.money_steps[0])
        high = float(self.faults.amounts[-1]) + float(self.money_steps[-1])
        while high - low > 0.001:
            middle = (low + high) / 2
            low, high = (low, middle) if self.not_above(middle) >= chance else (middle, high)
        return high


def blur_with_hours(faults: Spread, ranges: Sequence[HoursRange | LearntRange], rate_hundredths: int) -> BlurredSpread:
    """The spread with uncertain hours. The faults' spread is taken at the usual hours of the operations.

    Stated ranges are triangular and independent. Learnt ones are independent for a given value of what they share,
    which is integrated over (Gauss-Hermite).
    """
    stated = [each for each in ranges if isinstance(each, HoursRange)]
    learnt = [each for each in ranges if isinstance(each, LearntRange)]
    chances = np.array([1.0])
    low = -sum(each.usual_hundredths for each in learnt)
    for one in stated:
        chances = np.convolve(chances, _triangle(one))
        low += one.low_hundredths - one.usual_hundredths
    if learnt:
        chances = np.convolve(chances, _learnt_sum(learnt))
    steps = (np.arange(len(chances)) + low) * (rate_hundredths / MONEY)
    return BlurredSpread(faults, steps.astype(np.float64), chances)


def _learnt_sum(learnt: Sequence[LearntRange]) -> NDArray[np.float64]:
    """Chances of each hundredth of an hour, from 0, of the sum of learnt operations."""
    from scipy.signal import fftconvolve  # here, because scipy takes half a second to load and no start needs it

    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    mixed = np.zeros(1)
    for node, weight in zip(nodes, weights / weights.sum(), strict=True):
        given = np.array([1.0])
        for each in learnt:
            given = fftconvolve(given, _lognormal(each, float(node)))
        given = np.clip(given, 0.0, None)
        longer, shorter = (mixed, given) if len(mixed) >= len(given) else (given, mixed)
        scale_long, scale_short = (1.0, weight) if longer is mixed else (weight, 1.0)
        summed = longer * scale_long
        summed[: len(shorter)] += shorter * scale_short
        mixed = summed
    return np.asarray(mixed / mixed.sum(), dtype=np.float64)


def _lognormal(each: LearntRange, node: float) -> NDArray[np.float64]:
    """Chances of each hundredth of an hour for one value of what is shared; hat-shaped shares keep the mean."""
    from scipy.special import ndtr

    centre = log(max(each.expected_hundredths, 1)) + each.shared * node - (each.shared**2 + each.own**2) / 2
    top = ceil(exp(centre + _REACH * each.own)) + 2
    points = np.arange(-1, top + 1, dtype=np.float64)
    z = (np.log(np.maximum(points, 1e-9)) - centre) / each.own
    # E[max(0, x - X)] = x N(z) - E[X] N(z - own): its second difference is the share of each point
    twice = np.where(points > 0, points * ndtr(z) - exp(centre + each.own**2 / 2) * ndtr(z - each.own), 0.0)
    shares: NDArray[np.float64] = np.clip(twice[2:] - 2 * twice[1:-1] + twice[:-2], 0.0, None)
    return shares


def sample_costs(
    total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction],
    ranges: Sequence[HoursRange] = (), rate_hundredths: int = 0, samples: int = 100_000, seed: int = 1,
) -> NDArray[np.float64]:  # fmt: skip
    """Costs drawn with a stated seed, for faults too many to enumerate. Same arguments, same draws."""
    random = np.random.default_rng(seed)
    costs = np.full(samples, float(total))
    opened_again: dict[str, NDArray[np.bool_]] = {}
    for fault in faults:
        worn = random.random(samples) < float(fault.odds)
        costs += worn * float(fault.repair)
        for task in () if fault.seen else fault.reach:
            opened_again[task] = opened_again.get(task, np.zeros(samples, dtype=bool)) | worn
    for task, again in opened_again.items():
        costs += again * float(task_cost[task])
    for each in ranges:
        if each.low_hundredths < each.high_hundredths:
            drawn = random.triangular(each.low_hundredths, each.usual_hundredths, each.high_hundredths, samples)
            costs += (drawn - each.usual_hundredths) * (rate_hundredths / MONEY)
    return costs


def sampled_spread(
    total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction],
    samples: int = 200_000, seed: int = 1,
) -> Spread:  # fmt: skip
    """A spread drawn with a stated seed, amounts to 0.01; for faults too many to follow exactly."""
    costs = np.rint(sample_costs(total, faults, task_cost, samples=samples, seed=seed) * 100).astype(np.int64)
    amounts, counts = np.unique(costs, return_counts=True)
    return Spread(
        tuple(Fraction(int(amount), 100) for amount in amounts),
        tuple(Fraction(int(count), samples) for count in counts),
    )


def _with_fault(
    weights: dict[tuple[int, frozenset[str]], int], fault: FaultCost, task_cost: Mapping[str, Fraction]
) -> dict[tuple[int, frozenset[str]], int]:
    worn, sound = fault.odds.numerator, fault.odds.denominator - fault.odds.numerator
    repair, reach = _whole(fault.repair), frozenset() if fault.seen else frozenset(fault.reach)
    added: dict[frozenset[str], int] = {}
    after: dict[tuple[int, frozenset[str]], int] = {}
    for (amount, opened), weight in weights.items():
        if sound:
            after[(amount, opened)] = after.get((amount, opened), 0) + weight * sound
        if worn:
            if opened not in added:
                added[opened] = repair + sum(_whole(task_cost[task]) for task in reach - opened)
            key = (amount + added[opened], opened | reach)
            after[key] = after.get(key, 0) + weight * worn
    return after


def _whole(amount: Fraction) -> int:
    whole = amount * MONEY
    if whole.denominator != 1:
        raise InvalidInput([Problem("amount", f"expected at most four decimals of money, found {amount}")])
    return whole.numerator


def _triangle(each: HoursRange) -> NDArray[np.float64]:
    """Chances of each hundredth of an hour from low to high.

    Each point takes the hat-shaped share of the density around it, which keeps the mean of the continuous
    triangle: the second difference of the density's second integral.
    """
    low, usual, high = each.low_hundredths, each.usual_hundredths, each.high_hundredths
    if low == high:
        return np.array([1.0])
    points = np.arange(low - 1, high + 2, dtype=np.float64)
    twice = _second_integral(low, usual, high)(points)
    chances = twice[2:] - 2 * twice[1:-1] + twice[:-2]
    normed: NDArray[np.float64] = np.clip(chances, 0.0, None) / chances.sum()
    return normed


def _second_integral(low: int, usual: int, high: int) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """E[max(0, x - X)] for a triangular X: piecewise cubic, straight beyond the ends."""
    span = high - low
    mean = (low + usual + high) / 3

    def integral(x: NDArray[np.float64]) -> NDArray[np.float64]:
        rising = np.clip(x - low, 0, None) ** 3 / (3 * span * (usual - low)) if usual > low else np.zeros_like(x)
        falling = x - mean
        if usual < high:
            falling = falling + np.clip(high - x, 0, None) ** 3 / (3 * span * (high - usual))
        return np.where(x <= low, 0.0, np.where(x >= high, x - mean, np.where(x <= usual, rising, falling)))

    return integral

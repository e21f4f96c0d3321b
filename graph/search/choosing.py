"""The best set of tests: few are all gone through; of many a good set is found first, then others are ruled out.

What no set gets below rules sets out: with these tests paid, and everything told that the ones left could tell. Where
too many sets are left after so many were weighed, the best found stands, with how far below it another may lie.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from typing import NamedTuple

from graph.search.looks import LookCosts, LookedAt, Unpriced
from graph.search.weighing import Number

FEW_TESTS = 8  # of which every set is weighed or ruled out
FOR_FINDING, FOR_RULING_OUT = 150_000, 150_000  # outcomes gone through where there are more
CLOSE = 1e-9  # as a part of the sum; floats are nearer than that
MOST_CLOSE = 512  # sets as good as the best that are weighed exactly

Chosen = tuple[LookedAt, ...]


class ChosenTests(NamedTuple):
    """A set of tests and what it costs on average, exactly."""

    tests: Chosen
    worth: Fraction


class _SetNode(NamedTuple):
    """Sets with all of `chosen` and any of the tests from `place` on, none of which gets below `least`."""

    least: Number
    place: int
    chosen: Chosen


class Choosing:
    """`now`: what it costs without looking, in money. `found`: the best so far; it is improved by `run`."""

    def __init__(self, looks: LookCosts, now: Fraction):
        self._looks, self._now, self._best = looks, now, float(now)
        self._close = CLOSE * max(1.0, float(now))
        self._good: list[tuple[float, Chosen]] = []
        self._left: list[Number] = []  # what sets that were never weighed do not get below
        self.found: ChosenTests | None = None

    def run(self) -> None:
        """Find the best set that beats `now`. Raises BudgetSpent, what was found so far standing in `found`."""
        tests = list(self._looks.tests)
        if len(tests) > FEW_TESTS:
            tests = self._greedily(tests)
        self._settle()
        self._exclude(tests, None if len(tests) <= FEW_TESTS else FOR_RULING_OUT)
        self._settle()

    @property
    def least(self) -> Fraction | None:
        """What no set gets below, where not every set was weighed or ruled out."""
        return Fraction(min(self._left)) if self._left else None

    def bound(self) -> Fraction:
        """What no set gets below, whatever it costs itself."""
        return Fraction(self._looks.least(self._looks.tests))

    def _weigh(self, chosen: Chosen) -> float:
        """What a set costs; infinite where it is no way to go about it or was not weighed."""
        self._looks.search.meter.check()
        try:
            worth = self._looks.worth(chosen, exact=False)
        except Unpriced:
            self._left.append(self._paid(chosen) + self._looks.least(chosen))
            return float("inf")
        if worth is None:
            return float("inf")
        if worth <= self._best + self._close:
            self._good.append((float(worth), chosen))
            if worth < self._best:
                self._best = float(worth)
                self._good = [one for one in self._good if one[0] <= self._best + self._close]
        return float(worth)

    @staticmethod
    def _paid(chosen: Chosen) -> Fraction:
        return sum((one.cost for one in chosen), Fraction(0))

    def _greedily(self, tests: list[LookedAt]) -> list[LookedAt]:
        """Add one test or two at a time, drop what is not worth it any more; the tests in the order of their use."""
        alone = {one.id: self._weigh((one,)) for one in tests}
        tests = sorted(tests, key=lambda one: (alone[one.id], one.id))
        chosen: Chosen = ()
        worth = float(self._now)
        begun = self._looks.work
        while self._looks.work - begun < FOR_FINDING:
            more = [one for one in tests if one not in chosen]
            steps = [tuple(sorted((*chosen, one))) for one in more]
            steps += [tuple(one for one in chosen if one is not left) for left in chosen if len(chosen) > 1]
            better = self._best_of(steps)
            if better is None or better[0] >= worth - self._close:
                pairs = combinations(more[: max(2, FEW_TESTS)], 2)
                better = self._best_of([tuple(sorted((*chosen, *pair))) for pair in pairs])
            if better is None or better[0] >= worth - self._close:
                break
            worth, chosen = better
        return sorted(tests, key=lambda one: (one not in chosen, alone[one.id], one.id))

    def _best_of(self, sets: Sequence[Chosen]) -> tuple[float, Chosen] | None:
        return min(((self._weigh(one), one) for one in sets), default=None, key=lambda pair: pair[0])

    def _exclude(self, tests: Sequence[LookedAt], most: int | None) -> None:
        """Weigh or rule out every set, the most promising first taken; what is not done is `_left`."""
        begun = self._looks.work
        stack = [_SetNode(self._looks.least(tests), 0, ())] if tests else []
        while stack:
            node = stack.pop()
            if node.least > self._best + self._close:
                continue
            if most is not None and self._looks.work - begun >= most:
                self._left += [node.least, *(one.least for one in stack if one.least < self._best)]
                return
            chosen = tuple(sorted((*node.chosen, tests[node.place])))
            self._weigh(chosen)
            if node.place + 1 < len(tests):
                rest = tests[node.place + 1 :]
                without = self._paid(node.chosen) + self._looks.least((*node.chosen, *rest))
                stack.append(_SetNode(max(node.least, without), node.place + 1, node.chosen))
                stack.append(_SetNode(node.least + tests[node.place].cost, node.place + 1, chosen))

    def _settle(self) -> None:
        """Weigh the best sets exactly; ties go to fewer tests, then to the first by their ids."""
        best: tuple[Fraction, int, tuple[str, ...]] | None = None
        for _, chosen in sorted(self._good, key=lambda one: (len(one[1]), [test.id for test in one[1]]))[:MOST_CLOSE]:
            worth = self._looks.worth(chosen, exact=True)
            if worth is None or worth >= self._now:
                continue
            key = Fraction(worth), len(chosen), tuple(one.id for one in chosen)
            if best is None or key < best:
                best, self.found = key, ChosenTests(chosen, key[0])

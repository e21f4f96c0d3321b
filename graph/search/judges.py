"""Can a partial route still matter? Two ways to say so: below a ceiling, or not dominated by the front so far."""

from __future__ import annotations

from bisect import insort
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from graph.search.columns import IMPOSSIBLE, POSSIBLE_BELOW, Columns, Ints

Flags = NDArray[np.bool_]
MATCHED = IMPOSSIBLE << 4


@dataclass(slots=True)
class CeilingJudge:
    """A partial route matters while its bound in some scenario is not above that scenario's ceiling."""

    columns: Columns
    ceilings: Ints

    def judge(self, costs: Ints, sums: Ints) -> list[int | None]:
        """Per row: how good it can still get (lower is better), or None if it cannot matter."""
        if self.columns.scenarios == 1:
            ceiling = int(self.ceilings[0])
            return [one if one <= ceiling else None for one in np.minimum.reduce(costs, axis=1).tolist()]
        each = costs.reshape(len(costs), self.columns.scenarios, self.columns.sets).min(axis=2) - self.ceilings
        return [one if one <= 0 else None for one in each.min(axis=1).tolist()]

    def rank(self, costs: Ints, sums: Ints) -> tuple[Ints, Flags]:
        """The same of many rows at once."""
        order, ceiling = self._order(costs)
        return order, order <= ceiling

    def may_matter(self, costs: Ints) -> Flags:
        """Per row: is it not above the ceiling?"""
        order, ceiling = self._order(costs)
        return order <= ceiling

    def _order(self, costs: Ints) -> tuple[Ints, int]:
        if self.columns.scenarios == 1:
            return np.minimum.reduce(costs, axis=1), int(self.ceilings[0])
        each = costs.reshape(len(costs), self.columns.scenarios, self.columns.sets).min(axis=2) - self.ceilings
        return each.min(axis=1), 0

    def still_matters(self, bound: int, sums: Ints) -> bool:
        """The same for one row judged earlier, with what is known now."""
        if self.columns.scenarios == 1:
            return bool(bound <= self.ceilings[0])
        return self.judge(sums[None, : self.columns.costs], sums[None, :])[0] is not None


@dataclass(slots=True)
class FrontJudge:
    """A partial route matters while some task set's (cash, hours) is not matched or beaten by a known point."""

    unit: int
    columns: Columns | None = None  # of the search, before it begins
    points: list[tuple[int, int]] = field(default_factory=list)  # (cash, hours), cash rising, hours falling
    _cash: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    _hours: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    def add(self, cash: int, hours: int) -> bool:
        """Add a point, if no known one is as good; forget those that it beats."""
        if any(one <= cash and other <= hours for one, other in self.points):
            return False
        self.points = [point for point in self.points if point[0] < cash or point[1] < hours]
        insort(self.points, (cash, hours))
        self._cash = np.array([-(-cash // self.unit) for cash, _ in self.points], dtype=np.int64)
        self._hours = np.array([hours for _, hours in self.points], dtype=np.int64)
        return True

    def judge(self, costs: Ints, sums: Ints) -> list[int | None]:
        """Per row: a bound to order by, or None if every task set is matched or impossible."""
        order, matters = self.rank(costs, sums)
        return [one if may else None for one, may in zip(order.tolist(), matters.tolist(), strict=True)]

    def rank(self, costs: Ints, sums: Ints) -> tuple[Ints, Flags]:
        """The same of many rows at once."""
        assert self.columns is not None
        hours = sums[:, self.columns.costs : self.columns.first_chain]
        beaten: Flags = costs >= POSSIBLE_BELOW
        if self.points:
            last = np.searchsorted(self._cash, costs, side="right") - 1
            beaten |= (last >= 0) & (self._hours[last] <= hours)
        order: Ints = np.where(beaten, MATCHED, costs + hours).min(axis=1)
        return order, order < MATCHED

    def may_matter(self, costs: Ints) -> Flags:
        """Per row: is some task set possible? What it costs says nothing of its hours."""
        possible: Flags = np.logical_or.reduce(costs < POSSIBLE_BELOW, axis=1)
        return possible

    def still_matters(self, bound: int, sums: Ints) -> bool:
        """The same for one row judged earlier, with what is known now."""
        assert self.columns is not None
        return self.judge(sums[None, : self.columns.costs], sums[None, :])[0] is not None

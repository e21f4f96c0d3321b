"""Can a partial route still matter? Two ways to say so: below a ceiling, or not dominated by the front so far."""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graph.search.columns import Columns
from graph.search.numbers import IMPOSSIBLE, POSSIBLE_BELOW, Ints

Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]
MATCHED = IMPOSSIBLE << 4
ANY = 1 << 62


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

    def matters(self, lanes: Rows, costs: Ints) -> Flags:
        """Per row of one task set's costs: is some scenario's not above its ceiling?"""
        under: Flags = np.logical_or.reduce(costs <= self.ceilings, axis=1)
        return under

    def order(self, lanes: Rows, costs: Ints) -> Ints:
        """As `judge` orders."""
        if self.columns.scenarios == 1:
            return costs[:, 0]
        order: Ints = (costs - self.ceilings).min(axis=1)
        return order

    def still_matters(self, bound: int, sums: Ints) -> bool:
        """The same for one row judged earlier, with what is known now."""
        if self.columns.scenarios == 1:
            return bool(bound <= self.ceilings[0])
        return self.judge(sums[None, : self.columns.costs], sums[None, :])[0] is not None


class FrontJudge:
    """A partial route matters while in some task set it may still lead to a point that no known one matches or beats.

    The scenarios of its columns are cash, hours, and for each slope (a, b) a * cash + b * hours. What is not yet
    matched lies below a stair; a partial route must find room in a *corner* of it, between two neighbouring points: by
    cash, by hours and by every slope, whose bounds feel that what is least in cash is not what is least in hours.
    """

    def __init__(self, slopes: Sequence[tuple[int, int]], unit: int):
        """`unit`: how many hundredths of cash are one; `sets`: how many task sets its columns have, once searched."""
        self.slopes, self.unit, self.sets = slopes, unit, 0
        self.points: list[tuple[int, int]] = []  # (cash, hours), cash rising, hours falling
        self._cash: Ints = np.zeros(0, dtype=np.int64)
        self._hours: Ints = np.zeros(0, dtype=np.int64)  # negated, so that they rise
        self._room: list[Ints] = []

    def add(self, cash: int, hours: int) -> bool:
        """Add a point, if no known one is as good; forget those that it beats."""
        if any(one <= cash and other <= hours for one, other in self.points):
            return False
        self.points = [point for point in self.points if point[0] < cash or point[1] < hours]
        insort(self.points, (cash, hours))
        self._cash = np.array([-(-cash // self.unit) for cash, _ in self.points], dtype=np.int64)
        self._hours = -np.array([hours for _, hours in self.points], dtype=np.int64)
        self._room = [self._room_along(*slope) for slope in self.slopes]
        return True

    def _room_along(self, cash: int, hours: int) -> Ints:
        """By first and last corner: the most along a slope that a point in one of them may come to."""
        count = len(self.points) + 1
        corners = np.full(count, ANY, dtype=np.int64)
        corners[1:-1] = cash * (self._cash[1:] - 1) + hours * (-self._hours[:-1] - 1)
        room = np.full((count, count), -1, dtype=np.int64)
        for first in range(count):
            room[first, first:] = np.maximum.accumulate(corners[first:])
        return room.reshape(-1)

    def matters(self, lanes: Rows, costs: Ints) -> Flags:
        """Per row of one task set's costs: is there room left for it?"""
        cash, hours = costs[:, 0], costs[:, 1]
        may: Flags = cash < POSSIBLE_BELOW
        if not self.points:
            return may
        first = self._cash.searchsorted(cash, side="right")
        last = self._hours.searchsorted(-hours, side="left")
        may &= first <= last
        corners = first * (len(self.points) + 1) + np.maximum(first, last)
        for number, room in enumerate(self._room[: costs.shape[1] - 2], start=2):
            may &= costs[:, number] <= room[corners]
        return may

    def order(self, lanes: Rows, costs: Ints) -> Ints:
        """By the slope in the middle."""
        middle: Ints = costs[:, 2 + len(self.slopes) // 2]
        return middle

    def judge(self, costs: Ints, sums: Ints) -> list[int | None]:
        """Per row of all columns: a bound to order by, or None if every task set is matched or impossible."""
        sets = self.sets
        each = costs.reshape(len(costs), -1, sets).transpose(0, 2, 1).reshape(len(costs) * sets, -1)
        lanes = np.tile(np.arange(sets), len(costs))
        order = np.where(self.matters(lanes, each), self.order(lanes, each), MATCHED).reshape(-1, sets).min(axis=1)
        return [one if one < MATCHED else None for one in order.tolist()]

    def still_matters(self, bound: int, sums: Ints) -> bool:
        """The same for one row judged earlier, with what is known now."""
        costs = self.sets * (2 + len(self.slopes))
        return self.judge(sums[None, :costs], sums[None, :])[0] is not None

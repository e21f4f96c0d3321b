"""Depth-first branch and bound over positions, then over joints that can close in more than one way.

Each step adds one row of a table to the running sums of all columns; a column's sum is then exactly what the
cheapest completion costs there, rules and features left aside. A partial route is dropped when every column is
above the best routes known, a chain can no longer meet its limits, or a rule or feature can no longer be met.
Routes as cheap as the worst kept one are never dropped, so that ties are settled by the stated order.
The stack is explicit: no document is too deep.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor

import numpy as np

from graph.search.columns import IMPOSSIBLE, Columns, Ints
from graph.search.compiled import Compiled
from graph.search.demands import Demands
from graph.search.tables import Tables

LOOK_AT_CLOCK_EVERY = 64


@dataclass(slots=True)
class Limits:
    """When to stop early: seconds on the clock, or never."""

    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class Ended:
    """How a search ended: nodes opened, whether everything was searched, and if not the lowest bound left."""

    nodes: int
    complete: bool
    lowest_left: int | None


def branch_search(
    compiled: Compiled,
    columns: Columns,
    tables: Tables,
    demands: Demands,
    ceilings: Ints,
    take: Callable[[list[int]], None],
    deadline: Fraction | None = None,
    seconds: float | None = None,
) -> Ended:
    """Hand every assembly that may still matter to `take`, best bounds first.

    `ceilings` holds, per scenario, the cost above which nothing matters any more; `take` lowers it in place.
    `take` gets one option per variable and must itself decide what is allowed and what it costs.
    """
    return _Search(compiled, columns, tables, demands, ceilings, deadline).run(take, seconds)


class _Search:
    def __init__(
        self,
        compiled: Compiled,
        columns: Columns,
        tables: Tables,
        demands: Demands,
        ceilings: Ints,
        deadline: Fraction | None,
    ):
        self.compiled, self.columns, self.tables, self.demands = compiled, columns, tables, demands
        self.ceilings = ceilings
        self.chain_limits = columns.chain_limits
        self.options = [0] * (len(compiled.position_ids) + len(compiled.joint_ids))
        self.variables = [*tables.order, *range(len(compiled.position_ids), len(self.options))]
        self.hour_limits = None if deadline is None else _HourLimits(compiled, columns, deadline)
        self.wanted = [demands.still_possible(self.variables[depth:]) for depth in range(len(self.variables) + 1)]

    def run(self, take: Callable[[list[int]], None], seconds: float | None) -> Ended:
        stop_at = None if seconds is None else time.monotonic() + seconds
        root = self.tables.root
        if self.columns.first_chain < root.size and (root[self.columns.first_chain :] > self.chain_limits).any():
            return Ended(0, True, None)
        nodes = 0
        # Each entry: bound, depth, option, running sums, demand bits picked, longest days picked.
        stack: list[tuple[int, int, int, Ints, int, Fraction]] = []
        self._open(0, root, 0, Fraction(0), stack, take)
        while stack:
            bound, depth, option, sums, picked, days = stack.pop()
            if not self._matters(sums, bound):
                continue
            nodes += 1
            self.options[self.variables[depth]] = option
            self._open(depth + 1, sums, picked, days, stack, take)
            if stop_at is not None and nodes % LOOK_AT_CLOCK_EVERY == 0 and time.monotonic() > stop_at:
                return Ended(nodes, False, min((entry[0] for entry in stack), default=None))
        return Ended(nodes, True, None)

    def _matters(self, sums: Ints, bound: int) -> bool:
        if self.columns.scenarios == 1:
            return bound <= self.ceilings[0]
        costs = sums[: self.columns.costs].reshape(self.columns.scenarios, self.columns.sets).min(axis=1)
        return bool((costs <= self.ceilings).any())

    def _open(
        self,
        depth: int,
        sums: Ints,
        picked: int,
        days: Fraction,
        stack: list[tuple[int, int, int, Ints, int, Fraction]],
        take: Callable[[list[int]], None],
    ) -> None:
        """Push what can follow, the best bound last; pass over joints with a single way on the spot."""
        count = len(self.compiled.position_ids)
        while depth < len(self.variables):
            variable = self.variables[depth]
            if variable < count:
                first, rows = 0, self._position_rows(variable)
            else:
                first, rows = self._joint_rows(variable - count)
                if len(rows) == 1:
                    picked |= self.demands.bits[variable][first]
                    if not self.demands.can_hold(picked, self.wanted[depth + 1]):
                        return
                    if self.hour_limits is not None:
                        days = max(days, self.hour_limits.days[variable][first])
                    self.options[variable] = first
                    depth += 1
                    continue
            self._push(depth, variable, first, sums + rows, picked, days, stack)
            return
        take(self.options)

    def _position_rows(self, position: int) -> Ints:
        total = None
        for rise in self.tables.rises[position]:
            rows = rise.table[tuple([self.options[place] for place in rise.given])]
            total = rows if total is None else total + rows
        assert total is not None
        return total

    def _joint_rows(self, joint: int) -> tuple[int, Ints]:
        one, other = self.compiled.ends[joint]
        cell = self.options[one] * len(self.compiled.candidates[other]) + self.options[other]
        first, stop = self.tables.ways[joint].rows[cell]
        return first, self.tables.ways[joint].above[first:stop]

    def _push(
        self,
        depth: int,
        variable: int,
        first: int,
        sums: Ints,
        picked: int,
        days: Fraction,
        stack: list[tuple[int, int, int, Ints, int, Fraction]],
    ) -> None:
        columns = self.columns
        costs = sums[:, : columns.costs]
        if self.hour_limits is not None:
            costs = self.hour_limits.shut(sums, costs, variable, first, days)
        if columns.scenarios == 1:
            bounds = costs.min(axis=1)
            good = bounds <= self.ceilings[0]
        else:
            each = costs.reshape(len(costs), columns.scenarios, columns.sets).min(axis=2)
            good = (each <= self.ceilings).any(axis=1)
            bounds = (each - self.ceilings).min(axis=1)
        if self.chain_limits.size:
            good &= (sums[:, columns.first_chain :] <= self.chain_limits).all(axis=1)
        keep = np.flatnonzero(good)
        if not keep.size:
            return
        order = keep[np.argsort(-bounds[keep], kind="stable")] if keep.size > 1 else keep
        bits, wanted = self.demands.bits[variable], self.wanted[depth + 1]
        for row in order.tolist():
            option = first + row
            now = picked | bits[option]
            if not self.demands.can_hold(now, wanted):
                continue
            longest = days if self.hour_limits is None else max(days, self.hour_limits.days[variable][option])
            stack.append((int(bounds[row]), depth, option, sums[row], now, longest))


class _HourLimits:
    """A deadline as a limit on hours: days of waiting so far leave so many bench hours, in each task set."""

    def __init__(self, compiled: Compiled, columns: Columns, deadline: Fraction):
        self.days: list[Sequence[Fraction]] = [
            *([one.days for one in held] for held in compiled.candidates),
            *([link.days for link in ways] for ways in compiled.links),
        ]
        self.deadline, self.per_day = deadline, compiled.conversion.day_hours * 100
        self.first, self.sets, self.scenarios = columns.costs, columns.sets, columns.scenarios
        self.set_limits = np.array([self._hours_left(days) for days in columns.set_days], dtype=np.int64)

    def _hours_left(self, days: Fraction) -> int:
        return floor((self.deadline - days) * self.per_day)

    def shut(self, sums: Ints, costs: Ints, variable: int, first: int, days: Fraction) -> Ints:
        left = np.array(
            [self._hours_left(max(days, one)) for one in self.days[variable][first : first + len(sums)]],
            dtype=np.int64,
        )
        hours = sums[:, self.first : self.first + self.sets]
        late = hours > np.minimum(self.set_limits[None, :], left[:, None])
        return np.where(np.tile(late, (1, self.scenarios)), IMPOSSIBLE, costs)

"""Depth-first branch and bound over positions, and over joints that can close in more than one way.

Each step adds one row of a table to the running sums of all columns; a column's sum is then exactly what the
cheapest completion costs there, rules and features left aside. A partial route is dropped when every column is
above the best routes known, a chain can no longer meet its limits, or a rule or feature can no longer be met.
Routes as cheap as the worst kept one are never dropped, so that ties are settled by the stated order.
The stack is explicit: no document is too deep.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from math import floor
from typing import NamedTuple, Protocol

import numpy as np

from graph.search.budget import ENDLESS, Meter
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.demands import Demands
from graph.search.dominance import Prefix, Prefixes, Remembered, frontiers
from graph.search.following import Following, Trail
from graph.search.layout import Layout
from graph.search.numbers import IMPOSSIBLE, Ints
from graph.search.tables import BoundTables

LOOK_AT_CLOCK_EVERY = 8  # nodes; one of a large document takes milliseconds


@dataclass(frozen=True, slots=True)
class Ended:
    """How a search ended: nodes opened, whether everything was searched, and if not the lowest bound left."""

    nodes: int
    complete: bool
    lowest_left: int | None


class Judge(Protocol):
    """Says which partial routes may still matter (see `judges`)."""

    def judge(self, costs: Ints, sums: Ints) -> list[int | None]: ...

    def still_matters(self, bound: int, sums: Ints) -> bool: ...


@dataclass(frozen=True, slots=True)
class BranchBounds:
    """What a search is bounded by: columns and their tables, and in hard searches chains followed by residue."""

    layout: Layout
    columns: Columns
    tables: BoundTables
    following: Following | None = None


@dataclass(frozen=True, slots=True)
class Memory:
    """Forgets needless partial routes; costs a little at each node, so it is left out of easy searches."""

    prefixes: Prefixes
    remembered: Remembered


class _BranchNode(NamedTuple):
    """A partial route: the variables up to `depth` are decided, the last by `option`; `prefix` is without that one.

    `trail` is with it.
    """

    bound: int
    depth: int
    option: int
    sums: Ints
    picked: int
    days: int
    prefix: Prefix | None
    trail: Trail | None


def branch_search(
    compiled: Compiled,
    bounds: BranchBounds,
    demands: Demands,
    judge: Judge,
    take: Callable[[list[int]], None],
    memory: Memory | None = None,
    meter: Meter = ENDLESS,
    most_nodes: int | None = None,
) -> Ended:
    """Hand every assembly that may still matter to `take`, best bounds first.

    `judge` says what may still matter, and learns from what `take` takes. `take` gets one option per variable and
    must itself decide what is allowed and what it costs. It ends early when the meter is spent.
    """
    return _Search(compiled, bounds, demands, judge, take, memory).run(meter, most_nodes)


class _Search:
    def __init__(
        self,
        compiled: Compiled,
        bounds: BranchBounds,
        demands: Demands,
        judge: Judge,
        take: Callable[[list[int]], None],
        memory: Memory | None,
    ):
        self.compiled, self.demands = compiled, demands
        self.layout, self.columns, self.tables = bounds.layout, bounds.columns, bounds.tables
        self.judge, self.take, self.memory, self.following = judge, take, memory, bounds.following
        self.chain_limits = bounds.columns.chain_limits
        self.options = [0] * (len(compiled.position_ids) + len(compiled.joint_ids))
        self.variables = bounds.layout.branching
        deadline = compiled.conversion.deadline
        self.hour_limits = None if deadline is None else HourLimits(compiled, bounds.columns, deadline)
        self.wanted = demands.still_possible(self.variables)
        self.frontiers = frontiers(self.variables, compiled.ends, len(compiled.position_ids)) if memory else []
        self.first_link = [0, *accumulate(len(ways) for ways in compiled.links)]
        self.stack: list[_BranchNode] = []

    def run(self, meter: Meter, most_nodes: int | None) -> Ended:
        root = self.tables.root
        first = self.columns.first_chain
        if (root[first:] > self.chain_limits).any() or not self.demands.can_hold(0, self.wanted[0]):
            return Ended(0, True, None)
        nodes = 0
        trail = self.following.start() if self.following else None
        self._open(0, root, 0, 0, Prefix() if self.memory else None, trail)
        while self.stack:
            if nodes == most_nodes or (nodes % LOOK_AT_CLOCK_EVERY == 1 and meter.is_spent()):
                return Ended(nodes, False, min(one.bound for one in self.stack))
            node = self.stack.pop()
            if not self.judge.still_matters(node.bound, node.sums):
                continue
            nodes += 1
            variable, prefix = self.variables[node.depth], node.prefix
            self.options[variable] = node.option
            if prefix is not None and self.memory is not None:
                prefix = self.memory.prefixes.extended(prefix, variable, node.option)
                if self.memory.remembered.is_needless(self._state(node, prefix), prefix):
                    continue
            self._open(node.depth + 1, node.sums, node.picked, node.days, prefix, node.trail)
        return Ended(nodes, True, None)

    def _state(self, node: _BranchNode, prefix: Prefix) -> tuple[object, ...]:
        """All that what is still open can tell of the partial route (see `dominance`)."""
        first = self.columns.first_chain
        chains = node.sums[first : first + len(self.chain_limits) // 2].tobytes()
        held = tuple([self.options[place] for place in self.frontiers[node.depth]])
        return node.depth, held, chains, node.picked, prefix.found

    def _open(self, depth: int, sums: Ints, picked: int, days: int, prefix: Prefix | None, trail: Trail | None) -> None:
        """Push what can follow, the best bound last; pass over joints with a single way on the spot."""
        count = len(self.layout.sizes)
        while depth < len(self.variables):
            variable = self.variables[depth]
            if variable >= count:
                first, stop = self._joint_links(variable - count)
                if stop - first > 1:
                    rows = self.tables.above[first:stop]
                    start = first - self.first_link[variable - count]
                    self._push(depth, start, sums + rows, picked, days, prefix, trail)
                    return
                if stop == first:
                    return
                option = first - self.first_link[variable - count]
            elif self.layout.sizes[variable] > 1:
                self._push(depth, 0, sums + self._position_rows(variable), picked, days, prefix, trail)
                return
            else:
                option = 0
            picked |= self.demands.bits[variable][option]
            if not self.demands.can_hold(picked, self.wanted[depth + 1]):
                return
            if self.hour_limits is not None:
                days = max(days, self.hour_limits.days[variable][option])
            if prefix is not None and self.memory is not None:
                prefix = self.memory.prefixes.extended(prefix, variable, option)
            if trail is not None and self.following is not None:
                trail = self.following.extended(trail, variable, option)
            self.options[variable] = option
            depth += 1
        self.take(self.options)

    def _position_rows(self, position: int) -> Ints:
        total: Ints | None = None
        for rise in self.tables.rises[position]:
            rows: Ints = rise.table[tuple([self.options[place] for place in rise.given])]
            total = rows if total is None else total + rows
        assert total is not None
        return total

    def _joint_links(self, joint: int) -> tuple[int, int]:
        one, other = self.compiled.ends[joint]
        cell = self.layout.first_cell[joint] + self.options[one] * self.layout.sizes[other] + self.options[other]
        return self.layout.start_of[cell], self.layout.stop_of[cell]

    def _push(
        self,
        depth: int,
        first: int,
        sums: Ints,
        picked: int,
        days: int,
        prefix: Prefix | None,
        trail: Trail | None,
    ) -> None:
        """Push every option that can still matter, the best bound last; of two as good, the first option last."""
        variable, columns = self.variables[depth], self.columns
        costs = sums[:, : columns.costs]
        if self.hour_limits is not None:
            costs = self.hour_limits.shut(sums, costs, variable, first, days)
        bounds = self.judge.judge(costs, sums)
        if self.chain_limits.size:
            fitting = np.logical_and.reduce(sums[:, columns.first_chain :] <= self.chain_limits, axis=1).tolist()
            bounds = [bound if fits else None for bound, fits in zip(bounds, fitting, strict=True)]
        trails: list[Trail] | None = None
        if trail is not None and self.following is not None and any(bound is not None for bound in bounds):
            trails, least = self.following.steps(trail, depth, first, len(sums), self.options)
            for costs in least:
                bounds = [
                    None if bound is None or other is None else max(bound, other)
                    for bound, other in zip(bounds, self.judge.judge(costs, sums), strict=True)
                ]
        best_last = sorted(((bound, row) for row, bound in enumerate(bounds) if bound is not None), reverse=True)
        bits, wanted = self.demands.bits[variable], self.wanted[depth + 1]
        for bound, row in best_last:
            option = first + row
            now = picked | bits[option]
            if self.demands.can_hold(now, wanted):
                longest = days if self.hour_limits is None else max(days, self.hour_limits.days[variable][option])
                kept = None if trails is None else trails[row]
                self.stack.append(_BranchNode(bound, depth, option, sums[row], now, longest, prefix, kept))


class HourLimits:
    """A deadline as a limit on hours: days of waiting so far leave so many bench hours, in each task set."""

    def __init__(self, compiled: Compiled, columns: Columns, deadline: Fraction):
        self.days = [[row.days for row in rows] for rows in compiled.rows]
        self.deadline, self.day_scale = deadline, compiled.day_scale
        self.per_day = compiled.conversion.day_hours * 100
        self.first, self.sets, self.scenarios = columns.costs, columns.sets, columns.scenarios
        self.known: dict[int, int] = {}
        self.limits: dict[tuple[int, int, int], Ints] = {}
        self.set_limits = np.array([self._hours_left(days) for days in columns.set_days], dtype=np.int64)

    def _hours_left(self, days: int) -> int:
        if days not in self.known:
            left = floor((self.deadline - Fraction(days, self.day_scale)) * self.per_day)
            self.known[days] = max(-1, min(left, IMPOSSIBLE))
        return self.known[days]

    def shut(self, sums: Ints, costs: Ints, variable: int, first: int, days: int) -> Ints:
        """The costs, impossible wherever an option leaves too few hours in a task set."""
        key = (variable, first, days)
        if key not in self.limits:
            left = [self._hours_left(max(days, one)) for one in self.days[variable][first : first + len(sums)]]
            self.limits[key] = np.minimum(self.set_limits[None, :], np.array(left, dtype=np.int64)[:, None])
        return self._shut(sums, costs, self.limits[key])

    def left_after(self, waits: Sequence[int]) -> Ints:
        """The bench hours left after each of these waits."""
        return np.array([self._hours_left(days) for days in waits], dtype=np.int64)

    def _shut(self, sums: Ints, costs: Ints, limits: Ints) -> Ints:
        late = sums[:, self.first : self.first + self.sets] > limits
        if self.scenarios > 1:
            late = np.tile(late, (1, self.scenarios))
        return np.where(late, IMPOSSIBLE, costs)

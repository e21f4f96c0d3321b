"""Branch and bound over lanes (`lanes`), many partial routes at a time.

A block holds partial routes decided up to the same variable, each in one lane, as rows of whole numbers. It is opened
in one go, what can no longer matter is left out, the rest is parted into blocks again, and the one with the best bounds
goes first. A partial route is in few lanes at once, so a row is short, and rows are what such a search is made of.
Chains that have no room left end a partial route in each lane by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import accumulate
from typing import NamedTuple, Protocol

import numpy as np

from graph.search.branch import Ended, HourLimits, Judge
from graph.search.budget import Meter
from graph.search.compiled import Compiled
from graph.search.demands import Demands
from graph.search.judges import Flags, Rows
from graph.search.lanes import Lanes
from graph.search.layout import Layout
from graph.search.numbers import Ints
from graph.search.tables import Rise

MOST_NUMBERS = 1 << 21  # of one block's sums once it is opened
WIDTH = 1024  # rows of a block; measured in scripts/bench
TAKEN_AT_ONCE = 32  # rows looked at again when one of them was taken


class LaneJudge(Judge, Protocol):
    """A judge that can say of rows in one lane each which may still matter."""

    def matters(self, lanes: Rows, costs: Ints) -> Flags:
        """Per row: may it, with these bounds of its costs?"""
        ...

    def order(self, lanes: Rows, costs: Ints) -> Ints:
        """Per row: how good it can still get, the best lowest."""
        ...


class _Block(NamedTuple):
    """Row by row: lane, options by variable, bounds, demand bits, longest wait (by its place among all)."""

    lanes: Rows
    options: Ints
    sums: Ints
    picked: Ints
    waits: Ints

    def at(self, rows: Rows | slice | Flags) -> _Block:
        return _Block(*(part[rows] for part in self))


def lane_search(
    compiled: Compiled,
    layout: Layout,
    lanes: Lanes,
    demands: Demands,
    judge: LaneJudge,
    take: Callable[[list[int]], None],
    meter: Meter,
    most_rows: int,
    first_width: int,
) -> Ended:
    """Hand every assembly that may still matter to `take`, the best bounds first; it gives up after so many rows.

    `first_width`: rows of a block until some route was taken, then more. Only for demands that fit (`fits_word`).
    """
    return _LaneSearch(compiled, layout, lanes, demands, judge, take).run(meter, most_rows, first_width)


class _LaneSearch:
    def __init__(
        self,
        compiled: Compiled,
        layout: Layout,
        lanes: Lanes,
        demands: Demands,
        judge: LaneJudge,
        take: Callable[[list[int]], None],
    ):
        self.compiled, self.layout, self.lanes, self.demands = compiled, layout, lanes, demands
        self.judge, self.take = judge, take
        self.variables = layout.branching
        self.wanted = demands.still_possible(self.variables)
        self.first_link = [0, *accumulate(len(ways) for ways in compiled.links)]
        self.largest = max((len(some) for some in compiled.rows), default=1)
        deadline = compiled.conversion.deadline
        self.hour_limits = None if deadline is None else HourLimits(compiled, lanes.columns, deadline)
        waits = sorted({0, *(row.days for rows in compiled.rows for row in rows)})
        place_of = {days: place for place, days in enumerate(waits)}  # a longer wait has a later place
        self.waits = [np.array([place_of[row.days] for row in rows], dtype=np.int64) for rows in compiled.rows]
        self.left = None if self.hour_limits is None else self.hour_limits.left_after(waits)
        self.bits = [np.array(bits, dtype=np.int64) if any(bits) else None for bits in demands.bits]
        self.stack: list[tuple[int, _Block]] = []

    def run(self, meter: Meter, most_rows: int, first_width: int) -> Ended:
        if not self.demands.can_hold(0, self.wanted[0]):
            return Ended(0, True, None)
        self.stack.append((0, self._first()))
        most = max(1, MOST_NUMBERS // (self.largest * self.lanes.root.shape[1]))
        rows, step = 0, min(first_width, most)
        while self.stack:
            held = sum(block.sums.size for _, block in self.stack)
            if meter.is_spent() or rows >= most_rows or held > meter.sizes.tables:
                return Ended(rows, False, min(int(self._order(block).min()) for _, block in self.stack))
            depth, block = self.stack.pop()
            matters = self.judge.matters(block.lanes, block.sums[:, : self.lanes.costs])
            block = block if matters.all() else block.at(matters)
            while depth < len(self.variables) and 0 < len(block.lanes) <= step:
                rows += len(block.lanes)
                block = self._opened(depth, block)
                depth += 1
            block = block.at(np.argsort(self._order(block), kind="stable"))
            if depth == len(self.variables):
                self._taken(block)
                step = min(WIDTH, most) if len(block.lanes) else step
                continue
            for start in reversed(range(0, len(block.lanes), step)):
                self.stack.append((depth, block.at(slice(start, start + step))))
        return Ended(rows, True, None)

    def _first(self) -> _Block:
        """Nothing decided, in every lane that may matter."""
        root, count = self.lanes.root, len(self.lanes.root)
        lanes, zeros = np.arange(count), np.zeros(count, dtype=np.int64)
        options = np.zeros((count, len(self.compiled.rows)), dtype=np.int16 if self.largest < 1 << 15 else np.int64)
        return _Block(lanes, options, root, zeros, zeros).at(self._may(lanes, root, zeros))

    def _order(self, block: _Block) -> Ints:
        return self.judge.order(block.lanes, block.sums[:, : self.lanes.costs])

    def _may(self, lanes: Rows, sums: Ints, waits: Ints) -> Flags:
        may = self.judge.matters(lanes, sums[:, : self.lanes.costs])
        if self.lanes.limits.size:
            may &= (sums[:, self.lanes.first_chain :] <= self.lanes.limits).all(axis=1)
        if self.hour_limits is not None and self.left is not None:
            may &= sums[:, self.lanes.costs] <= np.minimum(self.hour_limits.set_limits[lanes], self.left[waits])
        return may

    def _taken(self, block: _Block) -> None:
        """Complete assemblies, the best first; what is taken may rule out those after it."""
        costs = block.sums[:, : self.lanes.costs]
        for start in range(0, len(block.lanes), TAKEN_AT_ONCE):
            left = np.arange(start, min(start + TAKEN_AT_ONCE, len(block.lanes)))
            while (left := left[self.judge.matters(block.lanes[left], costs[left])]).size:
                self.take(block.options[left[0]].tolist())
                left = left[1:]

    def _opened(self, depth: int, block: _Block) -> _Block:
        """All rows with one more variable decided, that can still matter."""
        variable, count = self.variables[depth], len(self.layout.sizes)
        if variable >= count:
            block = self._with_links(variable, block)
        elif self.layout.sizes[variable] > 1:
            block = self._with_candidates(variable, block)
        if not len(block.lanes):
            return block
        chosen = block.options[:, variable]
        if self.hour_limits is not None:
            block = block._replace(waits=np.maximum(block.waits, self.waits[variable][chosen]))
        bits = self.bits[variable]
        if bits is None:
            return block
        block = block._replace(picked=block.picked | bits[chosen])
        held = self._can_hold(depth, block.picked)
        return block if held.all() else block.at(held)

    def _with_candidates(self, position: int, block: _Block) -> _Block:
        rises, size = self.lanes.rises[position], self.layout.sizes[position]
        sums = block.sums[:, None, :] + self._rise(rises[0], block)
        for rise in rises[1:]:
            sums += self._rise(rise, block)
        sums = sums.reshape(-1, sums.shape[-1])
        parents = np.repeat(np.arange(len(block.lanes)), size)
        options = np.tile(np.arange(size), len(block.lanes))
        return self._kept(position, block, parents, options, sums)

    def _rise(self, rise: Rise, block: _Block) -> Ints:
        table: Ints = rise.table[(*(block.options[:, place] for place in rise.given), block.lanes)]
        return table

    def _with_links(self, variable: int, block: _Block) -> _Block:
        joint = variable - len(self.layout.sizes)
        one, other = self.compiled.ends[joint]
        cells = block.options[:, one].astype(np.int64) * self.layout.sizes[other]
        cells += block.options[:, other]
        cells += self.layout.first_cell[joint]
        starts = self.layout.starts[cells]
        counts = self.layout.stops[cells] - starts
        if counts.max() <= 1:
            if not counts.all():
                block, starts = block.at(counts > 0), starts[counts > 0]
            block.options[:, variable] = starts - self.first_link[joint]
            return block
        parents = np.repeat(np.arange(len(counts)), counts)
        stops = np.cumsum(counts)
        links = np.arange(len(parents)) - np.repeat(stops - counts - starts, counts)
        sums = block.sums[parents] + self.lanes.above[links, block.lanes[parents]]
        return self._kept(variable, block, parents, links - self.first_link[joint], sums)

    def _kept(self, variable: int, block: _Block, parents: Rows, options: Rows, sums: Ints) -> _Block:
        """Of these ways to go on, those that can still matter."""
        waits = block.waits[parents]
        if self.hour_limits is not None:
            waits = np.maximum(waits, self.waits[variable][options])
        rows = np.flatnonzero(self._may(block.lanes[parents], sums, waits))
        parents = parents[rows]
        made = block.options[parents]
        made[:, variable] = options[rows]
        return _Block(block.lanes[parents], made, sums[rows], block.picked[parents], waits[rows])

    def _can_hold(self, depth: int, picked: Ints) -> Flags:
        """What `Demands.can_hold` says, of every row."""
        possible = self.wanted[depth + 1]
        reachable = picked | possible
        held: Flags = (~reachable & self.demands.features) == 0
        for when, needs, excludes in self.demands.rules:
            broken = (picked & excludes) != 0
            if needs:
                broken |= (reachable & needs) == 0
            held &= ~(broken & ((picked & when) == when))
        return held

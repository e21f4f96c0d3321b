"""The same branch and bound as `branch`, many partial routes at a time.

A block holds partial routes decided up to the same variable, as rows of whole numbers. It is opened in one go, what
can no longer matter is left out, the rest is parted into blocks again, and the one with the best bounds goes first.
That pays where hundreds of partial routes have to be opened anyway: many questions searched together, or a front.
It keeps no memory of needless ones and follows no chains, so what is not done after so many rows, or without filling
the memory, is left to `hard`.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import accumulate
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from graph.search.branch import Bounds, Ended, HourLimits, Judge
from graph.search.budget import Meter
from graph.search.columns import WORD_BITS, Ints
from graph.search.compiled import Compiled
from graph.search.demands import Demands
from graph.search.judges import Flags
from graph.search.tables import Rise

FIRST_WIDTH, WIDTH = 24, 512  # rows of a block, before some route was found and after; measured in scripts/bench
MOST_NUMBERS = 1 << 21  # of one block's sums once it is opened
Rows = NDArray[np.intp]


class BlockJudge(Judge, Protocol):
    """A judge that can say the same of many rows at once."""

    def rank(self, costs: Ints, sums: Ints) -> tuple[Ints, Flags]:
        """Per row: how good it can still get (lower is better), and whether it can matter."""
        ...

    def may_matter(self, costs: Ints) -> Flags:
        """Per row: can it matter, as far as costs alone tell?"""
        ...


class _Block(NamedTuple):
    """Row by row: options by variable, bounds by column, demand bits, longest wait, order (the best lowest)."""

    options: Ints
    sums: Ints
    picked: Ints
    days: Ints
    order: Ints

    def at(self, rows: Rows | slice | Flags) -> _Block:
        return _Block(*(part[rows] for part in self))


def fits_blocks(demands: Demands) -> bool:
    """Can blocks hold what rules and features speak of in one machine word?"""
    return max((union.bit_length() for union in (*demands.union, demands.features)), default=0) <= WORD_BITS and all(
        mask.bit_length() <= WORD_BITS for rule in demands.rules for mask in rule
    )


def block_search(
    compiled: Compiled,
    bounds: Bounds,
    demands: Demands,
    judge: BlockJudge,
    take: Callable[[list[int]], None],
    meter: Meter,
    most_rows: int,
    first_width: int = FIRST_WIDTH,
) -> Ended:
    """Hand every assembly that may still matter to `take`, as `branch_search` does; it gives up after so many rows.

    `first_width`: rows of a block until some route is found.

    Only for demands that fit (`fits_blocks`).
    """
    return _Blocks(compiled, bounds, demands, judge, take).run(meter, most_rows, first_width)


class _Blocks:
    def __init__(
        self,
        compiled: Compiled,
        bounds: Bounds,
        demands: Demands,
        judge: BlockJudge,
        take: Callable[[list[int]], None],
    ):
        self.compiled, self.demands, self.judge, self.take = compiled, demands, judge, take
        self.layout, self.columns, self.tables = bounds.layout, bounds.columns, bounds.tables
        self.variables = bounds.layout.branching
        self.wanted = demands.still_possible(self.variables)
        self.first_link = [0, *accumulate(len(ways) for ways in compiled.links)]
        deadline = compiled.conversion.deadline
        self.hour_limits = None if deadline is None else HourLimits(compiled, bounds.columns, deadline)
        self.days = [np.array([row.days for row in rows], dtype=np.int64) for rows in compiled.rows]
        self.bits = [np.array(bits, dtype=np.int64) if any(bits) else None for bits in demands.bits]
        self.stack: list[tuple[int, _Block]] = []

    def run(self, meter: Meter, most_rows: int, first_width: int) -> Ended:
        root, first = self.tables.root, self.columns.first_chain
        if (root[first:] > self.columns.chain_limits).any() or not self.demands.can_hold(0, self.wanted[0]):
            return Ended(0, True, None)
        zeros = np.zeros(1, dtype=np.int64)
        options = np.zeros((1, len(self.compiled.rows)), dtype=np.int64)
        order, _ = self.judge.rank(root[None, : self.columns.costs], root[None, :])
        self.stack.append((0, _Block(options, root[None, :], zeros, zeros, order)))
        rows, width = 0, first_width
        most = max(1, MOST_NUMBERS // (max((len(some) for some in self.compiled.rows), default=1) * max(1, root.size)))
        while self.stack:
            held = sum(block.sums.size for _, block in self.stack)
            if meter.is_spent() or rows >= most_rows or held > meter.sizes.tables:
                return Ended(rows, False, min(int(block.order.min()) for _, block in self.stack))
            depth, block = self.stack.pop()
            block = self._still(block)
            rows += len(block.order)
            while len(block.order) and depth < len(self.variables):
                block = self._opened(depth, block)
                depth += 1
                if len(block.order) > width:
                    break
            if not len(block.order):
                continue
            if depth == len(self.variables):
                self._taken(block)
                width = WIDTH
                continue
            by_order = block.at(np.argsort(block.order, kind="stable"))
            step = min(width, most)
            for start in reversed(range(0, len(block.order), step)):
                self.stack.append((depth, by_order.at(slice(start, start + step))))
        return Ended(rows, True, None)

    def _still(self, block: _Block) -> _Block:
        _, matters = self.judge.rank(block.sums[:, : self.columns.costs], block.sums)
        return block if matters.all() else block.at(matters)

    def _taken(self, block: _Block) -> None:
        """Complete assemblies, the best first."""
        for row in np.argsort(block.order, kind="stable").tolist():
            if self.judge.still_matters(int(block.order[row]), block.sums[row]):
                self.take(block.options[row].tolist())

    def _opened(self, depth: int, block: _Block) -> _Block:
        """All rows with one more variable decided, that can still matter."""
        variable, count = self.variables[depth], len(self.layout.sizes)
        if variable >= count:
            block = self._with_links(variable, block)
        elif self.layout.sizes[variable] > 1:
            block = self._with_candidates(variable, block)
        if not len(block.order):
            return block
        if self.hour_limits is not None:
            block = block._replace(days=np.maximum(block.days, self.days[variable][block.options[:, variable]]))
        bits = self.bits[variable]
        if bits is not None:
            block = block._replace(picked=block.picked | bits[block.options[:, variable]])
            held = self._can_hold(depth, block.picked)
            if not held.all():
                block = block.at(held)
        return block

    def _with_candidates(self, position: int, block: _Block) -> _Block:
        """Bounds of costs first: most ways to go on end there."""
        costs, size = self.columns.costs, self.layout.sizes[position]
        rows = [self._rise(rise, block.options) for rise in self.tables.rises[position]]
        bounds = block.sums[:, None, :costs] + rows[0][..., :costs]
        for row in rows[1:]:
            bounds += row[..., :costs]
        matters = self.judge.may_matter(bounds.reshape(-1, costs))
        parents, options = np.divmod(np.flatnonzero(matters), size)
        sums = block.sums[parents]
        for row in rows:
            sums += row[parents, options] if len(row) > 1 else row[0][options]
        return self._kept(position, block, parents, options, sums)

    def _rise(self, rise: Rise, options: Ints) -> Ints:
        """How much each candidate raises the bounds, by row (a single one for all where it depends on nothing)."""
        if not rise.given:
            return rise.table[None]
        table: Ints = rise.table[tuple(options[:, place] for place in rise.given)]
        return table

    def _with_links(self, variable: int, block: _Block) -> _Block:
        joint = variable - len(self.layout.sizes)
        one, other = self.compiled.ends[joint]
        cells = (
            block.options[:, one] * self.layout.sizes[other] + block.options[:, other] + self.layout.first_cell[joint]
        )
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
        sums = block.sums[parents] + self.tables.above[links]
        return self._kept(variable, block, parents, links - self.first_link[joint], sums)

    def _kept(self, variable: int, block: _Block, parents: Rows, options: Rows, sums: Ints) -> _Block:
        """Of these ways to go on, those that can still matter."""
        columns = self.columns
        if columns.chain_limits.size:
            fitting = (sums[:, columns.first_chain :] <= columns.chain_limits).all(axis=1)
            parents, options, sums = parents[fitting], options[fitting], sums[fitting]
        costs = sums[:, : columns.costs]
        if self.hour_limits is not None:
            days = np.maximum(block.days[parents], self.days[variable][options])
            costs = self.hour_limits.shut_rows(sums, costs, days)
        order, matters = self.judge.rank(costs, sums)
        rows = np.flatnonzero(matters)
        parents = parents[rows]
        made = block.options[parents]
        made[:, variable] = options[rows]
        return _Block(made, sums[rows], block.picked[parents], block.days[parents], order[rows])

    def _can_hold(self, depth: int, picked: Ints) -> Flags:
        """What `Demands.can_hold` says, of every row."""
        possible = self.wanted[depth + 1]
        reachable = picked | possible
        held: Flags = (~reachable & self.demands.features) == 0
        for when, needs, excludes in self.demands.rules:
            broken = (picked & excludes) != 0
            if needs:
                broken |= (reachable & needs) == 0
            held &= ~(broken & ((picked & when) != 0))
        return held

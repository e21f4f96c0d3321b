"""Searches that did not end at once: under a trial ceiling that rises, with sharper and sharper bounds.

A ceiling close above the bounds leaves little to search, so the search first supposes that a route lies within a small
part of the lowest bound. If none does, that is proven, and the supposed part is doubled, until a route is found
and everything at or below it has been searched.

Task sets are taken in order of their bounds, in batches that get smaller while the work spent on each grows. In a
batch limits get prices (`multipliers`), chains are followed by residue (`following`), needless partial routes are
forgotten (`dominance`); then depth-first search closes it, or gives up after so many nodes and leaves it to the next
level. A route found anywhere lowers the ceiling for all. What is left when time runs out bounds the gap.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from graph.search.branch import BranchBounds, Ended, Judge, Memory, branch_search
from graph.search.budget import BudgetSpent, Meter
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.demands import Demands
from graph.search.following import follow
from graph.search.judges import Flags
from graph.search.layout import Layout
from graph.search.living import living_candidates
from graph.search.multipliers import Floats, limited_uses, no_prices, sharpen
from graph.search.numbers import POSSIBLE_BELOW, Ints
from graph.search.parts import CEILINGS, DOMINANCE, LADDER, MULTIPLIERS, RESIDUES, is_on
from graph.search.tables import build_tables
from graph.search.walk import Walk, walk_through


class Level(NamedTuple):
    """How many task sets go together, and how much is spent on each batch."""

    sets: int
    steps: int  # of sharpening
    work: int  # additions for tables by residue
    nodes: int | None


# Measured in scripts/bench. All task sets together first, without following chains: enough for most.
ALL_AT_ONCE = Level(1 << 20, 12, 0, 8_000)
LEVELS: tuple[Level, ...] = (
    Level(32, 10, 30_000_000, 1_500),
    Level(16, 10, 100_000_000, 6_000),
    Level(8, 10, 300_000_000, 25_000),
    Level(4, 20, 1_200_000_000, 100_000),
    Level(2, 40, 4_000_000_000, None),
)
# Each trial ceiling lies above the lowest bound by one part in so many; after these there is no trial ceiling.
TRIALS = (12, 12, 12, 12, 12, 12, 6, 3)


@dataclass(slots=True)
class Hard:
    """A hard search. `judging` makes the judge of a batch's columns under ceilings; `remembering` its empty memory."""

    compiled: Compiled
    layout: Layout
    demands: Demands
    columns: Columns
    ceilings: Ints
    judging: Callable[[Columns, Ints], Judge]
    remembering: Callable[[], Memory]
    take: Callable[[list[int]], None]
    meter: Meter
    nodes: int = 0
    trial: Ints = field(init=False)
    walk: Walk = field(init=False)
    _least: Ints = field(init=False)  # by scenario and set
    _prices: Floats = field(init=False)

    def run(self, root: Ints) -> Ended:
        """Search all task sets. `root`: what the plain tables say of each column."""
        columns = self.columns
        self.walk = walk_through(self.layout, self.compiled.ends)
        self._least = root[: columns.costs].reshape(columns.scenarios, columns.sets).copy()
        self._prices = no_prices(limited_uses(self.compiled, columns))
        self.trial = self.ceilings.copy()
        with suppress(BudgetSpent, MemoryError):
            self._search_all()
        left = self._still_open(range(columns.sets), self.ceilings)
        lowest_left = min((int(self._least[:, one].min()) for one in left), default=None)
        return Ended(self.nodes, not left, lowest_left)

    def _search_all(self) -> None:
        self._search(self._still_open(range(self.columns.sets), self.trial), ALL_AT_ONCE)
        level = 0
        for part in (*(TRIALS if is_on(CEILINGS) else ()), None):
            if not self._still_open(range(self.columns.sets), self.ceilings):
                break
            self.meter.check()
            lowest = self._least.min(axis=1)
            supposed = np.full_like(self.ceilings, POSSIBLE_BELOW) if part is None else lowest + lowest // part
            self.trial = np.minimum(self.ceilings, supposed)
            level = self._close(max(0, level - 1))

    def _close(self, first: int) -> int:
        """Search all that lies under the trial ceiling, from this level on; the last level that was needed."""
        ladder = LEVELS if is_on(LADDER) else LEVELS[-1:]
        needed = first
        for number in range(first, len(ladder)):
            level, waiting = ladder[number], self._waiting()
            size = max(1, level.sets // self.columns.scenarios)
            for start in range(0, len(waiting), size):
                batch = self._still_open(waiting[start : start + size], self.trial)
                self.meter.check()
                if batch:
                    needed = number
                    self._search(batch, level)
        return needed

    def _waiting(self) -> list[int]:
        """Task sets under the trial ceiling, the best bounds first."""
        urgency = (self._least - self.trial[:, None]).min(axis=0).tolist()
        return sorted(self._still_open(range(self.columns.sets), self.trial), key=lambda one: (urgency[one], one))

    def _still_open(self, sets: Iterable[int], ceilings: Ints) -> list[int]:
        under: Flags = np.logical_or.reduce(self._least <= ceilings[:, None], axis=0)
        return [one for one in sets if under[one]]

    def _search(self, batch: list[int], level: Level) -> None:
        """Close the batch's task sets, or learn better bounds for them."""
        if not batch:
            return
        columns = self.columns.kept(batch)
        places = self._places(batch)
        steps, work = level.steps if is_on(MULTIPLIERS) else 0, level.work if is_on(RESIDUES) else 0
        tables = build_tables(self.compiled, self.layout, columns, self.meter)
        limited = limited_uses(self.compiled, columns)
        priced, tables, self._prices[:, places] = sharpen(
            self.compiled, self.layout, columns, tables, self.trial, limited, steps, self._prices[:, places],
            self.meter,
        )  # fmt: skip
        self._learn(batch, tables.root)
        living = living_candidates(self.layout, self.walk, priced, tables, self.trial)
        if not all(living):
            self._closed(batch)
            return
        kept, least, following = follow(
            self.compiled, self.layout, self.walk, priced, tables.root, self.trial, work, living, self.meter
        )
        # Candidates that are not living cost more than the ceiling, so these bounds hold no further than that.
        self._learn(batch, np.minimum(least, self.trial[:, None] + 1).reshape(-1))
        if len(kept) < len(batch):
            priced, tables = priced.kept(kept), tables.kept(priced, kept)
        if not kept:
            return
        ended = branch_search(
            self.compiled,
            BranchBounds(self.layout, priced, tables, following),
            self.demands,
            self.judging(priced, self.trial),
            self._taken,
            self.remembering() if is_on(DOMINANCE) else None,
            meter=self.meter,
            most_nodes=level.nodes,
        )
        self.nodes += ended.nodes
        if ended.complete:
            self._closed(batch)

    def _taken(self, options: list[int]) -> None:
        self.take(options)
        np.minimum(self.trial, self.ceilings, out=self.trial)

    def _closed(self, batch: list[int]) -> None:
        """Everything at or below the trial ceiling has been searched."""
        self._least[:, batch] = np.maximum(self._least[:, batch], self.trial[:, None] + 1)

    def _places(self, sets: list[int]) -> list[int]:
        return [place * self.columns.sets + one for place in range(self.columns.scenarios) for one in sets]

    def _learn(self, batch: list[int], bounds: Ints) -> None:
        known = bounds[: self.columns.scenarios * len(batch)].reshape(self.columns.scenarios, len(batch))
        self._least[:, batch] = np.maximum(self._least[:, batch], known)

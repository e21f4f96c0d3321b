"""Partial routes followed by residue: what each has paid so far, and where its chains stand in their cycles."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from graph.search.budget import ENDLESS, Meter
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.layout import Layout
from graph.search.lumps import find_lumps
from graph.search.numbers import POSSIBLE_BELOW, Ints
from graph.search.residues import Residues, work_of
from graph.search.walk import Walk


class Trail(NamedTuple):
    """What the decided variables cost by column, and the residue of each followed chain."""

    paid: Ints
    residues: tuple[int, ...]


class Following:
    """Some chains' residues, asked together along the search."""

    def __init__(self, compiled: Compiled, layout: Layout, columns: Columns, chains: Sequence[Residues]) -> None:
        self.chains = tuple(chains)
        self._count, self._branching = len(layout.sizes), layout.branching
        self._start = columns.start[: columns.costs]
        links = np.split(columns.links[:, : columns.costs], np.cumsum([len(ways) for ways in compiled.links])[:-1])
        self._costs = [*(table[:, : columns.costs] for table in columns.unary), *links]

    def start(self) -> Trail:
        """Nothing decided yet."""
        return Trail(self._start, (0,) * len(self.chains))

    def extended(self, trail: Trail, variable: int, option: int) -> Trail:
        """The trail with one more choice."""
        return Trail(
            trail.paid + self._costs[variable][option],
            tuple(
                [
                    (residue + int(chain.steps[variable][option])) % chain.modulus
                    for residue, chain in zip(trail.residues, self.chains, strict=True)
                ]
            ),
        )

    def steps(
        self, trail: Trail, depth: int, first: int, count: int, options: list[int]
    ) -> tuple[list[Trail], list[Ints]]:
        """For `count` options of the variable at `depth` from `first` on: trails, and each chain's bounds by row."""
        variable = self._branching[depth]
        paid = trail.paid + self._costs[variable][first : first + count]
        least = []
        reached = []
        for residue, chain in zip(trail.residues, self.chains, strict=True):
            now = (chain.steps[variable][first : first + count] + residue) % chain.modulus
            if variable < self._count:
                rows = chain.places[variable]
                least.append(paid + chain.after_position(depth, options)[rows, now])
            else:
                least.append(paid + chain.after_joint(depth, options)[now])
            reached.append(now.tolist())
        return [Trail(paid[row], tuple([some[row] for some in reached])) for row in range(count)], least


WORTH_DOUBLING = 0.05  # the part of the way to the ceiling that a longer cycle must gain to be lengthened again


def _gain(least: Ints, bounds: Ints, ceilings: Ints) -> float:
    """The largest part of the way to its ceiling that some column's bound gained."""
    way = np.where(ceilings[:, None] < POSSIBLE_BELOW, ceilings[:, None], 2 * np.abs(least)) - least
    return float((np.maximum(bounds - least, 0) / np.maximum(way, 1)).max(initial=0))


def follow(
    compiled: Compiled,
    layout: Layout,
    walk: Walk,
    columns: Columns,
    root: Ints,
    ceilings: Ints,
    most_work: int,
    living: Sequence[Sequence[int]],
    meter: Meter = ENDLESS,
) -> tuple[list[int], Ints, Following | None]:
    """The task sets that can still beat a ceiling, the bounds by scenario and set, the chains worth following in them.

    `living`: candidates by position that matter in these columns. `root`: the bounds so far by column. Short cycles go
    first: they are quick, and leave fewer columns to long ones.
    """
    kept = list(range(columns.sets))
    every = root[: columns.costs].reshape(columns.scenarios, columns.sets).copy()
    least = every
    chains: list[Residues] = []
    for lumps in find_lumps(compiled, columns):
        best: Residues | None = None
        for modulus in lumps.moduli():
            now = columns.kept(kept)
            work, largest = work_of(layout, walk, lumps, modulus, now.costs, living)
            if work > most_work or largest > meter.sizes.cells:
                break
            one = Residues(compiled, layout, walk, now, lumps, modulus, living, meter)
            bounds = (one.root() + now.start[: now.costs]).reshape(now.scenarios, now.sets)
            gain = _gain(least, bounds, ceilings)
            if best is not None and gain < WORTH_DOUBLING:
                break
            if gain == 0:
                continue
            best, least = one, np.maximum(least, bounds)
            every[:, kept] = least
            open_ = np.flatnonzero((least <= ceilings[:, None]).any(axis=0)).tolist()
            if len(open_) < len(kept):
                for chain in (*chains, best):
                    chain.keep([place * now.sets + one for place in range(now.scenarios) for one in open_])
                kept, least = [kept[one] for one in open_], least[:, open_]
            if not kept:
                return [], every, None
        if best is not None:
            chains.append(best)
    return kept, every, Following(compiled, layout, columns.kept(kept), chains) if chains else None

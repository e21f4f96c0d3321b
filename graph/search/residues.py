"""Bounds that see that sums are lumpy: a chain's sum is followed round a cycle of whole steps.

Prices on limits (`multipliers`) let a chain be met on average, by a little of this and a little of that. Here every
table also keeps the chain's sum modulo some number of steps (`lumps`): what cannot end on an allowed residue is not
counted, so the bound is true for any modulus and any prices. It is the group relaxation of integer programming
(Gomory, Linear Algebra and its Applications 2, 1969), one chain at a time. With a cycle longer than the reach of the
chain it is exact in that chain.

Each variable has a table of the cheapest way to fill it and all that hangs below it, by residue. What is open at some
depth is a stack of these (`walk`), added up when asked for and remembered by the decided positions it looks at.
Costs are held in 32 bits, in units large enough for any sum, rounded down.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from graph.search.budget import ENDLESS, Meter
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.layout import Layout, product_of
from graph.search.lumps import Lumps
from graph.search.numbers import IMPOSSIBLE, POSSIBLE_BELOW, Ints
from graph.search.walk import Walk

Small = NDArray[np.int32]
Kind = TypeVar("Kind", Ints, NDArray[np.int32])
NEVER = 1 << 29  # impossible, in 32 bits; two of them still fit
SURELY = 1 << 27  # no possible sum is larger
FEW = 1 << 18


class Sums(NamedTuple):
    """A table by residue: `table[r, ..., column]` is what residue `residues[r]` costs; others are impossible."""

    residues: Ints
    table: Small


class Residues:
    """One chain's bounds for one list of columns, with only the living candidates.

    `options`, wherever asked for: the decided option by variable, living ones. `places`: by position and candidate, its
    place among the living ones (0 for others).
    """

    def __init__(
        self,
        compiled: Compiled,
        layout: Layout,
        walk: Walk,
        columns: Columns,
        lumps: Lumps,
        modulus: int,
        living: Sequence[Sequence[int]],
        meter: Meter = ENDLESS,
    ) -> None:
        self.layout, self.walk, self.modulus = layout, walk, modulus
        self._most = meter.sizes.cells
        self._living, self._sizes = living, tuple(map(len, living))
        self.places = [np.zeros(size, dtype=np.int64) for size in layout.sizes]
        for places, some in zip(self.places, living, strict=True):
            places[some] = np.arange(len(some))
        self._place = [places.tolist() for places in self.places]
        self.steps = [some % modulus for some in lumps.steps]
        self._costs = columns.costs
        self._unit = _unit_of(compiled, columns)
        self._sums: list[Sums] = [*([_NOTHING] * len(layout.sizes)), *self._joint_sums(compiled, columns)]
        for variable in reversed(layout.branching):
            meter.check()
            if variable < len(layout.sizes):
                self._sums[variable] = self._position_sums(
                    variable, self._small(columns.unary[variable][living[variable]])
                )
        self._ended: Small = np.full((modulus, columns.costs), NEVER, dtype=np.int32)
        self._ended[lumps.allowed(modulus)] = 0
        self._forget()

    def root(self) -> Ints:
        """The bound of everything, by column, without what the task sets cost."""
        return self._whole(self._rest(0, [])[0])

    def keep(self, places: Sequence[int]) -> None:
        """Go on with only these columns."""
        self._sums = [Sums(residues, table[..., places]) for residues, table in self._sums]
        self._ended = self._ended[:, places]
        self._costs = len(places)
        self._forget()

    def after_position(self, depth: int, options: list[int]) -> Ints:
        """By living candidate of the position decided at `depth`, residue so far, column: what the rest costs."""
        position = self.layout.branching[depth]
        key = tuple([options[place] for place in self.walk.looked_at[depth + 1] if place != position])
        known = self._after[depth].get(key)
        if known is None:
            kept = options[position]
            rows = []
            for option in self._living[position]:
                options[position] = option
                rows.append(self._rest(depth + 1, options))
            options[position] = kept
            known = self._whole(np.stack(rows))
            self._remember(self._after[depth], key, known)
        return known

    def after_joint(self, depth: int, options: list[int]) -> Ints:
        """By residue so far and column: what the rest costs, whichever link is decided at `depth`."""
        return self._whole(self._rest(depth + 1, options))

    def _small(self, costs: Ints) -> Small:
        """Costs in units, rounded down."""
        units: Ints = costs[:, : self._costs] // self._unit
        return np.where(units > SURELY, NEVER, units).astype(np.int32)

    def _whole(self, units: Small) -> Ints:
        return np.where(units > SURELY, IMPOSSIBLE, units.astype(np.int64) * self._unit)

    def _rest(self, depth: int, options: list[int]) -> Small:
        """By residue so far and column: the least that the variables from `depth` on cost."""
        waiting = []
        end = len(self.layout.branching)
        known: Small | None = None
        while known is None and depth < end:
            key = tuple([options[place] for place in self.walk.looked_at[depth]])
            known = self._known[depth].get(key)
            if known is None:
                waiting.append((depth, key))
                depth = self.walk.after[depth]
        rest = self._ended if known is None else known
        for at, key in reversed(waiting):
            variable = self.layout.branching[at]
            residues, table = self._sums[variable]
            place = tuple([self._place[one][options[one]] for one in self.walk.scopes[variable]])
            at_place: tuple[slice | int, ...] = (slice(None), *place)
            rest = self._before(residues, table[at_place], rest)
            self._remember(self._known[at], key, rest)
        return rest

    def _before(self, residues: Ints, costs: Small, rest: Small) -> Small:
        """What comes before, by residue so far, of something that costs `costs` by residue, then the rest."""
        if not len(residues):
            return np.full_like(rest, NEVER)
        made: Small
        if len(residues) == 1:
            made = np.minimum(np.roll(rest, -int(residues[0]), axis=0) + costs, NEVER)
            return made
        twice = np.concatenate([rest, rest])
        if len(residues) * rest.size <= FEW:
            shifted = np.arange(self.modulus)[None, :] + residues[:, None]
            made = np.minimum((twice[shifted] + costs[:, None, :]).min(axis=0), NEVER)
            return made
        made = np.full_like(rest, NEVER)
        for residue, cost in zip(residues.tolist(), costs, strict=True):
            np.minimum(made, twice[residue : residue + self.modulus] + cost, out=made)
        return made

    def _forget(self) -> None:
        depths = range(len(self.layout.branching) + 1)
        self._known: list[dict[tuple[int, ...], Small]] = [{} for _ in depths]
        self._after: list[dict[tuple[int, ...], Ints]] = [{} for _ in depths]
        self._remembered = 0

    def _remember(self, where: dict[tuple[int, ...], Kind], key: tuple[int, ...], value: Kind) -> None:
        if self._remembered + value.size > self._most:
            self._forget()
            return
        self._remembered += value.size
        where[key] = value

    def _joint_sums(self, compiled: Compiled, columns: Columns) -> list[Sums]:
        made, row, count = [], 0, len(self.layout.sizes)
        for joint, cells in enumerate(compiled.cells):
            one, other = compiled.ends[joint]
            wide, deep = self._sizes[one], self._sizes[other]
            ends = np.divmod(np.array(cells, dtype=np.int64), self.layout.sizes[other])
            usable = np.isin(ends[0], self._living[one]) & np.isin(ends[1], self._living[other])
            costs = self._small(columns.links[row : row + len(cells)][usable])
            row += len(cells)
            cell = self.places[one][ends[0][usable]] * deep + self.places[other][ends[1][usable]]
            residues, which = np.unique(self.steps[count + joint][usable], return_inverse=True)
            table = _least(which * (wide * deep) + cell, costs, len(residues) * wide * deep)
            cube = table.reshape(len(residues), wide, deep, self._costs)
            if one > other:
                cube = cube.swapaxes(1, 2)
            free = [self._sizes[place] for place in self.walk.scopes[count + joint]]
            made.append(_lean(residues, cube.reshape(len(residues), *free, self._costs)))
        return made

    def _position_sums(self, position: int, unary: Small) -> Sums:
        """The position's candidates with all that hangs below, the cheapest for each residue."""
        scope, size = self.walk.scopes[position], self._sizes[position]
        residues, which = np.unique(self.steps[position][self._living[position]], return_inverse=True)
        table = np.full((len(residues), size, self._costs), NEVER, dtype=np.int32)
        table[which, np.arange(size)] = unary
        settled = self.layout.sizes[position] == 1
        if settled:
            axes: tuple[int, ...] = ()
            total = Sums(residues, table[:, 0])
        else:
            axes = (*scope, position)
            total = Sums(residues, table.reshape(len(residues), *[1] * len(scope), size, self._costs))
        hanging = [self._aligned(variable, axes) for variable in self.walk.below[position]]
        for sums in sorted(hanging, key=lambda one: (len(one.residues), one.table.size)):
            total = self._added(total, sums)
        if settled:
            return total
        least = total.table.min(axis=-2)
        return _lean(total.residues, np.broadcast_to(least, self._shape(len(total.residues), scope)))

    def _shape(self, residues: int, scope: Sequence[int]) -> tuple[int, ...]:
        return (residues, *(self._sizes[place] for place in scope), self._costs)

    def _aligned(self, variable: int, axes: Sequence[int]) -> Sums:
        """A variable's table with one axis for each of `axes`, in their order."""
        (residues, table), scope = self._sums[variable], self.walk.scopes[variable]
        mine = [place for place in axes if place in scope]
        table = table.transpose(0, *(1 + scope.index(place) for place in mine), len(scope) + 1)
        shape = [self._sizes[place] if place in scope else 1 for place in axes]
        return Sums(residues, table.reshape(len(residues), *shape, self._costs))

    def _added(self, one: Sums, other: Sums) -> Sums:
        """Every way to add up two tables, the cheapest for each residue of the sum."""
        few, many = (one, other) if len(one.residues) <= len(other.residues) else (other, one)
        reached = (few.residues[:, None] + many.residues[None, :]) % self.modulus
        residues, place = np.unique(reached, return_inverse=True)
        place = place.reshape(reached.shape)
        shape = np.broadcast_shapes(few.table.shape[1:], many.table.shape[1:])
        made = np.full((len(residues), *shape), NEVER, dtype=np.int32)
        for row, table in zip(place, few.table, strict=True):
            if len(many.residues) == self.modulus:  # then all residues are there, in order, and only turn
                first = int(row[0])
                for into, out_of in ((slice(first, None), slice(None, self.modulus - first)),
                                     (slice(None, first), slice(self.modulus - first, None))):  # fmt: skip
                    np.minimum(made[into], many.table[out_of] + table, out=made[into])
            else:
                made[row] = np.minimum(made[row], many.table + table)
        return Sums(residues, made)


_NOTHING = Sums(np.zeros(0, dtype=np.int64), np.zeros((0, 0), dtype=np.int32))


def _unit_of(compiled: Compiled, columns: Columns) -> int:
    """A unit in which every possible sum, and every sum below zero that prices make, is below SURELY."""
    stops = np.cumsum([len(ways) for ways in compiled.links])[:-1]
    tables = [*columns.unary, *(np.split(columns.links, stops) if compiled.links else [])]
    largest = 0
    for table in tables:
        costs = table[:, : columns.costs]
        largest += int(np.abs(costs, where=costs < POSSIBLE_BELOW, out=np.zeros_like(costs)).max(initial=0))
    return max(1, -(-largest // (SURELY - 2 * len(tables))))


def _least(keys: Ints, rows: Small, count: int) -> Small:
    """By key below `count`: the least of the rows with that key, column by column."""
    made = np.full((count, rows.shape[1]), NEVER, dtype=np.int32)
    if len(keys):
        order = np.argsort(keys, kind="stable")
        sorted_keys = keys[order]
        first = np.flatnonzero(np.concatenate([[True], sorted_keys[1:] != sorted_keys[:-1]]))
        made[sorted_keys[first]] = np.minimum.reduceat(rows[order], first, axis=0)
    return made


def _lean(residues: Ints, table: Small) -> Sums:
    """Without the residues that are impossible everywhere; what is impossible counted as such once."""
    possible = (table <= SURELY).any(axis=tuple(range(1, table.ndim)))
    return Sums(residues[possible], np.minimum(table[possible], NEVER))


def work_of(
    layout: Layout, walk: Walk, lumps: Lumps, modulus: int, columns: int, living: Sequence[Sequence[int]]
) -> tuple[int, int]:
    """Additions that the tables need, and numbers in the largest, for so many columns."""
    count, sizes = len(layout.sizes), [len(some) for some in living]
    reached: list[set[int]] = [set(np.unique(some % modulus).tolist()) for some in lumps.steps]
    additions = largest = 0
    for variable in reversed(layout.branching):
        if variable >= count:
            continue
        ways = product_of(sizes, {*walk.scopes[variable], variable}) * columns
        total = reached[variable]
        for part in sorted((reached[one] for one in walk.below[variable]), key=len):
            additions += len(total) * len(part) * ways
            total = set(range(modulus)) if len(total) * len(part) > 8 * modulus else {
                (one + other) % modulus for one in total for other in part
            }  # fmt: skip
            largest = max(largest, len(total) * ways)
        reached[variable] = total
    return additions, largest

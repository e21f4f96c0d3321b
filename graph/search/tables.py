"""Bucket elimination: what the rest of an assembly costs at least, for every partial choice.

Positions are eliminated one by one (the one with the smallest table first). Eliminating a position makes a table
over its neighbours that holds, in every column, the cheapest way to fill it. Read backwards, the tables tell
exactly how much each candidate adds to the cheapest completion (R. Dechter, Bucket elimination, 1999).
Where a table, or all together, would grow too large, parts are kept apart (mini-buckets), and the tables tell at
least how much.
What they leave out: rules, features, and how chains, days and costs bind each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from graph.search.budget import ENDLESS, Meter
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.layout import Layout, product_of
from graph.search.numbers import IMPOSSIBLE, Ints


@dataclass(frozen=True, slots=True)
class Rise:
    """How much each candidate of a position raises the bound: a table over `given` positions, candidates, columns."""

    given: tuple[int, ...]
    table: Ints


@dataclass(frozen=True, slots=True)
class BoundTables:
    """`rises[position]`: none for a settled one.

    `above[link]`: how far a link lies above the cheapest of its cell; `root`: the bound of everything.
    """

    rises: tuple[tuple[Rise, ...], ...]
    above: Ints
    root: Ints

    def kept(self, columns: Columns, sets: Sequence[int]) -> BoundTables:
        """Only these task sets of the columns that the tables were made of."""
        places = columns.places_of(sets)
        rises = tuple(tuple(Rise(one.given, one.table[..., places]) for one in some) for some in self.rises)
        return BoundTables(rises, self.above[:, places], self.root[places])


@dataclass(frozen=True, slots=True)
class _Factor:
    scope: tuple[int, ...]
    table: Ints  # one axis per position in scope, then columns


def build_tables(compiled: Compiled, layout: Layout, columns: Columns, meter: Meter = ENDLESS) -> BoundTables:
    """The tables of a search over all columns. Raises BudgetSpent."""
    most_entries = meter.sizes.table
    factors, above, root = _joint_factors(compiled, layout, columns)
    rises: list[tuple[Rise, ...]] = [()] * len(layout.sizes)
    while sum(min(ways * root.size, most_entries) for ways in layout.ways) > meter.sizes.tables and most_entries > 1:
        most_entries //= 2
    for position in layout.order:
        meter.check()
        mine = [factor for factor in factors if position in factor.scope]
        factors = [factor for factor in factors if position not in factor.scope]
        found = []
        for group in _groups(mine, layout.sizes, columns.start.size, most_entries):
            bucket = _join(group, position, layout.sizes)
            message = bucket.table.min(axis=-2)
            given = bucket.scope[:-1]
            found.append(Rise(given, bucket.table - message[..., None, :]))
            if given:
                factors.append(_Factor(given, np.minimum(message, IMPOSSIBLE)))
            else:
                root = root + message
        rises[position] = tuple(found)
    return BoundTables(tuple(rises), above, root)


def _joint_factors(compiled: Compiled, layout: Layout, columns: Columns) -> tuple[list[_Factor], Ints, Ints]:
    """A table per joint between free positions and per free position; links above their cell's cheapest; the rest."""
    root, above = columns.start.copy(), columns.links
    unary = [table if size == 1 else table.copy() for table, size in zip(columns.unary, layout.sizes, strict=True)]
    cells = np.full((layout.cells, root.size), IMPOSSIBLE, dtype=np.int64)
    if layout.groups.size:
        least = np.minimum.reduceat(columns.links, layout.groups, axis=0)
        cells[layout.filled] = least
        above = columns.links - np.repeat(least, layout.counts, axis=0)
    factors = []
    for joint, (one, other) in enumerate(compiled.ends):
        width, depth = layout.sizes[one], layout.sizes[other]
        table = cells[layout.first_cell[joint] : layout.first_cell[joint] + width * depth]
        if width == 1 and depth == 1:
            root += table[0]
        elif width == 1 or depth == 1:
            unary[other if width == 1 else one] += table
        else:
            cube = table.reshape(width, depth, root.size)
            factors.append(_Factor((one, other), cube) if one < other else _Factor((other, one), cube.swapaxes(0, 1)))
    for place, table in enumerate(unary):
        if layout.sizes[place] == 1:
            root += table[0]
        else:
            factors.append(_Factor((place,), table))
    return factors, above, root


def _groups(factors: list[_Factor], sizes: Sequence[int], columns: int, most_entries: int) -> list[list[_Factor]]:
    """The factors of one bucket, parted so that no joined table passes the limit."""
    groups: list[tuple[set[int], list[_Factor]]] = []
    for factor in sorted(factors, key=lambda one: (-len(one.scope), one.scope)):
        for scope, members in groups:
            if product_of(sizes, scope | set(factor.scope)) * columns <= most_entries:
                scope |= set(factor.scope)
                members.append(factor)
                break
        else:
            groups.append((set(factor.scope), [factor]))
    return [members for _, members in groups]


def _join(factors: list[_Factor], position: int, sizes: Sequence[int]) -> _Factor:
    """The sum of the factors, with `position` as the last axis before the columns."""
    members = {place for factor in factors for place in factor.scope}
    members.discard(position)
    scope = (*sorted(members), position)
    total: Ints | None = None
    for factor in sorted(factors, key=lambda one: -len(one.scope)):
        table = factor.table
        if factor.scope[-1] != position:
            axes = [place for place, one in enumerate(factor.scope) if one != position]
            table = table.transpose([*axes, factor.scope.index(position), len(factor.scope)])
        if len(factor.scope) != len(scope):
            shape = [sizes[place] if place in factor.scope else 1 for place in scope]
            table = table.reshape([*shape, table.shape[-1]])
        total = table if total is None else total + table
    assert total is not None  # every position has its unary factor
    full = (*(sizes[place] for place in scope), total.shape[-1])
    if total.shape != full:
        total = np.broadcast_to(total, full)
    return _Factor(scope, total)

"""Bucket elimination: what the rest of an assembly costs at least, for every partial choice.

Positions are eliminated one by one (the one with the smallest table first). Eliminating a position makes a table
over its neighbours that holds, in every column, the cheapest way to fill it. Read backwards, the tables tell
exactly how much each candidate adds to the cheapest completion (R. Dechter, Bucket elimination, 1999).
Where a table would grow too large its parts are kept apart (mini-buckets), and the tables tell at least how much.
What they leave out: rules, features, and how chains, days and costs bind each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from graph.search.columns import IMPOSSIBLE, Columns, Ints
from graph.search.compiled import Compiled

MOST_ENTRIES = 1 << 22


@dataclass(frozen=True, slots=True)
class Rise:
    """How much each candidate of a position raises the bound: a table over `given` positions, candidates, columns."""

    given: tuple[int, ...]
    table: Ints


@dataclass(frozen=True, slots=True)
class Ways:
    """The links of one joint, and how far each lies above its cell's cheapest; cell c has rows starts[c]..stops[c]."""

    starts: Ints
    stops: Ints
    above: Ints
    most: int  # the most links in one cell


@dataclass(frozen=True, slots=True)
class Tables:
    """`order`: positions in the order of branching; `rises[position]`; `ways[joint]`; `root`: bound of everything."""

    order: tuple[int, ...]
    rises: tuple[tuple[Rise, ...], ...]
    ways: tuple[Ways, ...]
    root: Ints


@dataclass(frozen=True, slots=True)
class _Factor:
    scope: tuple[int, ...]
    table: Ints  # one axis per position in scope, then columns


def build_tables(compiled: Compiled, columns: Columns, most_entries: int = MOST_ENTRIES) -> Tables:
    """The tables of a search over all columns."""
    factors, ways = _joint_factors(compiled, columns)
    factors += [_Factor((place,), table) for place, table in enumerate(columns.unary)]
    sizes = [len(held) for held in compiled.candidates]
    order = elimination_order(sizes, compiled.ends)
    rises: list[tuple[Rise, ...]] = [()] * len(sizes)
    root = columns.start.copy()
    for position in order:
        mine = [factor for factor in factors if position in factor.scope]
        factors = [factor for factor in factors if position not in factor.scope]
        found = []
        for group in _groups(mine, position, sizes, columns.start.size, most_entries):
            bucket = _join(group, position, sizes)
            message = bucket.table.min(axis=-2)
            given = bucket.scope[:-1]
            found.append(Rise(given, bucket.table - np.expand_dims(message, -2)))
            if given:
                factors.append(_Factor(given, np.minimum(message, IMPOSSIBLE)))
            else:
                root = root + message
        rises[position] = tuple(found)
    return Tables(tuple(reversed(order)), tuple(rises), ways, root)


def _joint_factors(compiled: Compiled, columns: Columns) -> tuple[list[_Factor], tuple[Ways, ...]]:
    """One table per joint, of the cheapest link in each cell."""
    factors, ways, first = [], [], 0
    for joint, (one, other) in enumerate(compiled.ends):
        cells = np.array(compiled.cells[joint], dtype=np.int64)
        shape = (len(compiled.candidates[one]), len(compiled.candidates[other]), columns.start.size)
        table = np.full((shape[0] * shape[1], shape[2]), IMPOSSIBLE, dtype=np.int64)
        starts_at, stops_at = np.zeros((2, len(table)), dtype=np.int64)
        above, most = columns.links[first : first + len(cells)], 0
        if len(cells):
            starts = np.flatnonzero(np.diff(cells, prepend=-1))
            counts = np.diff(starts, append=len(cells))
            least = np.minimum.reduceat(above, starts, axis=0)
            table[cells[starts]] = least
            starts_at[cells[starts]], stops_at[cells[starts]] = starts, starts + counts
            above, most = above - np.repeat(least, counts, axis=0), int(counts.max())
        cube = table.reshape(shape)
        factors.append(_Factor((one, other), cube) if one < other else _Factor((other, one), cube.swapaxes(0, 1)))
        ways.append(Ways(starts_at, stops_at, above, most))
        first += len(cells)
    return factors, tuple(ways)


def elimination_order(sizes: Sequence[int], ends: Sequence[tuple[int, int]]) -> list[int]:
    """Positions in the order of elimination: always the one whose table is smallest, ties by place."""
    near: list[set[int]] = [set() for _ in sizes]
    for one, other in ends:
        near[one].add(other)
        near[other].add(one)
    left, order = set(range(len(sizes))), []
    weight = {place: _product(sizes, near[place]) for place in left}
    while left:
        place = min(left, key=lambda one: (weight[one], one))
        order.append(place)
        left.discard(place)
        for one in near[place]:
            near[one] |= near[place]
            near[one] -= {one, place}
        for one in near[place]:
            weight[one] = _product(sizes, near[one])
    return order


def _product(sizes: Sequence[int], members: set[int]) -> int:
    made = 1
    for one in members:
        made *= sizes[one]
    return made


def _groups(
    factors: list[_Factor], position: int, sizes: Sequence[int], columns: int, most_entries: int
) -> list[list[_Factor]]:
    """The factors of one bucket, parted so that no joined table passes the limit."""
    groups: list[tuple[set[int], list[_Factor]]] = []
    for factor in sorted(factors, key=lambda one: (-len(one.scope), one.scope)):
        for scope, members in groups:
            if _product(sizes, scope | set(factor.scope)) * columns <= most_entries:
                scope |= set(factor.scope)
                members.append(factor)
                break
        else:
            groups.append((set(factor.scope), [factor]))
    return [members for _, members in groups]


def _join(factors: list[_Factor], position: int, sizes: Sequence[int]) -> _Factor:
    """The sum of the factors, with `position` as the last axis before the columns."""
    scope = (*sorted({place for factor in factors for place in factor.scope} - {position}), position)
    total: Ints | None = None
    for factor in factors:
        kept = [place for place in scope if place in factor.scope]
        axes = [factor.scope.index(place) for place in kept]
        table = factor.table.transpose([*axes, len(axes)])
        shape = [sizes[place] if place in factor.scope else 1 for place in scope]
        table = table.reshape([*shape, table.shape[-1]])
        total = table if total is None else total + table
    assert total is not None  # every position has its unary factor
    full = [sizes[place] for place in scope]
    if list(total.shape[:-1]) != full:
        total = np.broadcast_to(total, [*full, total.shape[-1]])
    return _Factor(scope, total)

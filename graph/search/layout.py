"""Where everything lies in the tables: worked out once for a conversion, used by every search over it.

A position with one candidate is *settled*: it needs no table of its own. What its joints cost is added to the other
end, and what lies between settled positions is added up once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import sub

import numpy as np

from graph.search.compiled import Compiled
from graph.search.numbers import Ints


@dataclass(frozen=True, slots=True)
class Layout:
    """`order`: free positions in the order of elimination; `branching`: all variables in the order of branching.

    Cells of all joints stand in one list.

    Joint j has cells `first_cell[j]`..; cell c holds the links `starts[c]`..`stops[c]` (counted over all joints).
    `groups`: the first link of each cell that has any; `filled`: those cells; `sizes`: candidates by position.
    """

    sizes: tuple[int, ...]
    order: tuple[int, ...]
    branching: tuple[int, ...]
    first_cell: tuple[int, ...]
    cells: int
    filled: Ints
    groups: Ints
    counts: Ints
    starts: Ints
    stops: Ints
    start_of: tuple[int, ...]  # the same as plain numbers
    stop_of: tuple[int, ...]
    most: tuple[int, ...]  # by joint: the most links in one cell
    ways: tuple[int, ...]  # of each free position: the ways to fill its table, largest last


def lay_out(compiled: Compiled) -> Layout:
    """The layout of a compiled conversion."""
    sizes = tuple(len(held) for held in compiled.candidates)
    first_cell: list[int] = []
    starts: list[int] = []
    stops: list[int] = []
    most: list[int] = []
    row = 0
    for (one, other), cells in zip(compiled.ends, compiled.cells, strict=True):
        first = len(starts)
        first_cell.append(first)
        starts += [0] * (sizes[one] * sizes[other])
        stops += [0] * (sizes[one] * sizes[other])
        for cell in cells:
            if stops[first + cell] == 0:
                starts[first + cell] = row
            row += 1
            stops[first + cell] = row
        most.append(max(map(sub, stops[first:], starts[first:]), default=0))
    filled = [cell for cell, stop in enumerate(stops) if stop]
    order, ways = in_depth_first_order(elimination_order(sizes, compiled.ends), sizes, compiled.ends)
    settled = [place for place, size in enumerate(sizes) if size == 1]
    return Layout(
        sizes=sizes,
        order=tuple(order),
        branching=tuple(branching_order([*settled, *reversed(order)], compiled.ends)),
        first_cell=tuple(first_cell),
        cells=len(starts),
        filled=np.array(filled, dtype=np.int64),
        groups=np.array([starts[cell] for cell in filled], dtype=np.int64),
        counts=np.array([stops[cell] - starts[cell] for cell in filled], dtype=np.int64),
        starts=np.array(starts, dtype=np.int64),
        stops=np.array(stops, dtype=np.int64),
        start_of=tuple(starts),
        stop_of=tuple(stops),
        most=tuple(most),
        ways=tuple(ways),
    )


def elimination_order(sizes: Sequence[int], ends: Sequence[tuple[int, int]]) -> list[int]:
    """Free positions in the order of elimination: always the one whose table is smallest, ties by place."""
    left = {place for place, size in enumerate(sizes) if size > 1}
    near: dict[int, set[int]] = {place: set() for place in left}
    for one, other in ends:
        if one in left and other in left:
            near[one].add(other)
            near[other].add(one)
    weight = {place: product_of(sizes, near[place]) for place in left}
    order = []
    while left:
        place = min(left, key=lambda one: (weight[one], one))
        order.append(place)
        left.discard(place)
        for one in near[place]:
            near[one] |= near[place]
            near[one] -= {one, place}
        for one in near[place]:
            weight[one] = product_of(sizes, near[one])
    return order


def in_depth_first_order(
    order: Sequence[int], sizes: Sequence[int], ends: Sequence[tuple[int, int]]
) -> tuple[list[int], list[int]]:
    """The same elimination, subtree by subtree; and the sizes of its tables, smallest first.

    Reversed, it is a walk through the tree of tables, root first and one branch after the other.
    """
    turn = {place: number for number, place in enumerate(order)}
    near: dict[int, set[int]] = {place: set() for place in order}
    for one, other in ends:
        if one in near and other in near:
            near[one].add(other)
            near[other].add(one)
    below: dict[int | None, list[int]] = {None: []}
    ways = []
    for place in order:
        later = {one for one in near[place] if turn[one] > turn[place]}
        ways.append(product_of(sizes, later | {place}))
        parent = min(later, key=lambda one: turn[one], default=None)
        if parent is not None:
            near[parent] |= later - {parent}
        below.setdefault(parent, []).append(place)
    walked, waiting = [], list(below[None])
    while waiting:
        place = waiting.pop()
        walked.append(place)
        waiting += below.get(place, [])
    return walked[::-1], sorted(ways)


def branching_order(positions: Sequence[int], ends: Sequence[tuple[int, int]]) -> list[int]:
    """Positions in their order, each followed by the joints that are then decided at both ends."""
    order: list[int] = []
    decided: set[int] = set()
    for position in positions:
        order.append(position)
        decided.add(position)
        for joint, (one, other) in enumerate(ends):
            if position in (one, other) and one in decided and other in decided:
                order.append(len(positions) + joint)
    return order


def product_of(sizes: Sequence[int], members: set[int]) -> int:
    """How many ways the members can be filled."""
    made = 1
    for one in members:
        made *= sizes[one]
    return made

"""Which candidates can still be part of a route that matters.

The tables say how much every choice adds to the cheapest completion. Walking them root first tells the other half: how
much the cheapest rest of the assembly lies above the whole bound, whatever a table looks at. Both together bound every
route with a candidate; where that is above the ceilings in all columns, no search in these columns can ever pick it.
"""

from __future__ import annotations

import numpy as np

from graph.search.columns import Columns
from graph.search.layout import Layout
from graph.search.numbers import IMPOSSIBLE, Ints
from graph.search.tables import BoundTables
from graph.search.walk import Walk


def living_candidates(
    layout: Layout, walk: Walk, columns: Columns, tables: BoundTables, ceilings: Ints
) -> list[list[int]]:
    """By position: the candidates that some column still allows; all of them where tables were kept apart."""
    room = np.repeat(ceilings, columns.sets) - tables.root[: columns.costs]
    return [
        list(range(size)) if least is None else np.flatnonzero((least <= room).any(axis=1)).tolist()
        for size, least in zip(layout.sizes, least_above(layout, walk, columns, tables), strict=True)
    ]


def least_above(layout: Layout, walk: Walk, columns: Columns, tables: BoundTables) -> list[Ints | None]:
    """By position, candidate and column: how far every route with it lies above the bound of everything, at least.

    None where a position is settled, and for all where tables were kept apart.
    """
    every: list[Ints | None] = [None] * len(layout.sizes)
    if any(len(rises) > 1 for rises in tables.rises):
        return every
    costs = columns.costs
    over: dict[int, Ints] = {}
    for position in layout.branching:
        if position >= len(layout.sizes) or layout.sizes[position] == 1:
            continue
        (rise,) = tables.rises[position]
        above = rise.table[..., :costs]
        if rise.given:
            above = np.minimum(above + over.pop(position)[..., None, :], IMPOSSIBLE)
        every[position] = above.min(axis=tuple(range(len(rise.given))))
        for variable in walk.below[position]:
            if variable < len(layout.sizes):
                over[variable] = _least_over(above, (*rise.given, position), walk.scopes[variable])
    return every


def _least_over(table: Ints, axes: tuple[int, ...], kept: tuple[int, ...]) -> Ints:
    """The least over all other axes; the kept ones in their own order, columns last."""
    least: Ints = table.min(axis=tuple(number for number, place in enumerate(axes) if place not in kept))
    left = [place for place in axes if place in kept]
    return least.transpose(*(left.index(place) for place in kept), len(left))

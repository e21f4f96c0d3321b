"""Task sets apart: each is a *lane* with all its numbers side by side, so that a partial route pays for its own only.

A lane's numbers are its costs, its hours where these are limited, and what each limited chain comes to, counted over
the choices that are possible in the lane alone: the bounds of a chain then know the task set.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from graph.search.budget import Meter
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.family import most_columns
from graph.search.layout import Layout
from graph.search.numbers import IMPOSSIBLE, POSSIBLE_BELOW, Ints
from graph.search.tables import Rise, build_tables


@dataclass(frozen=True, slots=True)
class Lanes:
    """Bounds by lane and number: costs first, then hours if limited, then chains.

    `rises[position]`: over given positions, lanes, candidates, numbers; `above`: links x lanes x numbers; `root`: lanes
    x numbers; `limits`: of the chains' numbers.
    """

    columns: Columns
    rises: tuple[tuple[Rise, ...], ...]
    above: Ints
    root: Ints
    limits: Ints

    @property
    def costs(self) -> int:
        return self.columns.scenarios

    @property
    def first_chain(self) -> int:
        return self.columns.scenarios + self.columns.has_hours


def fit_lanes(compiled: Compiled, columns: Columns, meter: Meter) -> bool:
    """Do the lanes of these columns fit the memory?"""
    numbers = columns.first_chain + columns.sets * int((columns.chain_limits < IMPOSSIBLE).sum())
    return numbers <= most_columns(compiled, max(1, numbers), meter)


def build_lanes(compiled: Compiled, layout: Layout, columns: Columns, meter: Meter) -> Lanes:
    """The lanes of a search over these columns, one for each task set. Raises BudgetSpent."""
    bound = np.flatnonzero(columns.chain_limits < IMPOSSIBLE)
    *unary, links, start = (
        _apart(columns, table, bound) for table in (*columns.unary, columns.links, columns.start[None])
    )
    lanes, numbers = columns.sets, columns.first_chain // columns.sets + len(bound)
    tables = build_tables(compiled, layout, replace(columns, unary=tuple(unary), links=links, start=start[0]), meter)

    def by_lane(rise: Rise) -> Rise:
        *given, candidates, _ = rise.table.shape
        table = rise.table.reshape(*given, candidates, lanes, numbers)
        return Rise(rise.given, np.ascontiguousarray(table.swapaxes(-3, -2)))

    return Lanes(
        columns,
        tuple(tuple(by_lane(one) for one in some) for some in tables.rises),
        tables.above.reshape(len(tables.above), lanes, numbers),
        tables.root.reshape(lanes, numbers),
        columns.chain_limits[bound],
    )


def _apart(columns: Columns, table: Ints, bound: Ints) -> Ints:
    """Rows x (lanes x numbers); where a choice is not possible in a lane, no sum of a chain comes by it there."""
    rows, sets = len(table), columns.sets
    costs = table[:, : columns.first_chain].reshape(rows, columns.first_chain // sets, sets).transpose(0, 2, 1)
    chains = table[:, None, columns.first_chain + bound]
    chains = np.where(costs[:, :, :1] < POSSIBLE_BELOW, chains, IMPOSSIBLE)
    made = np.concatenate([costs, chains], axis=2)
    return made.reshape(rows, made.shape[1] * made.shape[2])

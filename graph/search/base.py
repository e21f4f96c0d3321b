"""What the plain tables say of every task set: worked out once, the ground of all questions about one conversion.

Faults are charged as the document states them, or not at all; what is true without them is true in any outlook.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from graph.search.budget import Meter
from graph.search.columns import Columns, Weights, build_columns
from graph.search.compiled import Compiled
from graph.search.family import Family
from graph.search.layout import Layout
from graph.search.living import least_above
from graph.search.numbers import IMPOSSIBLE, Ints
from graph.search.outlook import Outlook
from graph.search.tables import BoundTables, build_tables
from graph.search.walk import Walk, walk_through

Only = tuple[int, frozenset[int]]  # a position's place, and the numbers of its candidates that may be picked


@dataclass(frozen=True)
class Base:
    """`charged`: with faults as the document states them."""

    family: Family
    charged: bool
    columns: Columns
    tables: BoundTables
    layout: Layout
    walk: Walk

    @cached_property
    def above(self) -> list[Ints | None]:
        """By position, candidate and task set (see `least_above`); not every question needs it."""
        return least_above(self.layout, self.walk, self.columns, self.tables)

    def least(self, only: Only | None) -> Ints:
        """By task set: what every route costs at least, or every one that picks what `only` allows."""
        root = self.tables.root[: self.columns.costs]
        known = None if only is None else self.above[only[0]]
        if only is None or known is None:
            return root
        least: Ints = root + known[sorted(only[1])].min(axis=0, initial=IMPOSSIBLE)
        return least


def build_base(
    compiled: Compiled, layout: Layout, family: Family, weights: Weights, outlook: Outlook, charged: bool, meter: Meter
) -> Base:
    """The base in some outlook; `charged`: with what its faults cost. Raises BudgetSpent."""
    columns = build_columns(compiled, family, weights, [outlook], compiled.conversion.deadline is not None, charged)
    tables = build_tables(compiled, layout, columns, meter)
    return Base(family, charged, columns, tables, layout, walk_through(layout, compiled.ends))

"""What the plain tables say of every task set: worked out once, the ground of all questions about one conversion.

Faults are charged as the document states them, or not at all; what is true without them is true in any outlook.
"""

from __future__ import annotations

from dataclasses import dataclass

from graph.search.budget import Meter
from graph.search.columns import IMPOSSIBLE, Columns, Ints, Weights, build_columns
from graph.search.compiled import Compiled
from graph.search.family import Family
from graph.search.layout import Layout
from graph.search.living import least_above
from graph.search.outlook import Outlook
from graph.search.tables import build_tables
from graph.search.walk import walk_through

Only = tuple[int, frozenset[int]]  # a position's place, and the numbers of its candidates that may be picked


@dataclass(frozen=True, slots=True)
class Base:
    """`charged`: with faults as the document states them. `root`: by task set; `above`: see `least_above`."""

    family: Family
    charged: bool
    columns: Columns
    root: Ints
    above: list[Ints | None]

    def least(self, only: Only | None) -> Ints:
        """By task set: what every route costs at least, or every one that picks what `only` allows."""
        known = None if only is None else self.above[only[0]]
        if only is None or known is None:
            return self.root
        least: Ints = self.root + known[sorted(only[1])].min(axis=0, initial=IMPOSSIBLE)
        return least


def build_base(
    compiled: Compiled, layout: Layout, family: Family, weights: Weights, outlook: Outlook, charged: bool, meter: Meter
) -> Base:
    """The base in some outlook; `charged`: with what its faults cost. Raises BudgetSpent."""
    columns = build_columns(compiled, family, weights, [outlook], compiled.conversion.deadline is not None, charged)
    tables = build_tables(compiled, layout, columns, meter)
    above = least_above(layout, walk_through(layout, compiled.ends), columns, tables)
    return Base(family, charged, columns, tables.root[: columns.costs], above)

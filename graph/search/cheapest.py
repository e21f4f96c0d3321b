"""The assembly that each column's bound stands for: what the tables take for the cheapest, column by column.

It keeps no limit, rule or feature, so it need not be allowed.
"""

from __future__ import annotations

import numpy as np

from graph.search.compiled import Compiled
from graph.search.layout import Layout
from graph.search.numbers import Ints
from graph.search.tables import BoundTables


def cheapest(compiled: Compiled, layout: Layout, tables: BoundTables, columns: int) -> tuple[list[Ints], list[Ints]]:
    """By column, for the first so many: the candidate at each position, and each joint's link (over all joints).

    A link is -1 where the two candidates have none: bounds may be loose enough to pick such a pair.
    """
    every = np.arange(columns)
    options: list[Ints] = [np.zeros_like(every)] * len(layout.sizes)
    for position in layout.branching:
        if position >= len(layout.sizes) or layout.sizes[position] == 1:
            continue
        rows = np.zeros((columns, layout.sizes[position]), dtype=np.int64)
        for rise in tables.rises[position]:
            if rise.given:
                rows += rise.table[(*(options[place] for place in rise.given), slice(None), every)]  # type: ignore[arg-type]
            else:
                rows += rise.table[:, :columns].T
        options[position] = rows.argmin(axis=1)
    links = []
    for joint, (one, other) in enumerate(compiled.ends):
        cell = layout.first_cell[joint] + options[one] * layout.sizes[other] + options[other]
        none = layout.starts[cell] >= layout.stops[cell]
        chosen = starts = np.where(none, 0, layout.starts[cell])
        least = tables.above[starts, every]
        for further in range(1, layout.most[joint]):
            row = np.where(starts + further < layout.stops[cell], starts + further, starts)
            above = tables.above[row, every]
            chosen = np.where(above < least, row, chosen)
            least = np.minimum(above, least)
        links.append(np.where(none, -1, chosen))
    return options, links

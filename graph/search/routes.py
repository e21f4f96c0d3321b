"""The cheapest routes for one objective: proven, with the next best ones.

Tables bound what is still open (`tables`), depth first search settles the rest (`branch`), exact whole-number sums
decide (`best`). `RouteSearch` keeps what several searches over one conversion share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from graph.search.best import Best
from graph.search.branch import Ended, branch_search
from graph.search.columns import IMPOSSIBLE, Weights, build_columns
from graph.search.compiled import Compiled
from graph.search.demands import Demands, build_demands
from graph.search.family import Family, task_family
from graph.search.price import Pricer, assemble
from graph.search.tables import build_tables

LARGEST_SUM = 1 << 46


@dataclass(slots=True)
class RouteSearch:
    """Searches over one compiled conversion."""

    compiled: Compiled
    demands: Demands = field(init=False)
    nodes: int = 0

    def __post_init__(self) -> None:
        self.demands = build_demands(self.compiled)

    def best(
        self, objective: str, odds: Sequence[Fraction], count: int, seconds: float | None = None
    ) -> tuple[Best, Ended]:
        """The best `count` routes for an objective, and how the search for them ended."""
        compiled = self.compiled
        best = Best(compiled, objective, Pricer(compiled, odds), count)
        scenario = odds if objective == "expected" else None
        looks = [worn.reach for worn, chance in zip(compiled.worn, odds, strict=True) if chance and worn.fault.shows]
        family = task_family(compiled, looks if scenario is not None else ())
        deadline = compiled.conversion.deadline
        weights = self.weights(objective)
        columns = build_columns(compiled, family, weights, [scenario], deadline is not None)
        tables = build_tables(compiled, columns)
        ceilings = np.array([IMPOSSIBLE - 1], dtype=np.int64)

        def take(options: list[int]) -> None:
            best.offer(assemble(compiled, options))
            ceiling = best.ceiling()
            if ceiling is not None:
                ceilings[0] = min(IMPOSSIBLE - 1, ceiling // weights.unit)

        ended = branch_search(compiled, columns, tables, self.demands, ceilings, take, deadline, seconds)
        self.nodes += ended.nodes
        return best, ended

    def weights(self, objective: str) -> Weights:
        """What counts, in whole units: ten-thousandths of money, hundredths of cash or of hours."""
        cash, hours = {"cash": (1, 0), "hours": (0, 1)}.get(objective, (100, self.compiled.rate))
        largest = sum(
            max((one.cash_hundredths * cash + one.hours_hundredths * hours for one in choices), default=0)
            for choices in (*self.compiled.candidates, *self.compiled.links, self.compiled.conversion.tasks)
        ) * max(1, len(self.compiled.task_ids))
        return Weights(cash, hours, max(1, -(-largest // LARGEST_SUM)))

"""The cheapest routes for one objective: proven, with the next best ones.

Tables bound what is still open (`tables`), depth first search settles the rest (`branch`), exact whole-number sums
decide (`best`). An easy search ends within a few hundred nodes. A harder one starts again knowing good routes, many
partial ones at a time (`lane_search`). Where that does not end either (`hard`), task sets that can no longer win are
left out, limits get prices (`multipliers`), needless partial routes are forgotten (`dominance`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from copy import copy
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import partial

import numpy as np

from graph.search.base import Base, build_base
from graph.search.best import Best
from graph.search.branch import BranchBounds, Ended, Memory, branch_search
from graph.search.budget import ENDLESS, BudgetSpent, Meter
from graph.search.columns import Columns, Weights, build_columns
from graph.search.compiled import Compiled, at_rate
from graph.search.demands import Demands, build_demands, fits_word
from graph.search.dominance import Prefixes, Remembered
from graph.search.family import Family, task_family
from graph.search.hard import Hard
from graph.search.judges import CeilingJudge
from graph.search.lane_search import LaneJudge, lane_search
from graph.search.lanes import build_lanes, fit_lanes
from graph.search.layout import Layout, lay_out
from graph.search.numbers import POSSIBLE_BELOW, Ints
from graph.search.outlook import Outlook, anything, nothing, stated
from graph.search.parts import LANES, is_on
from graph.search.price import PickedOptions, Pricer, assemble
from graph.search.tables import build_tables

LARGEST_SUM = 1 << 46
EASY = 200  # nodes opened one by one; measured in scripts/bench
FIRST_WIDTH = 24  # rows of a block before some route was found
MOST_ROWS = 200_000  # then opened in lanes, many at a time, before a search counts as hard; measured in scripts/bench
MOST_COLUMNS = 512  # scenarios x task sets in one search; more go in turns
CUT_SHORT = Ended(0, False, 0)  # before anything was bounded


@dataclass(slots=True)
class RouteSearch:
    """Searches over one compiled conversion, each until the meter is spent."""

    compiled: Compiled
    meter: Meter = ENDLESS
    demands: Demands = field(init=False)
    layout: Layout = field(init=False)
    nodes: int = 0
    families: dict[frozenset[int], Family] = field(default_factory=dict)
    proven: dict[Outlook, Best] = field(default_factory=dict)  # the best routes by expected cost that are known
    bases: dict[tuple[bool, int], Base] = field(default_factory=dict)  # by whether faults are charged, and open tasks
    pool: dict[tuple[int, ...], PickedOptions] = field(
        default_factory=dict
    )  # routes that some question kept, by options

    def __post_init__(self) -> None:
        self.demands = build_demands(self.compiled)
        self.layout = lay_out(self.compiled)

    @property
    def outlook(self) -> Outlook:
        """What the document states of its faults."""
        return stated(self.compiled)

    def at_rate(self, rate: Fraction) -> RouteSearch:
        """The same with another bench rate; what does not depend on it is shared, routes found too."""
        made = copy(self)
        made.compiled = at_rate(self.compiled, rate)
        made.bases, made.proven, made.nodes = {}, {}, 0
        return made

    def best(self, objective: str, outlook: Outlook, count: int) -> tuple[Best, Ended]:
        """The best `count` routes for an objective, and how the search for them ended."""
        (best,), ended = self._turn(objective, [outlook], count, ())
        if objective == "expected" and ended.complete and best.found:
            self.proven[outlook] = best
        return best, ended

    def _turn(
        self, objective: str, scenarios: Sequence[Outlook], count: int, known: Sequence[PickedOptions]
    ) -> tuple[list[Best], Ended]:
        bests = [Best(self.compiled, objective, Pricer(self.compiled, one), count) for one in scenarios]
        weights = self.weights(objective)
        ceilings = np.full(len(bests), POSSIBLE_BELOW, dtype=np.int64)

        def offer(assembly: PickedOptions) -> None:
            for place, best in enumerate(bests):
                if best.offer(assembly):
                    self.pool[assembly.options] = assembly
                ceiling = best.ceiling()
                if ceiling is not None:
                    ceilings[place] = min(POSSIBLE_BELOW, ceiling // weights.unit)

        for assembly in known:
            offer(assembly)
        ended = CUT_SHORT
        with suppress(BudgetSpent, MemoryError):  # what was found so far stays found
            ended = self._search(objective, scenarios, weights, count, ceilings, offer)
        self.nodes += ended.nodes
        return bests, ended

    def _search(
        self,
        objective: str,
        scenarios: Sequence[Outlook],
        weights: Weights,
        count: int,
        ceilings: Ints,
        offer: Callable[[PickedOptions], None],
    ) -> Ended:
        compiled = self.compiled

        def take(options: list[int]) -> None:
            offer(assemble(compiled, options))

        family = self.family(objective, scenarios)
        columns = self.columns(objective, scenarios, family, weights)
        prefixes = partial(Prefixes, compiled, weights)
        return self.run(columns, ceilings, CeilingJudge, lambda: Memory(prefixes(), self.remembered(count)), take)

    def run(
        self,
        columns: Columns,
        ceilings: Ints,
        judging: Callable[[Columns, Ints], LaneJudge],
        remembering: Callable[[], Memory],
        take: Callable[[list[int]], None],
    ) -> Ended:
        """Search some columns under ceilings by scenario, which `take` may lower. Raises BudgetSpent."""
        compiled = self.compiled
        tables = build_tables(compiled, self.layout, columns, self.meter)
        bounds, judge = BranchBounds(self.layout, columns, tables), judging(columns, ceilings)
        ended = branch_search(compiled, bounds, self.demands, judge, take, meter=self.meter, most_nodes=EASY)
        if ended.complete or self.meter.is_spent():
            return ended
        lanes = self.in_lanes(columns, tables.root, ceilings, judging, take, MOST_ROWS, FIRST_WIDTH)
        if lanes.complete or self.meter.is_spent():
            return replace(lanes, nodes=ended.nodes + lanes.nodes)
        more = self.hard(columns, tables.root, ceilings, judging, remembering, take)
        return replace(more, nodes=ended.nodes + more.nodes)

    def in_lanes(
        self,
        columns: Columns,
        root: Ints,
        ceilings: Ints,
        judging: Callable[[Columns, Ints], LaneJudge],
        take: Callable[[list[int]], None],
        most_rows: int,
        first_width: int,
    ) -> Ended:
        """The same with the task sets apart, given up after so many rows. `root`: what the plain tables say."""
        ends = root[: columns.costs].reshape(columns.scenarios, columns.sets).T
        sets = np.flatnonzero(judging(columns, ceilings).matters(np.arange(columns.sets), ends)).tolist()
        if not sets:
            return Ended(0, True, None)
        columns = columns if len(sets) == columns.sets else columns.kept(sets)
        if not is_on(LANES) or not fits_word(self.demands) or not fit_lanes(self.compiled, columns, self.meter):
            return CUT_SHORT
        lanes = build_lanes(self.compiled, self.layout, columns, self.meter)
        judge = judging(columns, ceilings)
        return lane_search(
            self.compiled, self.layout, lanes, self.demands, judge, take, self.meter, most_rows, first_width
        )

    def hard(
        self,
        columns: Columns,
        root: Ints,
        ceilings: Ints,
        judging: Callable[[Columns, Ints], LaneJudge],
        remembering: Callable[[], Memory],
        take: Callable[[list[int]], None],
    ) -> Ended:
        """The same where it is known not to be easy. `root`: what the plain tables say of each column."""
        hard = Hard(
            self.compiled,
            self.layout,
            self.demands,
            columns,
            ceilings,
            judging=judging,
            remembering=remembering,
            take=take,
            meter=self.meter,
        )
        return hard.run(root)

    def remembered(self, count: int) -> Remembered:
        return Remembered(count, self.compiled.conversion.deadline is not None, self.meter.sizes.prefixes)

    def base(self, outlook: Outlook) -> Base:
        """What the plain tables say of the expected cost as things stand, or in any outlook with these tasks open."""
        charged, opened = outlook == self.outlook, outlook.opened
        if (charged, opened) not in self.bases:
            family = self.family("expected", [outlook if charged else anything(self.compiled, opened)])
            supposed = outlook if charged else nothing(self.compiled, opened)
            weights = self.weights("expected")
            made = build_base(self.compiled, self.layout, family, weights, supposed, charged, self.meter)
            self.bases[charged, opened] = made
        return self.bases[charged, opened]

    def family(self, objective: str, scenarios: Sequence[Outlook]) -> Family:
        """The task sets that routes can end up doing in these outlooks."""
        looks = {outlook.opened for outlook in scenarios} - {0}
        for place, worn in enumerate(self.compiled.worn):
            for outlook in scenarios:
                seen = objective == "expected" and outlook.shown >> place & 1 and outlook.odds[place]
                if seen or outlook.due >> place & 1:
                    looks.add(worn.reach)
                    break
        key = frozenset(looks)
        if key not in self.families:
            self.families[key] = task_family(self.compiled, key, self.meter)
        return self.families[key]

    def columns(self, objective: str, scenarios: Sequence[Outlook], family: Family, weights: Weights) -> Columns:
        limited = self.compiled.conversion.deadline is not None
        return build_columns(self.compiled, family, weights, scenarios, limited, objective == "expected")

    def weights(self, objective: str) -> Weights:
        """What counts, in whole units: ten-thousandths of money, hundredths of cash or of hours."""
        cash, hours = {"cash": (1, 0), "hours": (0, 1)}.get(
            objective, (self.compiled.cash_weight, self.compiled.hours_weight)
        )
        largest = self.largest(cash, hours) + sum(worn.repair for worn in self.compiled.worn)
        return Weights(cash, hours, max(1, -(-2 * largest // LARGEST_SUM)))

    def largest(self, cash: int, hours: int) -> int:
        """What no route comes to, faults left aside, each hundredth of cash and of hours weighed so."""
        choices = (*self.compiled.candidates, *self.compiled.links)
        made = sum(
            max((one.cash_hundredths * cash + one.hours_hundredths * hours for one in some), default=0)
            for some in choices
        )
        return made + sum(
            one.cash_hundredths * cash + one.hours_hundredths * hours for one in self.compiled.conversion.tasks
        )

"""The front: routes of which no other allowed one is at least as good in both cash and hours and better in one.

One search in lanes (`lanes`): each task set keeps bounds of cash, of hours, and of both weighed together in a few ways.
A partial route is dropped when no room is left for it between known points. What is cheapest in each task set, as far
as the tables say, is tried first, and so are all routes that earlier searches kept; most task sets are then ruled out
before anything is searched. Points with the same cash and hours are shown once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import reduce
from itertools import accumulate
from operator import or_

import numpy as np

from graph.search.best import days_of
from graph.search.branch import BranchBounds, Memory, branch_search
from graph.search.budget import BudgetSpent
from graph.search.cheapest import cheapest
from graph.search.columns import Columns, Weights, build_columns
from graph.search.compiled import Compiled
from graph.search.demands import fits_word
from graph.search.describe import describe
from graph.search.dominance import MatchedOrBeaten, Prefixes
from graph.search.judges import FrontJudge
from graph.search.lane_search import WIDTH, lane_search
from graph.search.lanes import build_lanes, fit_lanes
from graph.search.numbers import IMPOSSIBLE, POSSIBLE_BELOW, Ints
from graph.search.price import PickedOptions, Pricer, assemble
from graph.search.result import Route
from graph.search.routes import CUT_SHORT, RouteSearch
from graph.search.tables import BoundTables, build_tables

MOST_ROWS = 2_000_000  # in lanes, before needless ones are remembered
LARGEST_CASH, LARGEST_SUM = 1 << 36, 1 << 46
SLOPES = (1, 3, 9)  # thirds of the bench rate at which an hour is weighed against cash


def front_search(search: RouteSearch, known: Sequence[PickedOptions]) -> tuple[tuple[Route, ...], bool]:
    """The front by rising cash, and whether it is proven. `known`: allowed assemblies to start from."""
    front = _Front(search)
    for assembly in (*known, *search.pool.values()):
        front.offer(assembly)
    complete = False
    with suppress(BudgetSpent, MemoryError):
        complete = front.run()
    return front.routes(), complete


class _Front:
    """The points known so far, each with the first route that was met there."""

    def __init__(self, search: RouteSearch):
        self.search, self.compiled = search, search.compiled
        self.weights = Weights(1, 0, max(1, -(-search.largest(1, 0) // LARGEST_CASH)))
        self.slopes = _slopes(self.compiled, search.largest(0, 1))
        self.judge = FrontJudge(self.slopes, self.weights.unit)
        self.pricer = Pricer(self.compiled, search.outlook)
        self.kept: dict[tuple[int, int], tuple[PickedOptions, int]] = {}

    def offer(self, assembly: PickedOptions) -> None:
        """Keep the assembly if it is in time and no known point is as good."""
        done = assembly.required | self.pricer.due(assembly.found).tasks
        cash, hours = self.pricer.sums(assembly, done)
        deadline = self.compiled.conversion.deadline
        in_time = deadline is None or days_of(self.compiled, assembly, done, hours) <= deadline
        if in_time and self.judge.add(cash, hours):
            self.kept[cash, hours] = assembly, done

    def routes(self) -> tuple[Route, ...]:
        return tuple(describe(self.compiled, self.pricer, *self.kept[point]) for point in self.judge.points)

    def run(self) -> bool:
        """Find and prove the whole front; whether that was done. Raises BudgetSpent."""
        search, compiled = self.search, self.compiled
        family = search.family("hours", [search.outlook])
        columns = build_columns(compiled, family, self.weights, [search.outlook], True, False)
        tables = build_tables(compiled, search.layout, columns, search.meter)
        both = replace(columns, scenarios=2, has_hours=False)
        for options in _allowed_cheapest(search, both, tables):
            self.offer(assemble(compiled, options))
        ends = tables.root[: both.costs].reshape(2, both.sets).T
        sets = np.flatnonzero(self.judge.matters(np.arange(both.sets), ends)).tolist()
        return not sets or self._searched(_sloped(columns.kept(sets), self.slopes, compiled))

    def _searched(self, columns: Columns) -> bool:
        search, compiled, meter = self.search, self.compiled, self.search.meter
        self.judge.sets = columns.sets

        def take(options: list[int]) -> None:
            self.offer(assemble(compiled, options))

        ended = CUT_SHORT
        if fits_word(search.demands) and fit_lanes(compiled, columns, meter):
            lanes = build_lanes(compiled, search.layout, columns, meter)
            ended = lane_search(
                compiled, search.layout, lanes, search.demands, self.judge, take, meter, MOST_ROWS, WIDTH
            )
            search.nodes += ended.nodes
        if not ended.complete and not meter.is_spent():
            bounds = BranchBounds(search.layout, columns, build_tables(compiled, search.layout, columns, meter))
            memory = Memory(Prefixes(compiled, self.weights), MatchedOrBeaten(meter.sizes.prefixes))
            ended = branch_search(compiled, bounds, search.demands, self.judge, take, memory, meter)
            search.nodes += ended.nodes
        return ended.complete


def _slopes(compiled: Compiled, largest_hours: int) -> list[tuple[int, int]]:
    """Weights of cash and of hours, small enough for the sums of whole routes."""
    made = []
    for thirds in SLOPES:
        cash, hours = 100 * SLOPES[1], max(1, compiled.conversion.rate_hundredths) * thirds
        while hours * largest_hours > LARGEST_SUM:
            cash, hours = cash >> 1, hours >> 1
        made.append((cash, hours))
    return made


def _sloped(columns: Columns, slopes: Sequence[tuple[int, int]], compiled: Compiled) -> Columns:
    """From columns of cash with hours: scenarios of cash, of hours, and of both along every slope."""
    sets, limited = columns.sets, compiled.conversion.deadline is not None

    def with_slopes(table: Ints) -> Ints:
        cash, hours, chains = table[..., :sets], table[..., sets : 2 * sets], table[..., 2 * sets :]
        along = [np.where(cash < POSSIBLE_BELOW, a * cash + b * hours, IMPOSSIBLE) for a, b in slopes]
        return np.concatenate([cash, hours, *along, *([hours] if limited else []), chains], axis=-1)

    return replace(
        columns,
        scenarios=2 + len(slopes),
        has_hours=limited,
        unary=tuple(with_slopes(table) for table in columns.unary),
        links=with_slopes(columns.links),
        start=with_slopes(columns.start),
    )


def _allowed_cheapest(search: RouteSearch, columns: Columns, tables: BoundTables) -> Iterator[tuple[int, ...]]:
    """What is cheapest in each column, where it keeps all limits, rules and features; deadlines left aside."""
    compiled, demands, chains = search.compiled, search.demands, slice(columns.first_chain, None)
    candidates, links = cheapest(compiled, search.layout, tables, columns.costs)
    sums = columns.start[chains] + sum(
        table[chosen, chains] for table, chosen in zip(columns.unary, candidates, strict=True)
    )
    sums = sums + sum(columns.links[chosen, chains] for chosen in links)
    allowed = (tables.root[: columns.costs] < POSSIBLE_BELOW) & (sums <= columns.chain_limits).all(axis=-1)
    for chosen in links:
        allowed &= chosen >= 0
    first = accumulate((len(ways) for ways in compiled.links), initial=0)
    options = [*candidates, *(chosen - start for chosen, start in zip(links, first, strict=False))]
    for one in {tuple(int(chosen[place]) for chosen in options): None for place in np.flatnonzero(allowed)}:
        picked = reduce(or_, (bits[option] for bits, option in zip(demands.bits, one, strict=True)), 0)
        if demands.can_hold(picked, 0):
            yield one

"""The front: routes of which no other allowed one is at least as good in both cash and hours and better in one.

One search over both columns at once; a partial route is dropped when every task set's pair is matched by a known
point. Points with the same cash and hours are shown once.
"""

from __future__ import annotations

from contextlib import suppress

from graph.search.best import days_of
from graph.search.block import block_search, fits_blocks
from graph.search.branch import Bounds, Memory, branch_search
from graph.search.budget import BudgetSpent
from graph.search.columns import Weights, build_columns
from graph.search.describe import describe
from graph.search.dominance import MatchedOrBeaten, Prefixes
from graph.search.judges import FrontJudge
from graph.search.price import Assembly, Pricer, assemble
from graph.search.result import Route
from graph.search.routes import CUT_SHORT, RouteSearch
from graph.search.tables import build_tables

WIDTH = 96  # rows of a block: good routes are known, so wider from the start
MOST_ROWS = 40_000  # in blocks, before needless ones are remembered; measured in scripts/bench


def front_search(search: RouteSearch, known: list[Assembly]) -> tuple[tuple[Route, ...], bool]:
    """The front by rising cash, and whether it is proven. `known`: allowed assemblies to start from."""
    compiled, meter = search.compiled, search.meter
    weights = Weights(1, 0, search.weights("cash").unit)
    judge = FrontJudge(weights.unit)
    kept: dict[tuple[int, int], tuple[Assembly, int]] = {}
    pricer = Pricer(compiled, search.outlook)

    def offer(assembly: Assembly) -> None:
        done = assembly.required | pricer.due(assembly.found).tasks
        cash, hours = pricer.sums(assembly, done)
        deadline = compiled.conversion.deadline
        in_time = deadline is None or days_of(compiled, assembly, done, hours) <= deadline
        if in_time and judge.add(cash, hours):
            kept[cash, hours] = assembly, done

    for assembly in known:
        offer(assembly)
    complete = False
    with suppress(BudgetSpent, MemoryError):
        family = search.family("hours", [search.outlook])
        columns = build_columns(compiled, family, weights, [search.outlook], True, False)
        judge.columns = columns
        bounds = Bounds(search.layout, columns, build_tables(compiled, search.layout, columns, meter))
        ended = CUT_SHORT

        def take(options: list[int]) -> None:
            offer(assemble(compiled, options))

        if fits_blocks(search.demands):
            ended = block_search(compiled, bounds, search.demands, judge, take, meter, MOST_ROWS, WIDTH)
            search.nodes += ended.nodes
        if not ended.complete:
            memory = Memory(Prefixes(compiled, weights), MatchedOrBeaten(meter.sizes.prefixes))
            ended = branch_search(compiled, bounds, search.demands, judge, take, memory, meter)
            search.nodes += ended.nodes
        complete = ended.complete
    routes = [describe(compiled, pricer, *kept[point]) for point in judge.points]
    return tuple(routes), complete

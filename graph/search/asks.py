"""Many questions about the expected cost of one conversion, searched together.

Each question (`Ask`) is about the best route in some outlook, perhaps with few candidates of one position, perhaps
with a ceiling above which no answer matters. Routes already known are tried first; what is as dear as the best of them
leaves a question few task sets in which another can be better (`base`). Such a pair of question and task set is one
column of a joint search, in which a partial route is opened once for all questions to which it may still be the
answer. Every column is raised so that all ceilings stand at the same height: bounds, prices on limits and followed
chains then work as in any search, whatever the questions are.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import groupby
from typing import NamedTuple

import numpy as np

from graph.search.base import Base, Only
from graph.search.best import Best
from graph.search.branch import Memory
from graph.search.budget import BudgetSpent
from graph.search.columns import Columns, charge_due, charge_faults
from graph.search.dominance import Prefixes
from graph.search.family import Family, most_columns
from graph.search.judges import Flags, Rows
from graph.search.lane_search import WIDTH
from graph.search.numbers import IMPOSSIBLE, POSSIBLE_BELOW, Ints
from graph.search.outlook import Outlook
from graph.search.price import PickedOptions, Pricer, assemble
from graph.search.routes import FIRST_WIDTH, MOST_COLUMNS, RouteSearch
from graph.search.tables import BoundTables, build_tables

WORTH_PARTING = 0.8  # the part of the columns that must be left open for all of them to be kept
MOST_ROWS = 300_000  # in lanes, before a search counts as hard; measured in scripts/bench


@dataclass(frozen=True, slots=True)
class Ask:
    """`only`: a position's place and the numbers of those of its candidates that may be picked; None: any.

    `most`: the dearest answer that matters, in `money_scale` parts; None: any.
    """

    outlook: Outlook
    only: Only | None = None
    most: int | None = None


class _Pair(NamedTuple):
    """A question and the number of a task set in which its answer may lie."""

    ask: int
    set: int


def best_answers(search: RouteSearch, asks: Sequence[Ask], known: Iterable[PickedOptions]) -> tuple[list[Best], bool]:
    """The best route for each question, nothing found where there is none, and whether all of that is proven.

    `known`: assemblies worth trying first.
    """
    together = _Together(search, asks)
    for assembly in known:
        together.offer(assembly)
    complete = False
    with suppress(BudgetSpent, MemoryError):
        complete = together.run()
    return together.bests, complete


class _Together:
    """The questions with the best answers so far. `ceilings`: by question, in whole units; `changed` counts them."""

    def __init__(self, search: RouteSearch, asks: Sequence[Ask]):
        self.search, self.asks = search, asks
        self.changed = 0
        self.weights = search.weights("expected")
        self.by_outlook: dict[Outlook, list[int]] = {}
        for number, ask in enumerate(asks):
            self.by_outlook.setdefault(ask.outlook, []).append(number)
        pricers = {outlook: Pricer(search.compiled, outlook) for outlook in self.by_outlook}
        self.bests = [Best(search.compiled, "expected", pricers[ask.outlook], 1) for ask in asks]
        most = [POSSIBLE_BELOW if ask.most is None else ask.most // self.weights.unit for ask in asks]
        self.ceilings: Ints = np.minimum(np.array(most, dtype=np.int64), POSSIBLE_BELOW)

    def offer(self, assembly: PickedOptions) -> None:
        """Try the assembly as an answer to every question."""
        for members in self.by_outlook.values():
            first = self.bests[members[0]]
            ranked = first.rank(assembly)
            if ranked is None:
                continue
            worth = ranked[0][0] // first.pricer.scale // self.weights.unit
            for ask in members:
                only = self.asks[ask].only
                if worth > self.ceilings[ask] or (only is not None and assembly.options[only[0]] not in only[1]):
                    continue
                if self.bests[ask].keep(assembly, *ranked):
                    self.search.pool[assembly.options] = assembly
                    self.ceilings[ask] = worth
                    self.changed += 1

    def run(self) -> bool:
        """Find and prove all answers; whether that was done. Raises BudgetSpent."""
        search, complete = self.search, True
        most = most_columns(search.compiled, MOST_COLUMNS, search.meter)
        by_base: dict[tuple[bool, int], list[int]] = {}
        for outlook, asks in self.by_outlook.items():
            by_base.setdefault((outlook == search.outlook, outlook.opened), []).extend(asks)
        for asks in by_base.values():
            base = search.base(self.asks[asks[0]].outlook)
            for ask in asks:
                if self.ceilings[ask] == POSSIBLE_BELOW:
                    complete &= self._search(base, self._pairs(base, [ask]), False)
            pairs = self._pairs(base, [ask for ask in asks if self.ceilings[ask] < POSSIBLE_BELOW])
            for start in range(0, len(pairs), most):
                complete &= self._search(base, pairs[start : start + most], True)
        return complete

    def _pairs(self, base: Base, asks: Sequence[int]) -> list[_Pair]:
        """Where answers to these questions may lie."""
        return [
            _Pair(ask, one)
            for ask in asks
            for one in np.flatnonzero(
                base.least(self.asks[ask].only) <= min(self.ceilings[ask], POSSIBLE_BELOW - 1)
            ).tolist()
        ]

    def _search(self, base: Base, pairs: list[_Pair], answered: bool) -> bool:
        """Search pairs together; `answered`: there are ceilings, and all columns are raised to the height of one."""
        if not pairs:
            return True
        search = self.search
        top = max(int(self.ceilings[pair.ask]) for pair in pairs) if answered else POSSIBLE_BELOW
        raised = self.ceilings.copy() if answered else np.full_like(self.ceilings, top)
        first = pairs[0].ask
        if base.charged and self.asks[first].only is None and all(pair.ask == first for pair in pairs):
            sets = [pair.set for pair in pairs]  # the base has the very columns
            columns = replace(base.columns.kept(sets), asks=tuple(pair.ask for pair in pairs))
            return self._run(columns, base.tables.kept(base.columns, sets), top, raised)
        columns = self._columns(base, pairs, top - raised)
        tables = build_tables(search.compiled, search.layout, columns, search.meter)
        open_ = np.flatnonzero(tables.root[: columns.costs] <= min(top, POSSIBLE_BELOW - 1)).tolist()
        if not open_:
            return True
        if len(open_) < columns.sets * WORTH_PARTING:
            columns, tables = columns.kept(open_), tables.kept(columns, open_)
        return self._run(columns, tables, top, raised)

    def _run(self, columns: Columns, tables: BoundTables, top: int, raised: Ints) -> bool:
        """Search columns whose ceilings were `raised` to `top`."""
        search, ceilings = self.search, np.array([top], dtype=np.int64)
        asked = np.unique(np.array(columns.asks, dtype=np.int64))

        def judging(some: Columns, under: Ints) -> _EachJudge:
            return _EachJudge(some, under, self, top, raised)

        def take(options: list[int]) -> None:
            before = self.changed
            self.offer(assemble(search.compiled, options))
            if self.changed > before:
                ceilings[0] = top - (raised - self.ceilings)[asked].min()

        first_width = FIRST_WIDTH if top == POSSIBLE_BELOW else WIDTH
        ended = search.in_lanes(columns, tables.root, ceilings, judging, take, MOST_ROWS, first_width)
        search.nodes += ended.nodes
        if ended.complete or search.meter.is_spent():
            return ended.complete
        ended = search.hard(columns, tables.root, ceilings, judging, lambda: self._memory(columns), take)
        search.nodes += ended.nodes
        return ended.complete

    def _memory(self, columns: Columns) -> Memory:
        shut = [[0] * len(rows) for rows in self.search.compiled.rows]
        for number, ask in enumerate(dict.fromkeys(columns.asks)):
            only = self.asks[ask].only
            if only is not None:
                for option in range(len(shut[only[0]])):
                    shut[only[0]][option] |= (option not in only[1]) << number
        return Memory(Prefixes(self.search.compiled, self.weights, shut), self.search.remembered(1))

    def _columns(self, base: Base, pairs: Sequence[_Pair], raise_: Ints) -> Columns:
        """A column for each pair, without the candidates that it may not pick, raised by what its question is."""
        columns, sets = base.columns, [pair.set for pair in pairs]
        chosen = columns.kept(sets)
        unary, start = list(chosen.unary), chosen.start
        for number, pair in enumerate(pairs):
            only = self.asks[pair.ask].only
            if only is not None:
                shut = [option for option in range(len(unary[only[0]])) if option not in only[1]]
                unary[only[0]][shut, number] = IMPOSSIBLE
            start[number] += raise_[pair.ask]
        if not base.charged:
            first, compiled = 0, self.search.compiled
            tables = [*unary, *np.split(chosen.links, np.cumsum([len(ways) for ways in compiled.links])[:-1])]  # views
            for outlook, some in groupby(pairs, key=lambda pair: self.asks[pair.ask].outlook):
                family = Family(tuple(base.family.sets[pair.set] for pair in some), base.family.kept)
                charge_due(compiled, family, self.weights, outlook.due, tables, first)
                charge_faults(compiled, family, self.weights, outlook, tables, first)
                first += len(family.sets)
        return replace(chosen, asks=tuple(pair.ask for pair in pairs))


class _EachJudge:
    """A partial route matters while it may still be a better answer to some question.

    `raised`: the questions' ceilings when all were raised to the height `top`. They have come down since by as much as
    the answers have become cheaper; `ceilings` holds that height, or a trial ceiling below it.
    """

    def __init__(self, columns: Columns, ceilings: Ints, together: _Together, top: int, raised: Ints):
        self._costs, self._asks = columns.costs, np.array(columns.asks, dtype=np.int64)
        self._ceilings, self._together, self._top, self._raised = ceilings, together, top, raised
        self._seen: tuple[int, int] | None = None
        self._limits: Ints = np.zeros(0, dtype=np.int64)

    def judge(self, costs: Ints, sums: Ints) -> list[int | None]:
        """Per row: how far below its ceiling the best bound lies (lower is better), or None if none lies below."""
        least = np.minimum.reduce(costs - self._now(), axis=1).tolist()
        return [one if one <= 0 else None for one in least]

    def matters(self, lanes: Rows, costs: Ints) -> Flags:
        """Per row of one column's cost: does it lie at or below its ceiling?"""
        under: Flags = costs[:, 0] <= self._now()[lanes]
        return under

    def order(self, lanes: Rows, costs: Ints) -> Ints:
        """As `judge` orders."""
        below: Ints = costs[:, 0] - self._now()[lanes]
        return below

    def still_matters(self, bound: int, sums: Ints) -> bool:
        """The same for one row judged earlier, with what is known now."""
        return bool((sums[: self._costs] <= self._now()).any())

    def _now(self) -> Ints:
        seen = (self._together.changed, int(self._ceilings[0]))
        if seen != self._seen:
            down = (self._raised - self._together.ceilings)[self._asks]
            self._seen, self._limits = seen, np.minimum(self._ceilings[0], self._top - down)
        return self._limits

"""The few routes that can be the best whatever looking may find: everything else is dearer, come what may.

A route never costs less than with all doubts that looks can settle gone, and never more than with all of them come
true. So one that costs more at its best than some other at its worst is never picked, nor one that is as dear at its
best as not doing the job. Often few are left, and what a look is worth is then reckoned over them, with no search.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from functools import reduce
from operator import or_
from typing import NamedTuple

import numpy as np

from graph.search.best import Best
from graph.search.branch import Memory
from graph.search.columns import charge_due, charge_faults
from graph.search.compiled import Compiled, places
from graph.search.dominance import Prefixes
from graph.search.family import Family
from graph.search.judges import CeilingJudge
from graph.search.lane_search import WIDTH
from graph.search.numbers import POSSIBLE_BELOW
from graph.search.outlook import Odds, Outlook, suppose
from graph.search.price import PickedOptions, Pricer, assemble
from graph.search.routes import RouteSearch
from graph.search.tables import build_tables

MOST_ROUTES = 48  # that may matter; more are searched anew for everything that may be found
MOST_ROWS = 150_000  # in lanes, before the search counts as hard
MOST_TAKEN = 2_000  # complete assemblies looked at before there are said to be too many


class Contenders(NamedTuple):
    """`instead`: what not doing the job costs, in `money_scale` parts; None where that is never the best."""

    routes: list[PickedOptions]
    instead: Fraction | None


class TooManyRoutes(Exception):
    """More routes may matter than are worth keeping apart."""


def find_contenders(
    search: RouteSearch, known: Iterable[PickedOptions], doubtful: Sequence[int], opened: int, instead: Fraction | None
) -> Contenders | None:
    """The routes that may be the best once some of these faults are known and these tasks stand open.

    `known`: routes to measure by; `instead`: what not doing the job costs then, in `money_scale` parts.
    None where there are too many to say, or where none is certain to be allowed whatever is found.
    """
    compiled = search.compiled
    at_worst = _at_worst(search, known, doubtful, opened)
    if not at_worst:
        return None
    worst, surely = min(at_worst, key=lambda pair: (pair[0], pair[1].options))
    ceiling = worst if instead is None else min(worst, instead)
    kept = _Kept(compiled, surely)
    gone = suppose(compiled, _with_all(search.outlook.odds, doubtful, 0), opened)
    best = Best(compiled, "expected", Pricer(compiled, gone, search.meter), 1)

    def take(options: list[int]) -> None:
        assembly = assemble(compiled, options)
        ranked = best.rank(assembly)
        if ranked is not None and ranked[0][0] < ceiling * best.pricer.scale:
            kept.add(assembly)

    try:
        complete = _search_under(search, gone, ceiling, take)
    except TooManyRoutes:
        return None
    return Contenders(kept.routes, None if instead is None or instead >= worst else instead) if complete else None


def _search_under(search: RouteSearch, outlook: Outlook, ceiling: Fraction, take: Callable[[list[int]], None]) -> bool:
    """Take every assembly that may cost no more than that in this outlook; whether all were."""
    compiled, weights, base = search.compiled, search.weights("expected"), search.base(outlook)
    top = min(POSSIBLE_BELOW - 1, int(ceiling // weights.unit))
    sets = np.flatnonzero(base.least(None) <= top).tolist()
    if not sets:
        return True
    columns, tables = base.columns.kept(sets), base.tables.kept(base.columns, sets)
    if not base.charged and (outlook.due or any(outlook.odds)):
        family = Family(tuple(base.family.sets[one] for one in sets), base.family.kept)
        parts = [*columns.unary, *np.split(columns.links, np.cumsum([len(ways) for ways in compiled.links])[:-1])]
        charge_due(compiled, family, weights, outlook.due, parts, 0)
        charge_faults(compiled, family, weights, outlook, parts, 0)
        tables = build_tables(compiled, search.layout, columns, search.meter)

    def remembering() -> Memory:  # what it forgets is dearer whatever is found: the same doubts, and no more tasks
        return Memory(Prefixes(compiled, weights), search.remembered(1))

    ceilings = np.array([top], dtype=np.int64)
    ended = search.in_lanes(columns, tables.root, ceilings, CeilingJudge, take, MOST_ROWS, WIDTH)
    search.nodes += ended.nodes
    if ended.complete or search.meter.is_spent():
        return ended.complete
    ended = search.hard(columns, tables.root, ceilings, CeilingJudge, remembering, take)
    search.nodes += ended.nodes
    return ended.complete


def _with_all(odds: Odds, doubtful: Sequence[int], chance: int) -> Odds:
    return tuple(Fraction(chance) if place in doubtful else one for place, one in enumerate(odds))


def _at_worst(
    search: RouteSearch, known: Iterable[PickedOptions], doubtful: Sequence[int], opened: int
) -> list[tuple[Fraction, PickedOptions]]:
    """What each route costs at most, in `money_scale` parts, with all it then needs done; none that is too late then.

    Where a doubt does not show, not to know of it may cost its comeback besides.
    """
    compiled = search.compiled
    pricer = Pricer(compiled, suppose(compiled, _with_all(search.outlook.odds, doubtful, 1), opened), search.meter)
    best = Best(compiled, "expected", pricer, 1)
    hidden = [compiled.worn[place] for place in doubtful if not compiled.worn[place].fault.shows]
    made = []
    for assembly in known:
        ranked = best.rank(assembly)
        if ranked is not None:
            back = reduce(or_, (worn.reach for worn in hidden if assembly.found >> worn.bit & 1), 0)
            returns = sum(compiled.task_money(place) for place in places(back))
            made.append((Fraction(ranked[0][0], pricer.scale) + returns, assembly))
    return made


class _Kept:
    """Routes of which none is dearer than another whatever is found."""

    def __init__(self, compiled: Compiled, first: PickedOptions):
        self._compiled, self._faults = compiled, sum(1 << bit for bit in {worn.bit for worn in compiled.worn})
        self.routes, self._taken = [first], 0

    def add(self, assembly: PickedOptions) -> None:
        self._taken += 1
        if any(self._is_no_dearer(one, assembly) for one in self.routes):
            return
        self.routes = [one for one in self.routes if not self._is_no_dearer(assembly, one)] + [assembly]
        if len(self.routes) > MOST_ROUTES or self._taken > MOST_TAKEN:
            raise TooManyRoutes

    def _is_no_dearer(self, one: PickedOptions, other: PickedOptions) -> bool:
        """Is it, come what may, and in time wherever the other is?"""
        return (
            not one.found & ~other.found & self._faults
            and not one.required & ~other.required
            and self._compiled.money(one.cash, one.hours) <= self._compiled.money(other.cash, other.hours)
            and one.hours <= other.hours
            and one.days <= other.days
        )

"""One conversion document in, one Solution out."""

from __future__ import annotations

import time
from fractions import Fraction

from graph.conversion.document import Conversion
from graph.errors import InvalidQuestion, Problem
from graph.search.compiled import Compiled, compile_conversion
from graph.search.describe import describe
from graph.search.explain import explain
from graph.search.front import front_search
from graph.search.look_first import look_first
from graph.search.price import Assembly
from graph.search.result import OBJECTIVES, LookFirst, Route, Solution
from graph.search.routes import RouteSearch


def solve(
    conversion: Conversion,
    objective: str = "expected",
    alternatives: int = 2,
    *,
    with_front: bool = True,
    with_look_first: bool = True,
    seconds: float | None = None,
) -> Solution:
    """The proven cheapest route, the next best `alternatives`, the front, and what looking first is worth.

    `objective`: expected, total, cash or hours. Without `seconds` the search goes on until everything is proven;
    with it, it may end with the status "stopped early", the best routes found, and the gap that the best
    of them may be off by (0 where it is proven, and only what else was asked is not).
    Raises InvalidQuestion for an unknown objective or a negative number of alternatives.
    """
    if objective not in OBJECTIVES:
        raise InvalidQuestion([Problem("objective", f"expected one of {', '.join(OBJECTIVES)}; found {objective!r}")])
    if not 0 <= alternatives <= 1000:
        raise InvalidQuestion([Problem("alternatives", f"expected 0 to 1000 alternatives, found {alternatives}")])
    compiled = compile_conversion(conversion)
    search = RouteSearch(compiled, None if seconds is None else time.monotonic() + seconds)
    best, ended = search.best(objective, search.odds, 1 + alternatives)
    if not best.found:
        status = "no route" if ended.complete else "stopped early"
        return Solution(status, objective, (), open=explain(conversion, search.stop_at) if ended.complete else ())
    routes = tuple(describe(compiled, best.pricer, one.assembly, one.done) for one in best.found)
    known = [one.assembly for one in best.found]
    looking, look_proven = _look_first(search, known) if with_look_first else (None, True)
    front, front_proven = front_search(search, known) if with_front else ((), True)
    proven = ended.complete and look_proven and front_proven
    gap = None if proven else _gap(compiled, objective, routes, None if ended.complete else ended.lowest_left)
    return Solution("optimal" if proven else "stopped early", objective, routes, front, looking, (), gap)


def _look_first(search: RouteSearch, known: list[Assembly]) -> tuple[LookFirst | None, bool]:
    """Looking first is about the expected cost, whatever else the question ranks by."""
    if not search.compiled.conversion.inspections:
        return None, True
    return look_first(search, known)


def _gap(compiled: Compiled, objective: str, routes: tuple[Route, ...], lowest_left: int | None) -> Fraction:
    """By how much the best route may be dearer than one not yet looked at."""
    if lowest_left is None:
        return Fraction(0)
    units = {"cash": 100, "hours": 100}.get(objective, compiled.money_scale)
    best = routes[0]
    found = {
        "cash": Fraction(best.cash_hundredths, 100),
        "hours": Fraction(best.hours_hundredths, 100),
        "total": best.total,
        "expected": best.expected,
    }[objective]
    unit = RouteSearch(compiled).weights(objective).unit
    return max(Fraction(0), found - Fraction(lowest_left * unit, units))

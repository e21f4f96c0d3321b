"""One conversion document in, one Solution out: the one way to ask the search.

Parts are worked out in the order in which they matter: the best route and the next ones, what looking first is worth,
the front, what would change the answer. Each gets a share of the time that is left, and what it does not use goes to
those after it. A part that runs out of time or memory says so; nothing that was found before it is lost.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from graph.conversion.document import Conversion
from graph.errors import InvalidQuestion, Problem
from graph.search.best import FoundRoute
from graph.search.budget import Budget, BudgetSpent, Meter
from graph.search.changes import find_changes
from graph.search.compiled import compile_conversion
from graph.search.describe import describe
from graph.search.explain import explain
from graph.search.front import front_search
from graph.search.look_first import look_first
from graph.search.price import PickedOptions
from graph.search.result import NO_ROUTE, OBJECTIVES, OPTIMAL, STOPPED_EARLY, Completeness, Route, Solution
from graph.search.routes import RouteSearch

MOST_ALTERNATIVES = 1000
# Shares of the time that is left, if something is asked after it.
FOR_ROUTES, FOR_LOOKING, FOR_FRONT = 0.6, 0.4, 0.5


def solve(
    conversion: Conversion,
    objective: str = "expected",
    alternatives: int = 2,
    *,
    with_front: bool = True,
    with_look_first: bool = True,
    with_changes: bool = False,
    with_reasons: bool = True,
    seconds: float | None = None,
    budget: Budget | None = None,
) -> Solution:
    """The proven cheapest route, the next best `alternatives`, the front, looking first, what would change the answer.

    `objective`: expected, total, cash or hours; looking first and changes are about the expected cost whatever it is.
    `with_reasons`: where there is no route, also why.
    `budget`: what the question may take (or `seconds` alone); without it the search goes on until everything is proven.
    With it, it may end with the status "stopped early" and the best found; `parts` then says of each part whether
    it is complete or by how much it may be off.
    Raises InvalidQuestion for an unknown objective or a number of alternatives that is not 0 to 1000.
    """
    if objective not in OBJECTIVES:
        raise InvalidQuestion([Problem("objective", f"expected one of {', '.join(OBJECTIVES)}; found {objective!r}")])
    if not 0 <= alternatives <= MOST_ALTERNATIVES:
        wanted = f"expected 0 to {MOST_ALTERNATIVES} alternatives, found {alternatives}"
        raise InvalidQuestion([Problem("alternatives", wanted)])
    meter = (budget or Budget(seconds)).start()
    later = [
        (share, part)
        for wanted, share, part in (
            (with_look_first, FOR_LOOKING, _look_first),
            (with_front, FOR_FRONT, _front),
            (with_changes, 1.0, _changes),
        )
        if wanted
    ]
    made, solution = _routes(conversion, objective, alternatives, meter.part(FOR_ROUTES) if later else meter)
    if conversion.instead_hundredths is not None:
        solution = replace(solution, instead=Fraction(conversion.instead_hundredths, 100))
    if made is None and not with_reasons:
        return solution
    if made is None:
        return _without_route(conversion, solution, meter)
    for place, (share, part) in enumerate(later, start=1):
        made.search.meter = meter if place == len(later) else meter.part(share)
        solution = part(made, solution)
    return _judged(solution)


class _Routes(NamedTuple):
    """The search with the best routes found, on which all further parts stand."""

    search: RouteSearch
    found: list[FoundRoute]

    @property
    def known(self) -> list[PickedOptions]:
        return [one.assembly for one in self.found]


def _routes(conversion: Conversion, objective: str, alternatives: int, meter: Meter) -> tuple[_Routes | None, Solution]:
    """The best route and its alternatives; no search where none was found."""
    try:
        search = RouteSearch(compile_conversion(conversion, meter), meter)
        best, ended = search.best(objective, search.outlook, 1 + alternatives)
    except (BudgetSpent, MemoryError):
        return None, stopped_early(objective)
    if not best.found:
        return None, Solution(NO_ROUTE, objective, ()) if ended.complete else stopped_early(objective)
    routes = tuple(describe(search.compiled, best.pricer, one.assembly, one.done) for one in best.found)
    left = None if ended.complete else ended.lowest_left or 0
    gaps = [_gap(search, objective, one, left) for one in routes]
    parts = [_part("route", gaps[0], "another route may be cheaper by up to the gap")]
    if alternatives:
        words = "other routes may be cheaper than the alternatives shown, by up to the gap"
        parts.append(_part("alternatives", Fraction(0) if left is None else max(gaps), words, left is None))
    solution = Solution(OPTIMAL, objective, routes, gap=gaps[0], parts=tuple(parts))
    return _Routes(search, best.found), solution


def _part(name: str, gap: Fraction, words: str, complete: bool | None = None) -> Completeness:
    if complete is None:
        complete = gap == 0
    return Completeness(name, True) if complete else Completeness(name, False, gap, words)


def stopped_early(objective: str) -> Solution:
    """What is to be said where nothing was found in time, and nothing proven."""
    words = "no route was found before the time or memory ran out; there may be one"
    return Solution(STOPPED_EARLY, objective, (), parts=(Completeness("route", False, None, words),))


def _gap(search: RouteSearch, objective: str, route: Route, lowest_left: int | None) -> Fraction:
    """By how much the route may be dearer than one not yet looked at; `lowest_left` None where there is none."""
    if lowest_left is None:
        return Fraction(0)
    units = {"cash": 100, "hours": 100}.get(objective, search.compiled.money_scale)
    worth = {
        "cash": Fraction(route.cash_hundredths, 100),
        "hours": Fraction(route.hours_hundredths, 100),
        "total": route.total,
        "expected": route.expected,
    }[objective]
    return max(Fraction(0), worth - Fraction(lowest_left * search.weights(objective).unit, units))


def _without_route(conversion: Conversion, solution: Solution, meter: Meter) -> Solution:
    """Why there is no route, where that is proven."""
    if solution.status != NO_ROUTE:
        return solution
    opens, complete = explain(conversion, meter)
    words = "" if complete else "what else stays open, or by how much, was not found out in time"
    parts = (Completeness("route", True), Completeness("open", complete, None, words))
    return replace(solution, open=opens, parts=parts)


def _look_first(made: _Routes, solution: Solution) -> Solution:
    """Looking first is about the expected cost, whatever else the question ranks by."""
    if not made.search.compiled.conversion.inspections:
        return _with(solution, Completeness("look first", True))
    looked = look_first(made.search, made.known)
    words = "a set of inspections may be better than what is said, by up to the gap"
    part = Completeness("look first", looked.complete, looked.gap, "" if looked.complete else words)
    return _with(replace(solution, look_first=looked.best), part)


def _front(made: _Routes, solution: Solution) -> Solution:
    front, complete = front_search(made.search, made.known)
    words = "" if complete else "routes that are better in cash or hours than these may be missing"
    return _with(replace(solution, front=front), Completeness("front", complete, None, words))


def _changes(made: _Routes, solution: Solution) -> Solution:
    found, missing = find_changes(made.search, made.found[0] if solution.objective == "expected" else None)
    words = f"not worked out in time: {', '.join(missing)}" if missing else ""
    return _with(replace(solution, changes=found), Completeness("changes", not missing, None, words))


def _with(solution: Solution, part: Completeness) -> Solution:
    return replace(solution, parts=(*solution.parts, part))


def _judged(solution: Solution) -> Solution:
    """Optimal only where every part is complete; then there is no gap to speak of."""
    if all(part.complete for part in solution.parts):
        return replace(solution, gap=None)
    return replace(solution, status=STOPPED_EARLY)

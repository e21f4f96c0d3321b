"""What an answer is worth: proven, proven on what is known, if it holds, no route, stopped early, assembly not stated.

Decided here and nowhere else; what is uncertain, graph/conversion/known.py says. A is the best route that assumes
nothing, V the best of all where every doubt held and what has no price cost nothing. Where A costs no more than V,
nothing that could be found out would make the job cheaper.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from graph.conversion.document import Candidate, Conversion, Link
from graph.conversion.known import assumed, closing_without, hoped_for, uncertain
from graph.search.order import JUST_THE_BEST, OutOfTime, Search, SearchOrder
from graph.search.result import NO_ROUTE, STOPPED_EARLY, Completeness, Route, Solution
from graph.search.solve import stopped_early

PROVEN = "proven"
ON_WHAT_IS_KNOWN = "proven on what is known"
IF_IT_HOLDS = "if it holds"
ASSEMBLY_NOT_STATED = "assembly not stated"
Picked = TypeVar("Picked", Candidate, Link)
STATUSES = (PROVEN, ON_WHAT_IS_KNOWN, IF_IT_HOLDS, NO_ROUTE, STOPPED_EARLY, ASSEMBLY_NOT_STATED)

# Shares of the time that is left, for the searches in their order; the last one has all the rest.
FOR_WHAT_IS_KNOWN, FOR_WHAT_MAY_HOLD, FOR_THE_WHOLE = 0.4, 0.3, 0.7
ASSUMING = "assumes something"  # a feature that only the search for the best route with assumptions asks for
UNDECIDED = "whether a route that assumes something could be cheaper was not found out in time"
BESIDE = "another route with assumptions may be cheaper than the one shown"


@dataclass(frozen=True, slots=True)
class WeighedDocument:
    """The status, and the routes behind it.

    `shown`: the routes in their order. `beside`: where these assume nothing, the best one that does. `looking`: the
    search that says what to look at first; None: `shown`. `unfinished`: what of the rest is not complete.
    """

    status: str
    shown: Solution
    beside: Route | None = None
    looking: Solution | None = None
    unfinished: tuple[Completeness, ...] = ()


def assumes(doubtful: frozenset[str], route: Route) -> bool:
    """Whether the route picks something uncertain."""
    return not doubtful.isdisjoint(route.picks.values()) or not doubtful.isdisjoint(route.links.values())


def weigh(conversion: Conversion, order: SearchOrder, search: Search) -> WeighedDocument:
    """Searches for what decides the status, one search where nothing is uncertain. The order's seconds are for all.

    Raises InvalidQuestion as the search does.
    """
    doubtful = uncertain(conversion)
    if not doubtful:
        return as_it_is(conversion, search(conversion, order))
    return _Weighing(conversion, order, search, doubtful).weighed()


def best_route(conversion: Conversion, order: SearchOrder, search: Search) -> Route | None:
    """The first of the routes that `weigh` shows; None where it shows none. What it is worth is not asked."""
    doubtful = uncertain(conversion)
    best_only = _just_the_best(order)
    if not doubtful:
        found = search(conversion, replace(best_only, seconds=order.seconds))
    else:
        found = _Weighing(conversion, replace(best_only, seconds=order.seconds), search, doubtful).shown()
    return found.routes[0] if found.routes else None


def _just_the_best(order: SearchOrder) -> SearchOrder:
    return replace(JUST_THE_BEST, objective=order.objective, memory_mb=order.memory_mb)


def as_it_is(conversion: Conversion, solution: Solution) -> WeighedDocument:
    """A solution that is all there is: proven where its best route is and assumes nothing, whatever else is missing."""
    if not _is_proven(solution):
        return WeighedDocument(solution.status, solution)
    holds = assumes(uncertain(conversion), solution.routes[0])
    return WeighedDocument(IF_IT_HOLDS if holds else PROVEN, solution)


def _is_proven(solution: Solution) -> bool:
    """Is the best route? Another part that stopped early takes nothing from it; the parts say which did."""
    return bool(solution.routes) and not solution.gap


class _Weighing:
    """The searches of one question that has something uncertain in it."""

    def __init__(self, conversion: Conversion, order: SearchOrder, search: Search, doubtful: frozenset[str]):
        self.conversion, self.order, self.search, self.doubtful = conversion, order, search, doubtful
        self._stop_at = None if order.seconds is None else time.monotonic() + order.seconds
        self.best_only = _just_the_best(order)

    def weighed(self) -> WeighedDocument:
        known = self._what_is_known()
        if known is None or not known.routes:
            whole = self._ask(self.conversion, self.order, 1.0)
            unsure = known is not None and known.status == STOPPED_EARLY
            return self._without(whole, unsure)
        return self._beside(known) if _is_proven(known) else WeighedDocument(STOPPED_EARLY, known)

    def shown(self) -> Solution:
        """The routes that are shown, whatever they are worth."""
        known = self._what_is_known()
        return known if known is not None and known.routes else self._ask(self.conversion, self.order, 1.0)

    def _what_is_known(self) -> Solution | None:
        """A and its alternatives; None where something must be assumed for any route."""
        for dropped in dict.fromkeys((assumed(self.conversion), self.doubtful)):
            stated = closing_without(self.conversion, dropped)
            if stated is None:
                continue
            known = self._ask(stated, replace(self.order, reasons=False), FOR_WHAT_IS_KNOWN)
            if known.routes and not assumes(self.doubtful, known.routes[0]):
                return known
            if not known.routes and known.status == STOPPED_EARLY:
                return known
        return None

    def _without(self, whole: Solution, unsure: bool) -> WeighedDocument:
        """Nothing is known to close; `unsure`: that was not found out to its end."""
        if not whole.routes:
            return WeighedDocument(STOPPED_EARLY if unsure else whole.status, whole)
        if unsure or whole.gap:
            return WeighedDocument(STOPPED_EARLY, whole)
        return WeighedDocument(IF_IT_HOLDS, whole)

    def _beside(self, known: Solution) -> WeighedDocument:
        best = worth_of(known.routes[0], self.order.objective)
        most = self._ask(hoped_for(self.conversion), self.best_only, FOR_WHAT_MAY_HOLD)
        if not most.routes:
            return WeighedDocument(
                STOPPED_EARLY, known, unfinished=(Completeness("what may hold", False, None, UNDECIDED),)
            )
        reached = worth_of(most.routes[0], self.order.objective)
        if best <= reached - (most.gap or 0):
            return WeighedDocument(PROVEN, known)
        if best <= reached:
            return WeighedDocument(
                STOPPED_EARLY, known, unfinished=(Completeness("what may hold", False, None, UNDECIDED),)
            )
        whole = self._ask(self.conversion, replace(self.order, front=False, changes=False), FOR_THE_WHOLE)
        beside, complete = self._best_assuming(whole)
        unfinished = [replace(part, words=part.words) for part in whole.parts if part.part == "look first"]
        if not complete:
            unfinished.append(Completeness("best if it holds", False, None, BESIDE))
        looking = whole if whole.routes else None
        return WeighedDocument(
            ON_WHAT_IS_KNOWN, known, beside, looking, tuple(part for part in unfinished if not part.complete)
        )

    def _best_assuming(self, whole: Solution) -> tuple[Route | None, bool]:
        """The best route with assumptions, and whether that is proven."""
        for route in whole.routes:
            if assumes(self.doubtful, route):
                return route, not whole.gap
        bound = self._ask(_asking_for(self.conversion, self.doubtful), self.best_only, 1.0)
        return (bound.routes[0] if bound.routes else None), bound.status != STOPPED_EARLY

    def _ask(self, conversion: Conversion, order: SearchOrder, share: float) -> Solution:
        if self._stop_at is not None:
            left = (self._stop_at - time.monotonic()) * share
            if left <= 0:
                return stopped_early(order.objective)
            order = replace(order, seconds=left)
        try:
            return self.search(conversion, order)
        except OutOfTime:
            return stopped_early(order.objective)


def _asking_for(conversion: Conversion, doubtful: frozenset[str]) -> Conversion:
    """The conversion in which a route must assume something."""

    def marked(choice: Picked) -> Picked:
        return replace(choice, features=(*choice.features, ASSUMING)) if choice.id in doubtful else choice

    return replace(
        conversion,
        features=(*conversion.features, ASSUMING),
        positions=tuple(replace(p, candidates=tuple(map(marked, p.candidates))) for p in conversion.positions),
        joints=tuple(replace(j, links=tuple(map(marked, j.links))) for j in conversion.joints),
    )


def worth_of(route: Route, objective: str) -> Fraction:
    """What the route costs by the objective: currency units, or hours."""
    hundredths = {"cash": route.cash_hundredths, "hours": route.hours_hundredths}.get(objective)
    if hundredths is not None:
        return Fraction(hundredths, 100)
    return route.total if objective == "total" else route.expected

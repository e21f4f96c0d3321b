"""What an answer is worth: proven, proven on what is known, if it holds, no route, stopped early, assembly not stated.

Decided here and nowhere else. A is the best route that assumes nothing, V the best of all where every doubt held and
what has no price cost nothing. Where A costs no more than V, nothing that could be found out would make the job
cheaper. A choice is uncertain if nobody has stated it, if it leaves a length open, or if a doubt sits on it that is
not known to have failed.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from graph.conversion.document import Candidate, Choice, Conversion, Fault, Link
from graph.search.order import JUST_THE_BEST, OutOfTime, Search, SearchOrder
from graph.search.result import NO_ROUTE, OPTIMAL, STOPPED_EARLY, Completeness, Route, Solution
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
class Weighed:
    """The status, and the routes behind it.

    `shown`: the routes in their order. `beside`: where these assume nothing, the best one that does. `looking`: the
    search that says what to look at first; None: `shown`. `unfinished`: what of the rest is not complete.
    """

    status: str
    shown: Solution
    beside: Route | None = None
    looking: Solution | None = None
    unfinished: tuple[Completeness, ...] = ()


def uncertain(conversion: Conversion) -> frozenset[str]:
    """The ids of the candidates and links that assume something."""
    doubted = {choice for fault in doubts_of(conversion) for choice in fault.on}
    return frozenset(one.id for one in _choices(conversion) if one.assumed or one.unmeasured or one.id in doubted)


def doubts_of(conversion: Conversion) -> tuple[Fault, ...]:
    """The doubts that may hold or not; one known to have failed is none, it is work that is due."""
    return tuple(fault for fault in conversion.faults if fault.on and 0 < fault.odds < 1)


def assumes(doubtful: frozenset[str], route: Route) -> bool:
    """Whether the route picks something uncertain."""
    return not doubtful.isdisjoint(route.picks.values()) or not doubtful.isdisjoint(route.links.values())


def weigh(conversion: Conversion, order: SearchOrder, search: Search) -> Weighed:
    """Searches for what decides the status, one search where nothing is uncertain. The order's seconds are for all.

    Raises InvalidQuestion as the search does.
    """
    doubtful = uncertain(conversion)
    if not doubtful:
        return as_it_is(conversion, search(conversion, order))
    return _Weighing(conversion, order, search, doubtful).weighed()


def as_it_is(conversion: Conversion, solution: Solution) -> Weighed:
    """A solution that is all there is: proven where its best route assumes nothing."""
    if solution.status != OPTIMAL:
        return Weighed(solution.status, solution)
    holds = assumes(uncertain(conversion), solution.routes[0])
    return Weighed(IF_IT_HOLDS if holds else PROVEN, solution)


class _Weighing:
    """The searches of one question that has something uncertain in it."""

    def __init__(self, conversion: Conversion, order: SearchOrder, search: Search, doubtful: frozenset[str]):
        self.conversion, self.order, self.search, self.doubtful = conversion, order, search, doubtful
        self._stop_at = None if order.seconds is None else time.monotonic() + order.seconds
        self.best_only = replace(JUST_THE_BEST, objective=order.objective, memory_mb=order.memory_mb)

    def weighed(self) -> Weighed:
        known = self._what_is_known()
        if known is None or not known.routes:
            whole = self._ask(self.conversion, self.order, 1.0)
            unsure = known is not None and known.status == STOPPED_EARLY
            return self._without(whole, unsure)
        if known.gap:
            return Weighed(STOPPED_EARLY, known)
        return self._beside(known)

    def _what_is_known(self) -> Solution | None:
        """A and its alternatives; None where something must be assumed for any route."""
        assumed = frozenset(one.id for one in _choices(self.conversion) if one.assumed)
        for dropped in dict.fromkeys((assumed, self.doubtful)):
            stated = without(self.conversion, dropped)
            if not _may_close(stated):
                continue
            known = self._ask(stated, self.order, FOR_WHAT_IS_KNOWN)
            if known.routes and not assumes(self.doubtful, known.routes[0]):
                return known
            if not known.routes and known.status == STOPPED_EARLY:
                return known
        return None

    def _without(self, whole: Solution, unsure: bool) -> Weighed:
        """Nothing is known to close; `unsure`: that was not found out to its end."""
        if not whole.routes:
            return Weighed(STOPPED_EARLY if unsure else whole.status, whole)
        if unsure or whole.gap:
            return Weighed(STOPPED_EARLY, whole)
        return Weighed(IF_IT_HOLDS, whole)

    def _beside(self, known: Solution) -> Weighed:
        best = _worth(known.routes[0], self.order.objective)
        most = self._ask(hoped_for(self.conversion), self.best_only, FOR_WHAT_MAY_HOLD)
        if not most.routes:
            return Weighed(STOPPED_EARLY, known, unfinished=(Completeness("what may hold", False, None, UNDECIDED),))
        reached = _worth(most.routes[0], self.order.objective)
        if best <= reached - (most.gap or 0):
            return Weighed(PROVEN if known.status == OPTIMAL else known.status, known)
        if best <= reached:
            return Weighed(STOPPED_EARLY, known, unfinished=(Completeness("what may hold", False, None, UNDECIDED),))
        whole = self._ask(self.conversion, replace(self.order, front=False, changes=False), FOR_THE_WHOLE)
        beside, complete = self._best_assuming(whole)
        unfinished = [replace(part, words=part.words) for part in whole.parts if part.part == "look first"]
        if not complete:
            unfinished.append(Completeness("best if it holds", False, None, BESIDE))
        status = ON_WHAT_IS_KNOWN if known.status == OPTIMAL else known.status
        looking = whole if whole.routes else None
        return Weighed(status, known, beside, looking, tuple(part for part in unfinished if not part.complete))

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


def without(conversion: Conversion, dropped: frozenset[str]) -> Conversion:
    """The document without these choices, and without what can only be picked together with them."""
    gone = _with_all_that_hangs_on(conversion, dropped)
    faults = tuple(
        replace(fault, on=tuple(one for one in fault.on if one not in gone)) if fault.on else fault
        for fault in conversion.faults
        if not fault.on or not gone.issuperset(fault.on)
    )
    left = {fault.id for fault in faults}
    tests = (replace(one, settles=tuple(f for f in one.settles if f in left)) for one in conversion.inspections)
    return replace(
        conversion,
        positions=tuple(
            replace(one, candidates=tuple(c for c in one.candidates if c.id not in gone))
            for one in conversion.positions
        ),
        joints=tuple(
            replace(one, links=tuple(link for link in one.links if link.id not in gone)) for one in conversion.joints
        ),
        rules=tuple(
            replace(
                rule,
                needs_any=tuple(one for one in rule.needs_any if one not in gone),
                excludes=tuple(one for one in rule.excludes if one not in gone),
            )
            for rule in conversion.rules
            if rule.when not in gone
        ),
        faults=faults,
        inspections=tuple(one for one in tests if one.settles),
    )


def hoped_for(conversion: Conversion) -> Conversion:
    """The document in which every doubt holds."""
    doubts = {fault.id for fault in doubts_of(conversion)}
    faults = tuple(
        replace(fault, odds=Fraction(0)) if fault.id in doubts else fault for fault in conversion.faults
    )  # fmt: skip
    return replace(conversion, faults=faults)


def _with_all_that_hangs_on(conversion: Conversion, dropped: frozenset[str]) -> frozenset[str]:
    gone = set(dropped)
    while True:
        more = {
            link.id for joint in conversion.joints for link in joint.links
            if link.id not in gone and not gone.isdisjoint(link.parts)
        }  # fmt: skip
        more |= {
            rule.when for rule in conversion.rules
            if rule.needs_any and rule.when not in gone and gone.issuperset(rule.needs_any)
        }  # fmt: skip
        if not more:
            return frozenset(gone)
        gone |= more


def _may_close(conversion: Conversion) -> bool:
    """Whether every place and every joint has a choice left."""
    return all(one.candidates for one in conversion.positions) and all(one.links for one in conversion.joints)


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


def _choices(conversion: Conversion) -> Iterable[Choice]:
    for position in conversion.positions:
        yield from position.candidates
    for joint in conversion.joints:
        yield from joint.links


def _worth(route: Route, objective: str) -> Fraction:
    hundredths = {"cash": route.cash_hundredths, "hours": route.hours_hundredths}.get(objective)
    if hundredths is not None:
        return Fraction(hundredths, 100)
    return route.total if objective == "total" else route.expected

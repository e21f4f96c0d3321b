"""Is looking first worth it? Inspections paid now, then the best route for what they tell.

For a set of inspections that settles some faults: its cost, plus the average, over what may be found, of the best
expected cost with those odds at 0 or 1 and the tasks done that the inspections need, or of not doing the job, if that
is cheaper. The value of knowing everything bounds what any set can gain, so most sets are never priced. (To know that
a doubt has failed can cost more than not to know it, because it is then due; the bound leaves it free.) Few tests are
gone through set by set; of many a good set is found, and how far below it another may lie (`choosing`).
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction

from graph.search.budget import BudgetSpent
from graph.search.choosing import Choosing
from graph.search.lines import CostLine, crossing
from graph.search.looks import LookCosts, LookedAt, Settled, cheaper, opened
from graph.search.outlook import Outlook
from graph.search.price import PickedOptions
from graph.search.result import LookFirst
from graph.search.routes import RouteSearch
from graph.search.values import Values


@dataclass(slots=True)
class BestLooks:
    """The best set of inspections so far, whether that is proven, and if not how much less another may cost."""

    best: LookFirst | None = None
    complete: bool = False
    gap: Fraction | None = None


def look_first(search: RouteSearch, known: Sequence[PickedOptions]) -> BestLooks:
    """The best set of inspections, if it beats the best route taken blind."""
    looked = BestLooks()
    with suppress(BudgetSpent, MemoryError):
        _look_first(search, known, looked)
    return looked


def _look_first(search: RouteSearch, known: Sequence[PickedOptions], looked: BestLooks) -> None:
    values = Values(search, list(known))
    values.learn([search.outlook])
    now = looked.gap = _blind(values)
    looks = LookCosts(search, values)
    if looks.tests:
        choosing = Choosing(looks, now)
        bound = choosing.bound()
        if values.complete:
            looked.gap = now - bound
        try:
            if bound < now:
                choosing.run()
        finally:  # what was found when time runs out stands
            if choosing.found is not None:
                worth = choosing.found.worth
                looked.best = LookFirst(tuple(one.id for one in choosing.found.tests), worth, {})
                looked.gap = worth - bound if values.complete else worth
        left = _left(choosing, now)
        if choosing.found is not None:
            ranges = _odds_ranges(search, values, looks, choosing.found.tests)
            looked.best = LookFirst(tuple(one.id for one in choosing.found.tests), choosing.found.worth, ranges)
        if left is not None:
            looked.gap = left if values.complete else now
            return
    looked.complete = values.complete
    if looked.complete:
        looked.gap = None


def _left(choosing: Choosing, now: Fraction) -> Fraction | None:
    """How much less a set that was neither weighed nor ruled out may cost; None where there is none."""
    worth = now if choosing.found is None else choosing.found.worth
    return None if choosing.least is None or choosing.least >= worth else worth - choosing.least


def _blind(values: Values) -> Fraction:
    """The cheaper of the best route as things stand and not doing the job."""
    best = cheaper(values.of(values.search.outlook), _instead(values.search))
    assert best is not None  # looking is asked about where a route was found
    return best


def _instead(search: RouteSearch) -> Fraction | None:
    """What not doing the job costs, in money."""
    hundredths = search.compiled.conversion.instead_hundredths
    return None if hundredths is None else Fraction(hundredths, 100)


def _odds_ranges(
    search: RouteSearch, values: Values, looks: LookCosts, tests: Sequence[LookedAt]
) -> dict[str, tuple[Fraction, Fraction]]:
    """For each settled fault: the odds between which looking first beats going in blind, all else as stated.

    Looking costs a straight line in the odds, going in blind the lowest of many lines, so there is one range. An end
    at 1 of a doubt's range is the limit towards it: what is certain is due, and nothing is left to look for.
    """
    told, settled = looks.told(tests), looks.settled(tests)
    looking = {fault: _looking_line(looks, tests, settled, fault) for fault in told}
    edges: dict[tuple[int, int], Fraction] = {}

    def ask() -> list[Outlook]:
        for fault in told:
            for end in (0, 1):
                edges[fault, end] = _edge(search.outlook, values, looking[fault], fault, Fraction(end))
        return [search.outlook.with_odds(fault, odds) for (fault, _), odds in edges.items()]

    contenders = looks.contenders(0)
    if contenders is None:
        values.settle(ask)
    else:  # no other route can be the best
        values.known += [one for one in contenders.routes if one not in values.known]
        ask()
    return {search.compiled.worn[fault].fault.id: (edges[fault, 0], edges[fault, 1]) for fault in told}


def _looking_line(looks: LookCosts, tests: Sequence[LookedAt], settled: Settled, fault: int) -> CostLine:
    others, cost = tuple(one for one in settled if one != fault), sum((one.cost for one in tests), Fraction(0))
    ends = []
    for state in (0, 1):
        after = looks.after(others, opened(tests), {fault: state})
        assert after is not None  # the set was chosen, so there is a way whatever is found
        ends.append(cost + after)
    return CostLine(ends[0], ends[1] - ends[0])


def _edge(outlook: Outlook, values: Values, looking: CostLine, fault: int, end: Fraction) -> Fraction:
    """Where, going from the stated odds to `end`, the lowest known blind line comes down to the looking line."""
    inside, reached = outlook.odds[fault], end
    instead = _instead(values.search)
    while True:
        line = values.guessed_line(outlook, fault, reached)
        if instead is not None and instead < line.at(reached):
            line = CostLine(instead, Fraction(0))
        nearer = crossing(line, looking)
        if line.at(reached) >= looking.at(reached) or nearer is None or nearer == reached:
            return reached
        if not min(inside, reached) <= nearer <= max(inside, reached):
            return reached
        reached = nearer

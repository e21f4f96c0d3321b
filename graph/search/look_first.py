"""Is looking first worth it? Inspections paid now, then the best route for what they tell.

For a set of inspections that settles some faults: its cost, plus the average, over what may be found, of the best
expected cost with those odds at 0 or 1 and the tasks done that the inspections need, or of not doing the job, if that
is cheaper. The value of knowing everything bounds what any set can gain, so most sets are never priced. (To know that
a doubt has failed can cost more than not to know it, because it is then due; the bound leaves it free.)
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import reduce
from itertools import combinations, product
from operator import or_

from graph.search.budget import BudgetSpent
from graph.search.compiled import places
from graph.search.lines import Line, crossing
from graph.search.outlook import Odds, Outlook, suppose, suppose_leniently
from graph.search.price import Assembly
from graph.search.result import LookFirst
from graph.search.routes import RouteSearch
from graph.search.values import Values

Settled = tuple[int, ...]  # places of faults
Look = tuple[Settled, int]  # what a set of inspections tells, and the tasks that it needs, as bits, closed


@dataclass(slots=True)
class Looked:
    """The best set of inspections so far, whether that is proven, and if not how much less another may cost."""

    best: LookFirst | None = None
    complete: bool = False
    gap: Fraction | None = None


def look_first(search: RouteSearch, known: Sequence[Assembly]) -> Looked:
    """The best set of inspections, if it beats the best route taken blind."""
    looked = Looked()
    with suppress(BudgetSpent, MemoryError):
        _look_first(search, known, looked)
    return looked


def _look_first(search: RouteSearch, known: Sequence[Assembly], looked: Looked) -> None:
    values = Values(search, list(known))
    values.learn([search.outlook])
    now = looked.gap = _blind(values)
    sets = _distinct_sets(search)
    if sets:
        everything = tuple(sorted({fault for settled, _ in sets for fault in settled}))
        most_gain = now - _least_after(values, everything)
        if values.complete:
            looked.gap = most_gain
        best: tuple[Fraction, int, tuple[str, ...], Look] | None = None
        for look, (cost, names) in sorted(sets.items(), key=lambda one: (one[1], one[0])):
            search.meter.check()
            if cost >= most_gain or (best is not None and cost + now - most_gain > best[0]):
                continue
            after = _after(values, look, search.outlook.odds)
            if after is None:
                continue
            worth = cost + after
            if worth < now and (best is None or (worth, len(names), names) < best[:3]):
                best = (worth, len(names), names, look)
                looked.best = LookFirst(names, worth, {})
                looked.gap = worth - now + most_gain if values.complete else worth
        if best is not None:
            worth, _, names, look = best
            looked.best = LookFirst(names, worth, _odds_ranges(search, values, look, sets[look][0]))
    looked.complete = values.complete
    if looked.complete:
        looked.gap = None


def _instead(search: RouteSearch) -> Fraction | None:
    """What not doing the job costs, in money."""
    hundredths = search.compiled.conversion.instead_hundredths
    return None if hundredths is None else Fraction(hundredths, 100)


def _blind(values: Values) -> Fraction:
    """The cheaper of the best route as things stand and not doing the job."""
    best = _cheaper(values.of(values.search.outlook), _instead(values.search))
    assert best is not None  # looking is asked about where a route was found
    return best


def _cheaper(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    return one if other is None else other if one is None else min(one, other)


def _after(values: Values, look: Look, odds: Odds) -> Fraction | None:
    """The average of the best expected cost once these faults are known; None where something found leaves no way."""
    settled, opened = look
    compiled = values.search.compiled
    outcomes = [(suppose(compiled, known, opened), chance) for known, chance in _outcomes(settled, odds)]
    instead = _instead(values.search)
    if instead is not None:
        instead += Fraction(sum(compiled.task_money(place) for place in places(opened)), compiled.money_scale)
    return _average(values, outcomes, instead)


def _least_after(values: Values, settled: Settled) -> Fraction:
    """What no set of inspections that settles some of these can get below on average, its own cost left aside."""
    search = values.search
    outcomes = [(suppose_leniently(search.compiled, one), p) for one, p in _outcomes(settled, search.outlook.odds)]
    least = _average(values, outcomes, _instead(search))
    assert least is not None  # whatever is found, the routes as things stand are still allowed
    return least


def _average(values: Values, outcomes: Sequence[tuple[Outlook, Fraction]], instead: Fraction | None) -> Fraction | None:
    values.learn([outlook for outlook, _ in outcomes])
    total = Fraction(0)
    for outlook, probability in outcomes:
        best = _cheaper(values.of(outlook), instead)
        if best is None:
            return None
        total += probability * best
    return total


def _outcomes(settled: Settled, odds: Odds) -> list[tuple[Odds, Fraction]]:
    made = []
    for states in product((0, 1), repeat=len(settled)):
        known, probability = list(odds), Fraction(1)
        for fault, state in zip(settled, states, strict=True):
            probability *= odds[fault] if state else 1 - odds[fault]
            known[fault] = Fraction(state)
        if probability:
            made.append((tuple(known), probability))
    return made


def _distinct_sets(search: RouteSearch) -> dict[Look, tuple[Fraction, tuple[str, ...]]]:
    """For each set of doubtful faults that can be settled, and of tasks for it: the cheapest inspections, then ids."""
    compiled, odds = search.compiled, search.outlook.odds
    place_of = {worn.fault.id: place for place, worn in enumerate(compiled.worn)}
    inspections = []
    for one in sorted(compiled.conversion.inspections, key=lambda one: one.id):
        doubtful = {place_of[id_] for id_ in one.settles if 0 < odds[place_of[id_]] < 1}
        if doubtful:
            cost = Fraction(compiled.money(one.cash_hundredths, one.hours_hundredths), compiled.money_scale)
            opened = reduce(or_, (compiled.closed[task] for task in one.tasks), 0)
            inspections.append((one.id, cost, doubtful, opened))
    sets: dict[Look, tuple[Fraction, tuple[str, ...]]] = {}
    for size in range(1, len(inspections) + 1):
        search.meter.check()
        for chosen in combinations(inspections, size):
            settled = tuple(sorted(set().union(*(doubtful for _, _, doubtful, _ in chosen))))
            look = (settled, reduce(or_, (opened for _, _, _, opened in chosen)))
            offer = (sum((cost for _, cost, _, _ in chosen), Fraction(0)), tuple(id_ for id_, _, _, _ in chosen))
            kept = sets.get(look)
            if kept is None or (offer[0], len(offer[1]), offer[1]) < (kept[0], len(kept[1]), kept[1]):
                sets[look] = offer
    return sets


def _odds_ranges(
    search: RouteSearch, values: Values, look: Look, cost: Fraction
) -> dict[str, tuple[Fraction, Fraction]]:
    """For each settled fault: the odds between which looking first beats going in blind, all else as stated.

    Looking costs a straight line in the odds, going in blind the lowest of many lines, so there is one range. An end
    at 1 of a doubt's range is the limit towards it: what is certain is due, and nothing is left to look for.
    """
    settled, _ = look
    looking = {fault: _looking_line(search, values, look, cost, fault) for fault in settled}
    edges: dict[tuple[int, int], Fraction] = {}

    def ask() -> list[Outlook]:
        for fault in settled:
            for end in (0, 1):
                edges[fault, end] = _edge(search.outlook, values, looking[fault], fault, Fraction(end))
        return [search.outlook.with_odds(fault, odds) for (fault, _), odds in edges.items()]

    values.settle(ask)
    return {search.compiled.worn[fault].fault.id: (edges[fault, 0], edges[fault, 1]) for fault in settled}


def _looking_line(search: RouteSearch, values: Values, look: Look, cost: Fraction, fault: int) -> Line:
    settled, opened = look
    others = tuple(one for one in settled if one != fault)
    ends = []
    for state in (0, 1):
        after = _after(values, (others, opened), search.outlook.with_odds(fault, Fraction(state)).odds)
        assert after is not None  # the set was chosen, so there is a way whatever is found
        ends.append(cost + after)
    return Line(ends[0], ends[1] - ends[0])


def _edge(outlook: Outlook, values: Values, looking: Line, fault: int, end: Fraction) -> Fraction:
    """Where, going from the stated odds to `end`, the lowest known blind line comes down to the looking line."""
    inside, reached = outlook.odds[fault], end
    instead = _instead(values.search)
    while True:
        line = values.guessed_line(outlook.with_odds(fault, reached), fault)
        if instead is not None and instead < line.at(reached):
            line = Line(instead, Fraction(0))
        nearer = crossing(line, looking)
        if line.at(reached) >= looking.at(reached) or nearer is None or nearer == reached:
            return reached
        if not min(inside, reached) <= nearer <= max(inside, reached):
            return reached
        reached = nearer

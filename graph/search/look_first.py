"""Is looking first worth it? Inspections paid now, then the best route for what they tell.

For a set of inspections that settles some faults: its cost, plus the average, over what may be found, of the best
expected cost with those odds at 0 or 1. The value of knowing everything bounds what
any set can gain, so most sets are never priced.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, product

from graph.search.budget import BudgetSpent
from graph.search.lines import Line, crossing
from graph.search.price import Assembly
from graph.search.result import LookFirst
from graph.search.routes import Odds, RouteSearch
from graph.search.values import Values

Settled = tuple[int, ...]  # places of faults


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
    values.learn([search.odds])
    now = looked.gap = values.of(search.odds)
    sets = _distinct_sets(search)
    if sets:
        everything = tuple(sorted({fault for settled in sets for fault in settled}))
        most_gain = now - _after(values, everything, search.odds)
        if values.complete:
            looked.gap = most_gain
        best: tuple[Fraction, int, tuple[str, ...], Settled] | None = None
        for settled, (cost, names) in sorted(sets.items(), key=lambda one: (one[1], one[0])):
            search.meter.check()
            if cost >= most_gain or (best is not None and cost + now - most_gain > best[0]):
                continue
            worth = cost + _after(values, settled, search.odds)
            if worth < now and (best is None or (worth, len(names), names) < best[:3]):
                best = (worth, len(names), names, settled)
                looked.best = LookFirst(names, worth, {})
                looked.gap = worth - now + most_gain if values.complete else worth
        if best is not None:
            worth, _, names, settled = best
            looked.best = LookFirst(names, worth, _odds_ranges(search, values, settled, sets[settled][0]))
    looked.complete = values.complete
    if looked.complete:
        looked.gap = None


def _after(values: Values, settled: Settled, odds: Odds) -> Fraction:
    """The average of the best expected cost once these faults are known."""
    outcomes = list(_outcomes(settled, odds))
    values.learn([known for known, _ in outcomes])
    return sum((probability * values.of(known) for known, probability in outcomes), Fraction(0))


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


def _distinct_sets(search: RouteSearch) -> dict[Settled, tuple[Fraction, tuple[str, ...]]]:
    """For each set of doubtful faults that can be settled: the cheapest inspections that do, by cost, then ids."""
    place_of = {worn.fault.id: place for place, worn in enumerate(search.compiled.worn)}
    inspections = []
    for one in sorted(search.compiled.conversion.inspections, key=lambda one: one.id):
        doubtful = {place_of[id_] for id_ in one.settles if 0 < search.odds[place_of[id_]] < 1}
        if doubtful:
            cost = Fraction(
                search.compiled.money(one.cash_hundredths, one.hours_hundredths), search.compiled.money_scale
            )
            inspections.append((one.id, cost, doubtful))
    sets: dict[Settled, tuple[Fraction, tuple[str, ...]]] = {}
    for size in range(1, len(inspections) + 1):
        search.meter.check()
        for chosen in combinations(inspections, size):
            settled = tuple(sorted(set().union(*(doubtful for _, _, doubtful in chosen))))
            offer = (sum((cost for _, cost, _ in chosen), Fraction(0)), tuple(id_ for id_, _, _ in chosen))
            if settled not in sets or (offer[0], len(offer[1]), offer[1]) < (
                sets[settled][0],
                len(sets[settled][1]),
                sets[settled][1],
            ):
                sets[settled] = offer
    return sets


def _odds_ranges(
    search: RouteSearch, values: Values, settled: Settled, cost: Fraction
) -> dict[str, tuple[Fraction, Fraction]]:
    """For each settled fault: the odds between which looking first beats going in blind, all else as stated.

    Looking costs a straight line in the odds, going in blind the lowest of many lines, so there is one range.
    """
    looking = {fault: _looking_line(search, values, settled, cost, fault) for fault in settled}
    edges: dict[tuple[int, int], Fraction] = {}

    def ask() -> list[Odds]:
        for fault in settled:
            for end in (0, 1):
                edges[fault, end] = _edge(search.odds, values, looking[fault], fault, Fraction(end))
        return [_with(search.odds, fault, odds) for (fault, _), odds in edges.items()]

    values.settle(ask)
    return {search.compiled.worn[fault].fault.id: (edges[fault, 0], edges[fault, 1]) for fault in settled}


def _with(odds: Odds, fault: int, chance: Fraction) -> Odds:
    return (*odds[:fault], chance, *odds[fault + 1 :])


def _looking_line(search: RouteSearch, values: Values, settled: Settled, cost: Fraction, fault: int) -> Line:
    others = tuple(one for one in settled if one != fault)
    if_not, if_worn = (cost + _after(values, others, _with(search.odds, fault, Fraction(state))) for state in (0, 1))
    return Line(if_not, if_worn - if_not)


def _edge(odds: Odds, values: Values, looking: Line, fault: int, end: Fraction) -> Fraction:
    """Where, going from the stated odds to `end`, the lowest known blind line comes down to the looking line."""
    inside, reached = odds[fault], end
    while True:
        line = values.guessed_line(_with(odds, fault, reached), fault)
        nearer = crossing(line, looking)
        if line.at(reached) >= looking.at(reached) or nearer is None or nearer == reached:
            return reached
        if not min(inside, reached) <= nearer <= max(inside, reached):
            return reached
        reached = nearer

"""Is looking first worth it? Inspections paid now, then the best route for what they tell.

For a set of inspections that settles some faults: its cost, plus the average, over what may be found, of the best
expected cost with those odds at 0 or 1 (ROUTES.md, "Look first"). The value of knowing everything bounds what
any set can gain, so most sets are never priced.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import combinations, product
from math import prod

from graph.search.best import Found
from graph.search.lines import Line, crossing, line_in_odds
from graph.search.price import Assembly
from graph.search.result import LookFirst
from graph.search.routes import Odds, RouteSearch

Settled = tuple[int, ...]  # places of faults


def look_first(search: RouteSearch, blind: Found, known: Sequence[Assembly]) -> tuple[LookFirst | None, bool]:
    """The best set of inspections if it beats the best route taken blind, and whether that is proven."""
    values = _Values(search, list(known))
    values.learn([search.odds])
    now = values.of(search.odds)
    sets = _distinct_sets(search)
    if not sets:
        return None, values.complete
    everything = tuple(sorted({fault for settled in sets for fault in settled}))
    most_gain = now - values.after(everything, search.odds)
    best: tuple[Fraction, int, tuple[str, ...], Settled] | None = None
    for settled, (cost, names) in sorted(sets.items(), key=lambda one: (one[1], one[0])):
        if cost >= most_gain or (best is not None and cost + now - most_gain > best[0]):
            continue
        worth = cost + values.after(settled, search.odds)
        if worth < now and (best is None or (worth, len(names), names) < best[:3]):
            best = (worth, len(names), names, settled)
    if best is None:
        return None, values.complete
    worth, _, names, settled = best
    cost = sets[settled][0]
    ranges = {
        search.compiled.worn[fault].fault.id: _odds_range(search, values, settled, cost, fault) for fault in settled
    }
    return LookFirst(names, worth, ranges), values.complete


@dataclass(slots=True)
class _Values:
    """Best expected costs by odds, as money; searched many at a time and remembered."""

    search: RouteSearch
    known: list[Assembly]
    best: dict[Odds, Found] = field(default_factory=dict)
    complete: bool = True

    def learn(self, scenarios: Sequence[Odds]) -> None:
        new = [odds for odds in dict.fromkeys(scenarios) if odds not in self.best]
        found, complete = self.search.best_each("expected", new, self.known)
        self.complete &= complete
        for odds, best in zip(new, found, strict=True):
            self.best[odds] = best.found[0]
            if all(best.found[0].assembly.options != one.options for one in self.known):
                self.known.append(best.found[0].assembly)

    def of(self, odds: Odds) -> Fraction:
        if odds not in self.best:
            self.learn([odds])
        scale = prod(one.denominator for one in odds)
        return Fraction(self.best[odds].numbers[0], scale * self.search.compiled.money_scale)

    def after(self, settled: Settled, odds: Odds) -> Fraction:
        """The average of the best expected cost once these faults are known."""
        outcomes = list(_outcomes(settled, odds))
        self.learn([known for known, _ in outcomes])
        return sum((probability * self.of(known) for known, probability in outcomes), Fraction(0))


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


def _odds_range(
    search: RouteSearch, values: _Values, settled: Settled, cost: Fraction, fault: int
) -> tuple[Fraction, Fraction]:
    """The odds of one settled fault between which looking first beats going in blind, all else as stated.

    Looking costs a straight line in the odds, going in blind the lowest of many lines, so there is one range.
    """

    def at(odds: int | Fraction) -> Odds:
        return (*search.odds[:fault], Fraction(odds), *search.odds[fault + 1 :])

    others = tuple(one for one in settled if one != fault)
    if_not, if_worn = (cost + values.after(others, at(state)) for state in (0, 1))
    looking = Line(if_not, if_worn - if_not)

    def blind_line(odds: Fraction) -> Line:
        values.learn([at(odds)])
        return line_in_odds(search.compiled, search.odds, fault, values.best[at(odds)])

    return (
        _edge(looking, blind_line, search.odds[fault], Fraction(0)),
        _edge(looking, blind_line, search.odds[fault], Fraction(1)),
    )


def _edge(looking: Line, blind_line: Callable[[Fraction], Line], inside: Fraction, end: Fraction) -> Fraction:
    """Where, going from `inside` to `end`, the lowest blind line comes down to the looking line."""
    odds = end
    while True:
        line = blind_line(odds)
        if line.at(odds) >= looking.at(odds):
            return odds
        nearer = crossing(line, looking)
        if nearer is None or nearer == odds or not min(inside, odds) <= nearer <= max(inside, odds):
            return odds
        odds = nearer

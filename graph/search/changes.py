"""What would change the answer: the nearest odds, bench rate or part price at which another route is the cheapest.

In each of these numbers a route's cost is a straight line and the best cost the lowest of them, so the nearest
change is found by asking for the best route at the end of the range and at each meeting of lines (`lines`).
A price needs one search only: the best route without the part, or with it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from fractions import Fraction
from functools import partial
from math import floor

from graph.conversion.document import Conversion
from graph.search.asks import Ask, best_answers
from graph.search.best import Best, FoundRoute
from graph.search.budget import BudgetSpent
from graph.search.compiled import Compiled, at_rate, compile_conversion
from graph.search.describe import describe
from graph.search.lines import CostLine, line_in_odds, nearest_change
from graph.search.outlook import Outlook, stated, suppose_known
from graph.search.price import Pricer
from graph.search.result import Route, RouteChange
from graph.search.routes import RouteSearch
from graph.search.values import Values

MOST_RATE = Fraction(1000)
MOST_RATE_TIMES = 20

Nearest = tuple[Fraction, Route] | None


def changes(conversion: Conversion) -> tuple[RouteChange, ...]:
    """The nearest change in each fault's odds, in the bench rate and in each bought part's price.

    Empty where there is no route. The rate is looked at from 0 to twenty times today's (at least to 1000 per hour).
    A part that could be bought for several positions at once is left out.
    """
    return find_changes(RouteSearch(compile_conversion(conversion)), None)[0]


def find_changes(search: RouteSearch, now: FoundRoute | None) -> tuple[tuple[RouteChange, ...], list[str]]:
    """The same, and what was not worked out before the search's meter was spent. `now`: the best route, if known."""
    made: list[RouteChange] = []
    missing = [f"odds of {worn.fault.id}" for worn in search.compiled.worn]
    missing += ["rate", *(f"price of {part}" for _, part, _ in _bought(search.compiled.conversion))]
    with suppress(BudgetSpent, MemoryError):
        if now is None:
            best, _ = search.best("expected", search.outlook, 1)
            if not best.found:
                return (), []
            now = best.found[0]
        made += _odds_changes(search, now)
        made.append(_rate_change(search, now))
        made += _price_changes(search, now)
    return tuple(made), missing[len(made) :]


def _odds_changes(search: RouteSearch, now: FoundRoute) -> list[RouteChange]:
    """Of a doubt the odds are looked at as long as it is left to chance, and then at 1, where it is due."""
    compiled, outlook = search.compiled, search.outlook
    values = Values(search, [now.assembly])
    made: list[RouteChange] = []

    def ask() -> list[Outlook]:
        relied_on: list[Outlook] = []

        def best_at(fault: int, chance: Fraction) -> tuple[CostLine, Route]:
            tried = outlook.not_due(fault).with_odds(fault, chance)
            relied_on.append(tried)
            found = values.guess(tried)
            return line_in_odds(compiled, outlook, fault, found), _route(compiled, values.guessed(tried))

        def nearest(fault: int) -> Nearest:
            odds, line = outlook.odds[fault], line_in_odds(compiled, outlook, fault, now)
            if not outlook.due >> fault & 1:
                found = _nearest(line, odds, (Fraction(0), Fraction(1)), partial(best_at, fault))
                return found or where_due(fault)
            left_to_chance, route = best_at(fault, odds)
            if left_to_chance.at(odds) < line.at(odds):
                return odds, route  # at any odds below
            return _nearest(line, odds, (Fraction(0),), partial(best_at, fault))

        def where_due(fault: int) -> Nearest:
            if not compiled.worn[fault].fault.on:
                return None
            tried = suppose_known(compiled, outlook, {fault: Fraction(1)})
            relied_on.append(tried)
            best = values.guessed(tried)
            mine = Best(compiled, "expected", best.pricer, 1)
            mine.offer(now.assembly)
            if not best.found or (mine.found and mine.found[0].numbers[0] <= best.found[0].numbers[0]):
                return None
            return Fraction(1), _route(compiled, best)

        made.clear()
        for fault, worn in enumerate(compiled.worn):
            made.append(_change("odds", worn.fault.id, outlook.odds[fault], nearest(fault)))
        return relied_on

    values.settle(ask)
    if not values.complete:
        raise BudgetSpent
    return made


def _rate_change(search: RouteSearch, now: FoundRoute) -> RouteChange:
    rate = Fraction(search.compiled.conversion.rate_hundredths, 100)
    most = max(MOST_RATE, rate * MOST_RATE_TIMES)
    ends = [at_rate(search.compiled, one) for one in (Fraction(0), most)]

    def line(found: FoundRoute) -> CostLine:
        base, end = (_expected(one, found) for one in ends)
        return CostLine(base, (end - base) / most)

    def best_at(number: Fraction) -> tuple[CostLine, Route]:
        tried = search.at_rate(number)
        (best,), complete = best_answers(tried, [Ask(search.outlook)], [now.assembly, *search.pool.values()])
        if not complete:
            raise BudgetSpent
        return line(best.found[0]), _route(tried.compiled, best)

    return _change("rate", "", rate, _nearest(line(now), rate, (Fraction(0), most), best_at))


def _price_changes(search: RouteSearch, now: FoundRoute) -> list[RouteChange]:
    """A part not used must save its price to be bought; one in use may be as dear as the best route without it."""
    compiled, cost = search.compiled, _money(search, now)
    bought = _bought(compiled.conversion)
    asks = []
    for position, part, price in bought:
        place = compiled.position_ids.index(position)
        held = compiled.candidates[place]
        used = held[now.assembly.options[place]].part == part
        only = frozenset(number for number, one in enumerate(held) if (one.part == part) != used)
        asks.append(Ask(search.outlook, (place, only), None if used else floor((cost + price) * compiled.money_scale)))
    bests, complete = best_answers(search, asks, search.pool.values())
    if not complete:
        raise BudgetSpent
    made = []
    for (_, part, price), ask, best in zip(bought, asks, bests, strict=True):
        if not best.found:
            made.append(RouteChange("price", part, price, None, None))
            continue
        dearer = _money(search, best.found[0]) - cost
        value = price + dearer if ask.most is None else price - dearer
        made.append(_change("price", part, price, (value, _route(compiled, best)) if value >= 0 else None))
    return made


def _money(search: RouteSearch, found: FoundRoute) -> Fraction:
    return _expected(search.compiled, found)


def _bought(conversion: Conversion) -> list[tuple[str, str, Fraction]]:
    """(position, part, price) of every part that could be bought for one position, by part."""
    offers: dict[str, dict[str, Fraction]] = {}
    for position in conversion.positions:
        for one in position.candidates:
            if one.cash_hundredths and not one.as_found:
                offers.setdefault(one.part, {})[position.id] = Fraction(one.cash_hundredths, 100)
    made = []
    for part, where in sorted(offers.items()):
        if len(where) == 1:
            (place, price) = next(iter(where.items()))
            made.append((place, part, price))
    return made


def _route(compiled: Compiled, best: Best) -> Route:
    return describe(compiled, best.pricer, best.found[0].assembly, best.found[0].done)


def _expected(compiled: Compiled, found: FoundRoute) -> Fraction:
    return describe(compiled, Pricer(compiled, stated(compiled)), found.assembly, found.done).expected


def _nearest(
    line: CostLine, number: Fraction, ends: Sequence[Fraction], best_at: Callable[[Fraction], tuple[CostLine, Route]]
) -> Nearest:
    """The nearer of the changes on both sides, the lower one if both are as near."""
    both = [nearest_change(line, end, best_at) for end in ends if end != number]
    found = [one for one in both if one is not None]
    return min(found, key=lambda one: (abs(one[0] - number), one[0]), default=None)


def _change(kind: str, what: str, now: Fraction, nearest: Nearest) -> RouteChange:
    return RouteChange(kind, what, now, *(nearest if nearest is not None else (None, None)))

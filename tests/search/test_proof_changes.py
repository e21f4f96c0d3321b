"""What would change the answer, against enumeration.

A route's expected cost is a straight line in each odds, in the rate and in each price, so the least of all routes is
concave: a route that is the cheapest at two values is the cheapest between them. Hence three looks are enough: at the
named value, at the same distance on the other side, and at the far end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from graph.search.result import RouteChange
from tests.reference.enumerate import Way, list_ways, rank, stated_odds
from tests.reference.maker import SMALL, TINY, Document, make_document
from tests.reference.reading import candidates_of, exact
from tests.search.asking import list_changes

Cost = Callable[[Way, Fraction], Fraction]
CHUNK = 15


@pytest.mark.parametrize("shape", [TINY, SMALL], ids=["tiny", "small"])
@pytest.mark.parametrize("start", range(0, 40, CHUNK))
def test_the_nearest_change_is_where_another_route_becomes_the_cheapest(shape: object, start: int) -> None:
    wrong = []
    for seed in range(start, start + CHUNK):
        document = make_document(seed, shape)  # type: ignore[arg-type]
        ways = list_ways(document)
        wrong += [f"{shape} seed {seed}: {fault}" for fault in _faults(document, ways)] if ways else []

    assert wrong == []


def _faults(document: Document, ways: list[Way]) -> list[str]:
    best = rank(ways, "expected", stated_odds(document))[0]
    found = list_changes(document)
    wanted = {("odds", fault["id"]) for fault in document["faults"]} | {("rate", "")}
    wanted |= {("price", each["part"]) for each in candidates_of(document) if each["cash"] and not each["as_found"]}
    wrong = [] if {(each.kind, each.what) for each in found} == wanted else [f"changes named {found}, wanted {wanted}"]
    for change in found:
        cost, low, high = _line(document, change)
        wrong += [f"{change.kind} {change.what}: {fault}" for fault in _judged(change, ways, best, cost, low, high)]
    return wrong


def _line(document: Document, change: RouteChange) -> tuple[Cost, Fraction, Fraction]:
    """The expected cost as a function of the changed number, and the range of that number."""
    odds = stated_odds(document)
    if change.kind == "odds":
        return lambda way, value: way.expected_at(odds | {change.what: value}), Fraction(0), Fraction(1)
    if change.kind == "rate":
        rated = {"document": document}

        def at_rate(way: Way, value: Fraction) -> Fraction:
            if rated["document"]["rate"] != str(value):
                rated["document"] = document | {"rate": str(value)}
            return replace(way, document=rated["document"]).expected_at(odds)

        return at_rate, Fraction(0), max(Fraction(1000), 20 * exact(document["rate"]))
    bought = {each["id"] for each in candidates_of(document) if each["part"] == change.what}
    stated = exact(next(each["cash"] for each in candidates_of(document) if each["part"] == change.what))

    def at_price(way: Way, value: Fraction) -> Fraction:
        return way.expected_at(odds) + (value - stated if bought & way.picked else 0)

    return at_price, Fraction(0), Fraction(10**6)


def _judged(change: RouteChange, ways: list[Way], best: Way, cost: Cost, low: Fraction, high: Fraction) -> list[str]:
    def beaten(value: Fraction) -> bool:
        return min(cost(way, value) for way in ways) < cost(best, value)

    if change.value is None:
        return [f"nothing is said to change, but at {end} another route wins" for end in (low, high) if beaten(end)]
    distance = change.value - change.now
    end = high if distance > 0 else low
    mirrored = min(max(change.now - distance, low), high)
    wrong = []
    if beaten(change.value):
        wrong.append(f"another route wins already before {change.value}")
    if change.value != end and distance and not beaten(end):
        wrong.append(f"after {change.value} nothing changes")
    if distance and beaten(mirrored):
        wrong.append(f"{change.value} is not the nearest: something changes before {mirrored}")
    return wrong + _named(change, ways, best, cost)


def _named(change: RouteChange, ways: list[Way], best: Way, cost: Cost) -> list[str]:
    """The route that is said to take over has to be another one, and as cheap there."""
    route, value = change.route, change.value
    if route is None or value is None:
        return ["a value without a route"]
    ids, tasks = {*route.picks.values(), *route.links.values()}, set(route.tasks)
    other = next((way for way in ways if way.picked == ids and way.tasks == tasks), None)
    if other is None:
        return ["the route that takes over is not allowed"]
    if other is best:
        return ["the route that takes over is the same one"]
    return [] if cost(other, value) == cost(best, value) else ["the route that takes over is not as cheap there"]

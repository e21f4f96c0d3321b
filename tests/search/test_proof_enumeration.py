"""The whole answer against plain enumeration: every route of 380 small documents was listed and sorted."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from graph.search import routes
from graph.search.result import OBJECTIVES, Route, Solution
from tests.reference import enumerate as every
from tests.reference.enumerate import Way, list_ways, stated_odds
from tests.reference.maker import SMALL, TINY, Document, Shape, make_document
from tests.rotating import todays
from tests.search.asking import ask, faults_found

CHUNK = 10
ODD_SHAPES = (
    Shape(1, 3, 0, tasks=3, chains=1, faults=2, rules=1, density=1),
    Shape(2, 4, 1, tasks=3, chains=0, faults=3, rules=0, inspections=3, density=0.9),
    Shape(5, 2, 8, tasks=6, chains=3, faults=4, rules=3, inspections=3, density=0.85),
    Shape(4, 2, 3, tasks=1, chains=1, faults=1, rules=0, inspections=1, density=0.9),
)
DOCUMENTS = [(shape, seed) for shape in (TINY, SMALL) for seed in range(100)]
DOCUMENTS += [(shape, seed) for shape in ODD_SHAPES for seed in range(20)]


@pytest.mark.parametrize("start", todays(range(0, len(DOCUMENTS), CHUNK), 2))
def test_every_part_of_the_answer_is_what_enumeration_finds(start: int) -> None:
    wrong = []
    for shape, seed in DOCUMENTS[start : start + CHUNK]:
        document = make_document(seed, shape)
        ways = list_ways(document)
        for objective in OBJECTIVES:
            solution = ask(document, objective, alternatives=4)
            found = [*complaints(document, ways, objective, solution), *faults_found(document, solution)]
            wrong += [f"{shape} seed {seed} {objective}: {complaint}" for complaint in found]

    assert wrong == []


@pytest.mark.parametrize(("start", "easy"), [(0, 200), (CHUNK, 1)])
def test_rules_that_take_several_picks_to_wake_are_kept_exactly(
    start: int, easy: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As demands of a question make them: this, that and the third do not go together. One by one, and in blocks."""
    monkeypatch.setattr(routes, "EASY", easy)
    wrong, bound = [], 0
    for seed in range(start, start + CHUNK):
        document = make_document(seed, TINY)
        chance = random.Random(seed)
        held = [[one["id"] for one in position["candidates"]] for position in document["positions"]]
        for _ in range(3):
            when, also, out = (chance.choice(ids) for ids in held)
            document["rules"].append({"when": when, "also": [also], "excludes": [out], "demand": "first gear"})
        without = make_document(seed, TINY)
        ways = list_ways(document)
        bound += len(ways) < len(list_ways(without))
        wrong += [
            f"seed {seed}: {one}" for one in complaints(document, ways, "expected", ask(document, alternatives=4))
        ]

    assert wrong == []
    assert bound > 0


def complaints(document: Document, ways: list[Way], objective: str, solution: Solution) -> list[str]:
    if not ways:
        return [] if _is_no_route(solution) else [f"there is no route, found {solution.status}"]
    if solution.status != "optimal":
        return [f"there are {len(ways)} routes, found {solution.status}"]
    odds = stated_odds(document)
    wrong = []
    wanted = [_as_seen(way, document) for way in every.rank(ways, objective, odds)[:5]]
    found = [_as_found(route) for route in solution.routes]
    if found != wanted:
        wrong.append(f"routes {found}, enumerated {wanted}")
    points = [(Fraction(one.cash_hundredths, 100), Fraction(one.hours_hundredths, 100)) for one in solution.front]
    if set(points) != every.front(ways):
        wrong.append(f"front {sorted(points)}, enumerated {sorted(every.front(ways))}")
    return [*wrong, *_looking(document, ways, solution)] if objective == "expected" else wrong


def _is_no_route(solution: Solution) -> bool:
    answered = solution.status == "no route" and bool(solution.open)
    return answered and not (solution.routes or solution.front or solution.look_first)


def _as_seen(way: Way, document: Document) -> tuple[object, ...]:
    odds = stated_odds(document)
    half, most = way.quantile(odds, Fraction(1, 2)), way.quantile(odds, Fraction(9, 10))
    sums = (way.cash, way.hours, way.total, way.expected_at(odds), way.days, half, most)
    return way.picks, way.links, sorted(way.tasks), sums, way.chains


def _as_found(route: Route) -> tuple[object, ...]:
    cash, hours = Fraction(route.cash_hundredths, 100), Fraction(route.hours_hundredths, 100)
    sums = (cash, hours, route.total, route.expected, route.days, route.p50, route.p90)
    chains = {chain: Fraction(value, 1000) for chain, value in route.chains_um.items()}
    return dict(route.picks), dict(route.links), sorted(route.tasks), sums, chains


def _looking(document: Document, ways: list[Way], solution: Solution) -> list[str]:
    wanted, found = every.look_first(document, ways), solution.look_first
    if wanted is None or found is None:
        return [] if wanted is None and found is None else [f"look first {found}, enumerated {wanted}"]
    worth, sets = wanted
    if found.expected != worth or tuple(sorted(found.inspections)) not in {tuple(sorted(each)) for each in sets}:
        return [f"look first {found}, enumerated {wanted}"]
    return [
        f"looking is said to pay from {low} to {high} of {fault}; there it is worth {look}, going blind {blind}"
        for fault, (low, high) in found.odds_range.items()
        for end, bound in ((low, 0), (high, 1))
        for look, blind in [_both_worths(document, ways, tuple(found.inspections), fault, end)]
        if look is None
        or not (look == blind or (end == bound and look < blind))
        or not low <= stated_odds(document)[fault] <= high
    ]


def _both_worths(
    document: Document, ways: list[Way], inspections: tuple[str, ...], fault: str, odds: Fraction
) -> tuple[Fraction | None, Fraction]:
    """What looking and what going blind are worth when this fault has these odds."""
    changed = stated_odds(document) | {fault: odds}
    return every.look_worth(document, ways, inspections, changed), every.blind_worth(document, ways, changed)

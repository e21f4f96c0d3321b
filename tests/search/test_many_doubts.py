"""Jobs of which hardly anything is known: dozens of doubts, dozens of measurings.

What is exact on small documents is checked against enumeration with the limits set so low that they are cut there as
well; large ones against draws of what may be found, as a reader could make them. The formulas are the route's
definition (DEVELOPERS.md, "What a route costs").
"""

from __future__ import annotations

import random
from fractions import Fraction
from functools import partial, reduce
from itertools import combinations
from math import prod
from operator import or_

import pytest

from graph.conversion.parse import parse_conversion
from graph.errors import InvalidDocument
from graph.search import choosing, looks, spread, weighing
from graph.search.opening import Hidden, worth_opening
from graph.search.result import Route, Solution
from tests.reference.enumerate import list_ways, rank, stated_odds
from tests.reference.enumerate import look_first as enumerated_look
from tests.reference.maker import TINY, WORKED, Shape
from tests.reference.reading import Document, closure, exact, price
from tests.reference.unknowns import make_open_document, make_unknown_job
from tests.search.asking import ask

MEASURED = Shape(2, 3, 2, tasks=4, chains=0, faults=2, rules=0, inspections=3, density=1.0)
DRAWS = 1_500


def part(solution: Solution, name: str) -> tuple[bool, Fraction | None]:
    (found,) = [one for one in solution.parts if one.part == name]
    return found.complete, found.gap


def drawn_costs(document: Document, route: Route, chance: random.Random) -> list[Fraction]:
    """What the route comes to, what has failed drawn anew each time."""
    picked = {*route.picks.values(), *route.links.values()}
    there = [fault for fault in document["faults"] if picked & set(fault["on"])]
    reach_of = {fault["id"]: closure(document, fault["reach"]) for fault in there}
    task_price = {task["id"]: price(document, task) for task in document["tasks"]}
    made = []
    for _ in range(DRAWS):
        failed = [fault for fault in there if chance.random() < fault["odds"]]
        hidden = [one for one in failed if not (one["shows"] and reach_of[one["id"]] <= set(route.tasks))]
        again = frozenset[str]().union(*(reach_of[one["id"]] for one in hidden))
        repairs = sum((price(document, one) for one in failed), Fraction(0))
        made.append(route.total + repairs + sum((task_price[task] for task in again), Fraction(0)))
    return made


def test_fifty_doubts_and_thirty_measurings_are_answered_with_both_ends_of_the_spread() -> None:
    document = make_unknown_job(1)
    assert (len(document["positions"]), len(document["joints"])) == (20, 26)
    assert len(document["faults"]) >= 45 and len(document["inspections"]) == 30

    solution = ask(document)

    best = solution.routes[0]
    assert part(solution, "route") == (True, None)
    assert best.p50_least is not None and best.p90_least is not None
    assert best.p50_least < best.p50 < best.p50_least + 10 and best.p90_least < best.p90 < best.p90_least + 20
    costs = drawn_costs(document, best, random.Random("spread"))
    mean = sum(costs) / DRAWS
    error = (float(sum((one - mean) ** 2 for one in costs)) / DRAWS / DRAWS) ** 0.5
    assert abs(float(mean - best.expected)) < 4 * error
    for share, least, most in ((0.5, best.p50_least, best.p50), (0.9, best.p90_least, best.p90)):
        slack = 4 * (share * (1 - share) / DRAWS) ** 0.5
        assert sum(one <= most for one in costs) / DRAWS > share - slack
        assert sum(one < least for one in costs) / DRAWS < share + slack


def test_the_best_of_thirty_measurings_where_every_route_shares_the_doubts_is_proven() -> None:
    solution = ask(make_unknown_job(5))

    assert part(solution, "look first") == (True, None)
    assert solution.look_first is not None and len(solution.look_first.inspections) > 5
    assert solution.look_first.expected < solution.routes[0].expected


def test_both_ends_of_a_rounded_spread_enclose_the_exact_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spread, "ALWAYS_EXACT", 0)
    monkeypatch.setattr(spread, "MOST_STATES", 1)
    monkeypatch.setattr(spread, "MOST_ADDITIONS", 200)
    monkeypatch.setattr(spread, "MOST_UNIONS", 2)
    rounded = 0
    for seed in range(12):
        document = make_open_document(seed, TINY)
        routes = ask(document, alternatives=4).routes
        ways = rank(list_ways(document), "expected", stated_odds(document))
        for route, way in zip(routes, ways, strict=False):
            ends = ((route.p50_least, route.p50), (route.p90_least, route.p90))
            for level, (least, most) in zip((Fraction(1, 2), Fraction(9, 10)), ends, strict=True):
                assert least is not None
                assert least <= way.quantile(stated_odds(document), level) <= most
            rounded += not route.spread_is_exact

    assert rounded > 5


def test_what_a_look_is_worth_is_the_same_over_few_routes_as_searched_outcome_by_outcome(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    documents = [*(make_open_document(seed, MEASURED) for seed in range(10)), make_open_document(37, WORKED)]
    over_few = [ask(document, alternatives=0).look_first for document in documents]

    monkeypatch.setattr(looks, "find_contenders", lambda *_: None)
    searched = [ask(document, alternatives=0).look_first for document in documents]

    assert over_few == searched
    assert any(over_few)


@pytest.mark.parametrize("over_few", [True, False])
def test_where_not_every_set_of_measurings_is_weighed_the_answer_says_how_far_off_it_may_be(
    over_few: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(choosing, "FEW_TESTS", 1)
    monkeypatch.setattr(choosing, "FOR_FINDING", 0)
    monkeypatch.setattr(choosing, "FOR_RULING_OUT", 1)
    monkeypatch.setattr(weighing, "MOST_OUTCOMES", 2)
    monkeypatch.setattr(looks, "MOST_SETTLED", 1)
    if not over_few:
        monkeypatch.setattr(looks, "find_contenders", lambda *_: None)
    cut = 0
    for seed in range(3):
        document = make_open_document(seed, MEASURED)
        solution = ask(document, alternatives=0)
        if not solution.routes:
            continue
        ways = list_ways(document)
        instead = document.get("instead")
        blind = min(solution.routes[0].expected, solution.routes[0].expected if instead is None else exact(instead))
        best = enumerated_look(document, ways)
        least = blind if best is None else best[0]
        said = blind if solution.look_first is None else solution.look_first.expected
        complete, gap = part(solution, "look first")
        if complete:
            assert said == least
        else:
            assert gap is not None and said - gap <= least <= said
            cut += 1

    assert cut


def test_only_what_can_pay_is_laid_open_on_purpose() -> None:
    chance = random.Random("opening")
    for _ in range(150):
        prices = [chance.randrange(0, 50) for _ in range(6)]
        hidden = [Hidden(chance.randrange(1, 64), Fraction(chance.randrange(0, 11), 10)) for _ in range(7)]
        required = chance.randrange(64)
        reaches = [one.reach for one in hidden]
        every = {
            reduce(or_, chosen, required) for size in range(len(reaches) + 1) for chosen in combinations(reaches, size)
        }

        named = worth_opening(required, hidden, partial(money, prices), lambda: None)

        assert named <= every
        best, least = (min(laid_open(prices, hidden, required, done) for done in sets) for sets in (named, every))
        assert best == least


def money(prices: list[int], tasks: int) -> int:
    return sum(one for place, one in enumerate(prices) if tasks >> place & 1)


def laid_open(prices: list[int], hidden: list[Hidden], required: int, done: int) -> tuple[Fraction, int]:
    """What it costs to do these tasks and to do again what comes back; the money of the tasks, for ties."""
    back = Fraction(0)
    for place, one in enumerate(prices):
        behind = [each for each in hidden if each.reach & ~done and each.reach >> place & 1]
        seen: Fraction = prod((1 - each.odds for each in behind), start=Fraction(1))  # type: ignore[assignment]
        back += one * (1 - seen)
    return money(prices, done & ~required) + back, money(prices, done)


def test_a_document_of_more_doubts_than_any_job_has_is_refused() -> None:
    document = make_unknown_job(0)
    document["faults"] = [dict(document["faults"][0], id=f"u{number}") for number in range(201)]

    with pytest.raises(InvalidDocument, match="faults: 201 entries; at most 200"):
        parse_conversion(document)


def test_looks_that_cannot_change_anything_whatever_is_opened_are_left_aside_and_the_rest_is_worth_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    documents = [make_open_document(seed, MEASURED) for seed in range(9)]
    assert sum(any(look.get("tasks") for look in one["inspections"]) for one in documents) > 3
    aside = [ask(document, alternatives=0).look_first for document in documents]

    monkeypatch.setattr(looks, "FEW_OPENED", 0)
    every = [ask(document, alternatives=0).look_first for document in documents]

    assert aside == every
    assert any(every)

"""Laws that every answer keeps, whatever the document: property tests over random documents."""

from __future__ import annotations

import random
from copy import deepcopy
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from graph.search.result import OBJECTIVES, Solution
from tests.reference.maker import SMALL, TINY, Document, Shape, make_document
from tests.search.asking import ask, worth

SHAPES = (TINY, SMALL, Shape(6, 3, 8, density=0.6), Shape(8, 3, 10))
seeds = st.integers(0, 10_000)
documents = st.builds(make_document, seeds, st.sampled_from(SHAPES))
objectives = st.sampled_from(OBJECTIVES)
law = settings(deadline=None, max_examples=30)
FOREVER = Fraction(10**12)


def least(document: Document, objective: str = "expected") -> Fraction:
    """The best value; more than any where there is no route."""
    routes = ask(document, objective, alternatives=0).routes
    return worth(routes[0], objective) if routes else FOREVER


@law
@given(documents, st.data())
def test_adding_a_fault_never_lowers_the_best_expected_cost(document: Document, data: st.DataObject) -> None:
    tasks = [task["id"] for task in document["tasks"]]
    fault = {
        "id": "one more",
        "position": data.draw(st.sampled_from([position["id"] for position in document["positions"]])),
        "odds": data.draw(st.sampled_from([0, 0.01, 0.3, 0.99, 1])),
        "cash": data.draw(st.integers(0, 300)),
        "reach": data.draw(st.lists(st.sampled_from(tasks), max_size=2, unique=True)),
        "shows": data.draw(st.booleans()),
    }

    assert least(document | {"faults": [*document["faults"], fault]}) >= least(document)


@law
@given(documents, objectives, st.data())
def test_adding_a_choice_never_raises_the_best(document: Document, objective: str, data: st.DataObject) -> None:
    richer = deepcopy(document)
    joint = data.draw(st.sampled_from(richer["joints"]))
    ends = {position["id"]: position for position in richer["positions"]}
    position = ends[joint["between"][0]]
    position["candidates"].append(_another(data, "one more", {"part": "one more"}))
    for each in [other for other in richer["joints"] if position["id"] in other["between"]]:
        far = next(ends[end] for end in each["between"] if end != position["id"])
        mate = data.draw(st.sampled_from(far["candidates"]))["id"]
        parts = ["one more" if end == position["id"] else mate for end in each["between"]]
        each["links"].append(_another(data, f"link at {each['id']}", {"parts": parts}))

    assert least(richer, objective) <= least(document, objective)


def _another(data: st.DataObject, name: str, more: Document) -> Document:
    cash, hours = data.draw(st.integers(0, 200)), data.draw(st.integers(0, 3))
    return {"id": name, "cash": cash, "hours": hours, "tasks": data.draw(st.sampled_from([[], ["t0"], ["t1"]])), **more}


@law
@given(
    st.integers(1, 6), st.integers(1, 500), st.integers(0, 300), st.lists(st.integers(0, 200), min_size=6, max_size=6)
)
def test_k_operations_in_one_opened_state_pay_for_opening_it_once(
    count: int, access: int, own: int, hundredths: list[int]
) -> None:
    tasks = [{"id": "out", "hours": access / 100}, {"id": "strip", "after": ["out"], "cash": own, "hours": 5}]
    work = [{"id": f"c{n}", "part": f"c{n}", "hours": hundredths[n] / 100, "tasks": ["strip"]} for n in range(count)]
    positions = [{"id": f"p{n}", "candidates": [work[n]]} for n in range(count)]

    best = ask({"gearbox": "x", "engine": "y", "rate": 60, "tasks": tasks, "positions": positions}, "total").routes[0]

    assert best.hours_hundredths == access + 500 + sum(hundredths[:count])
    assert best.total == own + 60 * Fraction(best.hours_hundredths, 100)


@law
@given(documents, objectives, st.integers(0, 1000))
def test_the_answer_does_not_depend_on_the_order_of_the_input(document: Document, objective: str, seed: int) -> None:
    shuffled = deepcopy(document)
    _shuffle(shuffled, random.Random(seed))

    assert _plain(ask(shuffled, objective)) == _plain(ask(document, objective))


def _shuffle(value: Any, chance: random.Random) -> None:
    """Every list whose order means nothing, at any depth; the two ends of a joint keep their order."""
    for key, each in value.items() if isinstance(value, dict) else enumerate(value):
        if isinstance(each, (dict, list)) and key not in ("between", "parts"):
            _shuffle(each, chance)
            if isinstance(each, list):
                chance.shuffle(each)


def _plain(solution: Solution) -> list[object]:
    routes = [(dict(r.picks), dict(r.links), set(r.tasks), r.expected, r.p50, r.p90, r.days) for r in solution.routes]
    front = [(one.cash_hundredths, one.hours_hundredths, dict(one.picks), dict(one.links)) for one in solution.front]
    look = solution.look_first and (solution.look_first.inspections, dict(solution.look_first.odds_range))
    return [solution.status, routes, front, look, {(each.what, each.kind) for each in solution.open}]


@law
@given(documents, objectives)
def test_a_higher_rate_never_lowers_the_best(document: Document, objective: str) -> None:
    assert least(document | {"rate": document["rate"] + 20}, objective) >= least(document, objective)


@law
@given(documents, objectives, st.integers(1, 80))
def test_a_deadline_never_lowers_the_best_and_is_kept(document: Document, objective: str, days: int) -> None:
    limited = document | {"deadline": days}

    routes = ask(limited, objective).routes

    assert all(route.days <= days for route in routes)
    assert least(limited, objective) >= least(document | {"deadline": None}, objective)


@law
@given(documents, st.sampled_from(["expected", "total"]))
def test_twice_the_prices_and_twice_the_rate_cost_twice(document: Document, objective: str) -> None:
    dearer = deepcopy(document)
    _double(dearer)
    single = least(document, objective)

    assert least(dearer, objective) == (FOREVER if single == FOREVER else 2 * single)


def _double(value: Any) -> None:
    for key, each in list(value.items()) if isinstance(value, dict) else list(enumerate(value)):
        if key in ("cash", "rate"):
            value[key] = round(2 * each, 2)
        elif isinstance(each, (dict, list)):
            _double(each)


@law
@given(documents)
def test_looking_first_is_never_named_unless_it_beats_going_blind(document: Document) -> None:
    solution = ask(document)

    if solution.look_first is not None:
        assert solution.look_first.expected < solution.routes[0].expected
        assert all(low <= high for low, high in solution.look_first.odds_range.values())


@law
@given(documents, objectives)
def test_routes_come_best_first_and_no_two_pick_the_same(document: Document, objective: str) -> None:
    routes = ask(document, objective, alternatives=6).routes

    values = [worth(route, objective) for route in routes]
    assert values == sorted(values)
    assert len({(*route.picks.items(), *route.links.items()) for route in routes}) == len(routes)

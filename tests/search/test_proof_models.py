"""The independent models against each other: whoever judges the search is judged first."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from graph.search.result import OBJECTIVES
from tests.reference.allowed import objections
from tests.reference.cpsat import CpSat
from tests.reference.enumerate import Way, list_ways, rank, stated_odds
from tests.reference.highs import highs_minimum
from tests.reference.maker import SMALL, TINY, Document, Shape, make_document
from tests.reference.programme import read_whole

Printed = dict[str, Any]
Spoil = Callable[[Printed], object]
MIXED = Shape(5, 2, 8, tasks=6, chains=3, faults=4, rules=3, inspections=0, density=0.85)


@pytest.mark.parametrize("shape", [TINY, SMALL, MIXED], ids=["tiny", "small", "mixed"])
def test_enumeration_and_both_integer_programmes_find_the_same_minima(shape: Shape) -> None:
    wrong = []
    for seed in range(1000, 1030):
        document = make_document(seed, shape)
        ways, odds, programme = list_ways(document), stated_odds(document), read_whole(document)
        model = CpSat(programme)
        for objective in OBJECTIVES:
            listed = min((way.order(objective, odds)[0] for way in ways), default=None)
            found = (listed, model.minimum(objective), highs_minimum(programme, objective))
            if len(set(found)) > 1:
                wrong.append((shape, seed, objective, found))

    assert wrong == []


def printed(way: Way) -> Printed:
    """The route as the search would print it."""
    odds = stated_odds(way.document)
    spread = {"p50": way.quantile(odds, Fraction(1, 2)), "p90": way.quantile(odds, Fraction(9, 10))}
    return {
        "picks": dict(way.picks),
        "links": dict(way.links),
        "tasks": sorted(way.tasks),
        "cash": float(way.cash),
        "hours": float(way.hours),
        "total": float(way.total),
        "expected": float(way.expected_at(odds)),
        "days": float(way.days),
        "spread": {name: float(amount) for name, amount in spread.items()},
        "chains": {chain: float(value) for chain, value in way.chains.items()},
    }


def test_the_checker_has_nothing_to_object_to_in_any_enumerated_route() -> None:
    checked = 0
    for seed in range(60):
        document = make_document(seed, SMALL)
        for way in list_ways(document):
            checked += 1
            assert objections(document, printed(way)) == []

    assert checked > 500


def some_route() -> tuple[Document, Printed]:
    """A document in which nothing but the spoilt part is wrong, and its best route."""
    document = next(
        document
        for document in (make_document(seed, SMALL) for seed in range(100))
        if len(rank(list_ways(document), "expected", stated_odds(document))) > 3 and document["faults"]
    )
    return document, printed(rank(list_ways(document), "expected", stated_odds(document))[0])


SPOILT: dict[str, Spoil] = {
    "cash": lambda route: route.update(cash=route["cash"] + 0.01),
    "hours": lambda route: route.update(hours=route["hours"] - 0.01),
    "total": lambda route: route.update(total=route["total"] + 0.01),
    "expected": lambda route: route.update(expected=route["expected"] + 0.001),
    "days": lambda route: route.update(days=route["days"] + 0.001),
    "median": lambda route: route["spread"].update(p50=route["spread"]["p50"] + 1),
    "90th percentile": lambda route: route["spread"].update(p90=route["spread"]["p90"] + 1),
    "chain": lambda route: route["chains"].update(k0=route["chains"]["k0"] + 0.001),
    "a pick left out": lambda route: route["picks"].pop("p0"),
    "a link left out": lambda route: route["links"].popitem(),
    "another pick": lambda route: route["picks"].update(p0="p1c0"),
    "a task left out": lambda route: route["tasks"].pop(0),
    "a task twice": lambda route: route["tasks"].append(route["tasks"][0]),
}


@pytest.mark.parametrize("what", SPOILT)
def test_the_checker_objects_to_a_spoilt_route(what: str) -> None:
    document, route = some_route()
    SPOILT[what](route)

    assert objections(document, route)


@pytest.mark.parametrize(
    ("change", "objection"),
    [
        (lambda d, r: d["chains"][0].update(low=None, high=r["chains"]["k0"] - 0.001), "too long"),
        (lambda d, r: d["chains"][0].update(high=None, low=r["chains"]["k0"] + 0.001), "too short"),
        (lambda d, r: d.update(deadline=r["days"] - 0.01), "deadline"),
        (lambda d, r: d.update(features=["unheard of"]), "not offered"),
        (lambda d, r: d["rules"].append({"when": r["picks"]["p0"], "excludes": [r["picks"]["p1"]]}), "rule"),
        (lambda d, r: d["rules"].append({"when": r["picks"]["p0"], "needs_any": ["nobody"]}), "rule"),
        (lambda d, r: d["tasks"][0].update(after=["t9"]) or d["tasks"].append({"id": "t9"}), "closed"),
        (lambda d, r: d["tasks"].append({"id": "t9"}) or r["tasks"].append("t9"), "for nothing"),
    ],
    ids=["long", "short", "late", "feature", "excluded", "needed", "not closed", "for nothing"],
)
def test_the_checker_knows_every_rule(change: Callable[[Document, Printed], object], objection: str) -> None:
    document, route = some_route()
    change(document, route)

    assert any(objection in each for each in objections(document, route))

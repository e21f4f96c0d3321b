"""Asking the search about a plain document, and saying what is wrong with its answer."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from graph.conversion.parse import parse_conversion
from graph.search import as_json, changes, solve
from graph.search.result import Route, RouteChange, Solution
from tests.reference.allowed import objections

Document = dict[str, Any]


def ask(document: Document, objective: str = "expected", alternatives: int = 2) -> Solution:
    """The search's answer about the document."""
    return solve(parse_conversion(document), objective, alternatives)


def answer(document: Document, objective: str = "expected", alternatives: int = 2) -> dict[str, Any]:
    """The same as the JSON object that is printed."""
    return as_json(ask(document, objective, alternatives))


def picked(route: Route) -> frozenset[str]:
    """The ids of the route's candidates and links."""
    return frozenset({*route.picks.values(), *route.links.values()})


def faults_found(document: Document, solution: Solution) -> list[str]:
    """What separate code has to object to in any printed route, with the route's place."""
    printed = as_json(solution)
    return [
        f"{part}[{place}]: {objection}"
        for part in ("routes", "front")
        for place, route in enumerate(printed[part])
        for objection in objections(document, route)
    ]


def worth(route: Route, objective: str) -> Fraction:
    """What the objective counts, in money or hours."""
    if objective == "cash":
        return Fraction(route.cash_hundredths, 100)
    if objective == "hours":
        return Fraction(route.hours_hundredths, 100)
    return route.total if objective == "total" else route.expected


def list_changes(document: Document) -> tuple[RouteChange, ...]:
    """What would change the answer to the question about the expected cost."""
    return changes(parse_conversion(document))

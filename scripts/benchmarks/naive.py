"""What a shortest path over parts costs in error: networkx Dijkstra on the naive graph.

The naive graph has one layer per position, an arrow per pair of candidates of neighbouring layers, and on it the
stand-alone price of the part and of the cheapest link between the two, each with the whole strip-down that it needs.
Joints between other layers, chains, rules and features are not seen. Its picks are then priced truly: the cheapest
route with just these parts, where there is one. The second table is kinder: all joints close and all rules hold, but
every choice is priced alone, so a strip-down that two of them share is paid twice.
"""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import Any

import networkx as nx

from graph.conversion.parse import parse_conversion
from graph.search import solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.table import Table
from tests.reference.maker import LARGE, WORKED, Shape, make_document
from tests.reference.reading import closure, price

Document = dict[str, Any]
FIRST_SEED = 200_000
WIDE = Shape(10, 4, 12, chains=0, rules=0)


def run(options: Namespace) -> list[Table]:
    """How often the path can be built, and how much dearer it is than the cheapest route."""
    count = 15 if options.quick else 100
    shapes = {"10 x 4": WORKED, "10 x 4, no chains, no rules": WIDE, "16 x 6": LARGE}
    shapes = dict(list(shapes.items())[:2]) if options.quick else shapes
    rows = [_row(name, shape, count, naive_picks) for name, shape in shapes.items()]
    heads = (
        "documents",
        "with a route",
        "path can be built",
        "is the cheapest",
        "dearer by",
        "worst",
        "Dijkstra",
        "ours",
    )
    notes = ("Dearer: true total of the path's parts against the proven least total, median and worst of those built.",)
    summed = [_row(name, shape, count, summed_picks) for name, shape in shapes.items()]
    return [
        Table("Dijkstra on the naive graph, total", heads, rows, notes),
        Table("Adding up stand-alone prices, total", (*heads[:6], "adding up", "ours"), summed, notes),
    ]


def _row(name: str, shape: Shape, count: int, choose: Callable[[Document], dict[str, str]]) -> tuple[str, ...]:
    walking, searching, dearer = [], [], []
    possible = 0
    for seed in range(FIRST_SEED, FIRST_SEED + count):
        document = make_document(seed, shape)
        seconds, least = timed(lambda: _least(document))  # noqa: B023
        if least is None:
            continue
        possible += 1
        searching.append(seconds)
        seconds, picks = timed(lambda: choose(document))  # noqa: B023
        walking.append(seconds)
        true = _least(_only(document, picks)) if picks else None
        if true is not None:
            dearer.append(float(true / least - 1))
    exact = sum(share == 0 for share in dearer)
    shares = (f"{middle(dearer):.0%}", f"{max(dearer):.0%}") if dearer else ("-", "-")
    return (
        f"{name} ({count})",
        str(possible),
        str(len(dearer)),
        str(exact),
        *shares,
        in_words(middle(walking)),
        in_words(middle(searching)),
    )


def _least(document: Document) -> Fraction | None:
    routes = solve(parse_conversion(document), "total", 0, with_front=False, with_look_first=False).routes
    return routes[0].total if routes else None


def naive_picks(document: Document) -> dict[str, str]:
    """The candidates on the cheapest path from the first layer to the last; none where the layers do not connect."""
    paths: nx.DiGraph[str] = nx.DiGraph()
    layers = document["positions"]
    for candidate in layers[0]["candidates"]:
        paths.add_edge("start", candidate["id"], weight=_alone(document, candidate))
    for before, after in pairwise(layers):
        links = _cheapest_links(document, before["id"], after["id"])
        for one in before["candidates"]:
            for other in after["candidates"]:
                link = Fraction(0) if links is None else links.get((one["id"], other["id"]))
                if link is not None:
                    paths.add_edge(one["id"], other["id"], weight=link + _alone(document, other))
    for candidate in layers[-1]["candidates"]:
        paths.add_edge(candidate["id"], "end", weight=Fraction(0))
    try:
        path = nx.dijkstra_path(paths, "start", "end")
    except nx.NetworkXNoPath:
        return {}
    return dict(zip([position["id"] for position in layers], path[1:-1], strict=True))


def summed_picks(document: Document) -> dict[str, str]:
    """The candidates whose stand-alone prices add up to the least, all joints closed; none where there is no route."""

    def priced(choice: Document) -> Document:
        return choice | {"cash": float(round(_alone(document, choice), 2)), "hours": 0, "tasks": []}

    positions = [each | {"candidates": [priced(one) for one in each["candidates"]]} for each in document["positions"]]
    joints = [each | {"links": [priced(one) for one in each["links"]]} for each in document["joints"]]
    alone = document | {"positions": positions, "joints": joints, "deadline": None}
    routes = solve(parse_conversion(alone), "total", 0, with_front=False, with_look_first=False).routes
    return dict(routes[0].picks) if routes else {}


def _cheapest_links(document: Document, one: str, other: str) -> dict[tuple[str, str], Fraction] | None:
    """Per pair of parts the cheapest stand-alone link; None where no joint lies between the two positions."""
    joint = next((each for each in document["joints"] if set(each["between"]) == {one, other}), None)
    if joint is None:
        return None
    cheapest: dict[tuple[str, str], Fraction] = {}
    for link in joint["links"]:
        first, second = link["parts"] if joint["between"] == [one, other] else reversed(link["parts"])
        cheapest[first, second] = min(_alone(document, link), cheapest.get((first, second), Fraction(10**12)))
    return cheapest


def _alone(document: Document, choice: Document) -> Fraction:
    tasks = closure(document, choice.get("tasks", []))
    opened = [task for task in document["tasks"] if task["id"] in tasks]
    return sum((price(document, each) for each in [choice, *opened]), Fraction(0))


def _only(document: Document, picks: dict[str, str]) -> Document:
    """The document with each position left only its pick, and the links and rules between those."""
    positions = [
        position | {"candidates": [each for each in position["candidates"] if each["id"] == picks[position["id"]]]}
        for position in document["positions"]
    ]
    parts = set(picks.values())
    joints = [
        joint | {"links": [each for each in joint["links"] if parts.issuperset(each["parts"])]}
        for joint in document["joints"]
    ]
    if not all(joint["links"] for joint in joints):
        return document | {"features": ["a joint stays open"]}
    left = parts | {link["id"] for joint in joints for link in joint["links"]}
    rules = [_rule_among(rule, left) for rule in document["rules"] if rule["when"] in left]
    return document | {"positions": positions, "joints": joints, "rules": rules}


def _rule_among(rule: Document, left: set[str]) -> Document:
    needs = [name for name in rule["needs_any"] if name in left]
    if rule["needs_any"] and not needs:
        return {"when": rule["when"], "excludes": [rule["when"]]}
    return {"when": rule["when"], "needs_any": needs, "excludes": [name for name in rule["excludes"] if name in left]}

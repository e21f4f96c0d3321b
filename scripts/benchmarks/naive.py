"""What two naive answers cost in error, in total: a shortest path over parts, and a sum of stand-alone prices.

The path: parts are nodes, a link that joins two parts is an arrow that costs the cheapest such link and the part it
leads to, each with the whole strip-down it needs; networkx' Dijkstra from one end of the assembly to the other (the
two positions that lie most joints apart). Its sum is what such an answer would quote. Its parts are then kept and the
rest is completed as cheaply as can be: how often that is possible at all, and how much dearer it is than the cheapest
route. The sum: all joints close and all rules hold, but every choice is priced alone, so that a strip-down that two of
them share is paid twice.
"""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import partial
from itertools import combinations, pairwise
from typing import Any

import networkx as nx

from graph.conversion.parse import parse_conversion
from graph.search import solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.demo import demo_documents
from scripts.benchmarks.table import Table
from tests.reference.maker import LARGE, SMALL, WORKED, make_document
from tests.reference.reading import closure, price

Document = dict[str, Any]
Naive = tuple[dict[str, str], Fraction]  # the candidate of each position that it chose, and its own sum
FIRST_SEED = 200_000
SHAPES = (("4 x 3", SMALL), ("10 x 4", WORKED), ("16 x 6", LARGE))


def run(options: Namespace) -> list[Table]:
    """How often either is wrong, by how much, and how long it takes."""
    count = 15 if options.quick else 100
    sizes = [
        (f"{name} ({count})", [make_document(FIRST_SEED + n, shape) for n in range(count)]) for name, shape in SHAPES
    ]
    demo = (f"demo ({len(demo_documents())})", list(demo_documents()))
    groups = [*sizes[: 2 if options.quick else None], demo]
    shared = ("documents", "with a route", "answered", "can be built", "is the cheapest", "dearer by", "worst")
    quoted = (
        "With a route: so many have one. Answered: so many the naive way answers. Can be built: with its parts every",
        "joint can still be closed. Dearer: true total with its parts against the proven least, median and worst of",
        "those built. Quotes: its own sum against the proven least, median.",
    )
    return [
        Table("Dijkstra on the naive graph, total", (*shared, "quotes", "Dijkstra", "ours"),
              [_row(*group, naive_path) for group in groups], quoted),
        Table("Adding up stand-alone prices, total", (*shared, "quotes", "adding up", "ours"),
              [_row(*group, summed_picks) for group in groups], quoted),
    ]  # fmt: skip


def _row(name: str, documents: Sequence[Document], choose: Callable[[Document], Naive]) -> tuple[str, ...]:
    walking, searching, dearer, quotes = [], [], [], []
    possible = answered = 0
    for document in documents:
        seconds, least = timed(partial(_least, document))
        if least is None:
            continue
        possible += 1
        searching.append(seconds)
        seconds, (picks, quoted) = timed(partial(choose, document))
        walking.append(seconds)
        answered += bool(picks)
        if picks and least:
            quotes.append(float(quoted / least - 1))
        true = _least(_only(document, picks)) if picks else None
        if true is not None:
            dearer.append(float(true / least - 1) if least else 0.0)
    exact = sum(share == 0 for share in dearer)
    shares = (f"{middle(dearer):.0%}", f"{max(dearer):.0%}") if dearer else ("-", "-")
    said = f"{middle(quotes):+.0%}" if quotes else "-"
    counts = (str(possible), str(answered), str(len(dearer)), str(exact))
    return (name, *counts, *shares, said, in_words(middle(walking)), in_words(middle(searching)))


def _least(document: Document) -> Fraction | None:
    routes = solve(parse_conversion(document), "total", 0, with_front=False, with_look_first=False).routes
    return routes[0].total if routes else None


def naive_path(document: Document) -> Naive:
    """The parts on the cheapest path from one end of the assembly to the other, by position, and its sum."""
    positions = {position["id"]: position for position in document["positions"]}
    paths: nx.DiGraph[str] = nx.DiGraph()
    for joint in document["joints"]:
        for ends in (joint["between"], joint["between"][::-1]):
            for (one, other), link in _cheapest_links(document, joint, ends).items():
                paths.add_edge(one, other, weight=link + _alone(document, _candidate(positions[ends[1]], other)))
    first, last = _ends(document)
    for candidate in positions[first]["candidates"]:
        paths.add_edge("start", candidate["id"], weight=_alone(document, candidate))
    for candidate in positions[last]["candidates"]:
        paths.add_edge(candidate["id"], "end", weight=Fraction(0))
    try:
        path = nx.dijkstra_path(paths, "start", "end")
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        return {}, Fraction(0)
    quoted = sum((paths.edges[step]["weight"] for step in pairwise(path)), Fraction(0))
    place = {one["id"]: name for name, position in positions.items() for one in position["candidates"]}
    return {place[part]: part for part in path[1:-1]}, quoted


def _ends(document: Document) -> tuple[str, str]:
    """The two positions that lie most joints apart, the first in reading order of several."""
    joined: nx.Graph[str] = nx.Graph([tuple(joint["between"]) for joint in document["joints"]])
    far = {one: nx.single_source_shortest_path_length(joined, one) for one in joined}
    order = [position["id"] for position in document["positions"] if position["id"] in far]
    return max(combinations(order, 2), key=lambda pair: far[pair[0]].get(pair[1], -1))


def _candidate(position: Document, name: str) -> Document:
    found: Document = next(one for one in position["candidates"] if one["id"] == name)
    return found


def summed_picks(document: Document) -> Naive:
    """The candidates whose stand-alone prices add up to the least, all joints closed, and that sum."""

    def priced(choice: Document) -> Document:
        return choice | {"cash": float(round(_alone(document, choice), 2)), "hours": 0, "tasks": []}

    positions = [each | {"candidates": [priced(one) for one in each["candidates"]]} for each in document["positions"]]
    joints = [each | {"links": [priced(one) for one in each["links"]]} for each in document["joints"]]
    alone = document | {"positions": positions, "joints": joints, "deadline": None}
    routes = solve(parse_conversion(alone), "total", 0, with_front=False, with_look_first=False).routes
    return (dict(routes[0].picks), routes[0].total) if routes else ({}, Fraction(0))


def _cheapest_links(document: Document, joint: Document, ends: list[str]) -> dict[tuple[str, str], Fraction]:
    """Per pair of parts, in the order of the two positions, the cheapest stand-alone link between them."""
    cheapest: dict[tuple[str, str], Fraction] = {}
    for link in joint["links"]:
        first, second = link["parts"] if joint["between"] == ends else reversed(link["parts"])
        cheapest[first, second] = min(_alone(document, link), cheapest.get((first, second), Fraction(10**12)))
    return cheapest


def _alone(document: Document, choice: Document) -> Fraction:
    tasks = closure(document, choice.get("tasks", []))
    opened = [task for task in document["tasks"] if task["id"] in tasks]
    return sum((price(document, each) for each in [choice, *opened]), Fraction(0))


def _only(document: Document, picks: dict[str, str]) -> Document:
    """The document with the picked positions left only their pick, and the links and rules between what is left."""
    positions = [
        position
        | {"candidates": [one for one in position["candidates"] if one["id"] == picks.get(position["id"], one["id"])]}
        for position in document["positions"]
    ]
    parts = {one["id"] for position in positions for one in position["candidates"]}
    joints = [
        joint | {"links": [each for each in joint["links"] if parts.issuperset(each["parts"])]}
        for joint in document["joints"]
    ]
    if not all(joint["links"] for joint in joints):
        return document | {"features": ["a joint stays open"]}
    left = parts | {link["id"] for joint in joints for link in joint["links"]}
    rules = [_rule_among(rule, left) for rule in document["rules"] if rule["when"] in left]
    return document | {"positions": positions, "joints": joints, "rules": rules}


def _is_left(candidate: Document, pick: str | None) -> bool:
    return pick is None or candidate["id"] == pick


def _rule_among(rule: Document, left: set[str]) -> Document:
    needs = [name for name in rule["needs_any"] if name in left]
    if rule["needs_any"] and not needs:
        return {"when": rule["when"], "excludes": [rule["when"]]}
    return {"when": rule["when"], "needs_any": needs, "excludes": [name for name in rule["excludes"] if name in left]}

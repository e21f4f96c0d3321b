"""The invented workshop, loaded once, and questions to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.reading import CatalogueIndex, Question, Reading, read_conversion
from graph.reading.question import Answerable
from graph.search import solve
from graph.search.result import Route, Solution

DEMO: Path = FACTS_FOLDER / "demo"


# What conditions of the demo ask, so that none is assumed.
SETTLED: Mapping[str, Answerable] = {"torque_nm": 180, "tools": ("press",)}


@cache
def index() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([DEMO]))


def catalogue() -> Catalogue:
    return index().catalogue


def read(gearbox: str, engine: str, **asked: Any) -> Reading:
    asked.setdefault("context", SETTLED)
    return read_conversion(index(), Question(gearbox=gearbox, engine=engine, **asked))


def ask(gearbox: str, engine: str, objective: str = "expected", **asked: Any) -> tuple[Reading, Solution]:
    """The routes that assume nothing: what the invented workshop knows by itself."""
    reading = read(gearbox, engine, objective=objective, **asked)
    return reading, solve(replace(reading.conversion, most_assumed=0), objective, 2)


def best(gearbox: str, engine: str, objective: str = "expected", **asked: Any) -> tuple[Reading, Route]:
    reading, solution = ask(gearbox, engine, objective, **asked)
    assert solution.status == "optimal"
    return reading, solution.routes[0]


def fitted(reading: Reading, route: Route) -> set[str]:
    """The parts that the route puts in: what was not there before, and what stands inside a joint."""
    found = {
        one.part
        for position in reading.conversion.positions
        for one in position.candidates
        if route.picks[position.id] == one.id and not one.as_found
    }
    taken = {link.id: link for joint in reading.conversion.joints for link in joint.links}
    return found.union(*(taken[link].via for link in route.links.values()))


def machined(reading: Reading, route: Route) -> dict[str, tuple[str, ...]]:
    """Per joint, the operations of the links taken that cut metal."""
    taken = {link.id: link for joint in reading.conversion.joints for link in joint.links}
    return {joint: taken[link].operations for joint, link in route.links.items() if taken[link].operations}

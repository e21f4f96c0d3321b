"""The invented workshop with single facts taken out, changed or added, for one test each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from graph.catalogue.model import Catalogue, Edge, Measurement
from graph.conversion.document import Conversion
from graph.reading import CatalogueIndex, Question, Reading, read_conversion
from graph.search import solve
from graph.search.result import Route
from tests.demo.shop import SETTLED, catalogue


def index(
    *, without: Iterable[str] = (), more: Iterable[Measurement] = (), edges: Iterable[Edge] = ()
) -> CatalogueIndex:
    """The demo's facts without some measurements, with more of them, with more edges."""
    whole = catalogue()
    kept = {name: fact for name, fact in whole.measurements.items() if name not in set(without)}
    kept.update((fact.id, fact) for fact in more)
    noted = {**whole.edges, **{edge.id: edge for edge in edges}}
    return CatalogueIndex(replace(whole, measurements=kept, edges=noted))


def without_prices(*operations: str) -> CatalogueIndex:
    """The demo's facts with operations struck off the price list."""
    whole: Catalogue = catalogue()
    prices = {name: price for name, price in whole.operation_prices.items() if name not in operations}
    return CatalogueIndex(replace(whole, operation_prices=prices))


def measured(quantity: str, of: str, reading: str, **said: Any) -> Measurement:
    """A reading on the very part, unless said otherwise."""
    id_ = said.pop("id", f"test-{quantity}-{of}")
    return Measurement(id=id_, quantity=quantity, of=of, reading=reading, evidence="measured-on-these-parts", **said)


def read(facts: CatalogueIndex, gearbox: str, engine: str, *, derive: bool = True, **asked: Any) -> Reading:
    asked.setdefault("context", SETTLED)
    return read_conversion(facts, Question(gearbox=gearbox, engine=engine, **asked), derive=derive)


def best(
    facts: CatalogueIndex, gearbox: str, engine: str, *, derive: bool = True, **asked: Any
) -> tuple[Reading, Route]:
    """The cheapest route by total that assumes nothing."""
    reading = read(facts, gearbox, engine, derive=derive, **asked)
    solution = solve(with_nothing_assumed(reading), "total", 0)
    assert solution.status == "optimal"
    return reading, solution.routes[0]


def with_nothing_assumed(reading: Reading) -> Conversion:
    return replace(reading.conversion, most_assumed=0)


def computed(reading: Reading, route: Route) -> set[str]:
    """The joints that the route closes by computed edges."""
    links = {link.id: link for joint in reading.conversion.joints for link in joint.links}
    return {
        joint
        for joint, link in route.links.items()
        if link in links and any(edge.id.startswith("computed-") for edge in reading.links[link].edges)
    }

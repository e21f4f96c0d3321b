"""Takes one statement out of the demo at a time: what it says is there, fits, moves, costs, or was measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from graph.catalogue.model import CONTAINS, FITS, REPLACES, REQUIRES_MACHINING, SHIFTS, Catalogue
from graph.reading import CatalogueIndex, Question, Reading, read_conversion
from graph.search import solve
from tests.demo.shop import catalogue, index

POSITIVE = (CONTAINS, FITS, REQUIRES_MACHINING, REPLACES, SHIFTS)
CONTEXT = {"torque_nm": 180, "tools": ("press", "puller", "lathe"), "duty": "road", "year": 1990}
Pair = tuple[str, str, str]  # gearbox, engine, vehicle or ""
Forgotten = tuple[str, str]  # the table of the catalogue, and the id


def pairs() -> list[Pair]:
    known = catalogue().parts
    boxes, engines = ([one for one in index().units(what) if not known[one].abstract] for what in ("gearbox", "engine"))
    return [(box, engine, "") for box in boxes for engine in engines] + [
        (box, "ouzel-20", "sorrel-pick-up") for box in boxes
    ]


def read(known: CatalogueIndex, pair: Pair) -> Reading:
    gearbox, engine, vehicle = pair
    return read_conversion(known, Question(gearbox=gearbox, engine=engine, vehicle=vehicle, context=CONTEXT))


def proven(known: CatalogueIndex, pair: Pair) -> Fraction | None:
    """What the best route costs that assumes nothing; None where there is none, or the kind of job is not known."""
    reading = read(known, pair)
    if reading.asks:
        return None
    found = solve(replace(reading.conversion, most_assumed=0), "expected", 0)
    return found.routes[0].expected if found.routes else None


def statements() -> list[Forgotten]:
    """Everything in the demo that says that something is there, fits, moves, costs or measures."""
    known = catalogue()
    edges = [("edges", name) for name, edge in known.edges.items() if edge.kind in POSITIVE]
    prices = [("parts", name) for name, part in known.parts.items() if part.cash_hundredths is not None]
    measured = [("measurements", name) for name in known.measurements]
    return sorted([*edges, *prices, *measured])


def about(forgotten: Forgotten) -> set[str]:
    """The parts and units that the statement speaks of."""
    table, name = forgotten
    known = catalogue()
    if table == "parts":
        return {name}
    if table == "measurements":
        return {known.measurements[name].of}
    return {known.edges[name].source, known.edges[name].target}


def without(forgotten: Forgotten) -> CatalogueIndex:
    """The demo as if nobody had said it."""
    table, name = forgotten
    known: Catalogue = catalogue()
    rest = dict(getattr(known, table))
    if table == "parts":
        rest[name] = replace(rest[name], cash_hundredths=None)
    else:
        del rest[name]
    return CatalogueIndex(replace(known, **{table: rest}))


def reading_it(forgotten: Forgotten, asked: Iterable[Pair]) -> Iterator[Pair]:
    """The pairs whose document has one of the parts that the statement speaks of, or a family of it."""
    spoken = about(forgotten)
    for pair in asked:
        if not spoken.isdisjoint(_read_of(pair)):
            yield pair


_KEPT: dict[Pair, frozenset[str]] = {}


def _read_of(pair: Pair) -> frozenset[str]:
    if pair not in _KEPT:
        conversion = read(index(), pair).conversion
        parts = {one.part for position in conversion.positions for one in position.candidates}
        parts.update(part for joint in conversion.joints for link in joint.links for part in link.via)
        links = {link.id for joint in conversion.joints for link in joint.links}
        known = (*(one for one in (*parts, *pair) if one in catalogue().parts),)
        _KEPT[pair] = frozenset({*links, *(family for part in known for family in index().lineage(part))})
    return _KEPT[pair]

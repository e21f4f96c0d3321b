"""Takes one statement out of the demo at a time: what it says is there, fits, moves, costs, takes or measures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from graph.catalogue.model import CONTAINS, FITS, REPLACES, REQUIRES_MACHINING, SHIFTS, Catalogue
from graph.reading import CatalogueIndex, Question, Reading, read_conversion
from graph.reading.question import Answerable
from graph.search import solve
from tests.demo.shop import catalogue, index

POSITIVE = (CONTAINS, FITS, REQUIRES_MACHINING, REPLACES, SHIFTS)
CONTEXT: Mapping[str, Answerable] = {
    "torque_nm": 180,
    "tools": ("press", "puller", "lathe"),
    "duty": "road",
    "year": 1990,
}
EVERY_PAIR = "every pair"  # of what may stand behind any computed edge
Pair = tuple[str, str, str]  # gearbox, engine, vehicle or ""
Forgotten = tuple[str, str]  # the table of the catalogue, and the id; of one figure: the table, a colon and the figure
FIGURES = {
    "parts": ("hours_hundredths",), "edges": ("hours_hundredths", "cash_hundredths"), "tasks": ("hours_hundredths",),
    "faults": ("hours_hundredths", "cash_hundredths"), "operation_prices": ("hours_hundredths",),
    "standard_prices": ("hours_hundredths",),
}  # fmt: skip


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
    return sorted([*edges, *prices, *measured, *figures()])


def figures() -> list[Forgotten]:
    """The hours that somebody has stated, and what work costs that an edge asks for."""
    known = catalogue()
    return sorted(
        (f"{table}:{figure}", name)
        for table, wanted in FIGURES.items() for figure in wanted
        for name, thing in getattr(known, table).items()
        if getattr(thing, figure) is not None
        and (table == "faults" or figure == "hours_hundredths" or thing.kind == REQUIRES_MACHINING)
    )  # fmt: skip


def about(forgotten: Forgotten) -> set[str]:
    """The parts and units that the statement speaks of."""
    table, name = forgotten[0].partition(":")[0], forgotten[1]
    known = catalogue()
    if table in ("parts", "tasks", "faults"):
        return {name}
    if table in ("operation_prices", "standard_prices"):
        return {EVERY_PAIR}
    if table == "measurements":
        return {known.measurements[name].of}
    return {known.edges[name].source, known.edges[name].target}


def without(forgotten: Forgotten) -> CatalogueIndex:
    """The demo as if nobody had said it."""
    (table, _, figure), name = forgotten[0].partition(":"), forgotten[1]
    known: Catalogue = catalogue()
    rest: dict[str, Any] = dict(getattr(known, table))  # which table, and so what it holds, is known by name only
    if figure:
        rest[name] = replace(rest[name], **{figure: None})
    elif table == "parts":
        rest[name] = replace(rest[name], cash_hundredths=None)
    else:
        del rest[name]
    tables: dict[str, Any] = {table: rest}
    return CatalogueIndex(replace(known, **tables))


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
        links |= {EVERY_PAIR, *(task.id for task in conversion.tasks), *(fault.id for fault in conversion.faults)}
        known = (*(one for one in (*parts, *pair) if one in catalogue().parts),)
        _KEPT[pair] = frozenset({*links, *(family for part in known for family in index().lineage(part))})
    return _KEPT[pair]

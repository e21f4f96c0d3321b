"""Measurements in notes that contradict each other: apart by more than their uncertainties together allow.

Each note's reading is held against all others of the same part, quantity and datum (root of the sum of squares, GUM
5.1.2: `graph.fits.measurement`); words and counts must be the same.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

import pyoxigraph as ox

from graph.catalogue.measurements import WORD, read_measurement
from graph.catalogue.model import Catalogue, Measurement
from graph.catalogue.names import KIND, LAY, TYPE
from graph.errors import InvalidInput
from graph.fits import measurement as fits

_TYPE, _MEASUREMENT, _ON = ox.NamedNode(TYPE), ox.NamedNode(LAY + "Measurement"), ox.NamedNode(LAY + "measuredOn")


@dataclass(frozen=True, slots=True)
class NotedReading:
    """One note's reading: the note, the measurement's IRI, what it says, and the checked measurement (None: a word)."""

    note: str
    thing: str
    says: str
    checked: fits.CheckedMeasurement | None


@dataclass(frozen=True, slots=True)
class Disagreeing:
    """The readings of one quantity of one part that contradict another one."""

    part: str
    quantity: str
    readings: tuple[NotedReading, ...]

    def disagree(self, notes: Collection[str]) -> bool:
        """Whether readings of these notes contradict each other."""
        return bool(_apart([reading for reading in self.readings if reading.note in notes]))


def _apart(readings: list[NotedReading]) -> list[NotedReading]:
    """Those of one quantity and datum that another one contradicts."""
    checked = [one.checked for one in readings if one.checked is not None]
    if len(checked) < len(readings):
        return readings if len({one.says for one in readings}) > 1 else []
    worst = fits.strongest_contradictions(checked)
    return [one for one, against in zip(readings, worst, strict=True) if against is not None]


def list_disagreeing(
    store: ox.Store, kinds: Catalogue, among: Collection[str] | None = None
) -> Iterator[Disagreeing]:  # fmt: skip
    """Every quantity of a part that notes measure differently. `among`: only parts that these notes measured."""
    for part in sorted(_parts(store, among)):
        groups: dict[tuple[str, str], list[NotedReading]] = {}
        for quad in store.quads_for_pattern(None, _ON, ox.NamedNode(part), None):
            found = _reading(store, kinds, quad.subject, quad.graph_name, part)  # type: ignore[arg-type]
            if found is not None:
                quantity, datum, reading = found
                groups.setdefault((quantity, datum), []).append(reading)
        for (quantity, _), readings in sorted(groups.items()):
            if apart := _apart(readings):
                yield Disagreeing(part, quantity, tuple(sorted(set(apart), key=lambda one: (one.note, one.thing))))


def _parts(store: ox.Store, among: Collection[str] | None) -> set[str]:
    graphs: Iterable[ox.NamedNode | None] = [None] if among is None else [ox.NamedNode(iri) for iri in among]
    return {
        quad.object.value  # type: ignore[union-attr]
        for graph in graphs
        for quad in store.quads_for_pattern(None, _ON, None, graph)
        if isinstance(quad.object, ox.NamedNode)
    }


def _reading(
    store: ox.Store, kinds: Catalogue, thing: ox.NamedNode, graph: ox.NamedNode, part: str
) -> tuple[str, str, NotedReading] | None:
    """The quantity's IRI, the datum and the reading; None for a bolt face, or what cannot be read."""
    said = {quad.predicate.value: quad.object for quad in store.quads_for_pattern(thing, None, None, graph)}
    if said.get(TYPE) != _MEASUREMENT:
        return None

    def text(name: str) -> str:
        value = said.get(LAY + name)
        return value.value if isinstance(value, ox.Literal | ox.NamedNode) else ""

    quantity = kinds.quantities.get(text("quantity").removeprefix(KIND))
    if quantity is None:
        return None
    fact = Measurement(
        id=thing.value, quantity=quantity.id, of=part, reading=text("reading"), uncertainty=text("uncertainty"),
        datum=text("datum"), tool=text("tool"), temperature=text("temperature"), subject=text("subject") or "variant",
    )  # fmt: skip
    if quantity.dimension == WORD:
        return text("quantity"), "", NotedReading(graph.value, thing.value, fact.reading, None)
    try:
        checked = read_measurement(kinds, fact)
    except InvalidInput:  # the catalogue's rules have told of it
        return None
    says = f"{fact.reading} +/- {fact.uncertainty}" if fact.uncertainty else fact.reading
    return text("quantity"), fact.datum, NotedReading(graph.value, thing.value, says, checked)

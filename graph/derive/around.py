"""The one call that a reading makes: an index with everything that is computed around a question.

Kept with each index (one index is one revision of the catalogue): the findings of each pair, and what they come to
around each combination of units. The next revision's index takes that over but for what the change touched.
"""

from __future__ import annotations

from graph.derive.derivations import MOST_KEPT, Derivations, DerivedAround, Units, list_places
from graph.derive.deriver import Around, Deriver
from graph.derive.overlay import Laid, OverlayIndex
from graph.lookups.change import Change
from graph.lookups.findings import Derived
from graph.lookups.in_hand import AsksAround, donors_in_hand
from graph.lookups.index import CatalogueIndex

_DERIVATIONS, _LAID = "derivations", "laid over"  # under which an index keeps them


def deriver_of(index: CatalogueIndex) -> Deriver:
    """A deriver over the index, with all that was found for it so far."""
    below = index.below if isinstance(index, OverlayIndex) else index
    return Deriver(below, _derivations_of(below).findings)


def with_derived(index: CatalogueIndex, question: AsksAround) -> CatalogueIndex:
    """The index with everything computed around the question laid over it; the index itself if that is nothing."""
    if isinstance(index, OverlayIndex) or (not index.catalogue.measurements and not index.catalogue.bolt_faces):
        return index
    kept = _derivations_of(index)
    units: Units = (question.units, tuple(sorted(question.own)))
    found = kept.find(units)
    if found is None:
        around = parts_around(index, question)
        near = frozenset((*question.units, *question.own, *around.homes))
        found = DerivedAround(Deriver(index, kept.findings).derive(around), near)
        kept.keep(units, found)
    laid: _LaidOver = index.kept.setdefault(_LAID, _LaidOver())
    return OverlayIndex(index, found.derived, laid=laid.over(index, units, found.derived))


def parts_around(index: CatalogueIndex, question: AsksAround) -> Around:
    """The parts in the asked units, and every measured part that could be got for one of their places."""
    homes: dict[str, str] = {}
    positions: dict[str, dict[str, None]] = {}
    for unit in question.units:
        for position, edges in index.contains(unit).items():
            for edge in edges:
                positions.setdefault(position, {})[edge.target] = None
                homes.setdefault(edge.target, unit)
    for unit in donors_in_hand(index, question):
        for position, edges in index.contains(unit).items():
            positions.setdefault(position, {}).update(dict.fromkeys(edge.target for edge in edges))
    kept = _derivations_of(index)
    for position, holders in kept.holders.items():
        positions.setdefault(position, {}).update(dict.fromkeys(holders))
    for part in question.own:
        if part in kept.findings.facts.parts:
            for position in list_places(index, part):
                positions[position][part] = None
    return Around(
        {position: tuple(sorted(parts)) for position, parts in positions.items()}, homes, frozenset(question.own)
    )


class _LaidOver:
    """What is computed, laid over the tables of one index; of the next it would be other tables."""

    def __init__(self) -> None:
        self._known: dict[Units, Laid] = {}

    def over(self, index: CatalogueIndex, units: Units, derived: Derived) -> Laid:
        """What is computed around the units, over the index."""
        known = self._known.get(units)
        if known is None or known.derived is not derived:
            if len(self._known) >= MOST_KEPT:
                self._known.clear()
            known = self._known[units] = Laid(index, derived)
        return known

    def handed_on(self, change: Change) -> None:
        """Begun anew with every index."""


def _derivations_of(index: CatalogueIndex) -> Derivations:
    known = index.kept.get(_DERIVATIONS)
    if known is None:
        known = index.kept.setdefault(_DERIVATIONS, Derivations.of(index))
    assert isinstance(known, Derivations)
    return known

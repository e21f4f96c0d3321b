"""The one call that a reading makes: an index with everything that is computed around a question.

Kept with each index (one index is one revision of the catalogue): the findings of each pair, and the overlay of each
combination of units. A new revision brings a new index, and with it nothing of the old.
"""

from __future__ import annotations

from collections.abc import Mapping

from graph.catalogue.model import Catalogue
from graph.derive.checks import JOINT_CHECKS
from graph.derive.deriver import Around, Deriver
from graph.derive.findings import Derived
from graph.derive.overlay import OverlayIndex
from graph.reading.index import CatalogueIndex
from graph.reading.question import Question

MOST_KEPT = 200
_KEPT = "kept_derivations"  # attribute of the index: what is computed lives and dies with its revision


class _Kept:
    """What is kept for one index."""

    def __init__(self, deriver: Deriver):
        self.deriver = deriver
        self.overlays: dict[tuple[tuple[str, ...], tuple[str, ...]], OverlayIndex] = {}
        self.holders = _holders(deriver)


def deriver_of(index: CatalogueIndex) -> Deriver:
    """The deriver of the index, made on first use."""
    return _kept(index).deriver


def derive_edges(index: CatalogueIndex | Catalogue, around: Around) -> Derived:
    """Edges, unknowns, workings and disputes that follow from measurements about the parts around."""
    known = index if isinstance(index, CatalogueIndex) else CatalogueIndex(index)
    return deriver_of(known).derive(around)


def with_derived(index: CatalogueIndex, question: Question) -> CatalogueIndex:
    """The index with everything computed around the question laid over it; the index itself if that is nothing."""
    if isinstance(index, OverlayIndex) or (not index.catalogue.measurements and not index.catalogue.bolt_faces):
        return index
    kept = _kept(index)
    key = (question.units, tuple(sorted(question.own)))
    overlay = kept.overlays.get(key)
    if overlay is None:
        derived = kept.deriver.derive(parts_around(index, question))
        if len(kept.overlays) >= MOST_KEPT:
            kept.overlays.clear()
        overlay = kept.overlays[key] = OverlayIndex(index, derived)
    return overlay


def parts_around(index: CatalogueIndex, question: Question) -> Around:
    """The parts in the asked units, and every measured part that could be got for one of their places."""
    homes: dict[str, str] = {}
    positions: dict[str, dict[str, None]] = {}
    for unit in question.units:
        for position, edges in index.contains(unit).items():
            for edge in edges:
                positions.setdefault(position, {})[edge.target] = None
                homes.setdefault(edge.target, unit)
    for position, holders in _kept(index).holders.items():
        wanted = positions.setdefault(position, {})
        for part in holders:
            if index.catalogue.parts[part].cash_hundredths is not None or part in question.own:
                wanted[part] = None
    return Around(
        {position: tuple(sorted(parts)) for position, parts in positions.items()}, homes, frozenset(question.own)
    )


def _kept(index: CatalogueIndex) -> _Kept:
    kept = vars(index).get(_KEPT)
    if not isinstance(kept, _Kept):
        kept = _Kept(Deriver(index))
        setattr(index, _KEPT, kept)
    return kept


def _holders(deriver: Deriver) -> Mapping[str, tuple[str, ...]]:
    """Per position of a joint that can be computed, the measured parts that can hold it."""
    catalogue, index = deriver.catalogue, deriver.index
    joints = [catalogue.joint_kinds[joint] for joint in JOINT_CHECKS if joint in catalogue.joint_kinds]
    found = {}
    for position in dict.fromkeys(position for joint in joints for position in joint.between):
        kinds = set(catalogue.position_kinds[position].part_kinds)
        found[position] = tuple(
            part for part in deriver.measured.parts if not kinds.isdisjoint(index.kinds_of(catalogue.parts[part].kind))
        )
    return found

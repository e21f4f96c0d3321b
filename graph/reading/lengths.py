"""Which lengths a dimension lacks: a part whose kind moves it, and of which nobody has said or measured by how much.

A kind moves a dimension if one of its quantities does, or if more than half of its parts are said to. A part that says
nothing of such a dimension does not leave it as it was: it leaves it open. What a unit states as a whole covers the
parts found in it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from graph.catalogue.model import SHIFTS
from graph.lookups.change import Change
from graph.lookups.index import CatalogueIndex
from graph.lookups.sequences import evenly
from graph.reading.found import Found
from graph.reading.model import ASSUMED_EMPTY, PART_NEEDED
from graph.reading.places import Gap
from graph.reading.sieve import Sieve

MOST_PARTS = 100  # of a kind that are looked at; of more, so many at even steps
_KEPT = "kinds that move dimensions"

Lacking = Mapping[str, tuple[str, ...]]  # per chain that is left open, the quantities that would close it


class Lengths:
    """Asked for one question. `known`: is the quantity of the part measured?"""

    def __init__(self, sieve: Sieve, known: Callable[[str, str], bool]):
        self._sieve, self._index, self._known = sieve, sieve.index, known
        self._kinds: MovingKinds = self._index.kept.setdefault(_KEPT, MovingKinds())
        self._standing = {
            unit: {edge.target for edge in self._index.side_effects(unit) if edge.kind == SHIFTS}
            for unit in sieve.question.units
        }

    def lacking(self, found: Found) -> Lacking:
        """What a candidate leaves open."""
        if found.gap is not None:
            return self._of_gap(found.gap)
        return self.of_part(found.part, covered=self._standing.get(found.unit, set()))

    def of_part(self, part: str, covered: set[str] | frozenset[str] = frozenset()) -> Lacking:
        """What a part leaves open. `covered`: chains of which its unit speaks."""
        stated = {edge.target for edge in self._index.side_effects(part) if edge.kind == SHIFTS} | covered
        return {
            chain: quantities
            for chain, quantities in self._moved_by(self._sieve.part(part).kind).items()
            if chain not in stated and not (quantities and all(self._known(part, one) for one in quantities))
        }

    def _of_gap(self, gap: Gap) -> Lacking:
        """A part not known leaves open what its kind moves; a part to suit is chosen for its lengths."""
        chains = self._index.catalogue.chain_kinds
        if gap.how == PART_NEEDED:
            return {}
        if gap.how == ASSUMED_EMPTY:
            return {chain: () for chain, kind in chains.items() if gap.position.id in kind.positions}
        found: dict[str, tuple[str, ...]] = {}
        for kind in gap.position.part_kinds:
            found.update(self._moved_by(kind))
        return found

    def _moved_by(self, kind: str) -> Lacking:
        """The dimensions that a part of the kind moves, each with the quantities that say by how much."""
        found: dict[str, tuple[str, ...]] = {}
        for one in self._index.kinds_of(kind):
            for chain, quantities in self._kinds.of(self._index, one).items():
                found[chain] = tuple(dict.fromkeys((*found.get(chain, ()), *quantities)))
        return dict(sorted(found.items()))


class MovingKinds:
    """What the parts of each kind move, kept with an index."""

    def __init__(self, known: dict[str, Lacking] | None = None) -> None:
        self._known = known or {}

    def of(self, index: CatalogueIndex, kind: str) -> Lacking:
        """Of just this kind."""
        if kind not in self._known:
            self._known[kind] = _moved_by(index, kind)
        return self._known[kind]

    def handed_on(self, change: Change) -> MovingKinds | None:
        """For the index after the change, without the kinds of the parts and edges that are other now."""
        names = {*change.parts, *(edge.source for _, edge in change.versions(change.edges) if edge.kind == SHIFTS)}
        touched: set[str] = set()
        for index in (change.before, change.after):
            for name in names:
                part = index.catalogue.parts.get(name)
                if part is not None:
                    touched |= index.kinds_of(part.kind)
        return MovingKinds({kind: moved for kind, moved in self._known.items() if kind not in touched})


def _moved_by(index: CatalogueIndex, kind: str) -> Lacking:
    found: dict[str, tuple[str, ...]] = dict.fromkeys(_said_to_move(index, kind), ())
    for quantity in index.catalogue.quantities.values():
        if kind in quantity.part_kinds:
            for chain in (*quantity.adds_to, *quantity.takes_from):
                found[chain] = (*found.get(chain, ()), quantity.id)
    return found


def _said_to_move(index: CatalogueIndex, kind: str) -> list[str]:
    names = evenly(index.listing.of_kinds({kind}), MOST_PARTS)
    parts = [name for name in names if not index.catalogue.parts[name].abstract]
    count: dict[str, int] = {}
    for part in parts:
        for chain in {edge.target for edge in index.side_effects(part) if edge.kind == SHIFTS}:
            count[chain] = count.get(chain, 0) + 1
    return sorted(chain for chain, many in count.items() if 2 * many > len(parts))

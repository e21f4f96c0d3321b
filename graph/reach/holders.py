"""Which units a part is found in, which have a place at all, and what needs a part: edges asked from their far end.

Read once and kept with the index, since only questions of one to many ask so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from graph.catalogue.model import CONTAINS, HAS_NONE, NEEDS, Part
from graph.lookups.layered import LayeredIndex
from graph.reading import CatalogueIndex

_KEPT = "kept_holders"  # an attribute of the index: it lives and dies with its revision


@dataclass(slots=True)
class Holders:
    """Of one sort of unit. `owners`: per part, the units and families that say they contain it; `places`: per position
    likewise. A family's variants contain what it does unless they say otherwise, so both name too many, never too few.
    `units`: all that one can hold, families not among them. `changed`: owners that may have lost something since.
    """

    units: tuple[str, ...] = ()
    owners: dict[str, tuple[str, ...]] = field(default_factory=dict)  # tuples: the garbage collector skips them
    places: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    having: dict[str, frozenset[str]] = field(default_factory=dict)
    changed: set[str] = field(default_factory=set)
    _everywhere: frozenset[str] | None = None
    _asking: frozenset[str] | None = None
    _unsound: frozenset[str] | None = None

    def add(self, owner: str, position: str, part: str) -> None:
        """The unit or family contains the part at the position."""
        self.owners[part] = (*self.owners.get(part, ()), owner)
        self.places[position].add(owner)

    def units_with(self, index: CatalogueIndex, parts: Iterable[str]) -> set[str]:
        """The units in which any of the parts may be found."""
        owners = {owner for part in parts for owner in self.owners.get(part, ())}
        return {unit for owner in owners for _, unit in index.descent(owner)}

    def everywhere(self, index: CatalogueIndex) -> frozenset[str]:
        """The positions at which every unit has something, those changed since apart."""
        if self._everywhere is None:
            units = frozenset(self.units)
            found = (position for position in list(self.places) if units <= self.units_having(index, position))
            self._everywhere = frozenset(found)
        return self._everywhere

    def units_asking(self, index: CatalogueIndex) -> frozenset[str]:
        """The units of which a part found hangs on a condition. Reads every part that is found in one, once."""
        if self._asking is None:
            known = index.catalogue.parts
            parts = {part for part in self.owners if part in known and known[part].conditions}
            owners = {owner for part in parts for owner in self.owners[part]}
            owners |= {owner for owner in self._all_owners() if _on_condition(index, owner)}
            self._asking = frozenset(unit for owner in owners for _, unit in index.descent(owner))
        return self._asking

    def units_unsound(self, index: CatalogueIndex) -> frozenset[str]:
        """The units in which a part is found that cannot be used as it is. Reads every part found in one, once."""
        if self._unsound is None:
            known = index.catalogue.parts
            parts = (part for part in self.owners if part in known and is_unsound(index, known[part]))
            self._unsound = frozenset(self.units_with(index, parts))
        return self._unsound

    def _all_owners(self) -> set[str]:
        return set().union(*self.places.values())

    def units_changed(self, index: CatalogueIndex) -> set[str]:
        """The units that may have lost something since their holders were read."""
        return {unit for owner in self.changed for _, unit in index.descent(owner)}

    def units_having(self, index: CatalogueIndex, position: str) -> frozenset[str]:
        """The units that may have the place."""
        if position not in self.having:
            owners = self.places.get(position, ())
            self.having[position] = frozenset(unit for owner in owners for _, unit in index.descent(owner))
        return self.having[position]


def is_unsound(index: CatalogueIndex, part: Part) -> bool:
    """Is the part, as it is found in its unit, in a condition in which it cannot be used?"""
    state = index.catalogue.part_conditions.get(part.found_condition or part.condition)
    return state is not None and not state.usable


def holders_of(index: CatalogueIndex, side: str) -> Holders:
    """The holders among the units of a sort, read on first use."""
    kept: dict[str, Holders] = vars(index).setdefault(_KEPT, {})
    if side not in kept:
        kept[side] = _laid_over(index, side) if isinstance(index, LayeredIndex) else _read(index, side)
    return kept[side]


def _read(index: CatalogueIndex, side: str) -> Holders:
    found = Holders(_held(index, side))
    parents: dict[str, dict[str, set[str]]] = {}
    for unit in index.units(side):
        parent = index.catalogue.parts[unit].variant_of
        if parent and parent not in parents:
            parents[parent] = _targets(index, parent)
            _add_new(found, parent, parents[parent], {})
        if unit not in parents:
            _add_new(found, unit, _targets(index, unit), parents.get(parent, {}))
    return found


def _held(index: CatalogueIndex, side: str) -> tuple[str, ...]:
    return tuple(unit for unit in index.units(side) if not index.catalogue.parts[unit].abstract)


def _on_condition(index: CatalogueIndex, owner: str) -> bool:
    return any(edge.conditions for edges in index.contains(owner).values() for edge in edges)


def _targets(index: CatalogueIndex, unit: str) -> dict[str, set[str]]:
    return {position: {edge.target for edge in edges} for position, edges in index.contains(unit).items()}


def _add_new(found: Holders, owner: str, here: dict[str, set[str]], above: dict[str, set[str]]) -> None:
    """What the owner says beyond its family."""
    for position, parts in here.items():
        for part in parts - above.get(position, set()):
            found.add(owner, position, part)


def _laid_over(index: LayeredIndex, side: str) -> Holders:
    """Those of the index below, and what the changed edges add. What they take away is still named."""
    below = holders_of(index.below, side)
    found = Holders(_held(index, side))
    found.owners.update(below.owners)
    found.places.update((position, set(owners)) for position, owners in below.places.items())
    found.changed |= below.changed
    for name in index.names:
        edge, old = index.catalogue.edges.get(name), index.below.catalogue.edges.get(name)
        if old is not None and old.kind in (CONTAINS, HAS_NONE):
            found.changed.add(old.source)
        if edge is not None and edge.kind == HAS_NONE:
            found.changed.add(edge.source)
        if edge is not None and edge.kind == CONTAINS:
            found.add(edge.source, edge.position, edge.target)
        part, before = index.catalogue.parts.get(name), index.below.catalogue.parts.get(name)
        if before is not None and (part is None or part.variant_of != before.variant_of):
            found.changed.add(name)
        if part is not None and side in index.kinds_of(part.kind):
            _add_new(found, name, _targets(index, name), {})
    return found


def needed_by(index: CatalogueIndex, part: str) -> list[str]:
    """The parts that say they need this one, or a family of it; with variants."""
    sources = {edge.source for one in index.lineage(part) for edge in index.edges_at(one, NEEDS, outward=False)}
    return [one for source in sources for _, one in index.descent(source)]

"""An index over a catalogue that differs in a few things from one that is indexed already.

What the changed things do not touch is looked up below. So a note is taken in at once, however large the catalogue.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from graph.catalogue.layered import list_changed
from graph.catalogue.model import UNIT_KINDS, Catalogue, Edge, Part
from graph.catalogue.relations import RELATIONS
from graph.reading.index import CatalogueIndex
from graph.reading.listing import LayeredListing, Listing
from graph.reading.sequences import patched

Key = TypeVar("Key")
Thing = TypeVar("Thing")
PartIds = Mapping[str, Sequence[str]]

MOST_LAID_OVER = 2_000  # changed things; beyond, what stands so far is taken as the new ground


def list_changed_things(old: Catalogue, new: Catalogue) -> list[str]:
    """The ids of the parts and edges that the two catalogues do not have alike."""
    return [*list_changed(old.parts, new.parts), *list_changed(old.edges, new.edges)]


class FollowingIndex:
    """The index of a catalogue that changes a little at a time. Not for two threads at once."""

    def __init__(self, root: CatalogueIndex):
        self._base = self._last = self._root = root

    def of(self, catalogue: Catalogue) -> CatalogueIndex:
        """The index of the catalogue as it is now; the same object while it is the same catalogue."""
        if catalogue is self._last.catalogue:
            return self._last
        names = list_changed_things(self._base.catalogue, catalogue) if self._has_kinds_of(catalogue) else None
        if names is None or len(names) > MOST_LAID_OVER:
            self._last = self._base = self._root.anew(catalogue)
        else:
            self._last = LayeredIndex(self._base, catalogue, names)
        return self._last

    def _has_kinds_of(self, catalogue: Catalogue) -> bool:
        known = self._base.catalogue
        return (known.part_kinds, known.joint_kinds) == (catalogue.part_kinds, catalogue.joint_kinds)


class LayeredIndex(CatalogueIndex):
    """The look-ups of an index over a changed catalogue."""

    def __init__(self, below: CatalogueIndex, catalogue: Catalogue, names: Collection[str]):
        """`names`: the ids of everything that is not in `catalogue` as it is in the catalogue of `below`."""
        self.below, self.names = below, frozenset(names)
        super().__init__(catalogue)

    def _index_parts(self) -> None:
        old, new = self.below.catalogue.parts, self.catalogue.parts
        self._changed_parts = frozenset(name for name in self.names if name in old or name in new)

        def over(below: PartIds, keys: Callable[[Part], Iterable[str]]) -> PartIds:
            before, after = (_ends(table, self._changed_parts, keys) for table in (old, new))
            return _over(_own(below, before, after, str), below)

        self._of_kind = over(self.below._of_kind, lambda part: (part.kind,))
        self._variants = over(self.below._variants, lambda part: (part.variant_of,) if part.variant_of else ())
        self._units = over(self.below._units, self._units_of)

    def _units_of(self, part: Part) -> list[str]:
        kinds = self.kinds_of(part.kind)
        return [unit for unit in UNIT_KINDS if unit in kinds]

    def _index_edges(self) -> None:
        old, new = self.below.catalogue.edges, self.catalogue.edges
        changed = [name for name in self.names if name in old or name in new]
        before: dict[str, dict[Any, list[Edge]]] = {relation: defaultdict(list) for relation in RELATIONS}
        after: dict[str, dict[Any, list[Edge]]] = {relation: defaultdict(list) for relation in RELATIONS}
        for table, index, found in ((old, self.below, before), (new, self, after)):
            for name in changed:
                if name in table:
                    for relation, key in index.places_of(table[name]):
                        found[relation][key].append(table[name])

        def over(relation: str, below: Mapping[Any, Sequence[Edge]]) -> Mapping[Any, Sequence[Edge]]:
            return _over(_own(below, before[relation], after[relation], lambda edge: edge.id), below)

        self._mating = over("mating", self.below._mating)
        self._mating_inside = over("mating-inside", self.below._mating_inside)
        self._contains = over("contains", self.below._contains)
        self._replacing = over("replacing", self.below._replacing)
        self._replaced = over("replaced", self.below._replaced)
        self._side_effects = over("side-effects", self.below._side_effects)
        self._rules = over("rules", self.below._rules)
        self._ends = over("ends", self.below._ends)
        opened = [
            {fault: [edge.source for edge in edges] for fault, edges in found["laid-open"].items()}
            for found in (before, after)
        ]
        below = self.below._laid_open_by
        self._laid_open_by = _over(_own(below, opened[0], opened[1], str), below)

    def _index_work(self) -> None:
        """Tasks, faults and inspections: the look-ups below hold where none of them is another."""
        tables = ("tasks", "faults", "inspections")
        if all(getattr(self.catalogue, name) is getattr(self.below.catalogue, name) for name in tables):
            self._stand_ins, self._faults = self.below._stand_ins, self.below._faults
            self._inspections = self.below._inspections
        else:
            super()._index_work()

    def _listing(self) -> Listing:
        return LayeredListing(self.below.listing, self.below.catalogue, self.catalogue, self.names)

    def anew(self, catalogue: Catalogue) -> CatalogueIndex:
        """An index of the sort of the lowest over another catalogue."""
        return self.below.anew(catalogue)

    def _can_be_held(self, part: str) -> bool:
        return super()._can_be_held(part) if part in self._changed_parts else self.below._can_be_held(part)

    def priced_kinds(self) -> frozenset[str]:
        """The kinds below, and those of which a changed part has a price.

        A price taken back leaves its kind among them: then more is looked at than need be.
        """
        if self._priced is None:
            parts = (self.catalogue.parts[name] for name in self._changed_parts if name in self.catalogue.parts)
            own = {part.kind for part in parts if part.cash_hundredths is not None and not part.abstract}
            self._priced = self.below.priced_kinds() | own
        return self._priced


def _ends(
    table: Mapping[str, Thing], names: Iterable[str], keys: Callable[[Thing], Iterable[str]]
) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for name in names:
        if name in table:
            for key in keys(table[name]):
                found[key].append(name)
    return found


def _own(
    below: Mapping[Key, Sequence[Thing]], before: Mapping[Key, Sequence[Thing]], after: Mapping[Key, Sequence[Thing]],
    order: Callable[[Thing], str],
) -> dict[Key, Sequence[Thing]]:  # fmt: skip
    """What the changed keys hold now: what was below, without what stood there `before`, with what comes `after`."""
    found: dict[Key, Sequence[Thing]] = {}
    for key in {*before, *after}:
        gone = {order(thing) for thing in before.get(key, ())}
        found[key] = patched(below.get(key, ()), gone, after.get(key, ()), order)
    return found


def _over(own: dict[Key, Sequence[Thing]], below: Mapping[Key, Sequence[Thing]]) -> Mapping[Key, Sequence[Thing]]:
    """The keys of its own before those below."""
    return _Over(own, below) if own else below


class _Over(Mapping[Key, Sequence[Thing]]):
    """Only ever asked for what it has of a key."""

    def __init__(self, own: dict[Key, Sequence[Thing]], below: Mapping[Key, Sequence[Thing]]):
        self._own, self._below = own, below

    def get(self, key: Key, default: Any = None) -> Any:
        found = self._own.get(key)
        return self._below.get(key, default) if found is None else found

    def __getitem__(self, key: Key) -> Sequence[Thing]:
        found = self._own.get(key)
        return self._below[key] if found is None else found

    def __iter__(self) -> Iterator[Key]:
        yield from (key for key in self._below if key not in self._own)
        yield from self._own

    def __len__(self) -> int:
        return sum(1 for _ in self)

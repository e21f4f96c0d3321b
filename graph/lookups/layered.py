"""An index over a catalogue that differs in a few things from one that is indexed already.

What the changed things do not touch is looked up below. So a note is taken in at once, however large the catalogue, and
the index before it goes on answering the questions that were put to it. However many follow each other, a layered index
lies over one that is none: its changed look-ups stand in tables that share with the last one's all that stays.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import product
from typing import Any, TypeVar

from graph.catalogue.layered import Pieced, list_changed, lowest_ids
from graph.catalogue.model import Catalogue, Edge, Part
from graph.catalogue.relations import EDGES_BY, PARTS_BY
from graph.lookups.change import Change, TooMuchChanged, turned_inside
from graph.lookups.index import CatalogueIndex, fault_keys, inspection_keys, stand_in_keys
from graph.lookups.listing import LayeredListing, Listing
from graph.lookups.sequences import patched

Key = TypeVar("Key")
Thing = TypeVar("Thing")

MOST_AT_ONCE = 2_000  # changed things; beyond, the whole is indexed anew


def list_changed_things(old: Catalogue, new: Catalogue) -> list[str]:
    """The ids of the parts and edges that the two catalogues do not have alike."""
    return [*list_changed(old.parts, new.parts), *list_changed(old.edges, new.edges)]


def has_same_kinds(old: Catalogue, new: Catalogue) -> bool:
    """Do the catalogues know the same kinds of parts, joints and jobs? Else one's look-ups are not the other's."""
    return (old.part_kinds, old.joint_kinds, old.assemblies) == (new.part_kinds, new.joint_kinds, new.assemblies)


class FollowingIndex:
    """The index of a catalogue that changes a little at a time. Not for two threads at once."""

    def __init__(self, root: CatalogueIndex):
        self._last = self._root = root

    def of(self, catalogue: Catalogue) -> CatalogueIndex:
        """The index of the catalogue as it is now; the same object while it is the same catalogue."""
        if catalogue is self._last.catalogue:
            return self._last
        known = self._last.catalogue
        names = list_changed_things(known, catalogue) if has_same_kinds(known, catalogue) else None
        if names is None or len(names) > MOST_AT_ONCE:
            self._last = self._root.anew(catalogue)
        else:
            self._last = LayeredIndex(self._last, catalogue, names)
        return self._last


class LayeredIndex(CatalogueIndex):
    """The look-ups of an index over a changed catalogue with the same kinds.

    `below`: the index that it lies over, none that is layered itself. `names`: of all parts and edges (its keys) that
    `catalogue` may have otherwise than the catalogue of `below`; `repriced`: of parts with perhaps another price.
    """

    below: CatalogueIndex
    names: Pieced[str, None]
    repriced: Pieced[str, None]

    def __init__(self, last: CatalogueIndex, catalogue: Catalogue, names: Iterable[str], repriced: Iterable[str] = ()):
        """`names`: the ids of all parts and edges that are not in `catalogue` as they are in the catalogue of `last`.

        `repriced`: of those parts that differ at most in what they cost and where they are had. `last` may be layered
        itself; nothing of it is changed, and it is not held.
        """
        changed, prices = dict.fromkeys(names), dict.fromkeys(repriced)
        changed.update(dict.fromkeys(turned_inside(last, catalogue, list(changed))))
        known = last.names if isinstance(last, LayeredIndex) else Pieced[str, None]()
        self.below = last.below if isinstance(last, LayeredIndex) else last
        self.names = known.changed(changed)
        before = last.repriced if isinstance(last, LayeredIndex) else Pieced[str, None]()
        self.repriced = before.changed(prices) if prices else before
        self._from: tuple[CatalogueIndex, Mapping[str, None]] | None = (last, changed)  # while it is being made
        super().__init__(catalogue)
        self._take_over(last, Change(last, self, changed, prices))
        self._from = None

    def _last(self) -> tuple[CatalogueIndex, Mapping[str, None]]:
        assert self._from is not None
        return self._from

    def _index_parts(self) -> None:
        last, changed = self._last()
        old, new = last.catalogue.parts, self.catalogue.parts
        moved = [name for name in changed if _place(old.get(name)) != _place(new.get(name))]

        before, after = (_by_relation(index, index.catalogue.parts, moved, _part_places) for index in (last, self))
        known = dict(zip(PARTS_BY, (last._variants, last._of_kind, last._units), strict=True))
        self._set_parts({one: _over(known[one], before[one], after[one], str) for one in PARTS_BY})

    def _index_edges(self) -> None:
        last, changed = self._last()
        before, after = (_by_relation(index, index.catalogue.edges, changed, _edge_places) for index in (last, self))
        self._set_edges({one: _over(last._edges[one], before[one], after[one], _id) for one in EDGES_BY})

    def _index_work(self) -> None:
        last, _ = self._last()

        def over(name: str, below: Mapping[Any, Sequence[str]], keys: Callable[[Any], Sequence[Any]]) -> Any:
            old, new = (lowest_ids(getattr(known, name)) for known in (last.catalogue, self.catalogue))
            changed = list_changed(old, new)
            return _over(below, _ends(old, changed, keys), _ends(new, changed, keys), str)

        self._stand_ins = over("tasks", last._stand_ins, stand_in_keys)
        self._faults = over("faults", last._faults, fault_keys)
        self._inspections = over("inspections", last._inspections, inspection_keys)

    def _listing(self) -> Listing:
        last, changed = self._last()
        return LayeredListing(last.listing, last.catalogue, self.catalogue, changed)

    def _take_over(self, last: CatalogueIndex, change: Change) -> None:
        """What was looked up and worked out with the last index, but for what the change touches."""
        self._kinds = last._kinds
        if last._priced is not None and len(change.repriced) <= MOST_AT_ONCE:
            self._priced = last._priced | self._priced_among((*change.parts, *change.repriced))
        try:
            at_joint, whole = change.stated()
        except TooMuchChanged:
            return
        stated = [*at_joint, *product(whole, self.catalogue.joint_kinds)]
        self._statements = _without(last._statements, stated)
        self._statements_inside = _without(last._statements_inside, stated)
        self._counts, self._mates = _without(last._counts, stated), _without(last._mates, stated)
        self._effects_known = _without(last._effects_known, whole)
        self._rules_known = _without(last._rules_known, whole)
        self._lineages = _without(last._lineages, whole)
        self._descents = _without(last._descents, whole | change.families())
        for name, kept in list(last.kept.items()):
            if (found := kept.handed_on(change)) is not None:
                self.kept[name] = found

    def anew(self, catalogue: Catalogue) -> CatalogueIndex:
        """An index of the sort of the lowest over another catalogue."""
        return self.below.anew(catalogue)

    def _can_be_held(self, part: str) -> bool:
        return super()._can_be_held(part) if part in self.names else self.below._can_be_held(part)

    def priced_kinds(self) -> frozenset[str]:
        """The kinds below, and those of which a changed part has a price.

        A price taken back leaves its kind among them: then more is looked at than need be.
        """
        if self._priced is None:
            self._priced = self.below.priced_kinds() | self._priced_among((*self.names, *self.repriced))
        return self._priced

    def _priced_among(self, names: Iterable[str]) -> frozenset[str]:
        parts = (self.catalogue.parts[name] for name in names if name in self.catalogue.parts)
        return frozenset(part.kind for part in parts if part.cash_hundredths is not None and not part.abstract)


def _place(part: Part | None) -> tuple[str, str] | None:
    """What a part is listed by."""
    return None if part is None else (part.kind, part.variant_of)


def _without(table: dict[Key, Thing], keys: Iterable[Key]) -> dict[Key, Thing]:
    """A copy without the keys; whoever looks things up in the table meanwhile may add to it."""
    kept = table.copy()
    for key in keys:
        kept.pop(key, None)
    return kept


def _part_places(index: CatalogueIndex, part: Part) -> Iterator[tuple[str, Any, Any]]:
    for relation, key in index.places_of_part(part):
        yield relation, key, part.id


def _edge_places(index: CatalogueIndex, edge: Edge) -> Iterator[tuple[str, Any, Any]]:
    for relation, key in index.places_of(edge):
        yield relation, key, edge


def _id(edge: Edge) -> str:
    return edge.id


def _by_relation(
    index: CatalogueIndex, table: Mapping[str, Thing], names: Iterable[str],
    places: Callable[[CatalogueIndex, Thing], Iterable[tuple[str, Any, Any]]],
) -> Mapping[str, dict[Any, list[Any]]]:  # fmt: skip
    """What stands at the places of those of the names that are in the table."""
    found: dict[str, dict[Any, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for name in names:
        thing = table.get(name)
        if thing is not None:
            for relation, key, stands in places(index, thing):
                found[relation][key].append(stands)
    return found


def _ends(
    table: Mapping[str, Thing], names: Iterable[str], keys: Callable[[Thing], Iterable[Key]]
) -> dict[Key, list[str]]:
    found: dict[Key, list[str]] = defaultdict(list)
    for name in names:
        if name in table:
            for key in keys(table[name]):
                found[key].append(name)
    return found


def _over(
    last: Mapping[Key, Sequence[Thing]], before: Mapping[Key, Sequence[Thing]], after: Mapping[Key, Sequence[Thing]],
    order: Callable[[Thing], str],
) -> Mapping[Key, Sequence[Thing]]:  # fmt: skip
    """`last`, whose changed keys hold what they held, without what stood there `before`, with what comes `after`."""
    changed: dict[Key, Sequence[Thing]] = {}
    for key in {*before, *after}:
        gone = {order(thing) for thing in before.get(key, ())}
        changed[key] = patched(last.get(key, ()), gone, after.get(key, ()), order)
    return _laid_over(last, changed)


def _laid_over(
    last: Mapping[Key, Sequence[Thing]], changed: Mapping[Key, Sequence[Thing]]
) -> Mapping[Key, Sequence[Thing]]:
    if not changed:
        return last
    own, below = (last.own, last.below) if isinstance(last, _Over) else (Pieced[Key, Sequence[Thing]](), last)
    return _Over(own.changed(changed), below)


class _Over(Mapping[Key, Sequence[Thing]]):
    """The keys of its own before those below. Only ever asked for what it has of a key."""

    def __init__(self, own: Pieced[Key, Sequence[Thing]], below: Mapping[Key, Sequence[Thing]]):
        self.own, self.below = own, below

    def get(self, key: Key, default: Any = None) -> Any:
        found = self.own.get(key)
        return self.below.get(key, default) if found is None else found

    def __getitem__(self, key: Key) -> Sequence[Thing]:
        found: Sequence[Thing] | None = self.own.get(key)
        return self.below[key] if found is None else found

    def __iter__(self) -> Iterator[Key]:
        yield from (key for key in self.below if key not in self.own)
        yield from self.own

    def __len__(self) -> int:
        return sum(1 for _ in self)

"""An index over a catalogue that differs in a few things from one that is indexed already.

What the changed things do not touch is looked up below. So a note is taken in at once, however large the catalogue, and
the index before it goes on answering the questions that were put to it. However many follow each other, a layered index
lies over one that is none: its changed look-ups stand in tables that share with the last one's all that stays.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import partial
from itertools import product
from typing import Any, TypeVar

from graph.catalogue.layered import Pieced, list_changed, lowest_ids
from graph.catalogue.model import Catalogue, Edge, Part
from graph.catalogue.relations import EDGES_BY, PARTS_BY
from graph.lookups.change import Change, TooMuchChanged, stands, turned_inside
from graph.lookups.index import CatalogueIndex
from graph.lookups.sequences import patched
from graph.lookups.tables import WORK_BY, LookupTables, RowsByKey, RowsOver, by_key, edge_places, part_places

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
        super().__init__(catalogue, _laid_over(last.tables, last.catalogue, catalogue, changed))
        self._take_over(last, Change(last, self, changed, prices))

    def _take_over(self, last: CatalogueIndex, change: Change) -> None:
        """What was looked up and worked out with the last index, but for what the change touches."""
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


def _without(table: dict[Key, Thing], keys: Iterable[Key]) -> dict[Key, Thing]:
    """A copy without the keys; whoever looks things up in the table meanwhile may add to it."""
    kept = table.copy()
    for key in keys:
        kept.pop(key, None)
    return kept


def _laid_over(last: LookupTables, old: Catalogue, new: Catalogue, names: Collection[str]) -> LookupTables:
    """The look-ups of `new`, which has the same kinds as `old` and other parts and edges of these names. Holds neither.

    `last`: those of `old`.
    """
    kinds = last.kinds
    moved = [name for name in names if stands(old.parts.get(name)) != stands(new.parts.get(name))]
    parts = [_rows(known.parts, moved, partial(part_places, kinds), _id) for known in (old, new)]
    edges = [_rows(known.edges, names, partial(edge_places, known, kinds), _itself) for known in (old, new)]
    return LookupTables(
        kinds,
        {one: _over(last.parts[one], parts[0][one], parts[1][one], str) for one in PARTS_BY},
        {one: _over(last.edges[one], edges[0][one], edges[1][one], _id) for one in EDGES_BY},
        {one: _work_over(last.work[one], old, new, *WORK_BY[one]) for one in WORK_BY},
        last.listing.changed(old, new, names),
    )


def _work_over(
    last: RowsByKey[Key, str], old: Catalogue, new: Catalogue, table: str, keys: Callable[[Any], Sequence[Key]]
) -> RowsByKey[Key, str]:
    before, after = (lowest_ids(getattr(known, table)) for known in (old, new))
    changed = list_changed(before, after)
    return _over(last, by_key(before, keys, changed), by_key(after, keys, changed), str)


def _id(thing: Part | Edge) -> str:
    return thing.id


def _itself(edge: Edge) -> Edge:
    return edge


def _rows(
    table: Mapping[str, Thing], names: Iterable[str], places: Callable[[Thing], Iterable[tuple[str, Any]]],
    row: Callable[[Thing], Any],
) -> Mapping[str, dict[Any, list[Any]]]:  # fmt: skip
    """By look-up and key, what stands there of those of the names that are in the table."""
    found: dict[str, dict[Any, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for name in names:
        thing = table.get(name)
        if thing is not None:
            for relation, key in places(thing):
                found[relation][key].append(row(thing))
    return found


def _over(
    last: RowsByKey[Key, Thing], before: Mapping[Key, Sequence[Thing]], after: Mapping[Key, Sequence[Thing]],
    order: Callable[[Thing], str],
) -> RowsByKey[Key, Thing]:  # fmt: skip
    """`last`, whose changed keys hold what they held, without what stood there `before`, with what comes `after`."""
    changed: dict[Key, Sequence[Thing]] = {}
    for key in {*before, *after}:
        gone = {order(thing) for thing in before.get(key, ())}
        changed[key] = patched(last.get(key, ()), gone, after.get(key, ()), order)
    if not changed:
        return last
    if isinstance(last, RowsOver) and isinstance(last.own, Pieced):
        return RowsOver(last.own.changed(changed), last.below)
    return RowsOver(Pieced(changed), last)

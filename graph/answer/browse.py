"""Looking things up in the catalogue: one part, parts by kind and words, and the edges of a part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import merge
from itertools import groupby, islice

from graph.catalogue.model import END_SORTS, Edge, Part
from graph.catalogue.near import near_matches
from graph.errors import NotFound
from graph.lookups.index import CatalogueIndex
from graph.lookups.sequences import Each

Sort = tuple[str, bool]  # of edges at one of their ends, see END_SORTS


def get_part(index: CatalogueIndex, part_id: str) -> Part:
    """The part with this id. Raises NotFound, with near matches."""
    found = index.catalogue.parts.get(part_id)
    if found is None:
        raise NotFound("part", part_id, near_matches(part_id, index.catalogue.parts))
    return found


def check_kind(index: CatalogueIndex, kind: str) -> None:
    """Raises NotFound for a part kind that the graph does not know; none at all is fine."""
    kinds = index.catalogue.part_kinds
    if kind and kind not in kinds:
        raise NotFound("part kind", kind, near_matches(kind, kinds))


def list_parts(index: CatalogueIndex, kind: str = "", text: str = "") -> Sequence[Part]:
    """The parts in order of ids, made when looked at. `kind`: of this kind or a narrower one.

    `text`: words that all stand in id, label or number. Raises NotFound for a kind that the graph does not know.
    """
    check_kind(index, kind)
    return parts_of(index, list_ids(index, [(word,) for word in text.casefold().split()], kind))


def list_ids(index: CatalogueIndex, choices: Sequence[Sequence[str]], kind: str = "") -> Sequence[str]:
    """The ids of the parts with one word of each choice, of the kind or a narrower one; in order."""
    if choices:
        return index.listing.find_ids(choices, index.kinds_under(kind) if kind else ())
    return index.parts_of_kind(kind) if kind else index.listing.ids


def parts_of(index: CatalogueIndex, ids: Sequence[str]) -> Sequence[Part]:
    """The parts with these ids, made when looked at."""
    return Each(ids, index.catalogue.parts.__getitem__)


def edges_of_part(index: CatalogueIndex, part_id: str, start: int = 0, count: int | None = None) -> tuple[Edge, ...]:
    """The edges that start or end at the part or at a family it is a variant of, its own first; by id.

    `start`, `count`: only so many of them, from there on; a standard bearing has thousands.
    """
    stop = None if count is None else start + count
    return tuple(islice((edge for one in index.lineage(part_id) for edge in _edges_at(index, one)), start, stop))


def count_edges(index: CatalogueIndex, part_id: str) -> int:
    """How many edges `edges_of_part` has, one that starts and ends at the same part counted at both ends."""
    return sum(len(edges) for edges in edges_by_sort(index, part_id).values())


def edges_by_sort(index: CatalogueIndex, part_id: str) -> dict[Sort, Sequence[Edge]]:
    """The same edges by what sort they are at the part (see END_SORTS); each made when looked at, and counted."""
    found: dict[Sort, Sequence[Edge]] = {}
    for sort in END_SORTS:
        lists = [index.edges_at(one, *sort) for one in index.lineage(part_id)]
        filled = [edges for edges in lists if edges]
        if filled:
            found[sort] = filled[0] if len(filled) == 1 else _Chained(filled)
    return found


def _edges_at(index: CatalogueIndex, part: str) -> Iterator[Edge]:
    lists = (index.edges_at(part, *sort) for sort in END_SORTS)
    ordered = merge(*(edges for edges in lists if edges), key=lambda edge: edge.id)
    return (next(same) for _, same in groupby(ordered, key=lambda edge: edge.id))


class _Chained(Sequence[Edge]):
    """Lists one after the other."""

    def __init__(self, lists: Sequence[Sequence[Edge]]):
        self._lists = lists

    def __len__(self) -> int:
        return sum(map(len, self._lists))

    def __getitem__(self, place: int | slice) -> Edge | list[Edge]:  # type: ignore[override]
        if isinstance(place, slice):
            start, stop, step = place.indices(len(self))
            return list(islice(self, start, stop, step))
        found = next(islice(self, place + len(self) if place < 0 else place, None), None)
        if found is None:
            raise IndexError(place)
        return found

    def __iter__(self) -> Iterator[Edge]:
        for edges in self._lists:
            yield from edges

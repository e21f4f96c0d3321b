"""Looking things up in the catalogue: parts by kind and text, and the edges of a part.

The look-up lists are made at the first use of an index and kept as long as it lives.
"""

from __future__ import annotations

from collections import defaultdict
from weakref import WeakKeyDictionary

from graph.catalogue.model import Edge, Part
from graph.errors import NotFound
from graph.reading.index import CatalogueIndex
from graph.reading.near import near_matches


class _Lists:
    """Parts in order of ids with the text that a search looks through, and edges by their ends."""

    def __init__(self, index: CatalogueIndex):
        catalogue = index.catalogue
        self.parts = tuple(part for _, part in sorted(catalogue.parts.items()))
        self.texts = tuple(f"{part.id} {part.label} {part.number}".casefold() for part in self.parts)
        self.edges: dict[str, list[Edge]] = defaultdict(list)
        for _, edge in sorted(catalogue.edges.items()):
            for end in {edge.source, edge.target}:
                self.edges[end].append(edge)


_LISTS: WeakKeyDictionary[CatalogueIndex, _Lists] = WeakKeyDictionary()


def _lists(index: CatalogueIndex) -> _Lists:
    found = _LISTS.get(index)
    if found is None:
        found = _LISTS[index] = _Lists(index)
    return found


def get_part(index: CatalogueIndex, part_id: str) -> Part:
    """The part with this id. Raises NotFound, with near matches."""
    found = index.catalogue.parts.get(part_id)
    if found is None:
        raise NotFound("part", part_id, near_matches(part_id, index.catalogue.parts))
    return found


def list_parts(index: CatalogueIndex, kind: str = "", text: str = "") -> tuple[Part, ...]:
    """The parts in order of ids. `kind`: of this kind or a narrower one; `text`: words in id, label or number.

    Raises NotFound for a kind that the graph does not know.
    """
    kinds = index.catalogue.part_kinds
    if kind and kind not in kinds:
        raise NotFound("part kind", kind, near_matches(kind, kinds))
    lists, wanted = _lists(index), text.casefold().split()
    return tuple(
        part
        for part, inside in zip(lists.parts, lists.texts, strict=True)
        if all(word in inside for word in wanted) and (not kind or kind in index.kinds_of(part.kind))
    )


def edges_of_part(index: CatalogueIndex, part_id: str) -> tuple[Edge, ...]:
    """The edges that start or end at the part or at a family it is a variant of, its own first."""
    edges = _lists(index).edges
    return tuple(edge for one in index.lineage(part_id) for edge in edges.get(one, ()))

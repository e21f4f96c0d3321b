"""The tables in which every index looks things up: a key, and what stands there, in order of ids.

How a table holds its rows differs (a dict, columns of a file, changes over either); what it is asked does not. Here are
those of a catalogue in memory; of a file: graph/lookups/compact.py, with changes: graph/lookups/layered.py.
"""

from __future__ import annotations

from array import array
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, Generic, Protocol, TypeVar

from graph.catalogue.kinds import BroaderKinds
from graph.catalogue.model import Catalogue, Edge, Part, StatedFault, StatedInspection
from graph.catalogue.relations import EDGES_BY, PARTS_BY, asked_of, keys_of_part, places_of_edge, places_of_part
from graph.catalogue.terms import TaskKind
from graph.catalogue.texts import Texts, pack_texts, text_of
from graph.lookups.listing import Asked, ListedParts, Listing
from graph.lookups.sequences import Each

Key = TypeVar("Key")
AnyKey = TypeVar("AnyKey", contravariant=True)
Row = TypeVar("Row")
AnyRow = TypeVar("AnyRow", covariant=True)


class RowsByKey(Protocol[AnyKey, AnyRow]):
    """Asked for a key, and only for what it has of one."""

    def get(self, key: AnyKey, default: Any, /) -> Sequence[AnyRow]:
        """What stands at the key, in order of ids; `default` where nothing does."""


class RowsOver(Generic[Key, Row]):
    """A table whose `own` keys stand before those `below`."""

    def __init__(self, own: Mapping[Key, Sequence[Row]], below: RowsByKey[Key, Row]):
        self.own, self.below = own, below

    def get(self, key: Key, default: Any, /) -> Sequence[Row]:
        """What stands at the key, in order of ids; `default` where nothing does."""
        found = self.own.get(key)
        return self.below.get(key, default) if found is None else found


@dataclass(frozen=True, slots=True)
class LookupTables:
    """All that an index looks up. `parts` (ids), `edges`, `work` (ids): by PARTS_BY, EDGES_BY and WORK_BY."""

    kinds: BroaderKinds
    parts: Mapping[str, RowsByKey[str, str]]
    edges: Mapping[str, RowsByKey[Any, Edge]]
    work: Mapping[str, RowsByKey[Any, str]]
    listing: Listing


def _stand_in_keys(task: TaskKind) -> Sequence[str]:
    return (task.instead_of,) if task.instead_of else ()


def _fault_keys(fault: StatedFault) -> Sequence[tuple[str, str]]:
    return ((fault.position, fault.of),)


def _inspection_keys(inspection: StatedInspection) -> Sequence[str]:
    return inspection.settles


# Tasks by the one that each replaces for some unit, faults by where and of what they are known, tests by what they
# settle: the catalogue's table, and the keys of a thing in it.
WORK_BY: Mapping[str, tuple[str, Callable[[Any], Sequence[Any]]]] = {
    "stand-ins": ("tasks", _stand_in_keys),
    "faults": ("faults", _fault_keys),
    "inspections": ("inspections", _inspection_keys),
}


def part_places(kinds: BroaderKinds, part: Part) -> Iterator[tuple[str, str]]:
    """Where a part stands: one of PARTS_BY each, and the key there."""
    return places_of_part(keys_of_part(part), kinds)


def edge_places(known: Catalogue, kinds: BroaderKinds, edge: Edge) -> Iterator[tuple[str, Any]]:
    """Where an edge of the catalogue stands: one of EDGES_BY each, and the key there."""

    def stands_inside(name: str) -> bool:
        part = known.parts.get(name)
        return part is not None and kinds.stands_inside(part.kind)

    return places_of_edge(edge.kind, edge.source, edge.target, edge.joint, stands_inside)


def tables_of(known: Catalogue) -> LookupTables:
    """Those of a catalogue in memory. All of it is read once; what is laid over it later reads only what changes."""
    kinds, ids = BroaderKinds(known.part_kinds), sorted(known.parts)
    numbers: dict[str, dict[str, array[int]]] = {relation: defaultdict(_no_numbers) for relation in PARTS_BY}
    for number, id_ in enumerate(ids):
        for relation, key in part_places(kinds, known.parts[id_]):
            numbers[relation][key].append(number)
    edges: dict[str, dict[Any, list[Edge]]] = {relation: defaultdict(list) for relation in EDGES_BY}
    for edge_id in sorted(known.edges):
        edge = known.edges[edge_id]
        for relation, key in edge_places(known, kinds, edge):
            edges[relation][key].append(edge)
    of_kind = numbers["of-kind"]
    listed = ListedParts(ids, lambda kind: of_kind.get(kind, ()), lambda: _texts_of(known, ids), lambda: _asked(known))
    return LookupTables(
        kinds,
        {one: {key: Each(found, ids.__getitem__) for key, found in numbers[one].items()} for one in PARTS_BY},
        edges,
        work_of(known),
        Listing(listed),
    )


def _no_numbers() -> array[int]:
    return array("q")


def work_of(known: Catalogue) -> Mapping[str, RowsByKey[Any, str]]:
    """The look-ups of tasks, faults and tests; of any catalogue they are few."""
    return {one: by_key(getattr(known, table), keys) for one, (table, keys) in WORK_BY.items()}


def by_key(
    table: Mapping[str, Any], keys: Callable[[Any], Sequence[Key]], names: Iterable[str] | None = None
) -> dict[Key, list[str]]:
    """The names of the table's things by the keys that each has, in order. `names`: only these, if in the table."""
    found: dict[Key, list[str]] = defaultdict(list)
    for name in sorted(table if names is None else names):
        for key in keys(table[name]) if name in table else ():
            found[key].append(name)
    return found


def _texts_of(known: Catalogue, ids: Sequence[str]) -> Texts:
    return Texts(pack_texts([text_of(known.parts[id_]) for id_ in ids]).__getitem__)


def _asked(known: Catalogue) -> Asked:
    things = chain[Part | Edge](known.parts.values(), known.edges.values())
    return Counter(one for thing in things for one in asked_of(thing))

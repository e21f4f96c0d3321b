"""Units that give parts: what came out of one unit mates among itself as it did there, and a donor must be stripped.

A part found in two units is of one make in both, so whoever gets two parts that some unit holds at two places that
mate, gets parts that mate. A donor in hand is a unit that the question names as its own without asking about it; it
stands on the bench, so that only bench work comes before its parts can be had.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from graph.catalogue.model import CONTAINS, Edge
from graph.catalogue.terms import JointKind
from graph.lookups.in_hand import donors_in_hand
from graph.lookups.index import CatalogueIndex
from graph.reading.found import Found
from graph.reading.question import Question
from graph.reading.sieve import Sieve

MOST_HOMES = 60  # a part that more statements put into units (a standard bearing) says nothing of any of them


def parts_of_donors(index: CatalogueIndex, question: Question) -> frozenset[str]:
    """The parts of the donors in hand."""
    donors = donors_in_hand(index, question)
    return frozenset(edge.target for unit in donors for edges in index.contains(unit).values() for edge in edges)


class Donors:
    """Which parts came out of one unit, for one question."""

    def __init__(self, sieve: Sieve):
        self._sieve = sieve
        self._in_hand = frozenset(donors_in_hand(sieve.index, sieve.question))
        self._homes: dict[tuple[str, str], Mapping[str, Edge]] = {}

    def pairs(
        self, joint: JointKind, one_end: Iterable[Found], other_end: Iterable[Found]
    ) -> dict[tuple[str, str], tuple[Edge, ...]]:
        """The pairs at the joint that some unit holds together, with the statements that say so.

        Parts that stay where one of the asked units has them are no donor's: their joints are noted or computed, but
        for one that is bought in place of the same part of that unit.
        """
        places = self._sieve.index.catalogue.position_kinds
        one_owner = len({places[position].owner for position in joint.between}) == 1
        there: dict[str, list[tuple[Found, Edge]]] = {}
        for found in other_end:
            for unit, edge in self._homes_of(found, joint.between[1]).items():
                there.setdefault(unit, []).append((found, edge))
        pairs: dict[tuple[str, str], tuple[Edge, ...]] = {}
        for first in one_end if there else ():
            for unit, edge in self._homes_of(first, joint.between[0]).items():
                if one_owner or unit in self._in_hand:
                    for second, other in there.get(unit, ()):
                        if first.part != second.part and not (first.unit and second.unit):
                            pairs.setdefault((first.part, second.part), (edge, other))
        return pairs

    def _homes_of(self, found: Found, position: str) -> Mapping[str, Edge]:
        if found.unit:  # it stays where it is: it speaks of that unit alone
            return dict.fromkeys([found.unit], found.edges[0]) if found.edges else {}  # a supposed part has none
        return self._homes_at(found.part, position)

    def _homes_at(self, part: str, position: str) -> Mapping[str, Edge]:
        """The units that hold the part, or what it is a variant of, at the place."""
        key = (part, position)
        if key not in self._homes:
            self._homes[key] = dict(self._find(part, position))
        return self._homes[key]

    def _find(self, part: str, position: str) -> Iterable[tuple[str, Edge]]:
        index = self._sieve.index
        makes = [one for one in index.lineage(part) if one in index.catalogue.parts]
        makes = [one for one in makes if one == part or not index.catalogue.parts[one].abstract]
        said = [edge for one in makes for edge in index.edges_at(one, CONTAINS, outward=False)[: MOST_HOMES + 1]]
        if len(said) > MOST_HOMES:
            return
        for edge in said:
            if edge.position == position and self._sieve.admits_edge(edge):
                for _, unit in index.descent(edge.source)[:MOST_HOMES]:
                    if edge in index.contains(unit).get(position, ()):
                        yield unit, edge

"""Whether two parts that nobody has stated to mate come of one family of units, or have relatives that mate."""

from __future__ import annotations

from collections.abc import Iterable

from graph.catalogue.model import CONTAINS, DOES_NOT_FIT
from graph.catalogue.terms import JointKind
from graph.reading.found import COMMON, Found
from graph.reading.sieve import Sieve


class Kinship:
    """Asked for one question: the odds that a joint does not close are other ones within a family."""

    def __init__(self, sieve: Sieve):
        self._sieve, self._index = sieve, sieve.index
        self._homes: dict[str, frozenset[str]] = {}
        self._relatives: dict[tuple[str, str], tuple[str, ...]] = {}

    def is_of_one_family(self, joint: JointKind, first: Found, second: Found) -> bool:
        """Do both come of units of one family, or is some relative of the one noted to mate with one of the other?"""
        if self._families(first) & self._families(second):
            return True
        ones, others = (self._kin(place, end) for place, end in zip(joint.between, (first, second), strict=True))
        return any(
            said.edge.kind != DOES_NOT_FIT and self._sieve.admits_edge(said.edge)
            for one in ones for other in others if one != other
            for said in self._index.said_of(one, other, joint.id)
        )  # fmt: skip

    def _families(self, found: Found) -> frozenset[str]:
        """The oldest ancestors of the units that hold the part."""
        if found.part not in self._homes:
            units = [found.unit] if found.unit else self._holders(found.part)
            self._homes[found.part] = frozenset(self._index.lineage(unit)[-1] for unit in units)
        return self._homes[found.part]

    def _holders(self, part: str) -> Iterable[str]:
        edges = self._index.edges_at(part, CONTAINS, False)
        return [edge.source for edge in edges] if len(edges) <= COMMON else ()

    def _kin(self, position: str, found: Found) -> tuple[str, ...]:
        """The part, and what sisters of its unit hold at the place."""
        key = (position, found.part)
        if key not in self._relatives:
            sisters = [
                sister for family in self._index.lineage(found.unit)[1:]
                for sister in self._index.variants_of(family)[:COMMON]
            ]  # fmt: skip
            held = (edge.target for one in sisters for edge in self._index.contains(one).get(position, ()))
            self._relatives[key] = tuple(dict.fromkeys((found.part, *held)))
        return self._relatives[key]

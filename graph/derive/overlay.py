"""An index over the catalogue with what was computed laid over it: the notes stay as they are below.

A computed statement speaks no louder than the notes about its pair: it stands at their level, so that a note and the
arithmetic that disagree are a dispute and neither overrules the other.
"""

from __future__ import annotations

from collections import ChainMap, defaultdict
from collections.abc import Container, Iterable, Mapping, MutableMapping, Sequence
from dataclasses import replace
from typing import TypeVar, cast

from graph.catalogue.model import SHIFTS, Catalogue, Edge
from graph.catalogue.relations import MATING
from graph.lookups.findings import Derived
from graph.lookups.index import CatalogueIndex, Statement
from graph.lookups.tables import RowsOver

Thing = TypeVar("Thing")


class Laid:
    """What is computed, laid over the tables of an index, and what was looked up in it. Holds no index."""

    def __init__(self, below: CatalogueIndex, derived: Derived):
        self.derived = derived
        self.catalogue = _laid_over(below.catalogue, derived)
        self.computed: dict[tuple[str, str], list[Edge]] = defaultdict(list)
        own: dict[str, Sequence[Edge]] = {}
        for edge in derived.edges:
            if edge.kind in MATING:
                self.computed[edge.source, edge.joint].append(edge)
                self.computed[edge.target, edge.joint].append(edge)
            elif edge.kind == SHIFTS:
                own[edge.source] = (*own.get(edge.source, below._side_effects.get(edge.source, ())), edge)
        self.side_effects = RowsOver(own, below._side_effects)
        self.spoken: dict[tuple[str, str, bool], Mapping[str, tuple[Statement, ...]]] = {}
        self.effects_known: dict[str, tuple[Edge, ...]] = {}
        self.descents: dict[str, tuple[tuple[int, str], ...]] = {}
        self.lineages: dict[str, tuple[str, ...]] = {}


class OverlayIndex(CatalogueIndex):
    """The look-ups of an index, with computed edges and parts. Shares what does not change with the index below."""

    def __init__(
        self, below: CatalogueIndex, derived: Derived, without: frozenset[str] = frozenset(), laid: Laid | None = None
    ):
        """`without`: ids of mating edges to leave out, for asking what would be if they did not hold.

        `laid`: the same laid over the index before, where it was and nothing is left out.
        """
        self.__dict__.update(below.__dict__)  # the index below is built already
        self._without, self.below, self.derived = without, below, derived
        known = laid or Laid(below, derived)
        self.catalogue, self._computed, self._side_effects = known.catalogue, known.computed, known.side_effects
        self._spoken, self._effects_known = known.spoken, known.effects_known
        self._descents, self._lineages = known.descents, known.lineages

    def count_statements(self, part: str, joint: str) -> int:
        """How many edges speak of the part at the joint kind, computed ones included."""
        return self.below.count_statements(part, joint) + len(self._computed.get((part, joint), ()))

    def statements(self, part: str, joint: str) -> Mapping[str, tuple[Statement, ...]]:
        """What is noted and computed of the part at a joint kind, by the part that it is said to mate with."""
        return self._with_computed(part, joint, inside=False)

    def statements_inside(self, part: str, joint: str) -> Mapping[str, tuple[Statement, ...]]:
        """The same, only of plates, sleeves and the like."""
        return self._with_computed(part, joint, inside=True)

    def said_of(self, first: str, second: str, joint: str) -> tuple[Statement, ...]:
        """What is noted and computed of two parts at a joint kind."""
        noted = self.below.said_of(first, second, joint)
        said = tuple(one for one in noted if one.edge.id not in self._without)
        computed = [e for e in self._computed.get((first, joint), ()) if second in (e.source, e.target)]
        level = min((one.level for one in said), default=0)
        more = (Statement(level, edge) for edge in computed if first != second)
        return tuple(sorted((*said, *more), key=lambda one: one.edge.id)) if computed else said

    def mates_with_any(self, part: str, joint: str, families: Container[str]) -> bool:
        """Is the part noted or computed to mate at the joint kind with any of these parts or families?"""
        if self.below.mates_with_any(part, joint, families):
            return True
        computed = self._computed.get((part, joint), ())
        return any(edge.far_end(part) in families for edge in computed)

    def pairs_said(self, joint: str, one_end: Iterable[str], other_end: Iterable[str]) -> set[tuple[str, str]]:
        """The pairs, one part from each end, of which anything is noted or computed at the joint kind."""
        ones, others = frozenset(one_end), frozenset(other_end)
        found = self.below.pairs_said(joint, ones, others)
        for one in ones:
            for edge in self._computed.get((one, joint), ()):
                other = edge.far_end(one)
                if other in others:
                    found.add((one, other))
        return found

    def _with_computed(self, part: str, joint: str, *, inside: bool) -> Mapping[str, tuple[Statement, ...]]:
        key = (part, joint, inside)
        known = self._spoken.get(key)
        if known is None:
            known = self._spoken[key] = self._gather(part, joint, inside)
        return known

    def _gather(self, part: str, joint: str, inside: bool) -> Mapping[str, tuple[Statement, ...]]:
        noted = self.below.statements_inside(part, joint) if inside else self.below.statements(part, joint)
        computed = self._computed.get((part, joint), ())
        if self._without:
            kept = {
                other: tuple(one for one in said if one.edge.id not in self._without) for other, said in noted.items()
            }
            noted = {other: said for other, said in kept.items() if said}
        if not computed:
            return noted
        found = dict(noted)
        for edge in computed:
            other = edge.far_end(part)
            known = self.catalogue.parts.get(other)
            if inside and (known is None or not self.is_inside(known.kind)):
                continue
            said = found.get(other, ())
            level = min((one.level for one in said), default=0)
            found[other] = tuple(sorted((*said, Statement(level, edge)), key=lambda one: one.edge.id))
        return dict(sorted(found.items()))


def _laid_over(catalogue: Catalogue, derived: Derived) -> Catalogue:
    parts = {part.id: part for part in derived.parts}
    edges = {edge.id: edge for edge in derived.edges}
    return replace(catalogue, parts=_over(parts, catalogue.parts), edges=_over(edges, catalogue.edges))


def _over(above: dict[str, Thing], below: Mapping[str, Thing]) -> Mapping[str, Thing]:
    """One mapping over the other, without copying; only ever read."""
    return ChainMap(above, cast(MutableMapping[str, Thing], below))

"""Which units can close every joint with the other side at all: asked of the graph, without reading a question.

A part of a finished assembly hangs together with a part found in its unit: by joints within the unit, through parts
that stand between, by *replaces* or by *needs*; that is how a reading finds it (graph.reading.candidates). So per unit
the parts that may come to stand at its joints with the other side are found once and kept: prices, conditions and
evidence are not looked at, so the set is never too small. A unit none of whose parts at a joint mates with any of the
other side's needs no reading: it has no route.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from weakref import WeakKeyDictionary

from graph.catalogue.model import NEEDS, UNIT_KINDS, JointKind
from graph.reading import CatalogueIndex, Question
from graph.reading.candidates import COMMON

Parts = frozenset[str]


@dataclass(slots=True)
class _Kept:
    """What was found of units, per index: per unit and side its parts by position."""

    spread: dict[tuple[str, tuple[str, ...]], Mapping[str, Parts]] = field(default_factory=dict)


_KEPT: WeakKeyDictionary[CatalogueIndex, _Kept] = WeakKeyDictionary()


class Closable:
    """Judges the units of one side against the units that a question names on the others."""

    def __init__(self, index: CatalogueIndex, question: Question, side: str):
        self.index, self.known = index, index.catalogue
        self._kept = _KEPT.setdefault(index, _Kept())
        fixed = [unit for what in UNIT_KINDS if what != side and (unit := question.unit_of(what))]
        self.fixed = {position for unit in fixed for position in index.contains(unit)}
        owned = {one for one, kind in self.known.position_kinds.items() if kind.owner == side}
        far = tuple(j.id for j in self.known.joint_kinds.values() if owned.isdisjoint(j.between))
        self._near = tuple(j.id for j in self.known.joint_kinds.values() if self.fixed.isdisjoint(j.between))
        self._others: dict[str, Parts] = {}
        for unit in fixed:
            for position, parts in self._spread(unit, far).items():
                self._others[position] = self._others.get(position, frozenset()) | parts
        own = {self.known.parts[part].kind for part in question.own if part in self.known.parts}
        self._had = frozenset(index.priced_kinds() | own)
        self._ends: dict[str, tuple[Parts, Parts]] = {}
        self._free: dict[str, bool] = {}

    def can_close(self, unit: str) -> bool:
        """May the unit close all its joints with the others? False is certain."""
        here = self.index.contains(unit)
        if not self.fixed.isdisjoint(here):
            here = {position: edges for position, edges in here.items() if position not in self.fixed}
        parts = self._spread(unit, self._near)
        for joint in self.known.joint_kinds.values():
            one, other = joint.between
            if other in here:
                one, other = other, one
            if one in here and other in self.fixed and not self._closes(joint, parts.get(one, frozenset()), one, other):
                return False
        return True

    def _closes(self, joint: JointKind, parts: Parts, here: str, there: str) -> bool:
        if self._stands_free(here, self._near) or self._stands_free(there, ()):
            return True
        families, between = self._far_end(joint, there)
        for part in sorted(parts):
            if self.index.mates_with_any(part, joint.id, families):
                return True
            if between and not between.isdisjoint(self.index.statements_inside(part, joint.id)):
                return True
        return False

    def _stands_free(self, position: str, within: tuple[str, ...]) -> bool:
        """Could a part to be had stand there without mating with any other of its side?"""
        if position not in self._free:
            joints = within or [j.id for j in self.known.joint_kinds.values() if self.fixed.issuperset(j.between)]
            tied = any(position in self.known.joint_kinds[joint].between for joint in joints)
            kinds = frozenset(self.known.position_kinds[position].part_kinds)
            self._free[position] = not tied and any(
                not kinds.isdisjoint(self.index.kinds_of(kind)) for kind in self._had
            )
        return self._free[position]

    def _far_end(self, joint: JointKind, there: str) -> tuple[Parts, Parts]:
        """The others' parts at the joint with their families, and what can stand inside the joint next to them."""
        if joint.id not in self._ends:
            parts = self._others.get(there, frozenset())
            families = frozenset(family for part in parts for family in self.index.lineage(part))
            inside = {one for part in parts for one in self.index.statements_inside(part, joint.id)}
            inside |= {two for one in inside for two in self.index.statements_inside(one, joint.id)}
            self._ends[joint.id] = families, frozenset(inside) if joint.via_kinds else frozenset()
        return self._ends[joint.id]

    def _spread(self, unit: str, joints: tuple[str, ...]) -> Mapping[str, Parts]:
        """Per position, the parts that hang together with the unit's by these joints."""
        key = (unit, joints)
        found = self._kept.spread.get(key)
        if found is None:
            start = [edge.target for edges in self.index.contains(unit).values() for edge in edges]
            found = self._kept.spread[key] = self._by_position(self._connected(start, joints))
        return found

    def _connected(self, start: Iterable[str], joints: tuple[str, ...]) -> set[str]:
        seen, waiting = set(start), list(start)
        while waiting:
            part = waiting.pop()
            found = [edge.source for edge in self.index.replacing(part)]
            found += [edge.target for edge in self.index.rules(part) if edge.kind == NEEDS]
            for joint in joints if part in self.known.parts else ():
                if self.index.count_statements(part, joint) > 0 and not self.index.has_more_mates(part, joint, COMMON):
                    found += self.index.statements(part, joint)
            fresh = {one for name in found for _, one in self.index.descent(name)} - seen
            seen |= fresh
            waiting += fresh
        return seen

    def _by_position(self, parts: Iterable[str]) -> dict[str, Parts]:
        found: dict[str, set[str]] = {}
        for part in parts:
            known = self.known.parts.get(part)
            for position in self._places_of(known.kind) if known else ():
                found.setdefault(position, set()).add(part)
        return {position: frozenset(held) for position, held in found.items()}

    def _places_of(self, kind: str) -> list[str]:
        kinds = self.index.kinds_of(kind)
        return [one for one, at in self.known.position_kinds.items() if not kinds.isdisjoint(at.part_kinds)]

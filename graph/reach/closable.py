"""Which units can close every joint with the other side at all: asked of the graph, without reading a question.

A unit none of whose parts at a joint mates with any of the other side's needs no reading: it has no route. To find
those that have, one joint is followed back: from the other side's parts to those that mate with them there, to all
that hangs together with these (`spread`), to the units that it is found in (`holders`). So what is looked at grows
with what shares a bolt face, not with the trade. The units found are asked about the other joints one by one.
"""

from __future__ import annotations

from collections.abc import Iterable

from graph.catalogue.model import DOES_NOT_FIT, UNIT_KINDS, Condition
from graph.catalogue.relations import STATE
from graph.catalogue.terms import JointKind
from graph.lookups.in_hand import donors_in_hand
from graph.lookups.index import Statement
from graph.reach.computed import Computed
from graph.reach.holders import Holders, holders_of, is_unsound
from graph.reach.spread import NOTHING, JointSpread, Parts
from graph.reading import CatalogueIndex, Question
from graph.reading.conditions import FAILS, settle
from graph.reading.donors import parts_of_donors

MOST_MATES = 2_000  # statements; a joint with more of them is not followed back
MOST_FOLLOWED = 20_000  # parts
MOST_SPREADS = 100
MOST_TRIED = 3  # joints followed back, where one leads to too many
_KEPT = "kept_spreads"  # attribute of the index: what was followed lives and dies with its revision


class Closable:
    """Judges the units of one side against the units that a question names on the others."""

    def __init__(self, index: CatalogueIndex, question: Question, side: str):
        self.index, self.known, self.side = index, index.catalogue, side
        self.computed = Computed(index)
        self._refused = _Refused(index, question, side)
        self.holders = holders_of(index, side)
        fixed = [unit for what in UNIT_KINDS if what != side and (unit := question.unit_of(what))]
        self.fixed = {position for unit in fixed for position in index.contains(unit)}
        owned = {one for one, kind in self.known.position_kinds.items() if kind.owner == side}
        joints = self.known.joint_kinds.values()
        near = (joint for joint in joints if self.fixed.isdisjoint(joint.between))
        self._near = self._spread_along(near, self.holders.everywhere(index))
        self._loose = self._refused.units(self.holders) | self.holders.units_changed(index)
        if donors_in_hand(index, question):  # their parts may come to stand anywhere
            self._loose = frozenset(self.holders.units)
        far = tuple(joint for joint in joints if owned.isdisjoint(joint.between))
        self._others: dict[str, Parts] = {}
        for unit in fixed:
            held = frozenset() if self._refused.any_of(unit) else frozenset(index.contains(unit))
            for position, parts in self._spread_along(far, held).of(unit).items():
                self._others[position] = self._others.get(position, NOTHING) | parts
        had = (*question.own, *parts_of_donors(index, question))
        own = {self.known.parts[part].kind for part in had if part in self.known.parts}
        self._had = frozenset(index.priced_kinds() | own)
        self._far_ends: dict[str, tuple[Parts, Parts]] = {}
        self._free: dict[str, bool] = {}
        self._mates_known: dict[str, Parts | None] = {}

    def _spread_along(self, joints: Iterable[JointKind], held: frozenset[str]) -> JointSpread:
        along = tuple(joints)
        kept: dict[tuple[tuple[str, ...], frozenset[str]], JointSpread] = vars(self.index).setdefault(_KEPT, {})
        key = tuple(joint.id for joint in along), held
        if key not in kept:
            if len(kept) >= MOST_SPREADS:
                kept.clear()
            kept[key] = JointSpread(self.index, along, self.computed, held)
        return kept[key]

    def nominated(self, units: Iterable[str]) -> list[str]:
        """Those of the units that may close the joint that fewest may close."""
        found, holders = list(units), self.holders
        ways = []
        for joint, here in self._across():
            mates = self._mates(joint, here)
            if mates is not None:
                # A unit without the place need not close its joint.
                without = len(found) - len(holders.units_having(self.index, here))
                ways.append((without + len(holders.units_with(self.index, mates)), joint.id, here, mates))
        for _, _, here, mates in sorted(ways, key=lambda way: way[:2])[:MOST_TRIED]:
            back = self._near.back_from(mates, MOST_FOLLOWED)
            if back is not None:
                may, having = holders.units_with(self.index, back), holders.units_having(self.index, here)
                may |= self._loose
                return [unit for unit in found if unit in may or unit not in having]
        return found

    def _across(self) -> list[tuple[JointKind, str]]:
        """The joints between the side and the others that can rule a unit out, each with its place on the side."""
        found = []
        for joint in self.known.joint_kinds.values():
            here = [position for position in joint.between if position not in self.fixed]
            there = [position for position in joint.between if position in self.fixed]
            if here and there and not self._always_open(joint, here[0], there[0]):
                found.append((joint, here[0]))
        return found

    def _always_open(self, joint: JointKind, here: str, there: str) -> bool:
        if self._stands_free(here, self._near.joints) or self._stands_free(there, ()):
            return True
        asked = self.computed.asks(joint)
        ends = [joint.between[end] for end in asked or ()]
        others = self._others.get(there, NOTHING)
        return asked is not None and here not in ends and not self.computed.measured.isdisjoint(others)

    def _mates(self, joint: JointKind, here: str) -> Parts | None:
        """The parts that may close the joint from this side, next to the others' or to a part between.

        None where so many may that it is quicker to ask each part.
        """
        if joint.id not in self._mates_known:
            self._mates_known[joint.id] = self._find_mates(joint, here)
        return self._mates_known[joint.id]

    def _find_mates(self, joint: JointKind, here: str) -> Parts | None:
        there, index = joint.between[joint.between[0] == here], self.index
        others, (_, between) = self._others.get(there, NOTHING), self._far_end(joint, there)
        if sum(index.count_statements(part, joint.id) for part in (*others, *between)) > MOST_MATES:
            return None
        said = (index.statements(part, joint.id) for part in (*others, *between))
        found = {mate for mates in said for mate, one in mates.items() if _mate(one)}
        ends = tuple(self.computed.measured if position == here else others for position in joint.between)
        if self.computed.may_close(joint, ends[0], ends[1]):
            found |= self.computed.measured
        return frozenset(part for part in found if here in self._near.places_of(part))

    def can_close(self, unit: str) -> bool:
        """May the unit close all its joints with the others? False is certain."""
        if unit in self._loose:
            return True
        here = self.index.contains(unit)
        if not self.fixed.isdisjoint(here):
            here = {position: edges for position, edges in here.items() if position not in self.fixed}
        parts = self._near.of(unit)
        for joint in self.known.joint_kinds.values():
            one, other = joint.between
            if other in here:
                one, other = other, one
            if one in here and other in self.fixed and not self._closes(joint, parts.get(one, NOTHING), one, other):
                return False
        return True

    def _closes(self, joint: JointKind, parts: Parts, here: str, there: str) -> bool:
        if self._stands_free(here, self._near.joints) or self._stands_free(there, ()):
            return True
        others = self._others.get(there, NOTHING)
        ends = (parts, others) if joint.between[0] == here else (others, parts)
        if self._near.endless or self.computed.may_close(joint, ends[0], ends[1]):
            return True
        mates = self._mates(joint, here)
        if mates is not None:
            return not mates.isdisjoint(parts)
        families, between = self._far_end(joint, there)
        for part in sorted(parts):
            if self.index.mates_with_any(part, joint.id, families):
                return True
            if between and not between.isdisjoint(self.index.statements_inside(part, joint.id)):
                return True
        return False

    def _stands_free(self, position: str, within: tuple[JointKind, ...]) -> bool:
        """Could a part to be had stand there without mating with any other of its side?"""
        if position not in self._free:
            joints = within or [
                joint for joint in self.known.joint_kinds.values() if self.fixed.issuperset(joint.between)
            ]
            tied = any(position in joint.between for joint in joints)
            kinds = frozenset(self.known.position_kinds[position].part_kinds)
            self._free[position] = not tied and any(
                not kinds.isdisjoint(self.index.kinds_of(kind)) for kind in self._had
            )
        return self._free[position]

    def _far_end(self, joint: JointKind, there: str) -> tuple[Parts, Parts]:
        """The others' parts at the joint with their families, and what can stand inside the joint next to them."""
        if joint.id not in self._far_ends:
            parts = self._others.get(there, NOTHING)
            families = frozenset(family for part in parts for family in self.index.lineage(part))
            inside = {one for part in parts for one in self.index.statements_inside(part, joint.id)}
            inside |= {two for one in inside for two in self.index.statements_inside(one, joint.id)}
            self._far_ends[joint.id] = families, frozenset(inside) if joint.via_kinds else NOTHING
        return self._far_ends[joint.id]


class _Refused:
    """What is found in units and may be refused by a question: avoided, or on a condition that is not so here."""

    def __init__(self, index: CatalogueIndex, question: Question, side: str):
        self.index, self.question = index, question
        named = ((what, question.unit_of(what)) for what in UNIT_KINDS)
        context = {**{what: set(index.lineage(unit)) for what, unit in named if unit}, **question.context}
        asked = [Condition(key, op, value, "") for key, op, value in index.listing.asked]
        self._on_condition = any(one.key == side or settle(one, context) == FAILS for one in asked)
        states = index.catalogue.part_conditions
        self._unsound = any(one.key == STATE and one.value in states and not states[one.value].usable for one in asked)

    def units(self, holders: Holders) -> frozenset[str]:
        """The units of the side of which a part may be refused."""
        index, found = self.index, set[str]()
        for name in self.question.avoid:
            kinds = index.parts_of_kind(name) if name in index.catalogue.part_kinds else ()
            found |= holders.units_with(index, (*kinds, *(one for _, one in index.descent(name))))
        if self._unsound:
            found |= holders.units_unsound(index)
        return frozenset(found) | (holders.units_asking(index) if self._on_condition else frozenset())

    def any_of(self, unit: str) -> bool:
        """May a part found in the unit be refused?"""
        known, avoid = self.index.catalogue.parts, set(self.question.avoid)
        edges = [edge for edges in self.index.contains(unit).values() for edge in edges]
        parts = [known[edge.target] for edge in edges if edge.target in known]
        if self._on_condition and any([*(edge.conditions for edge in edges), *(part.conditions for part in parts)]):
            return True
        if self._unsound and any(is_unsound(self.index, part) for part in parts):
            return True
        met = (one for part in parts for one in (*self.index.lineage(part.id), *self.index.kinds_of(part.kind)))
        return bool(avoid) and not avoid.isdisjoint(met)


def _mate(said: tuple[Statement, ...]) -> bool:
    return any(one.edge.kind != DOES_NOT_FIT for one in said)

"""Positions and the parts that can hold them: as found, reached by *replaces*, or closing one of their joints."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping

from graph.catalogue.model import DOES_NOT_FIT, NEEDS, Edge
from graph.catalogue.terms import Assembly, JointKind, PositionKind
from graph.lookups.in_hand import donors_in_hand
from graph.lookups.index import CatalogueIndex, PlaceState, Statement
from graph.reading.conditions import TO_CONFIRM
from graph.reading.found import COMMON, Found, Neighbourhood
from graph.reading.model import AS_FOUND, ASSUMED_THERE, CLOSES_A_JOINT, COMES_WITH, FROM_DONOR, NEEDED, REPLACEMENT
from graph.reading.places import gaps_in, idle_places, passing_places
from graph.reading.sieve import Sieve

# How many steps from the parts found (or their replacements) a new part may close a joint: a housing against the
# block is one step, a bearing in that housing two. Without a bound a large catalogue would be read whole.
STEPS = 3
# How many of its joints a part may leave to parts found in later steps; the last step leaves none. What leaves more
# belongs to another unit altogether, unless a note says that it replaces a part found or is needed.
LEFT_OPEN = (1, 1, 0)
# A part that leaves a joint open closes at least so many, or there is a part for it that closes all its own.
CLOSED_FIRST = 2


def read_neighbourhood(sieve: Sieve, assembly: Assembly | None = None) -> Neighbourhood:
    """Every position that the asked units have, with every part that may hold it, and every joint between them.

    With an `assembly` the positions are those it must or may have, besides what the units hold.
    """
    around = Neighbourhood()
    _add_contained(sieve, around)
    if assembly is None:
        _add_places_between(sieve, around)
    else:
        _add_places_of(sieve, around, assembly)
    _add_donated(sieve, around)
    joint_kinds = sieve.index.catalogue.joint_kinds
    none = assembly.no_joints if assembly else ()
    around.joints = [
        joint_kinds[joint] for joint in sorted(joint_kinds)
        if joint not in none and all(position in around.positions for position in joint_kinds[joint].between)
    ]  # fmt: skip
    reached = _Reached(sieve, around)
    reached.spread()
    return around


def _add_contained(sieve: Sieve, around: Neighbourhood) -> None:
    catalogue = sieve.index.catalogue
    for unit in sieve.question.units:
        for position, edges in sorted(sieve.index.contains(unit).items()):
            kind = catalogue.position_kinds.get(position)
            if kind is None:
                continue
            how = AS_FOUND if sieve.question.unit_of(kind.owner) == unit else COMES_WITH
            held = around.positions.setdefault(position, {})
            for edge in edges:
                part = edge.target
                wanted = part not in held or how == AS_FOUND
                if not wanted or not sieve.admits_edge(edge):
                    continue
                if sieve.admits_found(part, position):
                    held[part] = Found(part, how, (edge,), unit)
                else:
                    around.refused.setdefault(position, {})[part] = None


def _add_donated(sieve: Sieve, around: Neighbourhood) -> None:
    """What the donors in hand have for the places that there are."""
    for donor in donors_in_hand(sieve.index, sieve.question):
        for position, edges in sorted(sieve.index.contains(donor).items()):
            held = around.positions.get(position, {})
            for edge in edges if position in around.positions else ():
                part = edge.target
                if part not in held and sieve.admits_edge(edge) and sieve.admits_found(part, position):
                    held[part] = Found(part, FROM_DONOR, (edge,), donor=donor)


def _add_places_of(sieve: Sieve, around: Neighbourhood, assembly: Assembly) -> None:
    """The places that the assembly must have, or may have and nobody has spoken of; without those it has no use for."""
    for position in passing_places(sieve, assembly):
        around.positions.pop(position, None)
    around.gaps = gaps_in(sieve, assembly, {at for at in around.refused if not around.positions.get(at)})
    for position in idle_places(sieve, assembly, {at for at, held in around.positions.items() if held}):
        around.positions.pop(position, None)
        around.gaps.pop(position, None)
    for position in around.gaps:
        around.positions.setdefault(position, {})


def _add_places_between(sieve: Sieve, around: Neighbourhood) -> None:
    """A place that nothing is found in must still be filled if it joins two others and the unit's sisters fill it.

    So a gearbox that came without its input bearing needs one, but none needs a damper plate beside its clutch, nor the
    coupler that a sister has in place of it.
    """
    neighbours: dict[str, set[str]] = {}
    already: dict[str, set[str]] = {}
    for joint in sieve.index.catalogue.joint_kinds.values():
        for here, there in (joint.between, joint.between[::-1]):
            if there in around.positions:
                joined = already if here in around.positions else neighbours
                joined.setdefault(here, set()).add(there)
    for position in sorted(neighbours):
        kind = sieve.index.catalogue.position_kinds.get(position)
        owner = sieve.question.unit_of(kind.owner) if kind else ""
        if owner and len(neighbours[position]) > 1 and _sisters_fill(sieve.index, owner, position):
            if any(neighbours[position] <= joined for joined in already.values()):
                continue  # another part stands between the same two
            around.positions[position] = {}


def _sisters_fill(index: CatalogueIndex, unit: str, position: str) -> bool:
    families = index.lineage(unit)[1:]
    sisters = (sister for family in families for sister in index.variants_of(family))
    return any(position in index.contains(one) and not _is_of_another_make(index, unit, one) for one in sisters)


def _is_of_another_make(index: CatalogueIndex, unit: str, sister: str) -> bool:
    """Is it stated that the sister was made for another kind of job, or has none of a part that the unit has?"""
    one, other = index.made_for(unit), index.made_for(sister)
    if one and other and set(one).isdisjoint(other):
        return True
    held = index.contains(unit)
    return any(at in held and place.state is PlaceState.HAS_NONE for at, place in index.places(sister).items())


class _Reached:
    """Spreads from the parts found to all that may take their places."""

    def __init__(self, sieve: Sieve, around: Neighbourhood):
        self.sieve = sieve
        self.index = sieve.index
        self.around = around
        kinds = self.index.catalogue.position_kinds
        self.kinds: dict[str, PositionKind] = {position: kinds[position] for position in around.positions}
        self.ends: dict[str, list[tuple[JointKind, str]]] = {position: [] for position in around.positions}
        for joint in around.joints:
            first, second = joint.between
            self.ends[first].append((joint, second))
            self.ends[second].append((joint, first))

    def spread(self) -> None:
        """Replacements of what is found, then parts that close a joint with a part reached already."""
        fresh = [(position, part) for position, held in sorted(self.around.positions.items()) for part in sorted(held)]
        fresh += self._renewed()
        fresh += self._replacements(fresh + [(at, part) for at, held in self.around.refused.items() for part in held])
        for step in range(STEPS):
            fresh = self._closers(fresh, LEFT_OPEN[step])
            fresh += self._replacements(fresh)
            if not fresh:
                return

    def _renewed(self) -> list[tuple[str, str]]:
        """What is found beyond use, bought once more: the record offers the same part in another condition."""
        return [
            (position, part)
            for position, held in self.around.refused.items()
            for part in held
            if self.sieve.part(part).found_condition and self._add(position, part, REPLACEMENT)
        ]

    def _holds(self, position: str, part: str) -> bool:
        kinds = self.index.kinds_of(self.sieve.part(part).kind)
        return not kinds.isdisjoint(self.kinds[position].part_kinds)

    def _add(self, position: str, part: str, how: str, edges: tuple[Edge, ...] = ()) -> bool:
        held = self.around.positions[position]
        if part in held or not self._holds(position, part) or not self.sieve.admits_bought(part, position):
            return False
        held[part] = Found(part, how, edges)
        return True

    def _replacements(self, start: list[tuple[str, str]]) -> list[tuple[str, str]]:
        added = []
        queue = deque(start)
        while queue:
            position, old = queue.popleft()
            if self.index.count_replacing(old) > COMMON:
                continue
            for edge in sorted(self.index.replacing(old), key=self._least_doubt):
                if not self.sieve.admits_edge(edge):
                    continue
                for _, new in self.index.descent(edge.source):
                    if new != old and self._add(position, new, REPLACEMENT, (edge,)):
                        added.append((position, new))
                        queue.append((position, new))
        return added

    def _least_doubt(self, edge: Edge) -> tuple[int, int, int, str]:
        doubts = sum(one.state == TO_CONFIRM for one in self.sieve.settle(edge.conditions))
        return doubts, edge.cash_hundredths or 0, edge.hours_hundredths or 0, edge.id

    def _closers(self, fresh: list[tuple[str, str]], left_open: int) -> list[tuple[str, str]]:
        added = []
        families = {position: self._families(held) for position, held in self.around.positions.items()}
        looked_at: set[tuple[str, str]] = set()  # many parts lead to the same others
        for position, part in fresh:
            for joint, there in self.ends[position]:
                only_way = len(self.ends[there]) == 1
                for other in self._across(part, joint, only_way):
                    if (there, other) in looked_at:
                        continue
                    looked_at.add((there, other))
                    if self._closes(there, other, families, left_open) and self._add_closer(there, other):
                        added.append((there, other))
            for edge in self.index.rules(part):
                if edge.kind == NEEDS and edge.target in self.index.catalogue.parts:
                    added += self._needed(edge)
        return sorted(set(added))

    def _add_closer(self, position: str, part: str) -> bool:
        """As a replacement, where it is one of a part held here that too many replace to look at them all."""
        held = self.around.positions[position]
        replaced = [edge for edge in self.index.takes_place_of(part) if self.sieve.admits_edge(edge)]
        for edge in sorted(replaced, key=self._least_doubt):
            if any(old in held and old != part for _, old in self.index.descent(edge.target)):
                return self._add(position, part, REPLACEMENT, (edge,))
        return self._add(position, part, CLOSES_A_JOINT)

    def _families(self, held: Iterable[str]) -> frozenset[str]:
        return frozenset(family for part in held for family in self.index.lineage(part))

    def _closes(self, position: str, part: str, families: Mapping[str, frozenset[str]], left_open: int) -> bool:
        """Do the parts found so far close all joints of this one, or enough of them but for `left_open`?"""
        if part in self.around.positions[position]:
            return False
        opened = []
        for joint, far in self.ends[position]:
            if (families[far] or self._must_be_filled(far)) and not self._meets(part, joint, families[far]):
                opened.append((joint, far))
                if len(opened) > left_open:
                    return False
        if not opened or len(self.ends[position]) - len(opened) >= CLOSED_FIRST:
            return True
        with_it = {**families, position: families[position] | frozenset(self.index.lineage(part))}
        return all(self._has_a_mate(part, joint, far, with_it) for joint, far in opened)

    def _must_be_filled(self, position: str) -> bool:
        """Has the place something, though nobody has stated what? Its joints are then no easier to close than known
        ones: whoever forgot a part would otherwise be offered what the part rules out."""
        gap = self.around.gaps.get(position)
        return gap is not None and gap.how == ASSUMED_THERE

    def _has_a_mate(self, part: str, joint: JointKind, far: str, families: Mapping[str, frozenset[str]]) -> bool:
        """Is there a part for the far end that closes this joint and all its own?"""
        mates = self._mates(part, joint.id)
        return any(self._holds(far, other) and self._closes(far, other, families, 0) for other in mates)

    def _meets(self, part: str, joint: JointKind, families: frozenset[str]) -> bool:
        if self.index.count_statements(part, joint.id) > COMMON:
            return True
        if self.index.mates_with_any(part, joint.id, families):
            return True
        return bool(joint.via_kinds) and bool(self.index.statements_inside(part, joint.id))

    def _needed(self, edge: Edge) -> list[tuple[str, str]]:
        return [
            (position, part)
            for _, part in self.index.descent(edge.target)
            for position in sorted(self.around.positions)
            if self._add(position, part, NEEDED, ())
        ]

    def _across(self, part: str, joint: JointKind, only_way: bool) -> list[str]:
        """Parts that mate with this one at the joint, directly or through at most two parts between."""
        direct = self._mates(part, joint.id) if only_way or not self._is_common(part, joint) else []
        found = dict.fromkeys(direct)
        if joint.via_kinds and self.index.count_inside(part, joint.id) <= COMMON:
            first = [one for one in self._inside(part, joint) if not self._is_common(one, joint)]
            for one in first:
                found.update(dict.fromkeys(self._mates(one, joint.id)))
            second = {two for one in first for two in self._inside(one, joint)}.difference(first)
            for two in sorted(second):
                if not self._is_common(two, joint):
                    found.update(dict.fromkeys(self._mates(two, joint.id)))
        return list(found)

    def _is_common(self, part: str, joint: JointKind) -> bool:
        return self.index.has_more_mates(part, joint.id, COMMON)

    def _inside(self, part: str, joint: JointKind) -> list[str]:
        """The parts that can stand inside the joint next to this one."""
        return [
            other
            for other, said in self.index.statements_inside(part, joint.id).items()
            if not self.index.kinds_of(self.sieve.part(other).kind).isdisjoint(joint.via_kinds) and self._mate(said)
        ]

    def _mates(self, part: str, joint: str) -> list[str]:
        return [other for other, said in self.index.statements(part, joint).items() if self._mate(said)]

    def _mate(self, said: tuple[Statement, ...]) -> bool:
        return any(one.edge.kind != DOES_NOT_FIT and self.sieve.admits_edge(one.edge) for one in said)

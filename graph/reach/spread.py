"""What hangs together: from a unit's parts to all that may come to stand among them, and the way back.

A part of a finished assembly hangs together with a part found in its unit: by joints within the unit, through parts
that stand between, by *replaces* or by *needs*; that is how a reading finds it (graph.reading.candidates). Prices,
conditions and evidence are not looked at, so a set is never too small.

Of its joints a reading lets a new part leave one open, not more. So of any two of them one is closed by a part that was
there before, and it is enough to follow two: those that lead to fewest others. Then a standard bearing does not make
all gearboxes one. That holds of joints at places that every unit has with something found there; where a question may
refuse what is found, its units are asked without this (`closable`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from graph.catalogue.model import NEEDS
from graph.catalogue.terms import JointKind
from graph.reach.computed import Computed
from graph.reach.holders import needed_by
from graph.reading import CatalogueIndex
from graph.reading.found import COMMON

Parts = frozenset[str]
NOTHING: Parts = frozenset()


class JointSpread:
    """Along some joints of an index. What was found is kept, since variants of a family share most of their parts."""

    def __init__(
        self, index: CatalogueIndex, joints: Iterable[JointKind], computed: Computed, held: frozenset[str]
    ):  # fmt: skip
        """`held`: the places at which something is found in every unit that will be asked about."""
        self.held = held
        self._followed: dict[str, tuple[str, ...] | None] = {}
        self.index, self.known, self.computed = index, index.catalogue, computed
        self.joints = tuple(joints)
        self._places: dict[str, list[JointKind]] = defaultdict(list)
        for joint in self.joints:
            for place in joint.between:
                self._places[place].append(joint)
        self._of_kind: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {}
        self._groups: dict[str, dict[str, set[str]]] = {}  # per part, by position, all that it leads to and more
        self._computable = [joint for joint in self.joints if computed.asks(joint) is not None]
        # From a housing's own face alone anything may be computed to mate with it: then there is no end to follow.
        self.endless = any(computed.asks(joint) != (0, 1) for joint in self._computable)

    def of(self, unit: str) -> Mapping[str, Parts]:
        """Per position, the parts that may come to stand there in the unit."""
        start = [edge.target for edges in self.index.contains(unit).values() for edge in edges]
        for part in start:
            if part not in self._groups:
                self._follow(part)
        found: dict[str, set[str]] = defaultdict(set)
        for group in {id(group): group for group in map(self._groups.__getitem__, start)}.values():
            for position, parts in group.items():
                found[position] |= parts
        return {position: frozenset(parts) for position, parts in found.items()}

    def _follow(self, start: str) -> None:
        """Puts all that the part leads to into one group, with the groups that it runs into.

        The group is that of every part from which one comes back to the start step by step; what is only led to (a
        standard bearing, a replacement) may lead to less, and gets a group of its own when it is asked for.
        """
        leads: dict[str, set[str]] = {}
        met: dict[int, Mapping[str, set[str]]] = {}
        waiting = [start]
        while waiting:
            part = waiting.pop()
            known = self._groups.get(part)
            if known is not None:
                met[id(known)] = known
            elif part not in leads:
                leads[part] = set(self._leads_to(part))
                waiting += leads[part]
        group: dict[str, set[str]] = defaultdict(set)
        for part in leads:
            for position in self.places_of(part):
                group[position].add(part)
        for other in met.values():
            for position, parts in other.items():
                group[position] |= parts
        back = [start]
        while back:
            part = back.pop()
            if part not in self._groups:
                self._groups[part] = group
                back += [one for one in leads[part] if one in leads and part in leads[one]]

    def _leads_to(self, part: str) -> Iterator[str]:
        index = self.index
        named = [] if index.count_replacing(part) > COMMON else [edge.source for edge in index.replacing(part)]
        named += [edge.target for edge in index.rules(part) if edge.kind == NEEDS]
        yield from (one for name in named for _, one in index.descent(name))
        for joint in self._joints_of(part):
            if index.count_statements(part, joint) > 0 and not index.has_more_mates(part, joint, COMMON):
                yield from (one for one in index.statements(part, joint) if self._follows(one, joint))
        yield from self._computed_mates(part)

    def _follows(self, part: str, joint: str) -> bool:
        followed = self._followed_of(part)
        return followed is None or joint in followed

    def _followed_of(self, part: str) -> tuple[str, ...] | None:
        """The joints by which the part is followed; None: by all."""
        if part not in self._followed:
            places = [place for place in self.places_of(part) if place in self._places]
            found = [self._two_at(part, place) for place in places]
            known = [one for two in found if two is not None for one in two]
            self._followed[part] = None if not found or None in found else tuple(dict.fromkeys(known))
        return self._followed[part]

    def _two_at(self, part: str, place: str) -> tuple[str, str] | None:
        """Two joints of the part at the place that lead to fewest others; None where fewer than two can be relied on.

        A joint cannot be relied on where a reading takes it for closed without a part that closes it.
        """
        index, costs = self.index, []
        for joint in self._places[place]:
            if not self.held.issuperset(joint.between) or index.count_statements(part, joint.id) > COMMON:
                continue
            if joint.via_kinds and index.statements_inside(part, joint.id):
                continue
            if self.computed.asks(joint) is not None and not self.computed.needs_both(joint, part):
                continue
            mates = index.statements(part, joint.id)
            if not any(index.has_more_mates(one, joint.id, COMMON) for one in mates):
                costs.append((sum(index.count_statements(one, joint.id) for one in mates), joint.id))
        if len(costs) < 2:
            return None
        (_, one), (_, two) = sorted(costs)[:2]
        return one, two

    def _computed_mates(self, part: str) -> Parts:
        return self.computed.measured if self._computable and part in self.computed.measured else NOTHING

    def back_from(self, parts: Iterable[str], most: int) -> set[str] | None:
        """The parts that lead to any of these; None where there are more than `most`, or no end."""
        if self.endless:
            return None
        seen, waiting = set(parts), list(parts)
        while waiting and len(seen) <= most:
            fresh = {one for one in self._leads_from(waiting.pop()) if one not in seen}
            seen |= fresh
            waiting += fresh
        return None if len(seen) > most else seen

    def _leads_from(self, part: str) -> Iterator[str]:
        index = self.index
        for edge in index.takes_place_of(part):
            yield from (one for _, one in index.descent(edge.target))
        yield from needed_by(index, part)
        followed = self._followed_of(part)
        for joint in self._joints_of(part) if followed is None else followed:
            if index.count_statements(part, joint) > 0:
                said = index.statements(part, joint)
                yield from (one for one in said if not index.has_more_mates(one, joint, COMMON))
        yield from self._computed_mates(part)

    def _joints_of(self, part: str) -> tuple[str, ...]:
        """Those of the joints that a part of its kind can stand at or in."""
        kind = self.known.parts[part].kind if part in self.known.parts else ""
        return self._about(kind)[0]

    def places_of(self, part: str) -> tuple[str, ...]:
        """The positions that hold parts of its kind."""
        kind = self.known.parts[part].kind if part in self.known.parts else ""
        return self._about(kind)[1]

    def _about(self, kind: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
        known = self._of_kind.get(kind)
        if known is None:
            kinds = self.index.kinds_of(kind)
            held = [one for one, at in self.known.position_kinds.items() if not kinds.isdisjoint(at.part_kinds)]
            places = set(held)
            joints = (
                j.id for j in self.joints if not places.isdisjoint(j.between) or not kinds.isdisjoint(j.via_kinds)
            )
            known = self._of_kind[kind] = tuple(joints), tuple(held)
        return known

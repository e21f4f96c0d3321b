"""Ways for two parts to mate at a joint: as assembled now, *fits*, *requires machining*, or through parts between."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise, product

from graph.catalogue.model import DOES_NOT_FIT, FITS, Edge
from graph.catalogue.relations import answers_in_one_note
from graph.catalogue.terms import JointKind
from graph.lookups.findings import COMPUTED
from graph.lookups.index import CatalogueIndex, Statement
from graph.reading.conditions import TO_CONFIRM
from graph.reading.donors import Donors
from graph.reading.found import COMMON, Found, Neighbourhood
from graph.reading.model import (
    DISPUTED,
    DOES_NOT_FIT_HERE,
    OVERRULED,
    RULED_OUT_BY_NOTE,
    RULED_OUT_BY_READING,
    EdgeDispute,
    LeftOut,
    NearMiss,
)
from graph.reading.sieve import Sieve

CONTRADICTED = "contradicted"
FITS_LINK, MACHINED_LINK, THROUGH_LINK = "fits", "fits after machining", "fits through"


@dataclass(frozen=True, slots=True)
class Mating:
    """What holds of two parts at a joint: the statements to build on, and the doubts about them."""

    edges: tuple[Edge, ...] = ()
    disputed: frozenset[str] = frozenset()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """One way for two candidates to mate, before costs are put to it.

    `assumed`: nobody has stated it; `estimated`: then, the arithmetic rules it out as it is, the usual remedy stands.
    """

    id: str
    joint: str
    ends: tuple[str, str]
    kind: str
    edges: tuple[Edge, ...]
    via: tuple[str, ...] = ()
    assembled: bool = False
    disputed: bool = False
    doubts: tuple[str, ...] = ()
    assumed: bool = False
    estimated: bool = False


@dataclass(slots=True)
class Matings:
    """Judges, once per pair and question, what is said of two parts at a joint."""

    sieve: Sieve
    disputes: dict[tuple[str, frozenset[str]], EdgeDispute] = field(default_factory=dict)
    misses: dict[str, dict[str, NearMiss]] = field(default_factory=dict)
    _known: dict[tuple[str, str, str], Mating] = field(default_factory=dict)

    def between(self, first: str, second: str, joint: str) -> Mating:
        """What holds of two parts at a joint."""
        key = (first, second, joint)
        known = self._known.get(key)
        if known is None:
            said = self.sieve.index.said_of(first, second, joint)
            known = self._known[key] = self._known[second, first, joint] = self._judge(first, second, joint, said)
        return known

    def _judge(self, first: str, second: str, joint: str, said: Iterable[Statement]) -> Mating:
        kept = self._without_answered([one for one in said if self.sieve.admits_edge(one.edge)], joint)
        doubted = [one.edge for one in kept if one.edge.kind == DOES_NOT_FIT and self._is_doubtful(one.edge)]
        firm = [one for one in kept if one.edge not in doubted]
        if not firm:
            return Mating()
        nearest = min(one.level for one in firm)
        stands = [one.edge for one in firm if one.level == nearest]
        against = [edge for edge in stands if edge.kind == DOES_NOT_FIT]
        for edge in against:
            self._note_miss(first, second, joint, edge)
        for one in firm:
            if one.level > nearest and one.edge.kind != DOES_NOT_FIT:
                self._note_overruled(one.edge, stands, (first, second), joint)
        return self._weigh(first, second, joint, stands, against, doubted)

    def _without_answered(self, kept: list[Statement], joint: str) -> list[Statement]:
        """Without the *does not fit* that another statement of the pair overrules, or answers in the same note."""
        mating = [one.edge for one in kept if one.edge.kind != DOES_NOT_FIT]
        by = {name: edge for edge in mating for name in edge.overrules}
        for one in kept if mating else ():
            if one.edge.kind == DOES_NOT_FIT:
                by.update((one.edge.id, edge) for edge in mating if answers_in_one_note(edge, one.edge))
        for one in kept:
            if one.edge.id in by:
                text = f"{self.sieve.say(one.edge)} ({one.edge.reason}): overruled by {self.sieve.say(by[one.edge.id])}"
                edges = (one.edge.id, by[one.edge.id].id)
                self.sieve.leave_out(LeftOut(one.edge.id, "edge", joint, OVERRULED, text, edges))
        return [one for one in kept if one.edge.id not in by]

    def _weigh(
        self, first: str, second: str, joint: str, stands: list[Edge], against: list[Edge], doubted: list[Edge]
    ) -> Mating:
        usable = [edge for edge in stands if edge.kind != DOES_NOT_FIT]
        # A computed "does not fit" and "requires machining" agree: it speaks of the pair as it is. Only a plain *fits*
        # is contradicted. A noted one rules the pair out, whatever else is said, until somebody settles it.
        disputed = {e.id for e in usable if self.sieve.level(e) == CONTRADICTED or (against and e.kind == FITS)}
        if disputed:
            self._note_dispute(first, second, joint, disputed, against)
        if disputed and self.sieve.question.refuse_disputed:
            for edge in usable:
                if edge.id in disputed:
                    text = f"{self.sieve.say(edge)}: disputed, and the question refuses what is disputed"
                    self.sieve.leave_out(LeftOut(edge.id, "edge", joint, DISPUTED, text, (edge.id,)))
            usable = [edge for edge in usable if edge.id not in disputed]
        outranked = {name for edge in against if edge.id.startswith(COMPUTED) for name in edge.overrules}
        if beaten := [edge for edge in usable if edge.id in outranked]:
            self._note_outranked(beaten, against, joint)
            usable = [edge for edge in usable if edge.id not in outranked]
        noted = [edge for edge in against if not edge.id.startswith(COMPUTED)]
        if noted:
            self._note_ruled_out(usable, noted, joint)
            usable = []
        doubts = tuple(
            f"does not fit ({edge.reason or 'no reason noted'}) if {'; '.join(c.text for c in edge.conditions)}"
            for edge in doubted
        )
        return Mating(tuple(usable), frozenset(disputed), doubts)

    def _is_doubtful(self, edge: Edge) -> bool:
        return any(one.state == TO_CONFIRM for one in self.sieve.settle(edge.conditions))

    def _note_miss(self, first: str, second: str, joint: str, edge: Edge) -> None:
        miss = NearMiss((first, second), edge.id, edge.reason, edge.miss_um)
        self.misses.setdefault(joint, {}).setdefault(f"{edge.id} {'+'.join(sorted(miss.parts))}", miss)
        text = f"{self.sieve.label(first)} does not fit {self.sieve.label(second)}: {edge.reason or 'no reason noted'}"
        self.sieve.leave_out(
            LeftOut("+".join(sorted(miss.parts)), "pair", joint, DOES_NOT_FIT_HERE, text, (edge.id,), edge.miss_um)
        )

    def _note_ruled_out(self, usable: list[Edge], against: list[Edge], joint: str) -> None:
        reasons = "; ".join(dict.fromkeys(edge.reason or "no reason noted" for edge in against))
        settle = f"take {' and '.join(e.id for e in against)} back, or overrule it by name, if that is no longer so"
        for edge in usable:
            text = f"{self.sieve.say(edge)}: ruled out, it is noted that they do not fit ({reasons}); {settle}"
            edges = (edge.id, *(one.id for one in against))
            self.sieve.leave_out(LeftOut(edge.id, "edge", joint, RULED_OUT_BY_NOTE, text, edges, against[0].miss_um))

    def _note_outranked(self, beaten: list[Edge], against: list[Edge], joint: str) -> None:
        reasons = "; ".join(dict.fromkeys(edge.reason for edge in against if edge.overrules))
        for edge in beaten:
            text = f"{self.sieve.say(edge)}: ruled out, measured on these parts it does not ({reasons})"
            edges = (edge.id, *(one.id for one in against))
            self.sieve.leave_out(LeftOut(edge.id, "edge", joint, RULED_OUT_BY_READING, text, edges, against[0].miss_um))

    def _note_overruled(self, edge: Edge, by: list[Edge], parts: tuple[str, str], joint: str) -> None:
        text = f"{self.sieve.say(edge)}: said of the family; of these variants it is said: {self.sieve.say(by[0])}"
        about = f"{edge.id} ({'+'.join(sorted(parts))})"
        self.sieve.leave_out(LeftOut(about, "edge", joint, OVERRULED, text, (edge.id, *(one.id for one in by))))

    def _note_dispute(self, first: str, second: str, joint: str, disputed: set[str], against: list[Edge]) -> None:
        sieve = self.sieve
        pair = f"{sieve.label(first)} and {sieve.label(second)}"
        said = "; ".join(
            f"{edge.reason or 'no reason noted'} ({sieve.level_label(sieve.level(edge))})" for edge in against
        )
        text = f"{pair}: one note says they fit, another contradicts it" + (f": {said}" if said else "")
        self.disputes[joint, frozenset((first, second))] = EdgeDispute(
            joint, (first, second), tuple(sorted(disputed)), tuple(edge.id for edge in against), text
        )


def read_ways(sieve: Sieve, around: Neighbourhood, matings: Matings) -> dict[str, list[Way]]:
    """Per joint, every way in which candidates at its two ends can mate, in order of ids."""
    ways: dict[str, list[Way]] = {}
    donors = Donors(sieve)
    for joint in around.joints:
        found = sorted(
            _ways_at(sieve, around, matings, joint, donors), key=lambda way: (way.id, [e.id for e in way.edges])
        )
        ways[joint.id] = _with_own_ids(found)
    return ways


def _with_own_ids(ways: list[Way]) -> list[Way]:
    """Ways that read alike are told apart by the edges they rest on."""
    count: dict[str, int] = {}
    for way in ways:
        count[way.id] = count.get(way.id, 0) + 1
    return [
        way if count[way.id] == 1 else _renamed(way, f"{way.id} by {','.join(edge.id for edge in way.edges)}")
        for way in ways
    ]


def _renamed(way: Way, name: str) -> Way:
    return Way(name, way.joint, way.ends, way.kind, way.edges, way.via, way.assembled, way.disputed, way.doubts)


def _ways_at(sieve: Sieve, around: Neighbourhood, matings: Matings, joint: JointKind, donors: Donors) -> Iterable[Way]:
    one_end, other_end = (around.positions[position] for position in joint.between)
    between = _parts_between(sieve, matings, joint, one_end, other_end)
    pairs = sieve.index.pairs_said(joint.id, one_end, other_end)
    donated = donors.pairs(joint, one_end.values(), other_end.values())
    pairs |= between.keys() | donated.keys() | _as_assembled(one_end, other_end)
    for first, second in sorted(pairs):
        if first == second:
            continue
        yield from _direct_ways(sieve, matings, joint, one_end[first], other_end[second])
        yield from _donated_way(matings, joint, (first, second), donated.get((first, second), ()))
        for via, edge_choices in between.get((first, second), {}).items():
            for edges in product(*edge_choices):
                yield _way(matings, joint.id, (first, second), edges, via)


def _as_assembled(one_end: Mapping[str, Found], other_end: Mapping[str, Found]) -> set[tuple[str, str]]:
    """The pairs that come out of the same unit."""
    ours = [found for found in one_end.values() if found.unit]
    return {(one.part, two.part) for one in ours for two in other_end.values() if one.unit == two.unit}


def _direct_ways(sieve: Sieve, matings: Matings, joint: JointKind, first: Found, second: Found) -> Iterable[Way]:
    ends = (first.part, second.part)
    mating = matings.between(*ends, joint.id)
    edges = mating.edges
    if first.unit and first.unit == second.unit and not _denied(matings, joint.id, ends):
        plain = tuple(edge for edge in edges if edge.kind == FITS and _asks_nothing(sieve, edge))
        edges = tuple(edge for edge in edges if edge not in plain)
        id_ = f"{joint.id}/{first.part}+{second.part}"
        yield Way(id_, joint.id, ends, FITS_LINK, (*first.edges, *second.edges, *plain), assembled=True)
    for edge in edges:
        yield _way(matings, joint.id, ends, (edge,), ())


def _donated_way(matings: Matings, joint: JointKind, ends: tuple[str, str], held: tuple[Edge, ...]) -> Iterable[Way]:
    """The two stand together in some unit (`held`: where it says so). What is noted of the pair itself speaks first."""
    said = matings.between(*ends, joint.id).edges if held else ()
    if held and not _denied(matings, joint.id, ends) and not any(edge.kind == FITS for edge in said):
        yield Way(f"{joint.id}/{ends[0]}+{ends[1]}", joint.id, ends, FITS_LINK, held)


def _denied(matings: Matings, joint: str, ends: tuple[str, str]) -> bool:
    """Is it noted that the two do not fit? Then being found together is no proof that they should be."""
    return any(set(miss.parts) == set(ends) for miss in matings.misses.get(joint, {}).values())


def _asks_nothing(sieve: Sieve, edge: Edge) -> bool:
    return not (
        edge.cash_hundredths or edge.hours_hundredths or edge.operations or edge.tasks
        or sieve.index.side_effects(edge.id) or sieve.index.rules(edge.id)
    )  # fmt: skip


def _way(matings: Matings, joint: str, ends: tuple[str, str], edges: tuple[Edge, ...], via: tuple[str, ...]) -> Way:
    machined = any(edge.kind != FITS for edge in edges)
    kind = THROUGH_LINK if via else MACHINED_LINK if machined else FITS_LINK
    id_ = f"{joint}/{'+'.join((ends[0], *via, ends[1]))}" + (" machined" if machined else "")
    stops = (ends[0], *via, ends[1])
    pairs = [matings.between(one, next_one, joint) for one, next_one in pairwise(stops)]
    disputed = any(edge.id in mating.disputed for edge, mating in zip(edges, pairs, strict=True))
    doubts = tuple(dict.fromkeys(doubt for mating in pairs for doubt in mating.doubts))
    return Way(id_, joint, ends, kind, edges, via, False, disputed, doubts)


EdgeChoices = tuple[tuple[Edge, ...], ...]


def _parts_between(
    sieve: Sieve, matings: Matings, joint: JointKind, one_end: Iterable[str], other_end: Iterable[str]
) -> dict[tuple[str, str], dict[tuple[str, ...], EdgeChoices]]:
    """Per pair of candidates, the paths through one or two parts of the kinds that the joint allows."""
    paths: dict[tuple[str, str], dict[tuple[str, ...], EdgeChoices]] = {}
    if not joint.via_kinds:
        return paths
    near_one, near_other_end = _near(sieve, matings, one_end, other_end, joint)
    near_other: dict[str, dict[str, tuple[Edge, ...]]] = {}
    for part, found in near_other_end.items():
        for middle, edges in found.items():
            near_other.setdefault(middle, {})[part] = edges
    for first, middles in near_one.items():
        for middle, into in middles.items():
            for second, out in near_other.get(middle, {}).items():
                if first != second and middle not in (first, second):
                    paths.setdefault((first, second), {})[(middle,)] = (into, out)
            for far in sieve.index.statements_inside(middle, joint.id):
                ends = near_other.get(far, {}) if far != middle else {}
                across = matings.between(middle, far, joint.id).edges if ends else ()
                for second, out in ends.items() if across else ():
                    if first != second and not {middle, far} & {first, second}:
                        paths.setdefault((first, second), {})[middle, far] = (into, across, out)
    return paths


NearParts = dict[str, dict[str, tuple[Edge, ...]]]  # part -> what may stand next to it, each with the edges for that


def _near(
    sieve: Sieve, matings: Matings, one_end: Iterable[str], other_end: Iterable[str], joint: JointKind
) -> tuple[NearParts, NearParts]:
    """Per end, each part with the parts that may stand inside the joint next to it.

    Next to a part of a standard size thousands may stand; of them only those are looked at that stand next to a part
    of the other end, or next to such a one.
    """
    index, ends = sieve.index, (sorted(one_end), sorted(other_end))
    common = [[part for part in end if index.count_inside(part, joint.id) > COMMON] for end in ends]
    near: list[NearParts] = [
        {part: _next_to(sieve, matings, part, joint) for part in end if part not in many}
        for end, many in zip(ends, common, strict=True)
    ]
    if any(common):
        middles = {middle for found in near for beside in found.values() for middle in beside}
        middles.update(far for middle in sorted(middles) for far in _inside(index, middle, joint))
        if all(common):  # what two standard parts have between them
            one, other = ({far for part in many for far in index.statements_inside(part, joint.id)} for many in common)
            middles |= one & other
        for found, many in zip(near, common, strict=True):
            for part in many:
                known = [middle for middle in sorted(middles - {part}) if index.said_of(part, middle, joint.id)]
                beside = {middle: _beside(sieve, matings, part, middle, joint) for middle in known}
                found[part] = {middle: edges for middle, edges in beside.items() if edges}
    return near[0], near[1]


def _inside(index: CatalogueIndex, middle: str, joint: JointKind) -> Iterable[str]:
    return () if index.count_inside(middle, joint.id) > COMMON else index.statements_inside(middle, joint.id)


def _next_to(sieve: Sieve, matings: Matings, part: str, joint: JointKind) -> dict[str, tuple[Edge, ...]]:
    """The parts that may stand inside the joint next to this one, each with the edges that put it there."""
    beside = {
        other: _beside(sieve, matings, part, other, joint) for other in sieve.index.statements_inside(part, joint.id)
    }
    return {other: edges for other, edges in beside.items() if edges}


def _beside(sieve: Sieve, matings: Matings, part: str, other: str, joint: JointKind) -> tuple[Edge, ...]:
    """The edges by which the other part may stand next to this one inside the joint; none where it may not."""
    kinds = sieve.index.kinds_of(sieve.part(other).kind)
    if kinds.isdisjoint(joint.via_kinds):
        return ()
    return matings.between(part, other, joint.id).edges if sieve.admits_bought(other, joint.id) else ()

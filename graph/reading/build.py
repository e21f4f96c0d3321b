"""Put costs, side effects and doubts to what the reading found, and write the conversion document."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from graph.catalogue.model import CONTAINS, ChainKind, Edge
from graph.conversion.document import Candidate, Chain, Choice, Joint, Link, Position
from graph.reading.candidates import Found, Neighbourhood
from graph.reading.conditions import FAILS, Settled
from graph.reading.links import Way
from graph.reading.model import COMES_WITH, FROM_DONOR, NOT_KNOWN, CandidateOrigin, LeftOut, LinkOrigin
from graph.reading.needs import EXTRA, Needs, Providers
from graph.reading.prune import Pruned
from graph.reading.sieve import Sieve
from graph.reading.tally import Tally
from graph.reading.tasks import Work
from graph.reading.units import TO_BUY, UNIT, AskedUnit, position_of

NOT_NEEDED = "not needed"


@dataclass(slots=True)
class Written:
    """The document's positions and joints, and where each choice came from."""

    positions: list[Position] = field(default_factory=list)
    joints: list[Joint] = field(default_factory=list)
    candidates: dict[str, CandidateOrigin] = field(default_factory=dict)
    links: dict[str, LinkOrigin] = field(default_factory=dict)
    settled: dict[str, tuple[Settled, ...]] = field(default_factory=dict)
    evidence: dict[str, str] = field(default_factory=dict)


class Writer:
    """Writes one question's positions and joints."""

    def __init__(
        self, sieve: Sieve, around: Neighbourhood, left: Pruned, needs: Needs, work: Work,
        units: tuple[AskedUnit, ...] = (),
    ):  # fmt: skip
        self.sieve = sieve
        self.around = around
        self.left = left
        self.work = work
        self.units = units
        self.written = Written()
        self.providers = Providers(needs)
        self._needs = needs
        self._home = {part: position for position, held in around.positions.items() for part in held}
        self._extra = self._parts_of_their_own()
        self._chains = self._chains_asked()

    def write(self) -> Written:
        """Everything that can be picked."""
        for position in sorted(self.around.positions):
            self._write_position(position)
        for part in sorted(self._extra):
            self._write_extra(part)
        for unit in self.units:
            if unit.state == TO_BUY:
                self._write_unit(unit)
        for joint in self.around.joints:
            links = tuple(self._link(way) for way in self.left.ways[joint.id])
            self.written.joints.append(Joint(joint.id, joint.id, joint.label, joint.between, links))
        return self.written

    def chains(self) -> tuple[Chain, ...]:
        """The dimensions of which something is known, with what the units themselves bring."""
        start = self._standing()
        moved = set(start.shifts_um).union(*(choice.shifts_um for choice in self._choices()))
        chains = []
        for kind in self._chains.values():
            if kind.id in moved:
                begins = kind.start_um + start.shifts_um.get(kind.id, 0)
                chains.append(Chain(kind.id, kind.label, begins, kind.low_um, kind.high_um))
            elif kind.start_um == 0:
                text = f"{kind.label}: nothing is known of it for these parts; measure it"
                self.sieve.leave_out(LeftOut(kind.id, "chain", kind.id, NOT_KNOWN, text))
            else:
                chains.append(Chain(kind.id, kind.label, kind.start_um, kind.low_um, kind.high_um))
        return tuple(chains)

    def tasks_named(self) -> set[str]:
        """The tasks that some choice asks for."""
        return {task for choice in self._choices() for task in choice.tasks}

    def features_offered(self) -> set[str]:
        """The features that the units have by themselves."""
        return set(self._standing().features)

    def standing_shifts(self) -> tuple[Edge, ...]:
        """What the units by themselves add to dimensions."""
        return tuple(self._standing().shifts)

    def _standing(self) -> Tally:
        tally = Tally(self.sieve)
        for unit in self.sieve.question.units:
            tally.add_standing(self.sieve.part(unit))
        return tally

    def _choices(self) -> Iterable[Choice]:
        for position in self.written.positions:
            yield from position.candidates
        for joint in self.written.joints:
            yield from joint.links

    def _chains_asked(self) -> dict[str, ChainKind]:
        kinds = self.sieve.index.catalogue.chain_kinds
        held = self.around.positions
        return {one: kinds[one] for one in sorted(kinds) if all(position in held for position in kinds[one].positions)}

    def _parts_of_their_own(self) -> set[str]:
        """Parts with a place of their own: loose ones that something needs, and those that stand in several joints."""
        joints_of: dict[str, set[str]] = {}
        sources = set(self._home)
        for joint, ways in self.left.ways.items():
            for way in ways:
                sources.update(way.via, (edge.id for edge in way.edges))
                for part in way.via:
                    joints_of.setdefault(part, set()).add(joint)
        sources.update(edge.id for held in self.around.positions.values() for f in held.values() for edge in f.edges)
        own = {part for part, joints in joints_of.items() if len(joints) > 1 and part not in self._home}
        waiting = sorted(sources)
        while waiting:
            for edges in self._needs.groups(waiting.pop()).values():
                for edge in edges:
                    fresh = [part for part in self._needs.loose(edge.target) if part not in own]
                    own.update(fresh)
                    waiting += fresh
        return own

    def _write_position(self, position: str) -> None:
        kind = self.sieve.index.catalogue.position_kinds[position]
        held = self.around.positions[position]
        candidates = tuple(self._candidate(position, kind.fit_tasks, held[part]) for part in sorted(held))
        if not held:
            candidates = (self._nothing_known(position, kind.label),)
        self.written.positions.append(Position(position, position, kind.label, candidates))

    def _candidate(self, position: str, fit_tasks: tuple[str, ...], found: Found) -> Candidate:
        part = self.sieve.part(found.part)
        tally = Tally(self.sieve)
        if found.as_found:
            tally.add_standing(part)
        else:
            tally.need_tasks(fit_tasks)
            tally.add_part(part, at_hand=found.how in (COMES_WITH, FROM_DONOR))
        if found.donor:
            tally.need_tasks(self.work.strip(self.sieve.part(found.donor), fit_tasks))
        for edge in found.edges:
            tally.add_edge(edge, floored=not found.unit)
        id_ = f"{position}/{part.id}"
        self.written.candidates[id_] = CandidateOrigin(part, found.edges, found.how, tuple(tally.shifts))
        self._put_on_record(id_, tally)
        self.providers.add(id_, (part.id, *(edge.id for edge in found.edges)))
        return Candidate(id=id_, label=part.label, part=part.id, as_found=found.as_found, **self._fields(tally))

    def _nothing_known(self, position: str, place: str) -> Candidate:
        """A stand-in where no part is left, so that the document stays whole; its rule forbids picking it."""
        id_ = f"{position}/none"
        self.written.candidates[id_] = CandidateOrigin(None, (), NOT_KNOWN)
        self.providers.forbid(id_)
        return Candidate(id=id_, label=f"no part known for {place}", part=id_)

    def _write_extra(self, part_id: str) -> None:
        part = self.sieve.part(part_id)
        tally = Tally(self.sieve)
        tally.add_part(part)
        place, without = f"{EXTRA}/{part_id}", f"{EXTRA}/{part_id}/none"
        self.written.candidates[without] = CandidateOrigin(None, (), NOT_NEEDED)
        self.written.candidates[place] = CandidateOrigin(part, (), "needed", tuple(tally.shifts))
        self._put_on_record(place, tally)
        self.providers.add_loose(place, part_id)
        empty = Candidate(id=without, label=f"no {part.label}", part=without, as_found=True)
        filled = Candidate(id=place, label=part.label, part=part_id, **self._fields(tally))
        self.written.positions.append(Position(place, EXTRA, part.label, (empty, filled)))

    def _write_unit(self, unit: AskedUnit) -> None:
        """A unit that is bought. What it is and brings is counted where its parts are."""
        place = position_of(unit)
        (bought,) = place.candidates
        self.written.candidates[bought.id] = CandidateOrigin(unit.part, (), UNIT)
        self.written.evidence[bought.id] = ""
        self.written.positions.append(place)

    def _link(self, way: Way) -> Link:
        tally = Tally(self.sieve)
        parts = [self.sieve.part(part) for part in way.via]
        kind = self.sieve.index.catalogue.joint_kinds[way.joint]
        if not way.assembled:
            tally.need_tasks(kind.tasks)
        if way.via:
            tally.need_tasks(kind.via_tasks)
        for edge in way.edges:
            tally.add_edge(edge)
        for part in parts:
            if part.id in self._extra or part.id in self._home:
                self.providers.require(way.id, part.id)
            else:
                tally.add_part(part)
        tally.confirm(*way.doubts)
        if way.disputed:
            tally.confirm("disputed: measure it before relying on it")
        self.written.links[way.id] = LinkOrigin(way.edges, tuple(parts), way.disputed, tuple(tally.shifts))
        self._put_on_record(way.id, tally)
        own = (part for part in way.via if part not in self._extra and part not in self._home)
        self.providers.add(way.id, (*(edge.id for edge in way.edges), *own))
        first, second = kind.between
        return Link(
            id=way.id,
            label=self._say(way),
            parts=(f"{first}/{way.ends[0]}", f"{second}/{way.ends[1]}"),
            kind=way.kind,
            via=way.via,
            operations=tuple(tally.operations),
            irreversible=tally.irreversible,
            **self._fields(tally),
        )

    def _say(self, way: Way) -> str:
        one, other = (self.sieve.label(part) for part in way.ends)
        if way.assembled:
            return f"{one} and {other}, as assembled"
        if way.edges and all(edge.kind == CONTAINS for edge in way.edges):
            return f"{one} and {other}, as they stand together in {self.sieve.label(way.edges[-1].source)}"
        through = " and ".join(self.sieve.label(part) for part in way.via)
        if through:
            return f"{one} to {other} through {through}"
        return f"{one} to {other}, {'machined' if way.kind == 'fits after machining' else 'as they are'}"

    def _fields(self, tally: Tally) -> dict[str, Any]:
        fields = tally.fields()
        fields["tasks"] = self.work.here(fields["tasks"])
        fields["shifts_um"] = {chain: um for chain, um in sorted(tally.shifts_um.items()) if chain in self._chains}
        return fields

    def _put_on_record(self, choice: str, tally: Tally) -> None:
        if tally.settled:
            self.written.settled[choice] = tuple(one for one in tally.settled if one.state != FAILS)
        self.written.evidence[choice] = tally.level or ""

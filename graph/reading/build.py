"""Put costs, side effects and doubts to what the reading found, and write the conversion document."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from graph.catalogue.model import CONTAINS, SHIFTS, Edge
from graph.catalogue.terms import ChainKind
from graph.conversion.document import Candidate, CandidateOrLink, Chain, Joint, Link, Position
from graph.reading.conditions import FAILS, TO_CONFIRM, Settled
from graph.reading.faults import stated_faults
from graph.reading.found import Found, Neighbourhood
from graph.reading.lengths import Lacking, Lengths
from graph.reading.links import Way
from graph.reading.model import COMES_WITH, FROM_DONOR, NOT_KNOWN, PART_NEEDED, CandidateOrigin, LeftOut, LinkOrigin
from graph.reading.needs import EXTRA, Needs, Providers
from graph.reading.prune import Pruned
from graph.reading.sieve import Sieve
from graph.reading.tally import Tally
from graph.reading.tasks import UnitTasks
from graph.reading.units import TO_BUY, UNIT, AskedUnit, position_of
from graph.reading.untold import lacking_of_fault

Picked = TypeVar("Picked", Candidate, Link)
NOT_NEEDED = "not needed"
EVERY_JOB = "every-job"  # the kind, and the id, of the place that stands for the work done on every such job


@dataclass(slots=True)
class Written:
    """The document's positions and joints, and where each choice came from.

    `lacking`: per chain and part that leaves it open, the quantities missing, by the choice that has the part.
    `unsettled`: per condition that nobody has settled, the choices that hang on it. Both only with an assembly.
    """

    positions: list[Position] = field(default_factory=list)
    joints: list[Joint] = field(default_factory=list)
    candidates: dict[str, CandidateOrigin] = field(default_factory=dict)
    links: dict[str, LinkOrigin] = field(default_factory=dict)
    settled: dict[str, tuple[Settled, ...]] = field(default_factory=dict)
    evidence: dict[str, str] = field(default_factory=dict)
    lacking: dict[str, dict[tuple[str, str], tuple[str, ...]]] = field(default_factory=dict)
    unsettled: dict[str, dict[str, None]] = field(default_factory=dict)


class Writer:
    """Writes one question's positions and joints.

    `stated`: what is left of the parts where nothing is assumed. `lengths`: tells what dimensions lack; with it, what
    nobody has settled or measured is an assumption.
    """

    def __init__(
        self, sieve: Sieve, around: Neighbourhood, left: Pruned, needs: Needs, work: UnitTasks,
        units: tuple[AskedUnit, ...] = (), stated: Neighbourhood | None = None, lengths: Lengths | None = None,
    ):  # fmt: skip
        self._lengths = lengths
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
        self._stated = (stated or around).positions
        self._chains = self._chains_asked()
        self._spoken_of = self._chains_spoken_of() if lengths else frozenset()

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
        moved = set(start.shifts_um).union(*(choice.shifts_um for choice in self._stated_choices()))
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

    def _choices(self) -> Iterable[CandidateOrLink]:
        for position in self.written.positions:
            yield from position.candidates
        for joint in self.written.joints:
            yield from joint.links

    def _stated_choices(self) -> Iterable[CandidateOrLink]:
        """Those that would be left where nothing is assumed: what is assumed makes no dimension known."""
        left = {f"{position}/{part}" for position, held in self._stated.items() for part in held}
        for position in self.written.positions:
            yield from (one for one in position.candidates if position.kind == EXTRA or one.id in left)
        for joint in self.written.joints:
            yield from (link for link in joint.links if not link.assumed and left.issuperset(link.parts))

    def _chains_spoken_of(self) -> frozenset[str]:
        """The dimensions that something moves which is left where nothing is assumed."""
        sources = {part for held in self._stated.values() for part in held}.union(self.sieve.question.units)
        for ways in self.left.ways.values():
            sources.update(one for way in ways if not way.assumed for one in (*way.via, *(e.id for e in way.edges)))
        moved = {
            edge.target for source in sources for edge in self.sieve.index.side_effects(source)
            if edge.kind == SHIFTS and self.sieve.admits_edge(edge)
        }  # fmt: skip
        return frozenset(one.id for one in self._chains.values() if one.id in moved or one.start_um)

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

    def _supposed(self, position: str, fit_tasks: tuple[str, ...], found: Found) -> Candidate:
        """What nobody has stated: it costs nothing by itself, its doubts do."""
        assert found.gap is not None
        id_ = f"{position}/{found.part}"
        label = found.gap.text(self.sieve.label(found.unit))
        self.written.candidates[id_] = CandidateOrigin(None, (), found.how)
        self.written.evidence[id_] = ""
        tasks = self.work.here(fit_tasks) if found.how == PART_NEEDED else ()
        open_ = self._left_open(id_, found.part, self._lengths.lacking(found)) if self._lengths else ()
        return Candidate(
            id=id_, label=label, part=found.part, as_found=found.as_found, tasks=tasks, assumed=True, unmeasured=open_
        )

    def _left_open(self, choice: str, part: str, lacking: Lacking) -> tuple[str, ...]:
        """The chains that the part leaves open, put on record: of a part that is known, those that somebody speaks of.

        Where nobody says anything of a dimension it is not judged at all, and left out with what to measure.
        """
        known = self._spoken_of if part in self.sieve.index.catalogue.parts else self._chains.keys()
        chains = [chain for chain in lacking if chain in known]
        for chain in chains:
            self.written.lacking.setdefault(chain, {})[choice, part] = lacking[chain]
        return tuple(chains)

    def _uncertain(
        self, choice: str, tally: Tally, open_: tuple[str, ...], texts: tuple[str, ...] = ()
    ) -> dict[str, Any]:
        """Where an assembly is known, a choice is assumed that hangs on a condition or a length that nobody knows."""
        if self._lengths is None:
            return {}
        unsettled = dict.fromkeys((*(one.text for one in tally.settled if one.state == TO_CONFIRM), *texts))
        for text in unsettled:
            self.written.unsettled.setdefault(text, {})[choice] = None
        return {"assumed": bool(unsettled or open_), "unmeasured": open_}

    def _lacks_figures(self, tally: Tally, tasks: Iterable[str]) -> bool:
        """Does the choice take hours or money that nobody has stated? Then no route may win by it."""
        return bool(tally.untold) or not self.work.all_stated(tasks)

    def _add_faults(self, tally: Tally, position: str, found: Found) -> bool:
        """What nobody has stated of putting right what may be worn in it; whether getting there is stated."""
        index = self.sieve.index
        faults = list(stated_faults(index, position, found))
        tally.lack(*(what for fault in faults for what in lacking_of_fault(fault)))
        return self.work.all_stated(self.work.here(t for fault in faults for t in index.laid_open_by(fault.id)))

    def write_every_job(self, tasks: tuple[str, ...], label: str) -> None:
        """A place of its own for the work of every such job, so that each route does it, once."""
        here = self.work.here(tasks)
        assumed = not self.work.all_stated(here)
        only = Candidate(id=EVERY_JOB, label=label, part=EVERY_JOB, as_found=True, tasks=here, assumed=assumed)
        self.written.candidates[EVERY_JOB] = CandidateOrigin(None, (), EVERY_JOB)
        self.written.positions.append(Position(EVERY_JOB, EVERY_JOB, label, (only,)))

    def _candidate(self, position: str, fit_tasks: tuple[str, ...], found: Found) -> Candidate:
        if found.gap is not None:
            return self._supposed(position, fit_tasks, found)
        part = self.sieve.part(found.part)
        tally, reached = Tally(self.sieve), True
        if found.as_found:
            tally.add_standing(part)
            reached = self._add_faults(tally, position, found)
        else:
            tally.need_tasks(fit_tasks)
            tally.add_part(part, at_hand=found.how in (COMES_WITH, FROM_DONOR))
        if found.donor:
            tally.need_tasks(self.work.strip(self.sieve.part(found.donor), fit_tasks))
        for edge in found.edges:
            tally.add_edge(edge, floored=not found.unit)
        id_ = f"{position}/{part.id}"
        self.written.candidates[id_] = CandidateOrigin(
            part, found.edges, found.how, tuple(tally.shifts), tuple(tally.untold), tuple(tally.general)
        )
        self._put_on_record(id_, tally)
        self.providers.add(id_, (part.id, *(edge.id for edge in found.edges)))
        open_ = self._left_open(id_, part.id, self._lengths.lacking(found)) if self._lengths else ()
        fields = {**self._fields(tally), **self._uncertain(id_, tally, open_)}
        if not reached or self._lacks_figures(tally, fields["tasks"]):
            fields["assumed"] = True
        return Candidate(id=id_, label=part.label, part=part.id, as_found=found.as_found, **fields)

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
        self.written.candidates[place] = CandidateOrigin(
            part, (), "needed", tuple(tally.shifts), tuple(tally.untold), tuple(tally.general)
        )
        self._put_on_record(place, tally)
        self.providers.add_loose(place, part_id)
        empty = Candidate(id=without, label=f"no {part.label}", part=without, as_found=True)
        open_ = self._left_open(place, part_id, self._lengths.of_part(part_id)) if self._lengths else ()
        fields = {**self._fields(tally), **self._uncertain(place, tally, open_)}
        if self._lacks_figures(tally, fields["tasks"]):
            fields["assumed"] = True
        filled = Candidate(id=place, label=part.label, part=part_id, **fields)
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
        self.written.links[way.id] = LinkOrigin(
            way.edges, tuple(parts), way.disputed, tuple(tally.shifts), tuple(tally.untold), tuple(tally.general)
        )
        self._put_on_record(way.id, tally)
        own = tuple(part for part in way.via if part not in self._extra and part not in self._home)
        self.providers.add(way.id, (*(edge.id for edge in way.edges), *own))
        first, second = kind.between
        open_ = [
            one for part in own if self._lengths for one in self._left_open(way.id, part, self._lengths.of_part(part))
        ]
        fields = {**self._fields(tally), **self._uncertain(way.id, tally, tuple(dict.fromkeys(open_)), way.doubts)}
        free = self._lacks_figures(tally, fields["tasks"])
        fields["assumed"] = fields.get("assumed", False) or way.assumed or free or self._hangs_on_a_gap(way)
        return Link(
            id=way.id,
            label=self._say(way),
            parts=(f"{first}/{way.ends[0]}", f"{second}/{way.ends[1]}"),
            kind=way.kind,
            via=way.via,
            operations=tuple(tally.operations),
            irreversible=tally.irreversible,
            **fields,
        )

    def _hangs_on_a_gap(self, way: Way) -> bool:
        return any(self._end(way, side).gap is not None for side in (0, 1))

    def _end(self, way: Way, side: int) -> Found:
        place = self.sieve.index.catalogue.joint_kinds[way.joint].between[side]
        return self.around.positions[place][way.ends[side]]

    def _label(self, found: Found) -> str:
        return found.gap.text(self.sieve.label(found.unit)) if found.gap else self.sieve.label(found.part)

    def _say(self, way: Way) -> str:
        one, other = (self._label(self._end(way, side)) for side in (0, 1))
        if way.assumed:
            return f"{one} and {other}, {'after the usual remedy' if way.estimated else 'assumed to mate'}"
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


def only_judged(position: Position, chains: frozenset[str]) -> Position:
    """The position, its candidates without what they move or leave open of dimensions that are not judged."""
    return replace(position, candidates=tuple(_judged(one, chains) for one in position.candidates))


def only_judged_links(joint: Joint, chains: frozenset[str]) -> Joint:
    """The same of a joint."""
    return replace(joint, links=tuple(_judged(one, chains) for one in joint.links))


def _judged(choice: Picked, chains: frozenset[str]) -> Picked:
    if chains.issuperset(choice.shifts_um) and chains.issuperset(choice.unmeasured):
        return choice
    moves = {chain: um for chain, um in choice.shifts_um.items() if chain in chains}
    return replace(choice, shifts_um=moves, unmeasured=tuple(one for one in choice.unmeasured if one in chains))

"""Runs the checks over the parts around a question and keeps every result, so that no pair is computed twice.

What is kept outlives a revision of the facts: it is handed on to the next but for what the change touched (see
graph/derive/kept.py). Pairs that stand in one unit as found are assembled and need no check; a pair of which nobody has
measured anything is left alone. What a note says is never replaced: where the arithmetic agrees nothing is added, where
it disagrees both stand and the edge is disputed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from fractions import Fraction

from graph.catalogue.model import DOES_NOT_FIT, FITS, MATING_KINDS, SHIFTS, Edge, Measurement, Part
from graph.catalogue.relations import MATING
from graph.catalogue.terms import JointKind
from graph.derive.adaptors import with_adaptors
from graph.derive.bearings import StandardBearings
from graph.derive.chains import read_shifts
from graph.derive.costs import NotPriced
from graph.derive.edges import Made, against, edges_of
from graph.derive.joints.record import Case, JointCheck
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.kept import KeptFindings
from graph.derive.made import price_at
from graph.derive.measured import Measured
from graph.derive.plates import with_plates
from graph.derive.remeasured import Key, Remeasured
from graph.derive.sized import list_sized
from graph.derive.torques import read_torques
from graph.fits.model import CheckResult, Verdict, alike
from graph.fits.tables import load_tables
from graph.fits.tables_drive import load_drive_tables
from graph.lookups.findings import Derived, Disagreement, MissingReading, PairFinding, Unknown, gap_of, listed
from graph.lookups.index import CatalogueIndex

THESE_PARTS = 1  # the evidence rank of what was measured on these parts
AT_ASSEMBLY = ("select-ring", "dial-in-housing", "fit-dowels")  # done on every such job, whether noted or not


@dataclass(frozen=True, slots=True)
class Around:
    """The parts around a question by position kind, the unit in which a part is found, and the parts in hand.

    Parts that are neither found in a unit nor in hand merely could be got: of them only those that close every joint
    that can be computed are followed up.
    """

    positions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    homes: Mapping[str, str] = field(default_factory=dict)
    own: frozenset[str] = frozenset()


class Deriver:
    """Computes findings over one index; they are kept in what the index keeps (`kept`)."""

    def __init__(self, index: CatalogueIndex, kept: KeptFindings):
        self.index, self.catalogue, self._kept = index, index.catalogue, kept
        self.tables, self.drive = load_tables(), load_drive_tables()
        self.measured = Measured(index, self.tables, kept.facts, kept.bearing_parts)
        self.bearings = StandardBearings(self.catalogue, self.measured, self.drive, kept)

    def derive(self, around: Around) -> Derived:
        """Everything that follows from measurements about the parts around."""
        if not self._kept.facts.parts:
            return Derived()
        extra, unknowns = self.bearings.around(around.positions, around.homes)
        places = {place: (*parts, *extra.get(place, ())) for place, parts in around.positions.items()}
        loose = {part for parts in places.values() for part in parts if part not in around.homes} - around.own
        findings: list[PairFinding] = []
        for joint_id, check in JOINT_CHECKS.items():
            joint = self.catalogue.joint_kinds.get(joint_id)
            if joint is None or any(not places.get(position) for position in joint.between):
                continue
            here = list(
                self._findings_at(joint, check, [places[position] for position in joint.between], around, loose)
            )
            findings += here
            gone = self._hopeless(joint, here, [places[position] for position in joint.between], loose)
            places = {place: tuple(part for part in parts if part not in gone) for place, parts in places.items()}
        left = {part for parts in places.values() for part in parts}
        findings = [finding for finding in findings if left.issuperset(finding.parts)]
        made = tuple(self.measured.part(part) for parts in extra.values() for part in parts if part in left)
        shifts, disputes = read_shifts(self.measured, left)
        held = {place: tuple(part for part in parts if part in left) for place, parts in places.items()}
        sized = list_sized(self.index, self.measured, findings, held, around.homes, shifts, around.own)
        everything = {*around.homes.values(), *(part for parts in around.positions.values() for part in parts)}
        torques = read_torques(self.measured, everything)
        made, shifts = (*made, *sized.parts), (*shifts, *sized.edges)
        return replace(_gathered(findings, made, unknowns, shifts, disputes), torques=torques)

    def _findings_at(
        self, joint: JointKind, check: JointCheck, ends: Sequence[Sequence[str]], around: Around, loose: Set[str]
    ) -> Iterator[PairFinding]:
        homes, counted = around.homes, self._counted(check.same, ends)
        for first in ends[0]:
            home, count, is_loose = homes.get(first), counted.get(first), first in loose
            for second in ends[1]:
                if first == second or (home is not None and home == homes.get(second)):
                    continue
                if count is not None and (is_loose or second in loose):
                    other = counted.get(second)
                    if other is not None and other != count:
                        continue  # counted, and not alike: a part that merely could be got needs no check
                yield self.pair(joint.id, first, second)

    def _counted(self, quantity: str, ends: Iterable[Iterable[str]]) -> dict[str, Fraction]:
        """The count that must be alike on both sides, of the parts that it is known of; of none where none must."""
        parts = {part for end in ends for part in end} if quantity else ()
        known = ((part, self.measured.number(part, quantity)) for part in parts)
        return {part: number[0] for part, number in known if number is not None}

    def _hopeless(
        self, joint: JointKind, here: Iterable[PairFinding], ends: Iterable[Iterable[str]], loose: Set[str]
    ) -> set[str]:
        """Parts that merely could be got and that close the joint with nothing around: no use looking further."""
        hopeful = {part for finding in here if _may_close(finding) for part in finding.parts}
        asked = {part for end in ends for part in end if part in loose and part not in hopeful}
        return {part for part in asked if not self.index.count_statements(part, joint.id)}

    def pair(self, joint_id: str, first: str, second: str) -> PairFinding:
        """What is found of two parts at a joint, in the joint's order of positions. Computed once."""
        key = (joint_id, first, second, *self._kept.stamps_of(first, second))
        known = self._kept.pairs.get(key)
        if known is None:
            parts = (first, second)
            known = self._find(self.catalogue.joint_kinds[joint_id], JOINT_CHECKS[joint_id], parts)
            self._kept.pairs.put(key, known)
        return known

    def pair_with(self, joint_id: str, first: str, second: str, typed: Iterable[Measurement]) -> PairFinding:
        """The same where these readings count instead of those of the facts; it is not kept."""
        given: dict[Key, tuple[dict[str, Measurement], set[str]]] = {}
        for one in typed:
            key = (one.of, one.quantity)
            given[key] = ({one.id: one}, {fact.id for fact in self.measured.facts(*key)})
        if not given:
            return self.pair(joint_id, first, second)
        other = Deriver(self.index, self._kept)
        other.measured = self.measured.with_readings(Remeasured(given))
        return other._find(self.catalogue.joint_kinds[joint_id], JOINT_CHECKS[joint_id], (first, second))

    def _find(self, joint: JointKind, check: JointCheck, parts: tuple[str, str]) -> PairFinding:
        case = Case(self.measured, self.drive, joint.id, parts)
        noted = self._noted(joint.id, parts)
        finding = PairFinding(joint=joint.id, parts=parts, noted=tuple(edge.id for edge in noted))
        if not self._begun(check, case):
            return finding
        result = alike(check.run(case))
        made, result = with_plates(case, joint, result) if check.plates else (Made(), result)
        if check.adaptor is not None:
            made, result = with_adaptors(case, joint, check.adaptor, result)
        finding = replace(finding, result=result)
        positive = [edge for edge in noted if edge.kind != DOES_NOT_FIT]
        gaps = self._gaps(check, case)
        if result.verdict is Verdict.UNKNOWN or (gaps and result.verdict is not Verdict.FAILS):
            return replace(finding, unknown=_unknown(joint, parts, gaps, result, noted=bool(noted)))
        if result.verdict is Verdict.FAILS:
            return self._against(finding, joint, result, noted)
        if positive:
            return self._beside(finding, joint, result, positive)
        return self._closed(finding, joint, check, made, noted)

    def _closed(
        self, finding: PairFinding, joint: JointKind, check: JointCheck, made: Made, noted: tuple[Edge, ...]
    ) -> PairFinding:
        result = finding.result
        assert result is not None
        try:
            if not made.edges:
                price_of = price_at(self.measured, joint, finding.parts)
                made = edges_of(self.catalogue, joint, finding.parts, result, check.to_confirm, price_of)
        except NotPriced as error:
            return replace(finding, unknown=self._not_priced(joint, finding.parts, error.operation))
        workings = {edge.id: result for edge in made.edges}
        disagreement = None
        if noted and any(edge.kind == FITS and {edge.source, edge.target} == set(finding.parts) for edge in made.edges):
            disagreement = self._disagreement(joint, finding.parts, result, noted)
        return replace(finding, edges=made.edges, made=made.parts, workings=workings, disagreement=disagreement)

    def _against(
        self, finding: PairFinding, joint: JointKind, result: CheckResult, noted: tuple[Edge, ...]
    ) -> PairFinding:
        """It fails: a *does not fit* edge, unless a note says so already."""
        if any(edge.kind == DOES_NOT_FIT for edge in noted):
            return finding
        edge = replace(against(joint, finding.parts, result), overrules=self._known_better(result, noted))
        disagreement = self._disagreement(joint, finding.parts, result, noted) if noted else None
        return replace(finding, edges=(edge,), workings={edge.id: result}, disagreement=disagreement)

    def _known_better(self, result: CheckResult, noted: tuple[Edge, ...]) -> tuple[str, ...]:
        """The plain *fits* that readings of these very parts outrank: those were said of others."""
        levels = self.catalogue.evidence_levels
        if result.evidence_rank > THESE_PARTS:
            return ()
        return tuple(
            edge.id
            for edge in noted
            if edge.kind == FITS and (edge.evidence not in levels or levels[edge.evidence].rank > result.evidence_rank)
        )

    def _beside(self, finding: PairFinding, joint: JointKind, result: CheckResult, noted: list[Edge]) -> PairFinding:
        """A note joins them and the arithmetic holds: nothing to add, unless it asks for work that the note lacks."""
        real_work = any(work.operation not in AT_ASSEMBLY for work in result.work)
        if real_work and all(edge.kind == FITS for edge in noted):
            return replace(finding, disagreement=self._disagreement(joint, finding.parts, result, tuple(noted)))
        return finding

    def _disagreement(
        self, joint: JointKind, parts: tuple[str, str], result: CheckResult, noted: tuple[Edge, ...]
    ) -> Disagreement:
        names = " and ".join(self.measured.part(part).label for part in parts)
        said = ", ".join(dict.fromkeys(edge.kind.replace("-", " ") for edge in noted))
        found = f"the arithmetic says {result.verdict}: {result.summary}"
        text = f"{names} at the joint {joint.label!r}: noted as {said}; {found}"
        return Disagreement(joint.id, parts, text, tuple(edge.id for edge in noted))

    def _noted(self, joint: str, parts: tuple[str, str]) -> tuple[Edge, ...]:
        few, many = sorted(parts, key=lambda part: self.index.count_statements(part, joint))
        said = self.index.statements(few, joint).get(many, ())
        nearest = min((one.level for one in said), default=0)
        return tuple(one.edge for one in said if one.level == nearest and one.edge.kind in MATING)

    def _begun(self, check: JointCheck, case: Case) -> bool:
        """Has somebody measured something of either part that the check takes?"""
        if check.faces:
            return any(self.measured.has_face(part, check.faces) for part in case.parts)
        heads = (*check.needs, *(group[0] for group in check.also))
        return any(
            self.measured.has_any(case.parts[side], [quantity for at, quantity in heads if at == side])
            for side in (0, 1)
        )

    def _gaps(self, check: JointCheck, case: Case) -> tuple[MissingReading, ...]:
        needs = check.needs_of(case)
        gaps = [
            self.measured.gap(case.parts[at], one) for at, one in needs if not self.measured.known(case.parts[at], one)
        ]
        for at, quantity in check.chain_needs:
            if not self.measured.known(case.parts[at], quantity) and not self._shift_noted(case.parts[at], quantity):
                gaps.append(self.measured.gap(case.parts[at], quantity))
        if check.faces:
            sides = (1,) if case.joint != check.faces else (0, 1)
            for part in (case.parts[side] for side in sides):
                if not self.measured.has_face(part, check.faces):
                    label = self.measured.part(part).label
                    gaps.append(gap_of(part, check.faces, f"places of the holes of {label}, about its axis"))
        return tuple(gaps)

    def _shift_noted(self, part: str, quantity: str) -> bool:
        """Does a note say how the part moves all the chains that the quantity would?"""
        known = self.catalogue.quantities.get(quantity)
        wanted = set(known.adds_to + known.takes_from) if known else set()
        return wanted <= {edge.target for edge in self.index.side_effects(part) if edge.kind == SHIFTS}

    def _not_priced(self, joint: JointKind, parts: tuple[str, str], operation: str) -> Unknown:
        names = " and ".join(self.measured.part(part).label for part in parts)
        text = f"{names} at the joint {joint.label!r}: the price list has no {operation}; add it"
        return Unknown(joint.id, parts, (), text, price=operation)


def _may_close(finding: PairFinding) -> bool:
    return bool(finding.noted) or finding.unknown is not None or any(one.kind in MATING_KINDS for one in finding.edges)


def _unknown(
    joint: JointKind, parts: tuple[str, str], gaps: tuple[MissingReading, ...], result: CheckResult, *, noted: bool
) -> Unknown:
    wanted = listed(gaps) if gaps else "; ".join(item.text().removeprefix("measure ") for item in result.measure)
    return Unknown(joint.id, parts, gaps, f"unknown: measure {wanted} ({joint.label})", noted=noted)


def _gathered(
    findings: list[PairFinding],
    made: tuple[Part, ...],
    unknowns: list[Unknown],
    shifts: tuple[Edge, ...],
    disputes: tuple[Disagreement, ...],
) -> Derived:
    edges = {edge.id: edge for finding in findings for edge in finding.edges}
    edges.update((edge.id, edge) for edge in shifts)
    parts = {part.id: part for part in (*made, *(part for finding in findings for part in finding.made))}
    told = [*unknowns, *(finding.unknown for finding in findings if finding.unknown is not None)]
    return Derived(
        edges=tuple(edges[id_] for id_ in sorted(edges)),
        parts=tuple(parts[id_] for id_ in sorted(parts)),
        unknowns=tuple({(one.joint, one.parts, one.text, one.noted): one for one in told}.values()),
        workings={id_: result for finding in findings for id_, result in finding.workings.items()},
        disputes=(*disputes, *(finding.disagreement for finding in findings if finding.disagreement is not None)),
        findings=tuple(finding for finding in findings if finding.result is not None),
    )

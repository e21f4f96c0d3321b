"""Runs the checks over the parts around a question and keeps every result, so that no pair is computed twice.

One `Deriver` per catalogue revision. Pairs that stand in one unit as found are assembled and need no check; a pair of
which nobody has measured anything is left alone. What a note says is never replaced: where the arithmetic agrees
nothing is added, where it disagrees both stand and the edge is disputed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import product

from graph.catalogue.model import DOES_NOT_FIT, FITS, SHIFTS, Edge, JointKind, Part
from graph.derive.checks import JOINT_CHECKS, Case, JointCheck, housing_seat, involute_needs, shaft_seat
from graph.derive.costs import NotPriced
from graph.derive.edges import Made, against, edges_of, level_of, made_part, pair_name, to_um
from graph.derive.findings import COMPUTED, Derived, Disagreement, Finding, Gap, Unknown
from graph.derive.measured import Measured
from graph.derive.plates import check_plate, stock_thicknesses_nm
from graph.fits.bearing_search import propose_bearings
from graph.fits.model import CheckResult, Dimension, Verdict, Work, bare_mm, show_nm
from graph.fits.tables import Bearing, load_tables
from graph.fits.tables_drive import load_drive_tables
from graph.reading.index import MATING, CatalogueIndex

IN_HOUSING, ON_SHAFT, ENGINE_FACE = "input-bearing-in-housing", "input-bearing-on-shaft", "engine-face"
STANDARD = f"{COMPUTED}iso15-"
MOST_BEARINGS = 3
THICKNESS = "plate-thickness"
AT_ASSEMBLY = ("select-ring", "dial-in-housing", "fit-dowels")  # done on every such job, whether noted or not


@dataclass(frozen=True, slots=True)
class Around:
    """The parts around a question by position kind, and the unit in which a part is found (part -> unit)."""

    positions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    homes: Mapping[str, str] = field(default_factory=dict)


class Deriver:
    """Computes and keeps findings over one catalogue, which must not change."""

    def __init__(self, index: CatalogueIndex):
        self.index, self.catalogue = index, index.catalogue
        self.tables, self.drive = load_tables(), load_drive_tables()
        self.measured = Measured(index, self.tables)
        self._pairs: dict[tuple[str, str, str], Finding] = {}
        self._bearings: dict[tuple[str, str], tuple[tuple[str, ...], Unknown | None]] = {}

    def derive(self, around: Around) -> Derived:
        """Everything that follows from measurements about the parts around."""
        if not self.measured.parts:
            return Derived()
        extra, unknowns = self._standard_bearings(around)
        findings = []
        for joint_id in JOINT_CHECKS:
            joint = self.catalogue.joint_kinds.get(joint_id)
            if joint is None or any(position not in around.positions for position in joint.between):
                continue
            ends = [(*around.positions[position], *extra.get(position, ())) for position in joint.between]
            for first, second in product(*ends):
                home = around.homes.get(first)
                if first != second and (home is None or home != around.homes.get(second)):
                    findings.append(self.pair(joint_id, first, second))
        made = tuple(self.measured.part(part) for parts in extra.values() for part in parts)
        shifts, disputes = self._shifts(around)
        return _gathered(findings, made, unknowns, shifts, disputes)

    def pair(self, joint_id: str, first: str, second: str) -> Finding:
        """What is found of two parts at a joint, in the joint's order of positions. Computed once."""
        key = (joint_id, first, second)
        if key not in self._pairs:
            self._pairs[key] = self._find(self.catalogue.joint_kinds[joint_id], JOINT_CHECKS[joint_id], (first, second))
        return self._pairs[key]

    def _find(self, joint: JointKind, check: JointCheck, parts: tuple[str, str]) -> Finding:
        case = Case(self.measured, self.drive, joint.id, parts)
        noted = self._noted(joint.id, parts)
        finding = Finding(joint=joint.id, parts=parts, noted=tuple(edge.id for edge in noted))
        if not self._begun(check, case):
            return finding
        result = check.run(case)
        made, result = self._with_plates(joint, case, result) if joint.id == ENGINE_FACE else (Made(), result)
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
        self, finding: Finding, joint: JointKind, check: JointCheck, made: Made, noted: tuple[Edge, ...]
    ) -> Finding:
        result = finding.result
        assert result is not None
        try:
            if not made.edges:
                made = edges_of(self.catalogue, joint, finding.parts, result, check.to_confirm)
        except NotPriced as error:
            return replace(finding, unknown=self._not_priced(joint, finding.parts, error.operation))
        for part in made.parts:
            self.measured.add(part)
        workings = {edge.id: result for edge in made.edges}
        disagreement = None
        if noted and any(edge.kind == FITS and {edge.source, edge.target} == set(finding.parts) for edge in made.edges):
            disagreement = self._disagreement(joint, finding.parts, result, noted)
        return replace(finding, edges=made.edges, made=made.parts, workings=workings, disagreement=disagreement)

    def _against(self, finding: Finding, joint: JointKind, result: CheckResult, noted: tuple[Edge, ...]) -> Finding:
        """It fails: a *does not fit* edge, unless a note says so already."""
        if any(edge.kind == DOES_NOT_FIT for edge in noted):
            return finding
        edge = against(joint, finding.parts, result)
        disagreement = self._disagreement(joint, finding.parts, result, noted) if noted else None
        return replace(finding, edges=(edge,), workings={edge.id: result}, disagreement=disagreement)

    def _beside(self, finding: Finding, joint: JointKind, result: CheckResult, noted: list[Edge]) -> Finding:
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
        return any(
            self.measured.has_any(case.parts[side], [quantity for at, quantity in check.needs if at == side])
            for side in (0, 1)
        )

    def _gaps(self, check: JointCheck, case: Case) -> tuple[Gap, ...]:
        needs = [*check.needs, *involute_needs(case)]
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
                    gaps.append(Gap(part, check.faces, f"places of the holes of {label}, about its axis"))
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

    # ---- parts that the tables and the plate stock know ---------------------------------------------------------

    def _standard_bearings(self, around: Around) -> tuple[dict[str, tuple[str, ...]], list[Unknown]]:
        """Published bearings that close a case and a shaft around, as parts at the bearing's position."""
        joints = [self.catalogue.joint_kinds.get(one) for one in (IN_HOUSING, ON_SHAFT)]
        if any(joint is None for joint in joints):
            return {}, []
        in_housing, on_shaft = (joint for joint in joints if joint is not None)
        cases, shafts = around.positions.get(in_housing.between[0], ()), around.positions.get(on_shaft.between[1], ())
        position = in_housing.between[1]
        if position not in around.positions:
            return {}, []
        known = {self.measured.part(part).number for part in around.positions[position]}
        parts: dict[str, None] = {}
        unknowns = []
        for case, shaft in product(cases, shafts):
            found, unknown = self._bearings_between(case, shaft)
            parts.update(dict.fromkeys(part for part in found if self.measured.part(part).number not in known))
            assembled = around.homes.get(case) is not None and around.homes.get(case) == around.homes.get(shaft)
            if unknown is not None and not assembled:
                unknowns.append(unknown)
        return {position: tuple(sorted(parts))}, unknowns

    def _bearings_between(self, case: str, shaft: str) -> tuple[tuple[str, ...], Unknown | None]:
        key = (case, shaft)
        if key not in self._bearings:
            self._bearings[key] = self._search_bearings(case, shaft)
        return self._bearings[key]

    def _search_bearings(self, case: str, shaft: str) -> tuple[tuple[str, ...], Unknown | None]:
        wanted = [
            (case, "housing-bore"),
            (case, "housing-material"),
            (shaft, "journal-diameter"),
            (shaft, "shoulder-to-ring"),
        ]
        missing = tuple(self.measured.gap(*need) for need in wanted if not self.measured.known(*need))
        if len(missing) == len(wanted):
            return (), None
        if missing:
            text = f"unknown: measure {_listed(missing)}, then a standard bearing can be looked for"
            return (), Unknown(IN_HOUSING, (case, shaft), missing, text)
        at = Case(self.measured, self.drive, IN_HOUSING, (case, shaft))
        seat = housing_seat(at, case)
        assert seat is not None
        spacing = self.measured.length(shaft, "shoulder-to-ring")
        found = propose_bearings(
            self.tables, self.drive, shaft_seat(at, shaft), seat, spacing, bearing_steel=at.bearing_steel
        )
        return tuple(self.standard_part(choice.bearing).id for choice in found[:MOST_BEARINGS]), None

    def standard_part(self, bearing: Bearing) -> Part:
        """The published bearing as a part; its price is the price list's, None where that has none."""
        price = self.catalogue.standard_prices.get(bearing.designation)
        sizes = " x ".join(
            bare_mm(nm).rstrip("0").rstrip(".") for nm in (bearing.bore_nm, bearing.od_nm, bearing.width_nm)
        )
        rated = min((rating for _, rating, _ in bearing.ratings), default=0)
        life = f"dynamic rating {rated / 1000:g} kN: life goes with its cube (ISO 281); check it against the load"
        return self.measured.add(
            Part(
                id=f"{STANDARD}{bearing.designation}", label=f"Bearing {sizes} (ISO 15, {bearing.designation})",
                kind="input-bearing", number=bearing.designation, condition="new",
                cash_hundredths=price.cash_hundredths if price else None, days=price.days if price else Fraction(0),
                hours_hundredths=price.hours_hundredths if price else 0, to_confirm=(life,) if rated else (),
            )
        )  # fmt: skip

    def _with_plates(self, joint: JointKind, case: Case, result: CheckResult) -> tuple[Made, CheckResult]:
        """Where the faces do not bolt up, plates to be made for them, one for each stock thickness."""
        block, bell = (self.measured.face(part, ENGINE_FACE) for part in case.parts)
        if result.verdict is not Verdict.FAILS or block is None or bell is None:
            return Made(), result
        plate = check_plate(block, bell)
        if plate.verdict is Verdict.FAILS or "adapter-plate" not in joint.via_kinds:
            return Made(), replace(result, summary=f"{result.summary}; {plate.summary}")
        result = replace(plate, summary=f"{result.summary}; {plate.summary}", parts=(result, plate))
        try:
            plates = [self._plate(joint, case, result, nm) for nm in stock_thicknesses_nm(block, bell)]
        except NotPriced:
            return Made(), result
        return sum(plates, Made()), result

    def _plate(self, joint: JointKind, case: Case, result: CheckResult, thickness_nm: int) -> Made:
        size = bare_mm(thickness_nm).rstrip("0").rstrip(".")
        name = f"{pair_name(joint.id, case.parts)}--{size}"
        work: Work = result.work[0]
        ends = [self.measured.part(part).label for part in case.parts]
        label = f"Adapter plate, {size} mm, made, {ends[0]} to {ends[1]}"
        part = made_part(self.catalogue, f"{name}--plate", "adapter-plate", work, label)
        confirm = (f"plate {show_nm(thickness_nm)}: prove the length chains with depth readings before cutting",)
        sides = ((case.parts[0], part.id, confirm), (part.id, case.parts[1], ()))
        edges = tuple(
            Edge(
                id=f"{name}--{place}", kind=FITS, source=one, target=other, joint=joint.id, to_confirm=said,
                reason=f"computed: {result.summary}", caution=" ".join(result.cautions), evidence=level_of(result),
            )
            for place, (one, other, said) in zip(("in", "out"), sides, strict=True)
        )  # fmt: skip
        return Made((*edges, *self._moves(part.id, THICKNESS, thickness_nm, level_of(result))), (part,))

    # ---- length chains -----------------------------------------------------------------------------------------

    def _moves(self, part: str, quantity: str, nm: int, evidence: str, note: str = "") -> tuple[Edge, ...]:
        known = self.catalogue.quantities.get(quantity)
        signed = [(chain, 1) for chain in known.adds_to] + [(chain, -1) for chain in known.takes_from] if known else []
        return tuple(
            Edge(
                id=f"{COMPUTED}{part}--{chain}" if not part.startswith(COMPUTED) else f"{part}--{chain}", kind=SHIFTS,
                source=part, target=chain, shift_um=sign * to_um(nm), evidence=evidence, note=note,
            )
            for chain, sign in signed if chain in self.catalogue.chain_kinds
        )  # fmt: skip

    def _shifts(self, around: Around) -> tuple[tuple[Edge, ...], tuple[Disagreement, ...]]:
        """What measured lengths move that no note says, and where note and measurement differ."""
        moving = [one for one in self.catalogue.quantities.values() if one.adds_to or one.takes_from]
        edges, disputes = [], []
        for part in dict.fromkeys(part for parts in around.positions.values() for part in parts):
            noted = {edge.target: edge for edge in self.index.side_effects(part) if edge.kind == SHIFTS}
            for quantity in moving:
                length = self.measured.length(part, quantity.id) if self.measured.facts(part, quantity.id) else None
                if length is None:
                    continue
                note = self.measured.note_of(part, quantity.id)
                for edge in self._moves(part, quantity.id, length.nominal_nm, "calculated", note):
                    said = noted.get(edge.target)
                    if said is None:
                        edges.append(edge)
                    elif _differ(said, edge, length):
                        disputes.append(self._shift_dispute(part, said, edge))
        return tuple(edges), tuple(disputes)

    def _shift_dispute(self, part: str, said: Edge, computed: Edge) -> Disagreement:
        chain = self.catalogue.chain_kinds[said.target].label
        noted, found = (show_nm(edge.shift_um * 1000) for edge in (said, computed))
        text = f"{self.measured.part(part).label}, {chain}: noted {noted}, measured {found}; measure again"
        return Disagreement("", (part,), text, (said.id,))


def _differ(said: Edge, computed: Edge, length: Dimension) -> bool:
    return abs(said.shift_um - computed.shift_um) * 1000 > length.uncertainty_nm


def _listed(gaps: Iterable[Gap]) -> str:
    return " and ".join(gap.text + (f" (again: {gap.why})" if gap.why else "") for gap in gaps)


def _unknown(
    joint: JointKind, parts: tuple[str, str], gaps: tuple[Gap, ...], result: CheckResult, *, noted: bool
) -> Unknown:
    wanted = _listed(gaps) if gaps else "; ".join(item.text().removeprefix("measure ") for item in result.measure)
    return Unknown(joint.id, parts, gaps, f"unknown: measure {wanted} ({joint.label})", noted=noted)


def _gathered(
    findings: list[Finding],
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
        unknowns=tuple(dict.fromkeys(told)),
        workings={id_: result for finding in findings for id_, result in finding.workings.items()},
        disputes=(*disputes, *(finding.disagreement for finding in findings if finding.disagreement is not None)),
        findings=tuple(finding for finding in findings if finding.result is not None),
    )

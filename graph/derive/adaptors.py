"""Adaptors between two turned faces that do not meet: another flywheel on a crankshaft, another propshaft flange.

They are plates with both patterns (graph/plates), which may stand at any angle, for what they join turns. Made where
the shop has the four rates of a plate, or a flat price; one for each stock thickness that takes the bolts, up to
MOST_THICKNESSES, so that the length chains choose. What has to be paid with one (longer bolts, balancing) and has no
price makes it an assumption.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from graph.catalogue.model import FITS, Catalogue, Edge, Part
from graph.catalogue.terms import JointKind
from graph.derive.centring import adaptor_centring
from graph.derive.chains import list_moves
from graph.derive.costs import NotPriced, hours_together
from graph.derive.edges import Made, level_of, not_whole, pair_name, part_by
from graph.derive.joints.record import AdaptorKind, Case
from graph.derive.made_prices import WorkPrice, fitting_hours, has_rates_for, price_of_work
from graph.derive.plate_prices import plate_cost, price_lines
from graph.derive.plates import PLATE_TOLERANCE_NM
from graph.exact import HUNDREDTHS
from graph.fits.model import NM_PER_MM, NM_PER_UM, Amount, CheckResult, Line, Verdict, Work, Working, show_nm
from graph.fits.pattern import Face
from graph.plates.bill import BALANCE, BORE, FLYWHEEL_BOLTS, UNITS, PlateCount, count_work
from graph.plates.design import design_plate
from graph.plates.model import PlateDesign, PlateRefused, PlateWanted, mm
from graph.plates.rules import STOCK_MM, up

ANY_ANGLE = 180.0
MOST_THICKNESSES = 4


HUB_ADAPTOR = AdaptorKind(
    label="hub adaptor", part_kind="hub-adaptor", operation="make-hub-adaptor", moves="flywheel-spacer-thickness",
    turned=3, wants=((0, "crank-register"), (1, "flywheel-bore")), also=(FLYWHEEL_BOLTS, BALANCE),
    to_confirm=("register and spigot of the adaptor, about the crank axis within 0.02 mm",
                "balance flywheel and cover with the adaptor", "new graded bolts in both patterns"),
    caution="A flywheel that comes loose kills: steel of known strength, dowels, stated torque.",
)  # fmt: skip
FLANGE_ADAPTOR = AdaptorKind(
    label="flange adaptor", part_kind="flange-adaptor", operation="make-flange-adaptor",
    moves="flange-adaptor-thickness", turned=3,
    to_confirm=("spigot centred both ways; run-out and angle of the propshaft measured with it in",
                "propshaft balanced with the adaptor"),
    caution="Whirling propshafts kill: graded bolts, stated torque, no run without balancing.",
)  # fmt: skip


def with_adaptors(case: Case, joint: JointKind, kind: AdaptorKind, result: CheckResult) -> tuple[Made, CheckResult]:
    """Where the faces do not bolt up, adaptors to be made for them; where none can be made, why."""
    first, second = (case.measured.face(part, joint.id) for part in case.parts)
    if result.verdict is not Verdict.FAILS or first is None or second is None or kind.part_kind not in joint.via_kinds:
        return Made(), result
    catalogue = case.measured.catalogue
    if not _may_be_priced(catalogue, kind):
        return Made(), result
    design = _design(case, joint, first, second)
    if isinstance(design, PlateRefused):
        reasons = "; ".join(reason.text() for reason in design.reasons)
        return Made(), replace(result, summary=f"{result.summary}; no {kind.label}: {reasons}")
    found = _result(case, kind, design, result)
    labels = " to ".join(case.measured.part(part).label for part in case.parts)
    made = Made()
    for stock_mm in _thicknesses(design):
        try:
            made += _adaptor(case, joint, kind, labels, found, design, stock_mm)
        except NotPriced:
            return Made(), result
    return made, found


def design_adaptor(first: Face, second: Face) -> PlateDesign | PlateRefused:
    """The adaptor in one piece, turned as it has to be."""
    return design_plate(PlateWanted(engine=first, gearbox=second, lean_deg=ANY_ANGLE, pieces=1))


def _design(case: Case, joint: JointKind, first: Face, second: Face) -> PlateDesign | PlateRefused:
    """The adaptor, whose register and spigot are counted by its kind; refused where what is read of the parts leaves no
    room for them, as the drawing is."""
    design = design_adaptor(first, second)
    read = adaptor_centring(case.measured, joint.id, *case.parts, (first.label, second.label))
    if isinstance(design, PlateRefused) or (read.register_um is None and read.spigot_um is None):
        return design
    centred = PlateWanted(
        engine=first, gearbox=second, lean_deg=ANY_ANGLE, pieces=1, register_um=read.register_um,
        spigot_um=read.spigot_um, hub=True,
    )  # fmt: skip
    found = design_plate(centred)
    return found if isinstance(found, PlateRefused) else design


def _thicknesses(design: PlateDesign) -> tuple[int, ...]:
    least = up(design.thickness_um)
    return tuple(stock for stock in STOCK_MM if stock * 1000 >= least)[:MOST_THICKNESSES]


def _may_be_priced(catalogue: Catalogue, kind: AdaptorKind) -> bool:
    listed = catalogue.operation_prices
    return kind.operation in listed or all(name in listed for name in ("plate-blank", "plate-hole", "plate-bore"))


def _result(case: Case, kind: AdaptorKind, design: PlateDesign, result: CheckResult) -> CheckResult:
    turned = f", turned {design.angle_deg:g} degrees" if design.angle_deg else ""
    text = f"make a {kind.label} with both patterns{turned}, at least {mm(design.thickness_um)} mm thick"
    work = Work(kind.operation, kind.label, text, Amount.of_nm(design.thickness_um * NM_PER_UM), remedy=kind.label)
    lines = tuple(Line(one.name, "", "", one.value, one.source) for one in design.figures)
    return CheckResult(
        joint=kind.label, verdict=Verdict.HOLDS_WITH_WORK, summary=f"{result.summary}; {text}", binding="both patterns",
        work=(work,), choices=((work,),), working=Working(lines), evidence_rank=result.evidence_rank,
        cautions=(kind.caution,), parts=(result,),
    )  # fmt: skip


def _price(case: Case, kind: AdaptorKind, design: PlateDesign, stock_mm: int) -> WorkPrice | None:
    catalogue, measured = case.measured.catalogue, case.measured
    counts = count_work(design.pieces, design.wanted.rules.material, stock_mm)
    if not has_rates_for(catalogue, counts):
        return None
    listed = catalogue.operation_prices
    counts = tuple(replace(one, count=one.count + kind.turned) if one.operation == BORE else one for one in counts)
    counts += tuple(PlateCount(one, Fraction(1), UNITS[one]) for one in kind.also if one in listed)
    lacks = tuple(f"price of 1 {UNITS[one]}" for one in kind.also if one not in listed)
    unread = ((case.parts[side], one) for side, one in kind.wants if not measured.known(case.parts[side], one))
    lacks += tuple(measured.gap(*one).text for one in unread)
    lines = tuple(line.text() for line in price_lines(catalogue, counts))
    cost = plate_cost(catalogue, counts)
    fitting, whose = fitting_hours(measured.index, kind.part_kind, kind.operation)
    if fitting:
        lines += (f"fitting it: {fitting / HUNDREDTHS:.2f} h, {whose}",)
    hours = hours_together(cost.hours_hundredths, fitting)
    return WorkPrice(replace(cost, hours_hundredths=hours), lines, lacks)


def _adaptor(
    case: Case, joint: JointKind, kind: AdaptorKind, labels: str, result: CheckResult, design: PlateDesign,
    stock_mm: int,
) -> Made:  # fmt: skip
    catalogue, parts = case.measured.catalogue, case.parts
    name = f"{pair_name(joint.id, parts)}--{stock_mm}"
    label = f"{kind.label.capitalize()}, {stock_mm} mm, made, {labels}"
    work = result.work[0]
    priced = price_of_work(catalogue, work, lambda _work: _price(case, kind, design, stock_mm))
    part = part_by(catalogue, f"{name}--adaptor", kind.part_kind, work, priced, label)
    part = replace(part, to_confirm=(*part.to_confirm, *design.measure))
    confirm = (*kind.to_confirm, f"{kind.label} {show_nm(stock_mm * NM_PER_MM)}: prove the length chains first")
    edges = tuple(_edges(joint, name, (parts[0], part.id, parts[1]), result, confirm))
    if priced.lacks:
        edges = (not_whole(edges[0], priced), edges[1])
    return Made((*edges, *_moves(catalogue, kind, part, stock_mm, level_of(result))), (part,))


def _edges(
    joint: JointKind, name: str, stops: tuple[str, str, str], result: CheckResult, confirm: tuple[str, ...]
) -> Iterable[Edge]:
    for place, one, other, said in (("in", *stops[:2], confirm), ("out", *stops[1:], ())):
        yield Edge(
            id=f"{name}--{place}", kind=FITS, source=one, target=other, joint=joint.id, to_confirm=said,
            reason=f"computed: {result.summary}", caution=" ".join(result.cautions), evidence=level_of(result),
        )  # fmt: skip


def _moves(catalogue: Catalogue, kind: AdaptorKind, part: Part, stock_mm: int, level: str) -> tuple[Edge, ...]:
    return list_moves(
        catalogue, part.id, kind.moves, stock_mm * NM_PER_MM, level, uncertainty_nm=PLATE_TOLERANCE_NM,
        reason=f"thickness of {part.label}",
    )  # fmt: skip

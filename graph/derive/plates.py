"""Adapter plates to be made between two bolt faces that do not meet: can both patterns stand in one plate?

The plate takes counterbored clearance holes where the block has threads and tapped holes where the bell housing has
clearance holes. Rules (common practice): 5 mm of wall between the rims of a counterbore and of a tapped hole, unless
the two holes fall together; under a flush head 0.4 of the bolt's diameter of plate stays; rolled plate is bought by
stock thickness and may be milled down (graph/derive/sized.py says how far). Threads, heads, counterbores and clearance
holes are those of the tables (`graph.fits.threads`). Where the shop has rates for a plate's blank, holes, bores and
faces, the plate is designed (graph/plates) and priced by them, else by its flat price.
The box stands upright; where no plate of one piece does so and the shop has those rates, one turned by two degrees at
the most or of two pieces is weighed, and says what turns with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import hypot

from graph.catalogue.model import FITS, REQUIRES_MACHINING, Catalogue, Edge, Part
from graph.catalogue.terms import JointKind
from graph.derive.chains import list_moves
from graph.derive.costs import NotPriced, cost_of, hours_together
from graph.derive.edges import Made, level_of, made_part, pair_name, told_prices
from graph.derive.joints.record import Case
from graph.derive.made_prices import price_plate
from graph.derive.plate_prices import has_rates
from graph.fits.model import (
    NM_PER_MM,
    NM_PER_UM,
    Amount,
    CheckResult,
    Line,
    Verdict,
    Work,
    Working,
    bare_mm,
    fixed,
    show_nm,
)
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face, Hole, allowed_miss_nm, as_seen_from
from graph.fits.threads import least_plate_nm
from graph.lookups.findings import PairFinding
from graph.lookups.index import CatalogueIndex
from graph.plates.design import design_plate
from graph.plates.metric import thread_of
from graph.plates.model import PlateDesign, PlateRefused, PlateWanted
from graph.plates.rules import COMMON_PRACTICE, STOCK_MM, WALL_UM

WALL_NM = WALL_UM * NM_PER_UM
WHY_WALL = f"wall between rims at least 5 mm, {COMMON_PRACTICE}"
LINES_SHOWN = 4
THICKNESS = "plate-thickness"
MILLING = "mill-plate"
LEAN_DEG = 2.0  # how far a gearbox may be turned in its place before lever and mount complain, common practice
PLATE_TOLERANCE_NM = 100_000  # ground or milled plate, common practice; the sketch asks for it


@dataclass(frozen=True, slots=True)
class _Wall:
    """Two holes of the plate and what stands between their rims; `together`: one bolt goes through both."""

    a: Hole
    b: Hole
    wall_nm: int
    together: bool


def check_plate(block: Face, bell: Face) -> CheckResult:
    """Whether a plate can carry both patterns; HOLDS_WITH_WORK (make it), or FAILS naming the holes that collide."""
    walls = sorted(
        _walls(block, as_seen_from(bell, block.seen_from)), key=lambda wall: (wall.wall_nm, wall.a.id, wall.b.id)
    )
    apart = [wall for wall in walls if not wall.together]
    tight = [wall for wall in apart if wall.wall_nm < WALL_NM]
    lines = tuple(_line(wall) for wall in apart[:LINES_SHOWN])
    margin = Amount.of_nm(apart[0].wall_nm - WALL_NM) if apart else None
    rank = max(block.evidence_rank, bell.evidence_rank)
    if tight:
        names = ", ".join(f"{wall.a.id} and {wall.b.id} ({show_nm(wall.wall_nm)})" for wall in tight)
        return CheckResult(
            joint="adapter plate", verdict=Verdict.FAILS, summary=f"holes collide in a plate: {names}", margin=margin,
            binding="wall between holes", working=Working(lines), evidence_rank=rank,
        )  # fmt: skip
    together = sum(wall.together for wall in walls)
    text = "make an adapter plate with both patterns, register and dowels set from the crank axis"
    least = least_thickness_nm(block, bell)
    text += f"; {together} holes fall together; at least {show_nm(least)} thick for flush heads"
    work = (Work("make-plate", "adapter plate", text, Amount.of_nm(least), remedy="adapter plate"),)
    return CheckResult(
        joint="adapter plate", verdict=Verdict.HOLDS_WITH_WORK, margin=margin, binding="wall between holes",
        summary=f"both patterns stand in one plate, least wall {show_nm(apart[0].wall_nm) if apart else 'none'}",
        work=work, choices=(work,), working=Working(lines), evidence_rank=rank,
    )  # fmt: skip


def with_plates(case: Case, joint: JointKind, result: CheckResult) -> tuple[Made, CheckResult]:
    """Where the faces do not bolt up, plates to be made for them, one for each stock thickness."""
    block, bell = (case.measured.face(part, joint.id) for part in case.parts)
    if result.verdict is not Verdict.FAILS or block is None or bell is None:
        return Made(), result
    plate, catalogue = check_plate(block, bell), case.measured.catalogue
    design = _design(block, bell) if has_rates(catalogue) and "adapter-plate" in joint.via_kinds else None
    if isinstance(design, PlateDesign) and _is_plain(design):
        plate = plate if plate.verdict is not Verdict.FAILS else _other_plate(plate, design)
    elif isinstance(design, PlateDesign):
        plate = _other_plate(plate, design)
    if plate.verdict is Verdict.FAILS or "adapter-plate" not in joint.via_kinds:
        return Made(), replace(result, summary=f"{result.summary}; {plate.summary}")
    result = replace(plate, summary=f"{result.summary}; {plate.summary}", parts=(result, plate))
    if isinstance(design, PlateRefused):
        reasons = "; ".join(reason.text() for reason in design.reasons)
        return Made(), replace(result, verdict=Verdict.FAILS, summary=f"{result.summary}; no plate: {reasons}")
    labels = [case.measured.part(part).label for part in case.parts]
    try:
        plates = [
            _stock_plate(case.measured.index, joint.id, case.parts, labels, result, nm, design)
            for nm in _thicknesses_nm(block, bell, design)
        ]
    except NotPriced:
        return Made(), result
    return sum(plates, Made()), result


def _design(block: Face, bell: Face) -> PlateDesign | PlateRefused:
    """The plate as it would be drawn: of one piece, the box upright, before one that is turned or of two pieces."""
    plain = design_plate(PlateWanted(engine=block, gearbox=bell, pieces=1))
    if isinstance(plain, PlateDesign):
        return plain
    other = design_plate(PlateWanted(engine=block, gearbox=bell, lean_deg=LEAN_DEG, pieces=2))
    return other if isinstance(other, PlateDesign) else plain


def _is_plain(design: PlateDesign) -> bool:
    """Of one piece, the box upright, no hole left out."""
    return len(design.pieces) == 1 and not design.angle_deg and not design.left_out


def _other_plate(plate: CheckResult, design: PlateDesign) -> CheckResult:
    """What is said of a plate that stands only by what had to be done about its holes."""
    least = Fraction(design.thickness_um * NM_PER_UM)
    done = "; ".join((*design.solved, *design.turns))
    pieces = "an adapter plate" if len(design.pieces) == 1 else "an adapter plate of two pieces"
    text = f"make {pieces} with both patterns, at least {show_nm(least)} thick: {done}"
    work = (Work("make-plate", "adapter plate", text, Amount.of_nm(least), remedy="adapter plate", weak=True),)
    return replace(plate, verdict=Verdict.HOLDS_WITH_WORK, summary=text, work=work, choices=(work,), margin=None)


def _thicknesses_nm(block: Face, bell: Face, design: PlateDesign | None) -> tuple[int, ...]:
    """What the bolts of both faces leave of stock; one thickness of a plate of two pieces, which were made for it."""
    if design is None:
        return stock_thicknesses_nm(block, bell)
    if len(design.pieces) > 1:
        return (design.thickness_um * NM_PER_UM,)
    return tuple(nm for nm in stock_thicknesses_nm(block, bell) if nm >= design.thickness_um * NM_PER_UM)


def milled_plate(catalogue: Catalogue, finding: PairFinding, thickness_nm: int) -> Made:
    """The plate of a finding, milled down to the thickness from the next stock size; nothing where that is stock
    itself, thinner than the bolts want, thicker than stock goes, or has no price."""
    thicker = [mm for mm in STOCK_MM if mm * NM_PER_MM >= thickness_nm]
    result = finding.result
    made = next((work.amount for work in result.work if work.operation == "make-plate"), None) if result else None
    if result is None or made is None or not thicker or thickness_nm < made.value * NM_PER_MM:
        return Made()
    stem = pair_name(finding.joint, finding.parts)
    rolled = next((part for part in finding.made if part.id == f"{stem}--{thicker[0]}--plate"), None)
    if rolled is None or thickness_nm == thicker[0] * NM_PER_MM:
        return Made()
    mill = Work(MILLING, "adapter plate", f"mill the {thicker[0]} mm plate down to {show_nm(thickness_nm)}")
    labels = [finding_part.label for part in finding.parts if (finding_part := catalogue.parts.get(part))]
    try:
        cost = cost_of(catalogue, (mill,))
    except NotPriced:
        return Made()
    size = _size(thickness_nm)
    part = replace(
        rolled, id=f"{stem}--{size}--plate", label=f"Adapter plate, {size} mm, made and milled, {' to '.join(labels)}",
        cash_hundredths=(rolled.cash_hundredths or 0) + cost.cash_hundredths, days=max(rolled.days, cost.days),
        hours_hundredths=hours_together(rolled.hours_hundredths, cost.hours_hundredths),
        tasks=tuple(dict.fromkeys((*rolled.tasks, *cost.tasks))), to_confirm=(*rolled.to_confirm, mill.text),
    )  # fmt: skip
    into = next(edge for edge in finding.edges if edge.target == rolled.id)
    return _between(catalogue, finding.joint, finding.parts, result, thickness_nm, part, into.operations)


def _stock_plate(
    index: CatalogueIndex, joint: str, parts: tuple[str, str], labels: list[str], result: CheckResult,
    thickness_nm: int, design: PlateDesign | None,
) -> Made:  # fmt: skip
    """A plate of stock thickness. `design`: what the shop's rates are counted off; None for the flat price."""
    size = _size(thickness_nm)
    label = f"Adapter plate, {size} mm, made, {' to '.join(labels)}"
    id_ = f"{pair_name(joint, parts)}--{size}--plate"
    catalogue, lacks = index.catalogue, tuple[str, ...]()
    if design is None:
        part = made_part(catalogue, id_, "adapter-plate", result.work[0], label)
    else:
        stock_mm = thickness_nm // NM_PER_MM if len(design.pieces) == 1 else 0
        priced = price_plate(index, design, stock_mm)
        cost, lacks = priced.cost, priced.lacks
        part = Part(
            id=id_, label=label, kind="adapter-plate", condition="new", cash_hundredths=cost.cash_hundredths,
            days=cost.days, hours_hundredths=cost.hours_hundredths, tasks=cost.tasks,
            to_confirm=(result.work[0].text, *design.turns, *design.order), price_source=told_prices(priced.lines),
        )  # fmt: skip
    return _between(catalogue, joint, parts, result, thickness_nm, part, lacks)


def _size(thickness_nm: int) -> str:
    return bare_mm(thickness_nm).rstrip("0").rstrip(".")


def _between(
    catalogue: Catalogue, joint: str, parts: tuple[str, str], result: CheckResult, thickness_nm: int, part: Part,
    lacks: tuple[str, ...],
) -> Made:  # fmt: skip
    """The plate between its two parts, with what it moves. `lacks`: what it takes besides, without a price."""
    name = f"{pair_name(joint, parts)}--{_size(thickness_nm)}"
    confirm = (f"plate {show_nm(thickness_nm)}: prove the length chains with depth readings before cutting",)
    sides = ((parts[0], part.id, confirm), (part.id, parts[1], ()))
    edges = tuple(
        Edge(
            id=f"{name}--{place}", kind=FITS, source=one, target=other, joint=joint, to_confirm=said,
            reason=f"computed: {result.summary}", caution=" ".join(result.cautions), evidence=level_of(result),
        )
        for place, (one, other, said) in zip(("in", "out"), sides, strict=True)
    )  # fmt: skip
    if lacks:  # the machine shop cuts and the counter sells them: the bench's hours are those of fitting the plate
        into = replace(edges[0], kind=REQUIRES_MACHINING, operations=lacks, cash_hundredths=None, hours_hundredths=0)
        edges = (into, *edges[1:])
    return Made((*edges, *_moves(catalogue, part, thickness_nm, level_of(result))), (part,))


def _moves(catalogue: Catalogue, part: Part, thickness_nm: int, level: str) -> tuple[Edge, ...]:
    """What the plate moves; its thickness comes out as its sketch allows."""
    return list_moves(
        catalogue, part.id, THICKNESS, thickness_nm, level, uncertainty_nm=PLATE_TOLERANCE_NM,
        reason=f"thickness of {part.label}",
    )  # fmt: skip


def least_thickness_nm(block: Face, bell: Face) -> Fraction:
    """The least plate for flush heads of the bolts of both faces; 0 where no bolt is of a metric thread."""
    holes = [hole for face in (block, bell) for hole in face.holes if hole.load and hole.use in (THREAD, CLEARANCE)]
    bolts = [bolt for hole in holes if (bolt := thread_of(hole)) is not None]
    return max((least_plate_nm(bolt) for bolt in bolts), default=Fraction(0))


def stock_thicknesses_nm(block: Face, bell: Face) -> tuple[int, ...]:
    """The stock plates that are thick enough for the bolts of both faces."""
    least = least_thickness_nm(block, bell)
    return tuple(mm * NM_PER_MM for mm in STOCK_MM if mm * NM_PER_MM >= least)


def _walls(block: Face, bell: Face) -> list[_Wall]:
    walls = []
    for a in block.holes:
        for b in bell.holes:
            if DOWEL in (a.use, b.use):
                continue  # the plate's dowels are its own
            apart = hypot(a.x_nm - b.x_nm, a.y_nm - b.y_nm)
            allowed = allowed_miss_nm(a, b)
            rims = (_counterbore_nm(a) + _bolt_nm(b)) / 2
            walls.append(_Wall(a, b, round(apart - rims), allowed is not None and apart <= allowed))
    return walls


def _counterbore_nm(hole: Hole) -> int:
    """Of its thread's head; for a thread that no table has, as wide as heads usually are (common practice)."""
    found = thread_of(hole)
    return found.counterbore_nm if found else hole.diameter_nm * 9 // 5


def _bolt_nm(hole: Hole) -> int:
    found = thread_of(hole)
    return found.diameter_nm if found else hole.diameter_nm


def _line(wall: _Wall) -> Line:
    a, b = wall.a, wall.b
    apart = hypot(a.x_nm - b.x_nm, a.y_nm - b.y_nm) / NM_PER_MM
    numbers = (
        f"{fixed(Fraction(apart), 3)} - ({show_nm(_counterbore_nm(a))} + {show_nm(_bolt_nm(b))}) / 2"
    )  # fmt: skip
    return Line(f"wall {a.id} to {b.id}", "distance - half of both diameters", numbers, show_nm(wall.wall_nm), WHY_WALL)

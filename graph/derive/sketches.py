"""Sublet sketches for computed work: what to make, datum, size with tolerance and fit, radius, what not to touch.

Tolerances without a source are common practice: 0 to +0.05 mm on a located length, h13 on a plate's thickness. What a
measurement does not tell (material of the shaft, date, price cap) is asked for in words, never guessed.
"""

from __future__ import annotations

from graph.derive.bearings import IN_HOUSING, ON_SHAFT
from graph.derive.checks import Case, housing_seat
from graph.derive.deriver import ENGINE_FACE, Deriver
from graph.derive.findings import Finding
from graph.derive.plates import PLATE_TOLERANCE_NM
from graph.fits.bearing import get_seat_classes
from graph.fits.limits import get_deviation
from graph.fits.model import NM_PER_MM, Work
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face, Hole, as_seen_from
from graph.fits.sketch import BORED_HOUSING, PLATE, SHAFT_SHOULDER, SLEEVE, Sketch, SketchDimension

LENGTH_TOLERANCE_NM = 50_000
HOLE_PLACE_NM = 100_000
PRESS_CLASSES = ("s6", "s7", "r6", "p6", "n6", "m6", "k6")  # tightest first
ASK = "as found; ask before cutting if it is not what was told"
CASE_HARD = "case-hardened: ground, or turned with carbide or CBN"


def list_sketches(deriver: Deriver, finding: Finding, plate_nm: int = 0) -> tuple[Sketch, ...]:
    """A sketch for each piece of work of a finding that a machine shop does; empty where nothing is sent out.

    `plate_nm`: the thickness of the plate that is meant, where the work is to make one; without it there is no sketch.
    """
    if finding.result is None:
        return ()
    works = [work for choice in (finding.result.choices or (finding.result.work,)) for work in choice]
    works += [work for part in finding.result.parts for work in part.work]
    sketches = (_sketch(deriver, finding, work, plate_nm) for work in dict.fromkeys(works))
    return tuple(sketch for sketch in sketches if sketch is not None)


def _sketch(deriver: Deriver, finding: Finding, work: Work, plate_nm: int) -> Sketch | None:
    if work.operation == "turn-shoulder" and finding.joint == ON_SHAFT:
        return _shoulder(deriver, finding, work)
    if work.operation in ("bore-housing", "fit-sleeve") and finding.joint == IN_HOUSING:
        return _housing(deriver, finding, work)
    if work.operation == "make-plate" and finding.joint == ENGINE_FACE and plate_nm:
        return _plate(deriver, finding, work, plate_nm)
    return None


def _shoulder(deriver: Deriver, finding: Finding, work: Work) -> Sketch | None:
    bearing, shaft = finding.parts
    width = deriver.measured.length(bearing, "bearing-width")
    known = deriver.measured.bearing_of(deriver.measured.part(bearing))
    if width is None or work.amount is None:
        return None
    dimension = SketchDimension(
        place="datum to shoulder", nominal_nm=width.nominal_nm, upper_nm=LENGTH_TOLERANCE_NM, lower_nm=0,
        remove_nm=int(work.amount.value * NM_PER_MM),
    )  # fmt: skip
    return Sketch(
        kind=SHAFT_SHOULDER, part=deriver.measured.part(shaft).label, operation=work.text, material=ASK,
        hardness=CASE_HARD, datum="near side of the ring groove", dimensions=(dimension,),
        leave_alone=("journal", "ring groove", "gear teeth", "seal land"),
        radius_nm=known.chamfer_nm if known else NM_PER_MM, mating_part=deriver.measured.part(bearing).label,
    )  # fmt: skip


def _housing(deriver: Deriver, finding: Finding, work: Work) -> Sketch | None:
    case, bearing = finding.parts
    ring = deriver.measured.length(bearing, "bearing-outside-diameter")
    seat = housing_seat(Case(deriver.measured, deriver.drive, IN_HOUSING, finding.parts), case)
    if ring is None or seat is None or seat.measured is None:
        return None
    fit = get_seat_classes(deriver.drive, seat, ring.nominal_nm).classes[0]
    row = get_deviation(deriver.tables, fit, ring.nominal_nm)
    place = "bore diameter" if work.operation == "bore-housing" else "inside diameter"
    finished = SketchDimension(
        place=place, nominal_nm=ring.nominal_nm, upper_nm=row.upper_nm, lower_nm=row.lower_nm, fit=fit
    )
    labels = [deriver.measured.part(part).label for part in finding.parts]
    material = f"{seat.family}, {ASK}"
    if work.operation == "bore-housing":
        return Sketch(
            kind=BORED_HOUSING, part=labels[0], operation=work.text, material=material, hardness="soft",
            datum="bore and front face of the case", dimensions=(finished,),
            leave_alone=("front face", "dowel holes"), mating_part=labels[1],
        )  # fmt: skip
    outside = _pressed_in(deriver, seat.measured.nominal_nm)
    return Sketch(
        kind=SLEEVE, part=f"sleeve for {labels[0]}", operation=work.text, material="steel", hardness="soft",
        datum="bore of the case, finished in place", dimensions=(outside, finished),
        leave_alone=("the case's bore",), mating_part=labels[1],
    )  # fmt: skip


def _pressed_in(deriver: Deriver, bore_nm: int) -> SketchDimension:
    """The outside of a sleeve that is pressed in: a tight class of ISO 286 that the table has at this size."""
    known = {
        row.cls for row in deriver.tables.deviations if row.kind == "shaft" and row.over_nm < bore_nm <= row.incl_nm
    }
    fit = next(cls for cls in PRESS_CLASSES if cls in known)
    row = get_deviation(deriver.tables, fit, bore_nm)
    return SketchDimension(
        place="outside diameter", nominal_nm=bore_nm, upper_nm=row.upper_nm, lower_nm=row.lower_nm, fit=fit
    )


def _plate(deriver: Deriver, finding: Finding, work: Work, thickness_nm: int) -> Sketch | None:
    block, bell = (deriver.measured.face(part, ENGINE_FACE) for part in finding.parts)
    if block is None or bell is None:
        return None
    bell = as_seen_from(bell, block.seen_from)
    holes = [_plate_hole("A", hole, CLEARANCE) for hole in block.holes if hole.use != DOWEL]
    holes += [_plate_hole("B", hole, THREAD) for hole in bell.holes if hole.use != DOWEL]
    face = Face(
        id="plate", label="adapter plate", holes=tuple(holes), axis=block.axis, seen_from=block.seen_from,
        uncertainty_nm=HOLE_PLACE_NM,
    )  # fmt: skip
    thickness = SketchDimension(
        place="thickness", nominal_nm=thickness_nm, upper_nm=PLATE_TOLERANCE_NM, lower_nm=-PLATE_TOLERANCE_NM
    )
    return Sketch(
        kind=PLATE, part="adapter plate", operation=work.text, material="steel or aluminium plate, as ordered",
        hardness="soft", datum=block.axis, dimensions=(thickness,), leave_alone=("the ground faces",), face=face,
        runout_nm=HOLE_PLACE_NM, mating_part=" and ".join(deriver.measured.part(part).label for part in finding.parts),
    )  # fmt: skip


def _plate_hole(letter: str, hole: Hole, use: str) -> Hole:
    """A block's thread wants a clearance hole in the plate, a bell's clearance hole a thread."""
    if use == CLEARANCE:
        return Hole(
            id=f"{letter}-{hole.id}", x_nm=hole.x_nm, y_nm=hole.y_nm, diameter_nm=hole.diameter_nm * 11 // 10, use=use
        )
    size = hole.diameter_nm * 10 // 11 if hole.use == CLEARANCE else hole.diameter_nm
    return Hole(
        id=f"{letter}-{hole.id}", x_nm=hole.x_nm, y_nm=hole.y_nm, diameter_nm=size, use=use,
        thread=f"M{size // NM_PER_MM}",
    )  # fmt: skip

"""The input bearing in the case and on its shaft."""

from __future__ import annotations

from graph.derive.joints.record import Case, JointCheck
from graph.derive.work_sketches import seat_sketch, shoulder_sketch
from graph.fits.axial import check_location
from graph.fits.bearing import check_seat
from graph.fits.model import CheckResult, Missing, Work, combine, unknown
from graph.fits.seats import Seat
from graph.fits.sketch import Sketch

RUNNING_C = 80  # oil of a gearbox at work, common practice
MATERIALS = {"light alloy": "aluminium casting alloy 356.0", "steel or iron": "gray cast iron G1800..G4000"}
SHAFT_STEEL = "alloy steel 4140 / 4340"


def housing_seat(case: Case, part: str) -> Seat | None:
    """The bearing seat of a case, or None while its material has not been seen."""
    seen = case.measured.word(part, "housing-material")
    if seen is None:
        return None
    return Seat(
        side="housing", measured=case.measured.length(part, "housing-bore"), duty="ring stands", family=seen.text,
        material=case.material(MATERIALS[seen.text]),
    )  # fmt: skip


def shaft_seat(case: Case, part: str) -> Seat:
    """The bearing seat of a shaft."""
    return Seat(
        side="shaft", measured=case.measured.length(part, "journal-diameter"), duty="ring turns; normal load",
        family="steel", material=case.material(SHAFT_STEEL),
    )  # fmt: skip


def _bearing_in_housing(case: Case) -> CheckResult:
    seat, ring = housing_seat(case, case.parts[0]), case.length(1, "bearing-outside-diameter")
    if seat is None or ring is None:
        return unknown("bearing in housing", [Missing("the housing's material and the bearing's outside diameter")])
    return check_seat(
        case.measured.tables, case.drive, seat, ring, running_c=RUNNING_C, bearing_steel=case.bearing_steel
    )


def _bearing_on_shaft(case: Case) -> CheckResult:
    seat, ring = shaft_seat(case, case.parts[1]), case.length(0, "bearing-bore")
    if ring is None:
        return unknown("bearing on shaft", [Missing("the bearing's bore")])
    on_shaft = check_seat(
        case.measured.tables, case.drive, seat, ring, running_c=RUNNING_C, bearing_steel=case.bearing_steel
    )
    bearing = case.measured.bearing_of(case.measured.part(case.parts[0]))
    located = check_location(
        case.length(0, "bearing-width"), case.length(1, "shoulder-to-ring"),
        stock=case.length(1, "shoulder-stock"), chamfer_nm=bearing.chamfer_nm if bearing else None,
    )  # fmt: skip
    return combine("bearing on shaft", [on_shaft, located])


def _draw_in_housing(case: Case, work: Work, _size_nm: int) -> Sketch | None:
    housing, bearing = (case.measured.part(part) for part in case.parts)
    seat = housing_seat(case, housing.id)
    if seat is None:
        return None
    return seat_sketch(seat, work, housing.label, bearing.label)


def _draw_on_shaft(case: Case, work: Work, _size_nm: int) -> Sketch | None:
    measured = case.measured
    bearing, shaft = (measured.part(part) for part in case.parts)
    known = measured.bearing_of(bearing)
    width = measured.length(bearing.id, "bearing-width")
    if work.operation == "turn-shoulder" and width is not None:
        radius = known.chamfer_nm if known else None
        return shoulder_sketch(work, width.nominal_nm, radius, shaft.label, bearing.label)
    seat = shaft_seat(case, shaft.id)
    return seat_sketch(seat, work, shaft.label, bearing.label)


IN_HOUSING = JointCheck(
    joint="input-bearing-in-housing", run=_bearing_in_housing,
    source="seat: ISO 286 classes usual for the ring's duty (bearing makers' tables), ISO 492, hot and cold",
    needs=((0, "housing-bore"), (0, "housing-material"), (1, "bearing-outside-diameter")),
    what_ifs=("bearing-seat",), usual_work=("bore-housing", "fit-sleeve"), sketch=_draw_in_housing,
)  # fmt: skip
ON_SHAFT = JointCheck(
    joint="input-bearing-on-shaft", run=_bearing_on_shaft,
    source="seat: ISO 286 classes usual for the ring's duty (bearing makers' tables), ISO 492; play: gearbox manuals",
    needs=((0, "bearing-bore"), (0, "bearing-width"), (1, "journal-diameter"), (1, "shoulder-to-ring")),
    to_confirm=("end float after assembly, by dial gauge",),
    what_ifs=("bearing-seat", "axial-location"), usual_work=("turn-shoulder", "grind-journal", "fit-sleeve"),
    sketch=_draw_on_shaft,
)  # fmt: skip

"""Sublet sketches for computed work: what to make, datum, size with tolerance and fit, radius, what not to touch.

Which sketch a piece of work at a joint wants, from what is measured of the two parts; the sketches themselves are in
graph/derive/work_sketches.py. What a measurement does not tell (material of the shaft, date, price cap) is asked for
in words, never guessed.
"""

from __future__ import annotations

from graph.derive.bearings import IN_HOUSING, ON_SHAFT
from graph.derive.checks import Case, housing_seat, shaft_seat
from graph.derive.deriver import ENGINE_FACE, Deriver
from graph.derive.plate_sketch import plate_sketch
from graph.derive.plates import PLATE_TOLERANCE_NM
from graph.derive.work_sketches import pilot_sketch, seat_sketch, shoulder_sketch
from graph.fits.model import Work
from graph.fits.sketch import Sketch
from graph.lookups.findings import Finding

IN_CRANK, ON_NOSE = "pilot-in-crank", "pilot-on-nose"


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
    if finding.joint == ON_SHAFT:
        return _on_shaft(deriver, finding, work)
    if finding.joint == IN_HOUSING:
        return _in_housing(deriver, finding, work)
    if finding.joint in (IN_CRANK, ON_NOSE):
        return _pilot(deriver, finding, work)
    if work.operation == "make-plate" and finding.joint == ENGINE_FACE and plate_nm:
        return _plate(deriver, finding, work, plate_nm)
    return None


def _on_shaft(deriver: Deriver, finding: Finding, work: Work) -> Sketch | None:
    measured = deriver.measured
    bearing, shaft = (measured.part(part) for part in finding.parts)
    known = measured.bearing_of(bearing)
    width = measured.length(bearing.id, "bearing-width")
    if work.operation == "turn-shoulder" and width is not None:
        radius = known.chamfer_nm if known else None
        return shoulder_sketch(work, width.nominal_nm, radius, shaft.label, bearing.label)
    seat = shaft_seat(Case(measured, deriver.drive, ON_SHAFT, finding.parts), shaft.id)
    return seat_sketch(seat, work, shaft.label, bearing.label)


def _in_housing(deriver: Deriver, finding: Finding, work: Work) -> Sketch | None:
    case, bearing = (deriver.measured.part(part) for part in finding.parts)
    seat = housing_seat(Case(deriver.measured, deriver.drive, IN_HOUSING, finding.parts), case.id)
    if seat is None:
        return None
    return seat_sketch(seat, work, case.label, bearing.label)


def _pilot(deriver: Deriver, finding: Finding, work: Work) -> Sketch | None:
    """In the crank the pilot is the second part, on the nose the first."""
    measured = deriver.measured
    in_crank = finding.joint == IN_CRANK
    first, second = finding.parts
    pilot, other = (second, first) if in_crank else (first, second)
    return pilot_sketch(
        work, crank_bore=measured.length(other, "crank-bore") if in_crank else None,
        outside=measured.length(pilot, "pilot-outside"), inside=measured.length(pilot, "pilot-inside"),
        nose=None if in_crank else measured.length(other, "nose-diameter"),
        owner=measured.part(other).label, mate=measured.part(pilot).label,
    )  # fmt: skip


def _plate(deriver: Deriver, finding: Finding, work: Work, thickness_nm: int) -> Sketch | None:
    block, bell = (deriver.measured.face(part, ENGINE_FACE) for part in finding.parts)
    if block is None or bell is None:
        return None
    labels = [deriver.measured.part(part).label for part in finding.parts]
    return plate_sketch(deriver.tables, block, bell, thickness_nm, work.text, PLATE_TOLERANCE_NM, labels)

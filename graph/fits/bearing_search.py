"""Which standard bearing closes a joint: by size, or by the seats and the spacing as they were measured.

"A standard bearing of another series closes both seats" and "a sleeve of 2.5 mm wall" come from here. The
search runs over the rows of ISO 15 in facts/standards; nothing is listed by hand.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.axial import check_location
from graph.fits.bearing import check_seat
from graph.fits.limits import Material
from graph.fits.model import NM_PER_MM, CheckResult, Dimension, Verdict, Work, combine, require_above_zero
from graph.fits.seats import Seat, bearing_ring, bearing_width
from graph.fits.tables import Bearing, Tables
from graph.fits.tables_drive import DriveTables

WIDEST_GAP_NM = 20 * NM_PER_MM  # on diameter: beyond that a sleeve is a new part, common practice
MOST_WIDTH_CHANGE_NM = 6 * NM_PER_MM  # more off a shoulder, or a longer spacer, is a new shaft, common practice


@dataclass(frozen=True, slots=True)
class BearingChoice:
    """A bearing and what it takes to put it there. `result` combines shaft, housing and axial location."""

    bearing: Bearing
    result: CheckResult
    work: tuple[Work, ...]


def get_bearing(tables: Tables, designation: str) -> Bearing:
    """The bearing of a designation such as 6309. Raises NotFound with near designations."""
    for bearing in tables.bearings:
        if bearing.designation == designation:
            return bearing
    near = [b.designation for b in tables.bearings if b.designation[-2:] == designation[-2:]][:3]
    raise NotFound("standard bearing", designation, near)


def find_bearings(
    tables: Tables, *, bore_nm: int | None = None, od_nm: int | None = None, width_nm: int | None = None
) -> tuple[Bearing, ...]:
    """Every tabled bearing of the given sizes; None leaves a size open.

    Raises InvalidInput for a bore that is not smaller than the outside diameter, or a size not above zero.
    """
    if bore_nm is not None and od_nm is not None and bore_nm >= od_nm:
        raise InvalidInput(
            [Problem("bore_nm", "the bore must be smaller than the outside diameter; are they swapped?")]
        )
    sizes = (("bore_nm", bore_nm), ("od_nm", od_nm), ("width_nm", width_nm))
    require_above_zero(*((name, value) for name, value in sizes if value is not None))
    return tuple(
        bearing
        for bearing in tables.bearings
        if bore_nm in (None, bearing.bore_nm)
        and od_nm in (None, bearing.od_nm)
        and width_nm in (None, bearing.width_nm)
    )


def propose_bearings(
    tables: Tables,
    drive: DriveTables,
    shaft: Seat,
    housing: Seat,
    spacing: Dimension | None,
    *,
    bearing_steel: Material,
    running_c: Fraction | int = 20,
) -> tuple[BearingChoice, ...]:
    """Standard bearings for measured seats, least work first; those that need no more than a sleeve, a cut or a shim.

    A bearing is tried where its rings are within 20 mm of the seats and its width within 6 mm of the spacing.
    A bearing that fails or needs a seat measured more closely is not proposed; both seats must be measured
    (raises InvalidInput otherwise). Without `spacing` the axial location of every choice stays UNKNOWN.
    """
    missing = [Problem(seat.side, "measure the seat first") for seat in (shaft, housing) if seat.measured is None]
    if missing:
        raise InvalidInput(missing)
    choices = []
    for bearing in _near(tables.bearings, shaft, housing, spacing):
        seats = [
            check_seat(
                tables,
                drive,
                seat,
                bearing_ring(tables, bearing, seat.side),
                running_c=running_c,
                bearing_steel=bearing_steel,
            )
            for seat in (shaft, housing)
        ]
        if any(seat.verdict in (Verdict.FAILS, Verdict.UNKNOWN) for seat in seats):
            continue
        located = check_location(bearing_width(tables, bearing), spacing, chamfer_nm=bearing.chamfer_nm)
        if located.verdict is not Verdict.FAILS:
            result = combine(f"bearing {bearing.designation}", [*seats, located])
            choices.append(BearingChoice(bearing, result, result.work))
    return tuple(sorted(choices, key=_burden))


def _near(bearings: Iterable[Bearing], shaft: Seat, housing: Seat, spacing: Dimension | None) -> Iterable[Bearing]:
    assert shaft.measured is not None and housing.measured is not None
    for bearing in bearings:
        on_shaft = abs(bearing.bore_nm - shaft.measured.nominal_nm) <= WIDEST_GAP_NM
        in_housing = abs(bearing.od_nm - housing.measured.nominal_nm) <= WIDEST_GAP_NM
        width = spacing is None or abs(bearing.width_nm - spacing.nominal_nm) <= MOST_WIDTH_CHANGE_NM
        if on_shaft and in_housing and width:
            yield bearing


def _burden(choice: BearingChoice) -> tuple[int, int, int, int, Fraction, str]:
    """Least first: weak work, seats that need work, cuts that cannot be undone, number of jobs, metal moved."""
    work = [item for item in choice.work if item.operation != "select-ring"]
    amounts = sum((abs(item.amount.value) for item in work if item.amount is not None), Fraction(0))
    cuts = sum(item.irreversible for item in work)
    open_seats = sum(part.verdict is not Verdict.HOLDS for part in choice.result.parts[:2])
    return sum(item.weak for item in work), open_seats, cuts, len(work), amounts, choice.bearing.designation

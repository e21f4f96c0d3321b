"""Bearing seats: is the journal or the housing right for the ring, hot and cold, and if not, what cures it?

A seat is judged by the ISO 286 classes usual for its duty (facts/standards/bearing_seat_classes.csv, common
practice of bearing makers' fit tables); the resulting fit follows from ISO 492 class Normal. What cures a seat is in
`graph.fits.seat_work`.
"""

from __future__ import annotations

from fractions import Fraction

from graph.fits.limits import Material, clearance, fit_kind, get_deviation, heat_change_nm, heat_line, heated
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Working,
    bare_mm,
    show_nm,
    show_number,
    unknown,
    weakest,
)
from graph.fits.seat_work import remedied
from graph.fits.seats import Seat, get_seat_classes
from graph.fits.stack import Stack, judge, stack_up
from graph.fits.tables import Tables
from graph.fits.tables_drive import DriveTables

HEAT_CAUTION = "Do not heat a bearing above 120 C, nor a light-alloy case above what its maker allows."


def check_seat(
    tables: Tables,
    drive: DriveTables,
    seat: Seat,
    ring: Dimension,
    *,
    running_c: Fraction | int = 20,
    bearing_steel: Material,
) -> CheckResult:
    """Is a seat right for a bearing ring, at 20 C and hot?

    HOLDS where the measured seat lies within the usual classes; UNKNOWN where it lies across a limit or was not
    measured; HOLDS_WITH_WORK where machining or a ring cures it (choices, cheapest kind first); FAILS where the
    wall that may go is too thin. The hot clearance is reported with a caution where the outer ring may creep.
    """
    joint = f"bearing on {seat.side}" if seat.side == "shaft" else "bearing in housing"
    if seat.measured is None:
        name = "the journal" if seat.side == "shaft" else "the housing bore"
        return unknown(joint, [Missing(name, "with a micrometer, at two places, a quarter turn apart")])
    classes = get_seat_classes(drive, seat, ring.nominal_nm)
    rows = [get_deviation(tables, cls, ring.nominal_nm) for cls in classes.classes]
    low = ring.nominal_nm + min(row.lower_nm for row in rows)
    high = ring.nominal_nm + max(row.upper_nm for row in rows)
    verdict, margin, missing = judge(stack_up("seat", [(1, seat.measured)]), low, high)
    fit = _fit(seat, ring)
    wanted = f"{' or '.join(classes.classes)}: {bare_mm(low)} to {show_nm(high)}"
    lines = [Line("seat wanted", wanted, "", "", f"{classes.origin.source}; {rows[0].origin}"), fit.line("clearance")]
    values, cautions, caution = [fit.span()], [HEAT_CAUTION], ""
    if running_c != 20:
        hot, line, caution = _hot(tables, seat, ring, fit, running_c, bearing_steel)
        values.append(hot.span())
        lines.append(line)
    if caution and verdict is not Verdict.FAILS:  # a seat that is cured gets its own
        cautions.append(caution)
    result = CheckResult(
        joint=joint, verdict=verdict, values=tuple(values), margin=Amount.of_nm(margin), binding="seat size",
        summary=f"{seat.side} {show_nm(seat.measured.nominal_nm)}, {fit_kind(fit)} fit, wanted {wanted}",
        measure=missing, working=Working(tuple(lines)), cautions=tuple(cautions),
        evidence_rank=weakest([seat.measured]),
    )  # fmt: skip
    if verdict is not Verdict.FAILS:
        return result
    return remedied(tables, drive, result, seat, ring, classes, running_c, bearing_steel)


def _fit(seat: Seat, ring: Dimension) -> Stack:
    assert seat.measured is not None
    hole, shaft = (ring, seat.measured) if seat.side == "shaft" else (seat.measured, ring)
    return clearance(hole, shaft, "clearance at 20 C")


def _hot(
    tables: Tables, seat: Seat, ring: Dimension, fit: Stack, running_c: Fraction | int, bearing_steel: Material
) -> tuple[Stack, Line, str]:
    pair = (bearing_steel, seat.material) if seat.side == "shaft" else (seat.material, bearing_steel)
    change = heat_change_nm(ring.nominal_nm, *pair, running_c)
    hot = heated(fit, change, f"clearance at {show_number(Fraction(running_c))} C")
    caution = ""
    if seat.side == "housing":
        loosest = get_deviation(tables, "H7", ring.nominal_nm).upper_nm + ring.nominal_nm - ring.low_nm
        if hot.high_nm > loosest:
            caution = (
                f"Hot, the outer ring may have {show_nm(hot.high_nm)} of clearance, more than an H7 housing gives cold "
                f"({show_nm(loosest)}): it can creep. Take a tighter class or secure the ring."
            )
    elif hot.high_nm > 0 >= fit.high_nm:
        caution = "Hot, the inner ring may lose its grip on the shaft."
    return hot, heat_line(ring.nominal_nm, *pair, running_c), caution

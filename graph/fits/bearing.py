"""Bearing seats: is the journal or the housing right for the ring, hot and cold, and if not, what cures it?

A seat is judged by the ISO 286 classes usual for its duty (facts/standards/bearing_seat_classes.csv, common
practice of bearing makers' fit tables); the resulting fit follows from ISO 492 class Normal. Remedies: bore the
housing, grind the journal, or close the gap with a ring (sleeve). Limits of what a machinist will do are
workshop practice: a pressed ring has at least 1.5 mm of wall, one that is bored for has 2.5 mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import require_positive
from graph.fits.limits import (
    Material,
    clearance,
    fit_kind,
    get_deviation,
    heat_change_nm,
    heat_line,
    heated,
    ring_dimension,
)
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Work,
    Working,
    bare_mm,
    show_nm,
    show_number,
    unknown,
    weakest,
    with_choices,
)
from graph.fits.stack import Stack, judge, stack_up
from graph.fits.tables import Bearing, Tables
from graph.fits.tables_drive import DriveTables, SeatClasses

THINNEST_RING_NM = 1_500_000  # wall of a pressed ring, common practice
BORED_RING_NM = 2_500_000  # wall aimed at where metal is taken out first, common practice
ROTATING, STANDING = "ring turns; normal load", "ring stands"
RING_RULE = f"ring wall at least {bare_mm(THINNEST_RING_NM)} mm, common practice"
HEAT_CAUTION = "Do not heat a bearing above 120 C, nor a light-alloy case above what its maker allows."


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One seat of a bearing. `side`: shaft or housing. `measured`: None if nobody has. `duty`: how the ring runs.

    `family`: steel, steel or iron, light alloy (which classes are usual). `material`: its expansion.
    """

    side: str
    measured: Dimension | None
    duty: str
    family: str
    material: Material
    stock: Dimension | None = None  # wall that may be machined away, per side

    def __post_init__(self) -> None:
        if self.side not in ("shaft", "housing"):
            raise InvalidInput([Problem("side", f"expected shaft or housing, found {self.side!r}")])
        require_positive([self.measured, self.stock])


def get_seat_classes(drive: DriveTables, seat: Seat, size_nm: int) -> SeatClasses:
    """The usual classes for a seat of that size. Raises NotFound where the table has none, naming its rows."""
    for row in drive.seats:
        if (row.seat, row.duty, row.material) == (seat.side, seat.duty, seat.family) and (
            row.over_nm < size_nm <= row.incl_nm or size_nm == row.over_nm
        ):
            return row
    known = sorted({f"{row.seat}, {row.duty}, {row.material}" for row in drive.seats if row.seat == seat.side})
    raise NotFound("seat class", f"{seat.side}, {seat.duty}, {seat.family} at {show_nm(size_nm)}", known)


def bearing_ring(tables: Tables, bearing: Bearing, side: str) -> Dimension:
    """The ring that meets a seat: the bore for a shaft, the outside diameter for a housing, class Normal."""
    if side == "shaft":
        return ring_dimension(tables, "bearing bore", "inner", "d_mp", bearing.bore_nm, bearing.bore_nm)
    return ring_dimension(tables, "bearing outside diameter", "outer", "D_mp", bearing.od_nm, bearing.od_nm)


def bearing_width(tables: Tables, bearing: Bearing) -> Dimension:
    """The width with the deviations of ISO 492 class Normal (the range goes by the bore)."""
    return ring_dimension(tables, "bearing width", "inner", "width B_s", bearing.bore_nm, bearing.width_nm)


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
    values, cautions = [fit.span()], [HEAT_CAUTION]
    if running_c != 20:
        hot, line, caution = _hot(tables, seat, ring, fit, running_c, bearing_steel)
        values.append(hot.span())
        lines.append(line)
        cautions += [caution] if caution else []
    result = CheckResult(
        joint=joint, verdict=verdict, values=tuple(values), margin=Amount.of_nm(margin), binding="seat size",
        summary=f"{seat.side} {show_nm(seat.measured.nominal_nm)}, {fit_kind(fit)} fit, wanted {wanted}",
        measure=missing, working=Working(tuple(lines)), cautions=tuple(cautions),
        evidence_rank=weakest([seat.measured]),
    )  # fmt: skip
    return _remedied(result, seat, ring, low, high) if verdict is Verdict.FAILS else result


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


def _remedied(result: CheckResult, seat: Seat, ring: Dimension, low: int, high: int) -> CheckResult:
    measured = seat.measured
    assert measured is not None
    oversize = measured.middle_nm > Fraction(low + high, 2)
    cut_first = oversize == (seat.side == "shaft")  # metal in the way, not metal missing
    choices = _cut(seat, measured, low, high) if cut_first else _fill(seat, measured, ring)
    allowed = [choice for choice in choices if _within_stock(seat, choice)]
    if not allowed:
        text = f"the wall is too thin: {choices[0][0].text}" if choices else "no usual remedy closes this gap"
        return replace(result, summary=f"{result.summary}; {text}", binding="wall left" if choices else result.binding)
    if seat.stock is None and any(work.irreversible for work in allowed[0]):
        result = replace(
            result, cautions=(*result.cautions, f"Nobody has measured the metal left behind the {seat.side}.")
        )
    return with_choices(result, allowed, f"{result.summary}; {allowed[0][-1].text}")


def _cut(seat: Seat, measured: Dimension, low: int, high: int) -> list[tuple[Work, ...]]:
    target = f"to {bare_mm(low)} / {show_nm(high)}"
    if seat.side == "housing":
        amount = low - measured.nominal_nm
        text = f"bore the housing {target} ({show_nm(amount)} on diameter)"
        return [(Work("bore-housing", "housing", text, Amount.of_nm(amount), irreversible=True),)]
    amount = measured.nominal_nm - high
    text = f"grind the journal {target} ({show_nm(amount)} on diameter); keep the fillet radius"
    return [(Work("grind-journal", "shaft", text, Amount.of_nm(amount), irreversible=True),)]


def _fill(seat: Seat, measured: Dimension, ring: Dimension) -> list[tuple[Work, ...]]:
    gap = measured.nominal_nm - ring.nominal_nm if seat.side == "housing" else ring.nominal_nm - measured.nominal_nm
    wall = gap // 2
    if wall >= THINNEST_RING_NM:
        return [(_sleeve(seat, wall, measured.nominal_nm, ring.nominal_nm),)]
    if seat.side == "housing":
        bored = ring.nominal_nm + 2 * BORED_RING_NM
        amount = bored - measured.nominal_nm
        text = f"bore the housing to {show_nm(bored)} ({show_nm(amount)} on diameter) for a ring"
        bore = Work("bore-housing", "housing", text, Amount.of_nm(amount), irreversible=True)
        return [(bore, _sleeve(seat, BORED_RING_NM, bored, ring.nominal_nm))]
    # a gap too thin for a ring: built up and ground, which asks for a shop that knows shafts
    text = f"build up the journal (sprayed or plated) and grind to fit, {show_nm(gap)} on diameter is missing"
    return [(Work("build-up-journal", "shaft", text, Amount.of_nm(gap), weak=True),)]


def _sleeve(seat: Seat, wall: int, seat_nm: int, ring_nm: int) -> Work:
    place = "in the housing" if seat.side == "housing" else "on the shaft"
    sizes = f"{bare_mm(max(seat_nm, ring_nm))} outside, {bare_mm(min(seat_nm, ring_nm))} inside, finished in place"
    text = f"press a sleeve of {show_number(Fraction(wall, 1_000_000))} mm wall {place} ({sizes})"
    return Work("fit-sleeve", seat.side, text, Amount.of_nm(wall), remedy="sleeve")


def _within_stock(seat: Seat, choice: tuple[Work, ...]) -> bool:
    removed = [w.amount for w in choice if w.operation in ("bore-housing", "grind-journal") and w.amount is not None]
    if seat.stock is None or not removed:
        return True
    return max(amount.value for amount in removed) * 1_000_000 / 2 <= seat.stock.low_nm

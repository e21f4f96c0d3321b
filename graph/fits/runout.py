"""Register and concentricity: four dial readings, whether they close, and the offset dowel that cures the offset.

The gauge stands on the crank and sweeps the housing's bore; readings are taken at 12, 3, 6 and 9 o'clock looking
from the gearbox towards the engine, plunger pushed in counts plus. Where the bore's wall is nearer to the crank's
axis the plunger goes in, so the bore's centre lies away from the plus. Geometry: a bore offset by e reads
-e cos(angle between); readings across a diameter differ by twice the offset, and the two diameters have equal sums.
Total indicator reading (TIR) = 2 x offset.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, ceil, cos, degrees, hypot, radians, sin, sqrt

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    NM_PER_MM,
    NM_PER_THOU,
    NM_PER_UM,
    Amount,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Work,
    Working,
    bare_mm,
    fixed,
    show_nm,
    show_number,
)  # fmt: skip

JOINT = "register concentricity"
CAR_LIMIT_NM = 5 * NM_PER_THOU  # 0.005 in (0.13 mm) TIR for cars: article on bell alignment, 1994
READING_NM = 5 * NM_PER_UM  # half a division of a dial gauge of 0.01 mm, common practice
CLOSURE_NM = 1 * NM_PER_THOU  # sums across may differ by this much (common practice: the gauge's last division)
LARGEST_READING_NM = 20 * NM_PER_MM
SOURCE = "dial gauge geometry: offset = half the difference across a diameter, TIR = 2 x offset"
CLOSURE_SOURCE = "engine makers' run-out procedure: 12 + 6 = 3 + 9, and back to zero"
MATCHED = "Offset dowels make engine and housing a matched pair: mark them, and dial in again if either is changed."


@dataclass(frozen=True, slots=True, kw_only=True)
class DialReadings:
    """Readings at four hours, whole nanometres, gauge zeroed anywhere. `back_at_h12_nm`: 12 o'clock read again.

    `bearing_clearance_nm`: diametral clearance of the crank in its bearings, by which a resting crank lies low by
    half; to be given for heavy engines, where the vertical figure is corrected by it.
    """

    h12_nm: int
    h3_nm: int
    h6_nm: int
    h9_nm: int
    back_at_h12_nm: int | None = None
    bearing_clearance_nm: int = 0

    def __post_init__(self) -> None:
        readings = {name: getattr(self, name) for name in ("h12_nm", "h3_nm", "h6_nm", "h9_nm")}
        problems = [
            Problem(name, f"{show_nm(value)} is more than a dial gauge shows; check the unit")
            for name, value in readings.items()
            if abs(value) > LARGEST_READING_NM
        ]
        if not 0 <= self.bearing_clearance_nm <= NM_PER_MM:
            problems.append(Problem("bearing_clearance_nm", "expected 0 to 1 mm"))
        if problems:
            raise InvalidInput(problems)

    @property
    def across_difference_nm(self) -> int:
        """(12 + 6) less (3 + 9): nothing but reading errors makes it differ from zero."""
        return self.h12_nm + self.h6_nm - self.h3_nm - self.h9_nm


@dataclass(frozen=True, slots=True)
class BoreOffset:
    """Where the bore's centre stands from the crank's axis. `up_nm`, `to_3_nm`: plus up and towards 3 o'clock."""

    up_nm: Fraction
    to_3_nm: Fraction

    @property
    def offset_nm(self) -> float:
        """How far the centres are apart."""
        return hypot(float(self.up_nm), float(self.to_3_nm))

    @property
    def tir_nm(self) -> float:
        """Total indicator reading of a round bore so offset: twice the offset."""
        return 2 * self.offset_nm

    @property
    def clock_deg(self) -> float:
        """Direction of the bore's centre, degrees clockwise from 12 o'clock, 0 to 360."""
        return degrees(atan2(float(self.to_3_nm), float(self.up_nm))) % 360

    def text(self) -> str:
        """The offset in words a fitter turns the dowel by."""
        vertical = "high" if self.up_nm > 0 else "low"
        side = "3" if self.to_3_nm > 0 else "9"
        up, across = show_both(abs(self.up_nm)), show_both(abs(self.to_3_nm))
        return f"bore {vertical} by {up}, towards {side} o'clock by {across}"


@dataclass(frozen=True, slots=True)
class DowelCure:
    """An offset dowel and how to turn it: the housing moves `step_nm` towards `clock_deg` (clockwise from 12)."""

    step_nm: int
    clock_deg: float
    residual_offset_nm: float

    @property
    def residual_tir_nm(self) -> float:
        """TIR that stays when the dowels are turned exactly so."""
        return 2 * self.residual_offset_nm

    @property
    def from_vertical_deg(self) -> float:
        """The dowel's slot against the vertical, 0 to 90 degrees."""
        turn = self.clock_deg % 180
        return min(turn, 180 - turn)


def show_both(nm: int | Fraction) -> str:
    """A small length in mm and thou, because run-out is read in either.

    >>> show_both(177_800)
    '0.178 mm (7 thou)'
    """
    return f"{fixed(Fraction(nm) / NM_PER_MM, 3)} mm ({show_number(Fraction(nm) / NM_PER_THOU, 2)} thou)"


def find_closure_fault(readings: DialReadings, tolerance_nm: int = CLOSURE_NM) -> str:
    """Why the readings cannot be true of a rigid round bore, in words; empty where they close."""
    if abs(readings.across_difference_nm) > tolerance_nm:
        return (
            f"12 + 6 is {show_nm(readings.h12_nm + readings.h6_nm)}, 3 + 9 is "
            f"{show_nm(readings.h3_nm + readings.h9_nm)}: they must agree within {show_nm(tolerance_nm)}"
        )
    back = readings.back_at_h12_nm
    if back is not None and abs(back - readings.h12_nm) > tolerance_nm:
        return f"12 o'clock read {show_nm(readings.h12_nm)}, then {show_nm(back)} on return: the gauge or its arm moved"
    return ""


def offset_of(readings: DialReadings, tolerance_nm: int = CLOSURE_NM) -> BoreOffset:
    """The bore's offset from the readings. Raises InvalidInput where they do not close: measure again.

    Vertical: (6 - 12)/2, less half the bearing clearance, because the resting crank lies low. Sideways: (9 - 3)/2
    towards 3 o'clock.
    """
    fault = find_closure_fault(readings, tolerance_nm)
    if fault:
        raise InvalidInput([Problem("readings", f"{fault}; rejected, measure again (bar sag, slip, burr)")])
    up = Fraction(readings.h6_nm - readings.h12_nm - readings.bearing_clearance_nm, 2)
    return BoreOffset(up, Fraction(readings.h9_nm - readings.h3_nm, 2))


def list_cures(offset: BoreOffset, steps_nm: Sequence[int]) -> tuple[DowelCure, ...]:
    """One cure per available dowel step (offset of the dowel's ends), least residual first.

    Both dowels get the same step and are turned the same way, opposite to the bore's offset. Raises InvalidInput
    for a step that is not above zero.
    """
    if any(step <= 0 for step in steps_nm):
        raise InvalidInput([Problem("steps", f"dowel steps are above zero, found {list(steps_nm)}")])
    clock = (offset.clock_deg + 180) % 360
    cures = [DowelCure(step, clock, abs(offset.offset_nm - step)) for step in sorted(set(steps_nm))]
    return tuple(sorted(cures, key=lambda cure: (cure.residual_offset_nm, cure.step_nm)))


def residual_tir_nm(offset: BoreOffset, step_nm: int, clock_deg: float) -> float:
    """TIR left when dowels of this step move the housing towards `clock_deg`, turned well or badly."""
    up = float(offset.up_nm) + step_nm * cos(radians(clock_deg))
    to_3 = float(offset.to_3_nm) + step_nm * sin(radians(clock_deg))
    return 2 * hypot(up, to_3)


def check_register(
    readings: DialReadings | None,
    *,
    limit_nm: int = CAR_LIMIT_NM,
    steps_nm: Sequence[int] = (),
    tolerance_nm: int = CLOSURE_NM,
    reading_nm: int = READING_NM,
    evidence_rank: int = 1,
) -> CheckResult:
    """Whether the housing runs true to the crank, and the offset dowels that make it so.

    `limit_nm`: greatest TIR; `steps_nm`: offsets of the dowels to be had; `reading_nm`: how far each reading may be
    out, which moves the TIR by up to 2 sqrt(2) times as much. Readings that do not close, or a TIR across the limit,
    are UNKNOWN: the sweep must be repeated. Raises InvalidInput for a limit or step not above zero.
    """
    if limit_nm <= 0:
        raise InvalidInput([Problem("limit", "a TIR limit of zero cannot be met; state the engine's figure")])
    if readings is None:
        missing = Missing("four dial readings in the register bore", "concentricity", "crank axis")
        return CheckResult(joint=JOINT, verdict=Verdict.UNKNOWN, summary="unknown: not dialled in", measure=(missing,))
    fault = find_closure_fault(readings, tolerance_nm)
    if fault:
        missing = Missing("the four dial readings again", fault, "crank axis")
        text = f"readings rejected: {fault}"
        return CheckResult(
            joint=JOINT, verdict=Verdict.UNKNOWN, summary=text, measure=(missing,), binding="closure",
            working=_working(readings, None),
        )  # fmt: skip
    offset = offset_of(readings, tolerance_nm)
    doubt = ceil(2 * sqrt(2) * reading_nm)
    room = limit_nm - Fraction(round(offset.tir_nm))
    margin = room - doubt
    summary = f"TIR {show_both(round(offset.tir_nm))} against {show_both(limit_nm)}: {offset.text()}"
    verdict = Verdict.HOLDS if margin >= 0 else Verdict.FAILS if room < -doubt else Verdict.UNKNOWN
    finer = Missing(
        "the four dial readings finer", f"TIR lies across its limit within {show_both(doubt)}", "crank axis"
    )
    base = CheckResult(
        joint=JOINT, verdict=verdict, summary=summary, margin=Amount.of_nm(margin), binding="TIR",
        working=_working(readings, offset) + Working((_left_line(offset, limit_nm, reading_nm, doubt),)),
        evidence_rank=evidence_rank, measure=(finer,) if verdict is Verdict.UNKNOWN else (),
    )  # fmt: skip
    return _cured(base, offset, limit_nm, steps_nm, doubt) if verdict is Verdict.FAILS else base


def _left_line(offset: BoreOffset, limit_nm: int, reading_nm: int, doubt: int) -> Line:
    tir = round(offset.tir_nm)
    numbers = f"{bare_mm(limit_nm)} - {show_number(Fraction(tir, 10**6), 6)} - 2.828 x {bare_mm(reading_nm)}"
    return Line("left", "limit - TIR - 2 sqrt(2) x reading", numbers, show_nm(limit_nm - tir - doubt), SOURCE)


def _cured(base: CheckResult, offset: BoreOffset, limit_nm: int, steps_nm: Sequence[int], doubt: int) -> CheckResult:
    reseat = Work("re-seat", "housing", "slacken, clean faces and dowels, re-seat, dial again before cutting")
    ream = Work(
        "re-dowel", "housing", f"dial the housing true within {show_nm(limit_nm)}, ream and dowel in place",
        irreversible=True,
    )  # fmt: skip
    choices = []
    for cure in list_cures(offset, steps_nm):
        if cure.residual_tir_nm + doubt <= limit_nm:
            choices.append((reseat, Work("offset-dowels", "housing", _dowel_text(cure), Amount.of_nm(cure.step_nm))))
    choices.append((reseat, ream))
    return CheckResult(
        joint=base.joint, verdict=Verdict.HOLDS_WITH_WORK, summary=f"{base.summary}; {choices[0][1].text}",
        margin=base.margin, binding=base.binding, work=choices[0], choices=tuple(choices), working=base.working,
        cautions=(MATCHED,), evidence_rank=base.evidence_rank,
    )  # fmt: skip


def _dowel_text(cure: DowelCure) -> str:
    hour = cure.clock_deg / 30 or 12
    return (
        f"offset dowels of {show_both(cure.step_nm)}, turned {cure.from_vertical_deg:.0f} deg from vertical so that "
        f"the housing moves towards {hour:.1f} o'clock, leave TIR {show_both(round(cure.residual_tir_nm))}"
    )


def _working(readings: DialReadings, offset: BoreOffset | None) -> Working:
    r = readings
    sums = f"{show_nm(r.h12_nm + r.h6_nm)} against {show_nm(r.h3_nm + r.h9_nm)}"
    lines = [Line("closure", "12 + 6 against 3 + 9", sums, show_nm(r.across_difference_nm), CLOSURE_SOURCE)]
    if offset is not None:
        up = f"({show_nm(r.h6_nm)} - {show_nm(r.h12_nm)} - {show_nm(r.bearing_clearance_nm)}) / 2"
        side = f"({show_nm(r.h9_nm)} - {show_nm(r.h3_nm)}) / 2"
        squares = f"2 x sqrt(({show_nm(offset.up_nm)})^2 + ({show_nm(offset.to_3_nm)})^2)"
        lines += [
            Line("up", "(6 - 12 - bearing clearance) / 2", up, show_nm(offset.up_nm), SOURCE),
            Line("towards 3", "(9 - 3) / 2", side, show_nm(offset.to_3_nm), SOURCE),
            Line("TIR", "2 sqrt(up^2 + side^2)", squares, show_nm(round(offset.tir_nm)), SOURCE),
        ]
    return Working(tuple(lines))

"""Another input shaft: does its gear mesh with the layshaft, and what becomes of ratios, road speed, speedometer?

Sources: centre distance of a helical pair a = m_n (z1 + z2) / (2 cos beta), with profile shift a_w = a cos alpha_t /
cos alpha_wt (ISO 21771 terms, handbooks); a gear
ratio is driven teeth over driving teeth; road speed and speedometer are plain counting. Ratios, speeds and
pulses are exact; only a helix angle brings a cosine in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import acos, atan, cos, pi, radians, tan

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    NM_PER_MM,
    WORST_EVIDENCE,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Working,
    list_missing,
    require_above_zero,
    show_nm,
    show_number,
    unknown,
)
from graph.fits.stack import judge, stack_up

CENTRE_SOURCE = "a = m_n (z1 + z2) / (2 cos beta), handbook"
COUNT_SOURCE = "counting teeth"
CENTRE_SLACK_NM = 20_000  # 0.02 mm, common practice
USUAL_PRESSURE_DEG = Fraction(20)  # ISO 53 basic rack
LEAST_SHIFTS, MOST_SHIFTS = Fraction(-1, 2), Fraction(3, 2)  # usual sums of profile shifts, DIN 3992 (from memory)
SPANS = "the tooth thickness of both gears (span over teeth)"
SPEEDOMETER_CAUTION = (
    "A speedometer must not under-read where rules of the UNECE R39 type apply (from memory); check the local rule."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """One gear of a pair: teeth, normal module (mm), helix angle (deg, 0 = spur) and hand (left, right, none).

    `pressure_deg`: normal pressure angle, 20 where nobody has looked; `shift`: profile shift in modules, None where
    nobody has measured it.
    """

    teeth: int | None
    module_mm: Fraction | None = None
    helix_deg: Fraction | None = None
    hand: str | None = None
    pressure_deg: Fraction | None = None
    shift: Fraction | None = None
    evidence_rank: int = WORST_EVIDENCE

    def __post_init__(self) -> None:
        faults = []
        if self.teeth is not None and (isinstance(self.teeth, bool) or not 5 <= self.teeth <= 300):
            faults.append(Problem("teeth", f"expected 5 to 300, found {self.teeth}"))
        if self.module_mm is not None and not 0 < self.module_mm <= 20:
            faults.append(Problem("module_mm", f"expected above 0 and at most 20 mm, found {self.module_mm}"))
        if self.helix_deg is not None and not 0 <= self.helix_deg <= 45:
            faults.append(Problem("helix_deg", f"expected 0 to 45, found {self.helix_deg}; the hand says which way"))
        if self.pressure_deg is not None and not 10 <= self.pressure_deg <= 35:
            faults.append(Problem("pressure_deg", f"expected 10 to 35, found {self.pressure_deg}"))
        if self.shift is not None and not -2 <= self.shift <= 3:
            faults.append(Problem("shift", f"expected -2 to 3 modules, found {self.shift}"))
        if self.hand not in (None, "left", "right", "none"):
            faults.append(Problem("hand", f"expected left, right or none, found {self.hand!r}"))
        if faults:
            raise InvalidInput(faults)


def centre_distance_nm(first: Gear, second: Gear) -> int:
    """Centre distance of two standard gears, to the nanometre. Raises InvalidInput where something is not known."""
    missing = _unseen(first, "the first gear") + _unseen(second, "the second gear")
    if missing or first.teeth is None or second.teeth is None or first.module_mm is None or first.helix_deg is None:
        raise InvalidInput([Problem(item.name, "measure it first") for item in missing])
    total = first.module_mm * (first.teeth + second.teeth) / 2 * NM_PER_MM
    return round(total) if first.helix_deg == 0 else round(float(total) / cos(radians(float(first.helix_deg))))


def _transverse(first: Gear) -> float:
    """The transverse pressure angle in radians: tan alpha_t = tan alpha_n / cos beta."""
    normal = radians(float(first.pressure_deg or USUAL_PRESSURE_DEG))
    return atan(tan(normal) / cos(radians(float(first.helix_deg or 0))))


def _involute(angle: float) -> float:
    return tan(angle) - angle


def working_distance_nm(first: Gear, second: Gear, shifts: Fraction) -> int:
    """Centre distance without backlash of two gears whose profile shifts add up to `shifts` modules.

    inv alpha_wt = inv alpha_t + 2 (x1 + x2) tan alpha_n / (z1 + z2); a_w = a cos alpha_t / cos alpha_wt (ISO 21771).
    Module 3, 30 degrees, 12 and 60 teeth, x 0.09809: 125.000 mm.
    """
    assert first.teeth and second.teeth
    alpha = _transverse(first)
    normal = radians(float(first.pressure_deg or USUAL_PRESSURE_DEG))
    wanted = _involute(alpha) + 2 * float(shifts) * tan(normal) / (first.teeth + second.teeth)
    if wanted <= 0:
        raise InvalidInput([Problem("shift", f"{show_number(shifts)} modules of profile shift leave no mesh")])
    low, high = 0.0, pi / 2 - 1e-6
    for _ in range(80):  # the involute function rises all the way: halving finds the angle
        middle = (low + high) / 2
        low, high = (middle, high) if _involute(middle) < wanted else (low, middle)
    return round(centre_distance_nm(first, second) * cos(alpha) / cos(low))


def shifts_for(first: Gear, second: Gear, distance_nm: int) -> Fraction | None:
    """The sum of profile shifts (modules) with which two gears run at a distance; None where none does."""
    assert first.teeth and second.teeth
    alpha = _transverse(first)
    cosine = centre_distance_nm(first, second) * cos(alpha) / distance_nm
    if cosine >= 1:
        return None
    normal = radians(float(first.pressure_deg or USUAL_PRESSURE_DEG))
    total = (_involute(acos(cosine)) - _involute(alpha)) * (first.teeth + second.teeth) / (2 * tan(normal))
    return Fraction(round(total * 100_000), 100_000)


def check_pair(name: str, first: Gear, second: Gear, distance: Dimension | None) -> CheckResult:
    """Do two gears run together at a case's centre distance?

    HOLDS at the distance of gears without profile shift, or of their stated shifts. Another distance is FAILS where no
    usual sum of shifts gives it, and UNKNOWN where one does: then the tooth thicknesses tell.
    """
    missing = (*_unseen(first, f"{name}'s first gear"), *_unseen(second, f"{name}'s second gear"))
    if missing or distance is None:
        return unknown(name, (*missing, *list_missing([("the case's centre distance", distance, "")])))
    rank = max(first.evidence_rank, second.evidence_rank, distance.evidence_rank)
    faults = list_pair_faults(first, second)
    if faults:
        return CheckResult(
            joint=name, verdict=Verdict.FAILS, summary="; ".join(faults), binding="module, helix or hand",
            evidence_rank=rank,
        )  # fmt: skip
    stated = first.shift is not None and second.shift is not None
    shifts = (first.shift or Fraction(0)) + (second.shift or Fraction(0))
    made = working_distance_nm(first, second, shifts) if stated else centre_distance_nm(first, second)
    pair = Dimension(name=f"distance of {name}", nominal_nm=made, low_nm=made, high_nm=made, basic=True)
    apart = stack_up("pair less case", [(1, pair), (-1, distance)])
    verdict, margin, finer = judge(apart, -CENTRE_SLACK_NM, CENTRE_SLACK_NM)
    lines = [_centre_line(name, first, second, centre_distance_nm(first, second))]
    if stated:
        lines.append(_shift_line(first, second, shifts, made))
    summary = f"{first.teeth} and {second.teeth} teeth at {show_nm(distance.nominal_nm)}, they make {show_nm(made)}"
    needed = None if stated else shifts_for(first, second, distance.nominal_nm)
    if verdict is Verdict.FAILS and needed is not None and LEAST_SHIFTS <= needed <= MOST_SHIFTS:
        verdict, finer = (
            Verdict.UNKNOWN,
            (Missing(SPANS, f"they run if their profile shifts add up to {_signed(needed)}"),),
        )
        summary += f": they run only with profile shifts that add up to {_signed(needed)} modules; measure that"
        lines.append(_shift_line(first, second, needed, distance.nominal_nm))
    elif verdict is Verdict.HOLDS and not stated:
        summary += ", if cut without profile shift"
    told = None if verdict is Verdict.UNKNOWN else Amount.of_nm(margin)
    return CheckResult(
        joint=name, verdict=verdict, summary=summary, margin=told, binding="centre distance", values=(apart.span(),),
        measure=finer,
        working=Working((*lines, apart.line("pair less case", f"within {show_nm(CENTRE_SLACK_NM)}, common practice"))),
        evidence_rank=rank,
    )  # fmt: skip


def check_mesh(old_input: Gear, new_input: Gear, layshaft: Gear, centres: Dimension | None = None) -> CheckResult:
    """Does a new input gear run with the layshaft gear at the case's centre distance?

    `centres`: as measured; left out it is that of the old pair. Same module and helix, opposite hand. UNKNOWN names
    what was not counted or measured.
    """
    joint = "constant mesh"
    gears = [("the new input gear", new_input), ("the layshaft gear", layshaft)]
    if centres is None:
        gears.insert(0, ("the old input gear", old_input))
    missing = tuple(item for name, gear in gears for item in _unseen(gear, name))
    if missing:
        return unknown(joint, missing)
    lines: tuple[Line, ...] = ()
    if centres is None:
        shifts = (old_input.shift or Fraction(0)) + (layshaft.shift or Fraction(0))
        nm = working_distance_nm(old_input, layshaft, shifts)
        centres = Dimension(name="the case's centre distance", nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True)
        lines = (_centre_line("the old pair", old_input, layshaft, centre_distance_nm(old_input, layshaft)),)
        if shifts:
            lines += (_shift_line(old_input, layshaft, shifts, nm),)
    found = check_pair("the new pair", new_input, layshaft, centres)
    return replace(
        found, joint=joint, working=Working(lines) + found.working,
        evidence_rank=max(gear.evidence_rank for _, gear in gears),
        cautions=("Change gears of a constant mesh as a pair where the layshaft gear shows wear steps.",),
    )  # fmt: skip


def _signed(value: Fraction) -> str:
    return f"{'+' if value >= 0 else '-'}{show_number(abs(value), 4)}"


def _shift_line(first: Gear, second: Gear, shifts: Fraction, value: int) -> Line:
    pressure = show_number(first.pressure_deg or USUAL_PRESSURE_DEG)
    numbers = f"x1 + x2 {_signed(shifts)}, alpha_n {pressure} deg, z1 + z2 {(first.teeth or 0) + (second.teeth or 0)}"
    formula = "a cos alpha_t / cos alpha_wt, inv alpha_wt = inv alpha_t + 2 (x1 + x2) tan alpha_n / (z1 + z2)"
    return Line("working centre distance", formula, numbers, show_nm(value), "ISO 21771 relations")


def _centre_line(symbol: str, first: Gear, second: Gear, value: int) -> Line:
    module, helix = show_number(first.module_mm or 0), show_number(first.helix_deg or 0)
    numbers = f"{module} x ({first.teeth} + {second.teeth}) / (2 cos {helix} deg)"
    return Line(f"centre distance, {symbol}", "m_n (z1 + z2) / (2 cos beta)", numbers, show_nm(value), CENTRE_SOURCE)


def _unseen(gear: Gear, name: str) -> tuple[Missing, ...]:
    wanted = [
        (f"the teeth of {name}", gear.teeth, "count them"),
        (f"the module of {name}", gear.module_mm, "over-pin or tip diameter and teeth"),
        (f"the helix angle of {name}", gear.helix_deg, "roll the teeth on paper"),
        (f"the hand of {name}", gear.hand, "which way the teeth lean"),
    ]
    return list_missing(wanted)


def list_pair_faults(new: Gear, layshaft: Gear) -> list[str]:
    """Why two gears cannot run together whatever their distance: module, helix angle, hand; empty where they can."""
    faults = []
    if new.module_mm != layshaft.module_mm:
        faults.append(
            f"module {show_number(new.module_mm or 0)} mm does not run with {show_number(layshaft.module_mm or 0)} mm"
        )
    if new.helix_deg != layshaft.helix_deg:
        faults.append(
            f"helix {show_number(new.helix_deg or 0)} deg does not run with {show_number(layshaft.helix_deg or 0)} deg"
        )
    if None not in (new.pressure_deg, layshaft.pressure_deg) and new.pressure_deg != layshaft.pressure_deg:
        angles = [show_number(gear.pressure_deg or 0) for gear in (new, layshaft)]
        faults.append(f"pressure angle {angles[0]} deg does not run with {angles[1]} deg")
    opposite = {"left": "right", "right": "left", "none": "none"}
    if layshaft.hand != opposite[new.hand or "none"]:
        faults.append(f"hands {new.hand} and {layshaft.hand} do not run together")
    return faults


def ratio(pairs: Mapping[str, tuple[int, int]] | tuple[tuple[int, int], ...]) -> Fraction:
    """The ratio of pairs in series, each (driving teeth, driven teeth).

    >>> ratio(((20, 40), (15, 30)))
    Fraction(4, 1)
    """
    result = Fraction(1)
    for driving, driven in pairs.values() if isinstance(pairs, Mapping) else pairs:
        if driving <= 0 or driven <= 0:
            raise InvalidInput([Problem("pairs", f"teeth must be above zero, found {driving} and {driven}")])
        result *= Fraction(driven, driving)
    return result


def scale_ratios(
    ratios: Mapping[str, Fraction], old_pair: tuple[int, int], new_pair: tuple[int, int], direct: str = ""
) -> dict[str, Fraction]:
    """All ratios after a change of the constant-mesh pair (input teeth, layshaft teeth).

    The `direct` gear keeps its own. Raises InvalidInput for a direct gear that is not in the list.
    """
    if direct and direct not in ratios:
        raise InvalidInput([Problem("direct", f"{direct!r} is none of the gears {', '.join(ratios)}")])
    factor = ratio((new_pair,)) / ratio((old_pair,))
    return {gear: value if gear == direct else value * factor for gear, value in ratios.items()}


def speed_per_1000_rpm_kmh(gear_ratio: Fraction, final_ratio: Fraction, tyre_m: Fraction) -> Fraction:
    """Road speed in km/h at 1000 engine revolutions per minute. `tyre_m`: rolling circumference in metres.

    1000 x 60 x circumference / (gear x final drive) / 1000. Raises InvalidInput unless all are above zero.
    """
    require_above_zero(("gear_ratio", gear_ratio), ("final_ratio", final_ratio), ("tyre_m", tyre_m))
    return 60 * tyre_m / (gear_ratio * final_ratio)


def output_turns_per_km(final_ratio: Fraction, tyre_m: Fraction) -> Fraction:
    """Turns of the gearbox output per kilometre."""
    require_above_zero(("final_ratio", final_ratio), ("tyre_m", tyre_m))
    return 1000 * final_ratio / tyre_m


def driven_teeth(drive_teeth: int, output_per_km: Fraction, cable_per_km: Fraction) -> Fraction:
    """Teeth of the driven speedometer gear that would be exact: drive teeth x output turns / cable turns per km."""
    require_above_zero(
        ("drive_teeth", Fraction(drive_teeth)), ("output_per_km", output_per_km), ("cable_per_km", cable_per_km)
    )
    return drive_teeth * output_per_km / cable_per_km


def check_speedometer(
    drive_teeth: int | None,
    teeth: int | None,
    output_per_km: Fraction | None,
    cable_per_km: Fraction | None,
    *,
    most_over: Fraction = Fraction(10, 100),
) -> CheckResult:
    """Reads the speedometer right with that driven gear? It may over-read by `most_over`, never under-read.

    The working names the whole number of teeth that would do (the exact number rounded down).
    """
    joint = "speedometer"
    wanted = [
        ("the speedometer drive teeth", drive_teeth, ""), ("the driven teeth", teeth, ""),
        ("output turns per km", output_per_km, "from final drive and tyre"),
        ("cable turns per km", cable_per_km, "on the dial"),
    ]  # fmt: skip
    if drive_teeth is None or teeth is None or output_per_km is None or cable_per_km is None:
        return unknown(joint, list_missing(wanted))
    exact = driven_teeth(drive_teeth, output_per_km, cable_per_km)
    require_above_zero(("driven teeth", Fraction(teeth)))
    over = exact / teeth - 1
    holds = 0 <= over <= most_over
    numbers = f"{drive_teeth} x {show_number(output_per_km)} / {show_number(cable_per_km)}"
    line = Line("driven teeth", "drive teeth x output turns / cable turns", numbers, show_number(exact), COUNT_SOURCE)
    words = f"{'over' if over >= 0 else 'under'}-reads by {show_number(abs(over) * 100, 1)} % with {teeth} teeth"
    return CheckResult(
        joint=joint,
        verdict=Verdict.HOLDS if holds else Verdict.FAILS,
        summary=words
        if holds
        else f"{words}; {exact.numerator // exact.denominator} teeth would read nearest without under-reading",
        margin=Amount(min(over, most_over - over) * 100, "%"),
        binding="under-reading" if over < most_over - over else "over-reading",
        working=Working((line,)),
        cautions=(SPEEDOMETER_CAUTION,),
    )


def pulse_factor(pulses_per_km_sent: Fraction, pulses_per_km_wanted: Fraction) -> Fraction:
    """By how much a converter has to multiply the pulses so that the dash gets what it expects."""
    require_above_zero(("pulses_per_km_sent", pulses_per_km_sent), ("pulses_per_km_wanted", pulses_per_km_wanted))
    return pulses_per_km_wanted / pulses_per_km_sent

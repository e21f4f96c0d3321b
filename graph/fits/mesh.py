"""Another input shaft: does its gear mesh with the layshaft, and what becomes of ratios, road speed, speedometer?

Sources: centre distance of a helical pair a = m_n (z1 + z2) / (2 cos beta) (ISO 21771 terms, handbooks); a gear
ratio is driven teeth over driving teeth; road speed and speedometer are plain counting. Ratios, speeds and
pulses are exact; only a helix angle brings a cosine in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import cos, radians

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    NM_PER_MM,
    WORST_EVIDENCE,
    Amount,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Working,
    list_missing,
    show_nm,
    show_number,
    unknown,
)

CENTRE_SOURCE = "a = m_n (z1 + z2) / (2 cos beta), handbook"
COUNT_SOURCE = "counting teeth"
CENTRE_SLACK_NM = 20_000  # 0.02 mm: a cut with profile shift is its own case, common practice
SPEEDOMETER_CAUTION = (
    "A speedometer must not under-read where rules of the UNECE R39 type apply (from memory); check the local rule."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """One gear of a pair: teeth, normal module (mm), helix angle (deg, 0 = spur) and hand (left, right, none)."""

    teeth: int | None
    module_mm: Fraction | None = None
    helix_deg: Fraction | None = None
    hand: str | None = None
    evidence_rank: int = WORST_EVIDENCE

    def __post_init__(self) -> None:
        faults = []
        if self.teeth is not None and (isinstance(self.teeth, bool) or not 5 <= self.teeth <= 300):
            faults.append(Problem("teeth", f"expected 5 to 300, found {self.teeth}"))
        if self.module_mm is not None and not 0 < self.module_mm <= 20:
            faults.append(Problem("module_mm", f"expected above 0 and at most 20 mm, found {self.module_mm}"))
        if self.helix_deg is not None and not 0 <= self.helix_deg <= 45:
            faults.append(Problem("helix_deg", f"expected 0 to 45, found {self.helix_deg}; the hand says which way"))
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


def check_mesh(old_input: Gear, new_input: Gear, layshaft: Gear) -> CheckResult:
    """Does a new input gear run with the layshaft gear at the centre distance of the old pair?

    Same module and helix, opposite hand, same sum of teeth. UNKNOWN names what was not counted or measured.
    """
    joint = "constant mesh"
    gears = (("the old input gear", old_input), ("the new input gear", new_input), ("the layshaft gear", layshaft))
    missing = tuple(item for name, gear in gears for item in _unseen(gear, name))
    if missing:
        return unknown(joint, missing)
    faults = list_pair_faults(new_input, layshaft)
    old, new = centre_distance_nm(old_input, layshaft), centre_distance_nm(new_input, layshaft)
    if abs(new - old) > CENTRE_SLACK_NM:
        faults.append(f"centre distance {show_nm(new)}, the case has {show_nm(old)}")
    margin = CENTRE_SLACK_NM - abs(new - old)
    return CheckResult(
        joint=joint,
        verdict=Verdict.FAILS if faults else Verdict.HOLDS,
        summary="; ".join(faults) or f"{new_input.teeth} teeth run with {layshaft.teeth} at {show_nm(old)}",
        margin=Amount.of_nm(margin),
        binding="centre distance",
        working=Working(
            (_centre_line("old pair", old_input, layshaft, old), _centre_line("new pair", new_input, layshaft, new))
        ),
        evidence_rank=max(gear.evidence_rank for _, gear in gears),
        cautions=("Change gears of a constant mesh as a pair where the layshaft gear shows wear steps.",),
    )


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
    _positive(("gear_ratio", gear_ratio), ("final_ratio", final_ratio), ("tyre_m", tyre_m))
    return 60 * tyre_m / (gear_ratio * final_ratio)


def output_turns_per_km(final_ratio: Fraction, tyre_m: Fraction) -> Fraction:
    """Turns of the gearbox output per kilometre."""
    _positive(("final_ratio", final_ratio), ("tyre_m", tyre_m))
    return 1000 * final_ratio / tyre_m


def driven_teeth(drive_teeth: int, output_per_km: Fraction, cable_per_km: Fraction) -> Fraction:
    """Teeth of the driven speedometer gear that would be exact: drive teeth x output turns / cable turns per km."""
    _positive(("drive_teeth", Fraction(drive_teeth)), ("output_per_km", output_per_km), ("cable_per_km", cable_per_km))
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
    _positive(("driven teeth", Fraction(teeth)))
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
    _positive(("pulses_per_km_sent", pulses_per_km_sent), ("pulses_per_km_wanted", pulses_per_km_wanted))
    return pulses_per_km_wanted / pulses_per_km_sent


def _positive(*named: tuple[str, Fraction]) -> None:
    faults = [Problem(name, f"must be above zero, found {show_number(value)}") for name, value in named if value <= 0]
    if faults:
        raise InvalidInput(faults)

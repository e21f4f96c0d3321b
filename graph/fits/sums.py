"""Sums of the trade with a demand: each gives its figure with its working, and HOLDS or FAILS against what is wanted.

Road speed and speedometer are plain counting; ISO 281 and ISO 76 for bearings; T = K d F with ISO 898-1 for bolts; a
universal joint by Cardan's kinematics; hands of rotation by counting what reverses; marine shaft speed by the ratio,
the pitch that would load the engine alike as a first guess only (slip kept, common practice).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import cos, hypot, radians, sin

from graph.errors import InvalidInput, Problem
from graph.fits.bearing_life import (
    RATING_CAUTION,
    equivalent_load_n,
    life_hours,
    rating_life_mrev,
    required_rating,
)
from graph.fits.driveline import angle_for_fluctuation_deg, fluctuation_rpm, joint_angle_deg
from graph.fits.mesh import pulse_factor, scale_ratios, speed_per_1000_rpm_kmh
from graph.fits.model import Amount, CheckResult, Line, Verdict, Working, show_number
from graph.fits.tables import Bolt
from graph.fits.tables_drive import LoadFactor
from graph.fits.torque import BOLT_CAUTION, BOLT_SOURCE, preload_n, tightening_torque_nm

COUNT = "counting turns and teeth"
LIFE = "ISO 281: P = X Fr + Y Fa, L10 = (C / P)^3"
CARDAN = "two joints in phase cancel as squares of their angles; a phase angle turns one of them (Cardan kinematics)"
SLOPES = "scalar product of the two shafts; kinematics of the Cardan joint"
PROPELLER_CAUTION = "A first guess only: have the propeller chosen for hull and engine, and prove it at full throttle."


@dataclass(frozen=True, slots=True)
class FigureLimits:
    """What a figure must be: at least `least`, at most `most`; None does not bind."""

    least: Fraction | None = None
    most: Fraction | None = None


def judged(
    joint: str, value: Fraction, unit: str, lines: Sequence[Line], demand: FigureLimits, cautions: Sequence[str] = ()
) -> CheckResult:
    """A computed figure against a demand; without one it HOLDS and says only what it comes to."""
    if demand.least is not None and demand.most is not None and demand.least > demand.most:
        text = f"the least {show_number(demand.least)} is above the most {show_number(demand.most)}; swap them"
        raise InvalidInput([Problem("least", text)])
    rooms = [(value - demand.least, "least")] if demand.least is not None else []
    rooms += [(demand.most - value, "most")] if demand.most is not None else []
    room, binding = min(rooms) if rooms else (None, "")
    wanted = [f"at least {show_number(demand.least)}"] if demand.least is not None else []
    wanted += [f"at most {show_number(demand.most)}"] if demand.most is not None else []
    words = f", wanted {' and '.join(wanted)}" if wanted else ""
    return CheckResult(
        joint=joint, verdict=Verdict.FAILS if room is not None and room < 0 else Verdict.HOLDS, binding=binding,
        summary=f"{show_number(value)} {unit}{words}".replace(" ,", ","), working=Working(tuple(lines)),
        margin=None if room is None else Amount(room, unit), cautions=tuple(cautions), evidence_rank=5,
    )  # fmt: skip


def road_speed(rpm: Fraction, gear: Fraction, final: Fraction, tyre_m: Fraction, demand: FigureLimits) -> CheckResult:
    """Road speed in km/h: 0.06 x revolutions x rolling circumference / (gear x final drive)."""
    speed = speed_per_1000_rpm_kmh(gear, final, tyre_m) * rpm / 1000
    numbers = f"0.06 x {show_number(rpm)} x {show_number(tyre_m)} / ({show_number(gear)} x {show_number(final)})"
    line = Line("v", "0.06 n U / (i_gear i_final)", numbers, f"{show_number(speed)} km/h", COUNT)
    return judged("road speed", speed, "km/h", [line], demand)


def engine_speed(
    speed: Fraction, gear: Fraction, final: Fraction, tyre_m: Fraction, demand: FigureLimits
) -> CheckResult:
    """Engine revolutions a minute at a road speed in km/h."""
    rpm = 1000 * speed / speed_per_1000_rpm_kmh(gear, final, tyre_m)
    numbers = f"{show_number(speed)} x {show_number(gear)} x {show_number(final)} / (0.06 x {show_number(tyre_m)})"
    line = Line("n", "v i_gear i_final / (0.06 U)", numbers, f"{show_number(rpm)} 1/min", COUNT)
    return judged("engine speed", rpm, "1/min", [line], demand)


def gear_ratio(
    constant: tuple[int, int], pair: tuple[int, int] | None, old: tuple[int, int] | None, demand: FigureLimits
) -> CheckResult:
    """Ratio of a gear of a layshaft box: constant-mesh pair times gear pair, each (driving, driven) teeth.

    `old`: the constant-mesh pair before a change; the working then tells by what every indirect ratio is multiplied.
    """
    pairs = [constant] + ([pair] if pair else [])
    value = Fraction(1)
    for driving, driven in pairs:
        value *= Fraction(driven, driving)
    numbers = " x ".join(f"{driven}/{driving}" for driving, driven in pairs)
    lines = [Line("i", "driven teeth / driving teeth, in series", numbers, show_number(value, 4), COUNT)]
    if old:
        factor = Fraction(constant[1], constant[0]) / Fraction(old[1], old[0])
        told = f"({constant[1]}/{constant[0]}) / ({old[1]}/{old[0]})"
        lines.append(Line("every indirect ratio times", "new pair / old pair", told, show_number(factor, 4), COUNT))
    return judged("gear ratio", value, "", lines, demand)


def box_ratios(
    ratios: Mapping[str, Fraction], old: tuple[int, int], new: tuple[int, int], direct: str, demand: FigureLimits
) -> CheckResult:
    """All ratios of a box after a change of its constant-mesh pair; the demand is on the first of them."""
    after = scale_ratios(ratios, old, new, direct)
    factor = f"({new[1]}/{new[0]}) / ({old[1]}/{old[0]})"
    lines = [
        Line(f"gear {gear}", "direct" if gear == direct else "old ratio x new pair / old pair",
             show_number(ratios[gear], 4) if gear == direct else f"{show_number(ratios[gear], 4)} x {factor}",
             show_number(value, 4), COUNT)
        for gear, value in after.items()
    ]  # fmt: skip
    told = ", ".join(show_number(value) for value in after.values())
    first = judged("ratios of a box", next(iter(after.values())), "", lines, demand)
    return replace(first, summary=f"{told}; the first: {first.summary}")


def bearing_rating(load_n: Fraction, hours: Fraction, rpm: Fraction, demand: FigureLimits) -> CheckResult:
    """The dynamic rating that a ball bearing needs for a life in hours."""
    needed = Fraction(round(required_rating(load_n, hours, rpm) * 1000), 1000)
    numbers = f"{show_number(load_n)} x (60 x {show_number(rpm)} x {show_number(hours)} / 1000000)^(1/3)"
    line = Line("C", "P (60 n L10h / 10^6)^(1/3)", numbers, f"{show_number(needed)} N", LIFE)
    return judged("bearing rating", needed, "N", [line], demand, (RATING_CAUTION,))


def joint_angle(
    front: tuple[Fraction, Fraction], rear: tuple[Fraction, Fraction], rpm: Fraction | None, uneven: Fraction | None,
    demand: FigureLimits,
) -> CheckResult:  # fmt: skip
    """The true angle of a joint from the slopes (side view, plan view) of its two shafts, in degrees.

    `rpm`: tells between which speeds the far side swings. `uneven`: the part of the speed that it may swing by in all.
    """
    angle = joint_angle_deg(*map(float, (*front, *rear)))
    value = Fraction(round(angle * 10**6), 10**6)
    slopes = "side {} and {}, plan {} and {} deg".format(*map(show_number, (front[0], rear[0], front[1], rear[1])))
    lines = [Line("angle", "between (1, tan plan, tan side) of each", slopes, f"{show_number(value)} deg", SLOPES)]
    if rpm is not None:
        low, high = (show_number(Fraction(round(each * 1000), 1000)) for each in fluctuation_rpm(float(rpm), angle))
        numbers = f"{show_number(rpm)} x cos {show_number(value)}, {show_number(rpm)} / cos {show_number(value)}"
        lines.append(Line("speeds behind it", "n cos b, n / cos b", numbers, f"{low}, {high} 1/min", SLOPES))
    if uneven is not None:
        most = Fraction(round(angle_for_fluctuation_deg(float(uneven)) * 10**6), 10**6)
        lines.append(
            Line("most angle", "1 / cos b - cos b", show_number(uneven, 4), f"{show_number(most)} deg", SLOPES)
        )
        demand = FigureLimits(demand.least, most if demand.most is None else min(most, demand.most))
    return judged("joint angle", value, "deg", lines, demand)


def bearing_hours(
    dynamic_n: Fraction, static_n: Fraction, factors: Sequence[LoadFactor], radial_n: Fraction, axial_n: Fraction,
    f0: Fraction, rpm: Fraction, demand: FigureLimits,
) -> CheckResult:  # fmt: skip
    """Basic rating life L10 in hours of a deep groove ball bearing under a combined load."""
    load = equivalent_load_n(factors, radial_n, axial_n, static_n, f0)
    hours = life_hours(rating_life_mrev(dynamic_n, load), rpm)
    loads = f"Fr {show_number(radial_n)} N, Fa {show_number(axial_n)} N, C0 {show_number(static_n)} N"
    numbers = f"({show_number(dynamic_n)} / {show_number(load)})^3 x 1000000 / (60 x {show_number(rpm)})"
    lines = [
        Line("P", "max(Fr, X Fr + Y Fa)", loads, f"{show_number(load)} N", LIFE),
        Line("L10h", "(C / P)^3 x 10^6 / (60 n)", numbers, f"{show_number(hours, 1)} h", LIFE),
    ]
    return judged("bearing life", hours, "h", lines, demand, (RATING_CAUTION,))


def bolt_torque(bolt: Bolt, factor: Fraction, part: Fraction, demand: FigureLimits) -> CheckResult:
    """Tightening torque of a bolt for a preload that is a part of its proof load."""
    force = preload_n(bolt, part)
    torque = tightening_torque_nm(force, bolt.diameter_nm, factor)
    size = show_number(Fraction(bolt.diameter_nm, 1_000_000))
    numbers = f"{show_number(factor)} x {size} mm x {show_number(force)} N / 1000"
    lines = [
        Line(
            "F",
            "part x proof load",
            f"{show_number(part)} x {bolt.proof_load_n}",
            f"{show_number(force)} N",
            BOLT_SOURCE,
        ),
        Line("T", "K d F", numbers, f"{show_number(torque, 2)} N m", BOLT_SOURCE),
    ]
    return judged("bolt torque", torque, "N m", lines, demand, (BOLT_CAUTION,))


def two_joints(front_deg: Fraction, rear_deg: Fraction, phase_deg: Fraction, most: Fraction) -> CheckResult:
    """What is left of the unevenness of two joints: one joint of the resultant angle would shake as much.

    In phase: sqrt(|front^2 - rear^2|); the rear one counts at twice the phase angle.
    """
    first, second, turn = float(front_deg) ** 2, float(rear_deg) ** 2, radians(2 * float(phase_deg))
    left = hypot(first - second * cos(turn), second * sin(turn)) ** 0.5
    value = Fraction(round(left * 1_000_000), 1_000_000)
    numbers = f"{show_number(front_deg)}, {show_number(rear_deg)} deg, phase {show_number(phase_deg)} deg"
    formula = "sqrt(sqrt((a^2 - b^2 cos 2p)^2 + (b^2 sin 2p)^2))"
    return judged(
        "resultant joint angle",
        value,
        "deg",
        [Line("r", formula, numbers, f"{show_number(value)} deg", CARDAN)],
        FigureLimits(None, most),
    )


def pulses(sent: Fraction, wanted: Fraction, demand: FigureLimits) -> CheckResult:
    """By how much a converter multiplies the pulses so that the dash gets what it expects."""
    factor = pulse_factor(sent, wanted)
    line = Line(
        "factor", "wanted / sent", f"{show_number(wanted)} / {show_number(sent)}", show_number(factor, 4), COUNT
    )
    return judged("pulse factor", factor, "", [line], demand)


def rotation(input_hand: str, reversals: int, wanted: str) -> CheckResult:
    """Which way the output turns: every outside gear mesh on the way reverses it; inside meshes and chains do not."""
    if reversals < 0:
        raise InvalidInput([Problem("reversals", f"cannot be negative, found {reversals}; write it such as 2")])
    other = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    hand = other[input_hand] if reversals % 2 else input_hand
    line = Line("output", "input, reversed once for each mesh", f"{input_hand}, {reversals} reversals", hand, COUNT)
    words = f"output turns {hand}, seen from the same end as the input" + (f", wanted {wanted}" if wanted else "")
    verdict = Verdict.FAILS if wanted and wanted != hand else Verdict.HOLDS
    caution = "Helical boxes are not run backwards for long: thrust, oil feed and bearings are for one hand."
    return CheckResult(
        joint="hand of rotation", verdict=verdict, summary=words, binding="hand", working=Working((line,)),
        cautions=(caution,), evidence_rank=5,
    )  # fmt: skip


def propeller(rpm: Fraction, old: Fraction, new: Fraction, pitch_nm: int) -> CheckResult:
    """Propeller shaft speed with another reduction, and as a first guess the pitch that keeps the boat's speed."""
    before, after = rpm / old, rpm / new
    pitch = pitch_nm * new / old
    inches, repitched = (show_number(Fraction(nm) / 25_400_000) for nm in (pitch_nm, pitch))
    repitch = f"{inches} x {show_number(new)} / {show_number(old)}"
    lines = [
        Line("shaft speed", "n / i", f"{show_number(rpm)} / {show_number(new)}", f"{show_number(after)} 1/min", COUNT),
        Line("before", "n / i", f"{show_number(rpm)} / {show_number(old)}", f"{show_number(before)} 1/min", COUNT),
        Line("pitch", "pitch x new / old ratio", repitch, f"{repitched} in", COUNT),
    ]  # fmt: skip
    return judged("shaft speed", after, "1/min", lines, FigureLimits(), (PROPELLER_CAUTION,))

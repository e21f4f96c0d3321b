"""The pilot: crank bore, bush or bearing, shaft nose; and the sleeve that makes up between two diameters.

A bush's clearance on the nose is 0.001 to 0.003 in (clutch education page), its press fit in the crank 0.0004 to
0.002 in (forum thread on bush fit). A ball bearing sits in the crank as a ring that turns with its housing does (N7 or
P7) and takes a nose that slides (g6 or h6 in a bore of ISO 492); the needles of a drawn cup leave the envelope F8 round
a nose h6, in a bore N7 (bearing makers' tables, common practice). Needles never run on a nose that is not hardened
(clutch education page). Overlap, tip and shoulder belong to the length chain.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.lengths import require_positive
from graph.fits.limits import get_deviation, ring_dimension
from graph.fits.model import (
    NM_PER_INCH,
    NM_PER_MM,
    Amount,
    CheckResult,
    Dimension,
    FinishedSize,
    Line,
    Verdict,
    Work,
    Working,
    bare_mm,
    combine,
    list_missing,
    show_nm,
    unknown,
    weakest,
    with_choices,
)  # fmt: skip
from graph.fits.stack import Stack, judge, stack_up
from graph.fits.tables import Tables

JOINT = "pilot"
BUSH_CLEARANCE_NM = (NM_PER_INCH // 1000, 3 * NM_PER_INCH // 1000)
PRESS_NM = (NM_PER_INCH * 4 // 10_000, 2 * NM_PER_INCH // 1000)
SLEEVE_LEAST_WALL_NM = NM_PER_MM  # thinner rings crush when pressed in (common practice)
BUSH, BALL, NEEDLE, ROLLER = "bush", "ball bearing", "needle bearing", "roller"
KINDS = (BUSH, BALL, NEEDLE, ROLLER)  # roller: a rolling bearing, nobody has said whether of balls or of needles
_BALL_SOURCE = "ISO 492 bore in Normal class, nose g6 or h6 (ISO 286): sliding, common practice"
_NEEDLE_SOURCE = "needle envelope F8, nose h6 (ISO 286): bearing makers' tables, common practice"
_RING_SOURCE = "outer ring turns with the crank: bore N7 or P7 (ISO 286), ring by ISO 492, common practice"
_CLEARANCE_SOURCE = "clutch education page: 0.001 to 0.003 in on the nose"
_PRESS_SOURCE = "forum thread on bush fit: 0.0004 to 0.002 in"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot:
    """Readings of the pilot joint; None is not measured. `kind`: one of KINDS."""

    crank_bore: Dimension | None
    outside: Dimension | None
    inside: Dimension | None
    nose: Dimension | None
    kind: str = BUSH
    nose_hardened: bool | None = None


def sleeve_wall_nm(bore_nm: int, outside_nm: int) -> Fraction:
    """Wall of the ring between a bore and a smaller outside diameter: (bore - outside) / 2.

    Raises InvalidInput where nothing is left for a ring.

    >>> sleeve_wall_nm(38_100_000, 35_000_000) == 1_550_000
    True
    """
    if outside_nm <= 0 or bore_nm <= outside_nm:
        text = f"a sleeve needs a bore larger than {show_nm(outside_nm)} above zero, found {show_nm(bore_nm)}"
        raise InvalidInput([Problem("bore", text)])
    return Fraction(bore_nm - outside_nm, 2)


def check_pilot(tables: Tables, pilot: Pilot) -> CheckResult:
    """Press fit in the crank and clearance on the nose. Raises InvalidInput for sizes not above zero."""
    if pilot.kind not in KINDS:
        raise InvalidInput([Problem("kind", f"expected {', '.join(KINDS)}, found {pilot.kind!r}")])
    require_positive((pilot.crank_bore, pilot.outside, pilot.inside, pilot.nose))
    return combine(JOINT, [_in_crank(tables, pilot), _on_nose(tables, pilot)])


def press_limits(tables: Tables, kind: str, size_nm: int) -> tuple[tuple[int, int], str]:
    """Least and most interference in the crank for a pilot of about that size (nm), and whose rule it is."""
    if kind == BUSH:
        return PRESS_NM, _PRESS_SOURCE
    nominal = _whole(size_nm)
    ring = ring_dimension(tables, "ring", "outer", "D_mp", nominal, nominal)
    loose, tight = (get_deviation(tables, cls, nominal) for cls in ("N7", "P7"))
    low = ring.low_nm - nominal - loose.upper_nm
    return (low, -tight.lower_nm if kind != NEEDLE else -loose.lower_nm), _RING_SOURCE


def nose_limits(tables: Tables, kind: str, size_nm: int) -> tuple[tuple[int, int], str]:
    """Least and most clearance on the nose for a pilot of about that size (nm), and whose rule it is."""
    if kind == BUSH:
        return BUSH_CLEARANCE_NM, _CLEARANCE_SOURCE
    nominal = _whole(size_nm)
    sliding = get_deviation(tables, "h6", nominal)
    if kind == NEEDLE:
        envelope = get_deviation(tables, "F8", nominal)
        return (envelope.lower_nm, envelope.upper_nm - sliding.lower_nm), _NEEDLE_SOURCE
    bore = ring_dimension(tables, "bore", "inner", "d_mp", nominal, nominal)
    free = get_deviation(tables, "g6", nominal)
    return (bore.low_nm - nominal - sliding.upper_nm, -free.lower_nm), _BALL_SOURCE


def _whole(size_nm: int) -> int:
    """Rolling bearings come in whole millimetres."""
    return (size_nm + NM_PER_MM // 2) // NM_PER_MM * NM_PER_MM


def _in_crank(tables: Tables, pilot: Pilot) -> CheckResult:
    bore, outside = pilot.crank_bore, pilot.outside
    if bore is None or outside is None:
        wanted = [("crank bore", bore, "press fit"), ("pilot outside diameter", outside, "press fit")]
        return unknown("pilot in crank", list_missing(wanted))
    press_nm, source = press_limits(tables, pilot.kind, outside.nominal_nm)
    stack = stack_up("interference", [(1, outside), (-1, bore)])
    result = _judged("pilot in crank", stack, press_nm, source, (bore, outside))
    if result.verdict is not Verdict.FAILS:
        return result
    if bore.low_nm > outside.high_nm:
        return _sleeved(result, bore, outside, press_nm)
    ease = Work("turn-bush", "pilot bush", f"turn to {_text(bore.nominal_nm, PRESS_NM, 1)}", irreversible=True)
    made = Work("make-bush", "pilot bush", f"make a bush of {_text(bore.nominal_nm, PRESS_NM, 1)} outside")
    choices = [(ease,), (made,)] if pilot.kind == BUSH and outside.low_nm > bore.high_nm else [(made,)]
    return with_choices(result, choices, f"{result.summary}; {choices[0][0].text}")


def _sleeved(result: CheckResult, bore: Dimension, outside: Dimension, press_nm: tuple[int, int]) -> CheckResult:
    wall = sleeve_wall_nm(bore.nominal_nm, outside.nominal_nm)
    made = Work(
        "make-bush", "pilot bush", f"make a bush of {_text(bore.nominal_nm, PRESS_NM, 1)} outside", remedy="bush"
    )  # fmt: skip
    if wall < SLEEVE_LEAST_WALL_NM:
        summary = f"a sleeve would have {show_nm(wall)} of wall, under {show_nm(SLEEVE_LEAST_WALL_NM)}; {made.text}"
        return with_choices(result, [(made,)], summary)
    sleeve = Work(
        "make-sleeve", "crank bore",
        f"sleeve of {show_nm(wall)} wall: outside {_text(bore.nominal_nm, PRESS_NM, 1)}, "
        f"inside {_text(outside.nominal_nm, press_nm, -1)}",
        Amount.of_nm(wall), remedy="sleeve",
        sizes=(
            FinishedSize("outside diameter", bore.nominal_nm, *PRESS_NM),
            FinishedSize("inside diameter", outside.nominal_nm, -press_nm[1], -press_nm[0]),
        ),
    )  # fmt: skip
    return with_choices(result, [(sleeve,), (made,)], f"{result.summary}; {sleeve.text}")


def _on_nose(tables: Tables, pilot: Pilot) -> CheckResult:
    name = "nose in pilot"
    inside, nose = pilot.inside, pilot.nose
    if inside is None or nose is None:
        wanted = [("pilot inside diameter", inside, "clearance"), ("nose diameter", nose, "clearance")]
        return unknown(name, list_missing(wanted))
    if pilot.kind in (NEEDLE, ROLLER) and not pilot.nose_hardened:
        if pilot.nose_hardened is None:
            return unknown(name, list_missing([("hardness of the nose", None, "rollers cut into a soft nose")]))
        made = Work("make-bush", "pilot", "bronze bush in place of the roller bearing", remedy="bush")
        failed = CheckResult(joint=name, verdict=Verdict.FAILS, summary="rollers cut into a nose that is not hardened")
        return with_choices(failed, [(made,)], f"{failed.summary}; {made.text}")
    if pilot.kind == ROLLER:
        return _of_either(*(_nose_as(tables, kind, inside, nose) for kind in (BALL, NEEDLE)))
    return _nose_as(tables, pilot.kind, inside, nose)


def _of_either(balls: CheckResult, needles: CheckResult) -> CheckResult:
    """Where balls and needles would be judged alike, so is the bearing; else somebody has to look."""
    if balls.verdict is needles.verdict:
        return replace(balls, summary=f"of balls: {balls.summary}; of needles: {needles.summary}")
    missing = list_missing([("whether the pilot bearing has balls or needles", None, "they want other clearances")])
    words = f"of balls it {balls.verdict} ({balls.summary}), of needles it {needles.verdict} ({needles.summary})"
    found = unknown(balls.joint, missing, f"unknown: {words}")
    return replace(found, values=balls.values, working=balls.working + needles.working)


def _nose_as(tables: Tables, kind: str, inside: Dimension, nose: Dimension) -> CheckResult:
    limits, source = nose_limits(tables, kind, inside.nominal_nm)
    stack = stack_up("clearance", [(1, inside), (-1, nose)])
    result = _judged("nose in pilot", stack, limits, source, (inside, nose))
    if result.verdict is not Verdict.FAILS or kind != BUSH:
        return result
    if stack.nominal_nm < BUSH_CLEARANCE_NM[0]:
        text = f"ream to {_text(nose.nominal_nm, BUSH_CLEARANCE_NM, 1)}"
        work = Work("ream-bush", "pilot bush", text, irreversible=True)
        return with_choices(result, [(work,)], f"{result.summary}; {work.text}")
    work = Work("make-bush", "pilot bush", f"make a bush of {_text(nose.nominal_nm, BUSH_CLEARANCE_NM, 1)} bore")
    return with_choices(result, [(work,), *_nose_sleeves(inside, nose)], f"{result.summary}; {work.text}")


def _nose_sleeves(inside: Dimension, nose: Dimension) -> list[tuple[Work, ...]]:
    """The sleeve that brings a thin nose up to the pilot's bore, where it has the wall."""
    wall = Fraction(inside.low_nm - BUSH_CLEARANCE_NM[1] - nose.high_nm + PRESS_NM[0], 2)
    if wall < SLEEVE_LEAST_WALL_NM:
        return []
    outside, bore = _text(inside.nominal_nm, BUSH_CLEARANCE_NM, -1), _text(nose.nominal_nm, PRESS_NM, -1)
    text = f"sleeve of {show_nm(wall)} wall on the nose: outside {outside}, inside {bore}"
    return [(Work("make-nose-sleeve", "nose", text, Amount.of_nm(wall), remedy="bush"),)]


def _judged(
    joint: str, stack: Stack, limits: tuple[int, int], source: str, dimensions: tuple[Dimension, ...]
) -> CheckResult:
    verdict, margin, missing = judge(stack, *limits)
    summary = f"{stack.name} {show_nm(stack.nominal_nm)}, {show_nm(limits[0])} to {show_nm(limits[1])} wanted"
    wanted = Line(f"{stack.name} wanted", f"{bare_mm(limits[0])} to {show_nm(limits[1])}", "", "", source)
    return CheckResult(
        joint=joint, verdict=verdict, summary=summary, binding=stack.name,
        margin=None if verdict is Verdict.UNKNOWN else Amount.of_nm(margin), values=(stack.span(),), measure=missing,
        working=Working((stack.line(source=source), wanted)), evidence_rank=weakest(dimensions),
    )  # fmt: skip


def _text(size_nm: int, allowance_nm: tuple[int, int], sign: int) -> str:
    low, high = sorted(size_nm + sign * allowance for allowance in allowance_nm)
    return f"{show_nm(low)} to {show_nm(high)}"

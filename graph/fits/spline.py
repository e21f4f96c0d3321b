"""Disc hub on shaft: is it the same spline, does it slide without shake, is it wholly engaged over the wear?

The same tooth count is not the same spline: form, pressure angle, pitch and diameters are all compared. Rules
(common practice): teeth overlap by at least 80 % of their working height; the hub stays on full-form spline over
the wear travel with 2 mm to spare at each end. Lengths are taken rearwards from one datum.

The working height of an involute spline is that of its basic rack, whatever its roots: tip to tip 2 modules at 30
degrees (ANSI B92.1, ISO 4156), 1.8 at 37.5 and 1.6 at 45 (ISO 4156), but 1.8 at 30 degrees by DIN 5480, which has the
same angle and so sets the least. A straight spline's is the whole of its teeth.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.fits.lengths import require_one_datum
from graph.fits.limits import clearance
from graph.fits.model import (
    WORST_EVIDENCE,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Working,
    bare_mm,
    combine,
    list_missing,
    show_nm,
    show_number,
    unknown,
    weakest,
)
from graph.fits.stack import Stack, judge, stack_up

COMMON_PRACTICE = "common practice"
RACK_SOURCE = "basic racks of ANSI B92.1, ISO 4156, DIN 5480; four fifths of it, common practice"
SPARE_NM = 2_000_000
LEAST_OVERLAP = Fraction(4, 5)
WORKING_MODULES = {Fraction(30): Fraction(9, 5), Fraction(75, 2): Fraction(9, 5), Fraction(45): Fraction(8, 5)}
OTHER_MODULES = Fraction(8, 5)  # of an angle that no standard here has: the least of them
STRAIGHT_PART = Fraction(17, 20)  # roots relieved, chamfered tips, common practice
HUB_CAUTION = "Slide the disc on by hand before anything is bolted up; a hub only part way on strips its teeth."


@dataclass(frozen=True, slots=True, kw_only=True)
class SplineEnd:
    """One half of a spline as seen and measured; None where nobody has looked.

    `form`: involute or straight. `pitch`: the pitch diameter, from teeth and module or diametral pitch, with how far
    it may be rounded. `major`, `minor`: diameters over the tips and over the roots.
    """

    teeth: int | None
    form: str | None
    pressure_angle_deg: Fraction | None = None
    pitch: Dimension | None = None
    major: Dimension | None = None
    minor: Dimension | None = None
    evidence_rank: int = WORST_EVIDENCE  # of what was counted and seen


def check_form(shaft: SplineEnd, hub: SplineEnd) -> CheckResult:
    """Same spline and right diameters? FAILS at the first difference that no one can machine away.

    UNKNOWN names what nobody has seen. A straight-sided spline has no pressure angle or pitch diameter to compare.
    """
    rank = max(shaft.evidence_rank, hub.evidence_rank)
    checks = [
        _same("tooth count", shaft.teeth, hub.teeth, str, rank),
        _same("tooth form", shaft.form, hub.form, str, rank),
    ]
    if "straight" not in (shaft.form, hub.form):
        checks.append(_same("pressure angle", shaft.pressure_angle_deg, hub.pressure_angle_deg, _degrees, rank))
        checks.append(_same_pitch(shaft.pitch, hub.pitch, rank))
    roots, bore = "the hub's diameter over its roots", "the hub's bore"
    outside, root = "the shaft's outside diameter", "the shaft's root diameter"
    checks.append(_goes_in("tip of the shaft teeth", hub.major, shaft.major, roots, outside))
    checks.append(_goes_in("tip of the hub teeth", hub.minor, shaft.minor, bore, root))
    checks.append(_overlap(shaft, hub))
    return replace(combine("spline form", checks), cautions=(HUB_CAUTION,))


def _degrees(value: Fraction) -> str:
    return f"{show_number(value)} deg"


def _same(name: str, shaft: object | None, hub: object | None, show: Callable[[Any], str], rank: int) -> CheckResult:
    if shaft is None or hub is None:
        return unknown(
            name, list_missing([(f"the {name} of the shaft", shaft, ""), (f"the {name} of the hub", hub, "")])
        )
    same = shaft == hub
    words = f"{show(shaft)} on both" if same else f"shaft {show(shaft)}, hub {show(hub)}"
    line = Line(name, "shaft = hub", f"{show(shaft)} and {show(hub)}", "same" if same else "different", COMMON_PRACTICE)
    return CheckResult(
        joint=name, verdict=Verdict.HOLDS if same else Verdict.FAILS, summary=words, binding=name,
        working=Working((line,)), evidence_rank=rank,
    )  # fmt: skip


def _same_pitch(shaft: Dimension | None, hub: Dimension | None, rank: int) -> CheckResult:
    """Equal as stated, or different beyond what both may be rounded by; in between nobody can tell."""
    name = "pitch diameter"
    if shaft is None or hub is None:
        wanted = [(f"the {name} of the shaft", shaft, ""), (f"the {name} of the hub", hub, "")]
        return unknown(name, list_missing(wanted))
    apart = stack_up("difference", [(1, shaft), (-1, hub)])
    if apart.nominal_nm == 0:
        verdict = Verdict.HOLDS
    else:
        verdict = Verdict.UNKNOWN if apart.low_nm <= 0 <= apart.high_nm else Verdict.FAILS
    words = f"{show_nm(shaft.nominal_nm)} on the shaft, {show_nm(hub.nominal_nm)} in the hub"
    why = f"the two lie {show_nm(abs(apart.nominal_nm))} apart, and may be rounded by as much"
    finer = (Missing("both pitch diameters finer, or module and pitch by gauge", why),)
    return CheckResult(
        joint=name, verdict=verdict, binding=name, values=(apart.span(),), evidence_rank=rank,
        summary=f"{words}: cannot tell, measure finer" if verdict is Verdict.UNKNOWN else words,
        measure=finer if verdict is Verdict.UNKNOWN else (), working=Working((apart.line(name, COMMON_PRACTICE),)),
    )  # fmt: skip


def _goes_in(
    name: str, outer: Dimension | None, inner: Dimension | None, outer_name: str, inner_name: str
) -> CheckResult:
    """Free by hand: no interference between tips and roots."""
    if outer is None or inner is None:
        return unknown(name, list_missing([(outer_name, outer, ""), (inner_name, inner, "")]))
    fit = clearance(outer, inner, f"clearance at the {name}")
    verdict, margin, missing = judge(fit, 0, None)
    return CheckResult(
        joint=name, verdict=verdict, summary=f"clearance {show_nm(fit.low_nm)} to {show_nm(fit.high_nm)}",
        margin=Amount.of_nm(margin), binding=name, values=(fit.span(),), measure=missing,
        working=Working((fit.line(),)), evidence_rank=weakest([outer, inner]),
    )  # fmt: skip


def _overlap(shaft: SplineEnd, hub: SplineEnd) -> CheckResult:
    """How deep the teeth reach into each other, as part of the deeper of the two teeth's working height."""
    name = "tooth overlap"
    if shaft.major is None or shaft.minor is None or hub.minor is None or hub.major is None:
        wanted = [
            ("the shaft's outside diameter", shaft.major, ""), ("the shaft's root diameter", shaft.minor, ""),
            ("the hub's bore", hub.minor, ""), ("the hub's diameter over its roots", hub.major, ""),
        ]  # fmt: skip
        return unknown(name, list_missing(wanted))
    depth = stack_up("twice the overlap", [(1, shaft.major), (-1, hub.minor)])
    working, rule = _working_height(shaft, hub)
    verdict, margin, missing = judge(depth, working, None)
    return CheckResult(
        joint=name, verdict=verdict, summary=f"teeth overlap by {show_nm(Fraction(depth.nominal_nm, 2))} per side",
        margin=Amount.of_nm(margin / 2), binding=name, values=(depth.span(),), measure=missing,
        working=Working((depth.line(), rule)), evidence_rank=weakest([shaft.major, shaft.minor, hub.minor, hub.major]),
    )  # fmt: skip


def _working_height(shaft: SplineEnd, hub: SplineEnd) -> tuple[Fraction, Line]:
    """Twice the overlap that is wanted, and the line that says why."""
    assert shaft.major and shaft.minor and hub.major and hub.minor
    if shaft.pitch is not None and shaft.teeth and "straight" not in (shaft.form, hub.form):
        module = Fraction(shaft.pitch.nominal_nm, shaft.teeth)
        modules = WORKING_MODULES.get(shaft.pressure_angle_deg or Fraction(30), OTHER_MODULES)
        least = LEAST_OVERLAP * modules * module
        factors = f"{show_number(LEAST_OVERLAP)} x {show_number(modules)}"
        numbers = f"{factors} x {bare_mm(shaft.pitch.nominal_nm)} mm / {shaft.teeth}"
        formula = "0.8 x working height of the rack in modules x pitch diameter / teeth, twice the overlap"
        return least, Line("wanted", formula, numbers, show_nm(least), RACK_SOURCE)
    # the larger tooth of the two: a small shaft in a large hub must not pass because both teeth look shallow
    heights = (shaft.major.nominal_nm - shaft.minor.nominal_nm, hub.major.nominal_nm - hub.minor.nominal_nm)
    least = LEAST_OVERLAP * STRAIGHT_PART * max(heights)
    numbers = f"{show_number(LEAST_OVERLAP)} x {show_number(STRAIGHT_PART)} x {bare_mm(max(heights))} mm"
    formula = "0.8 x 0.85 x the larger tooth height, twice the overlap"
    return least, Line("wanted", formula, numbers, show_nm(least), COMMON_PRACTICE)


def check_engagement(
    hub_front: Dimension | None,
    hub_rear: Dimension | None,
    spline_front: Dimension | None,
    spline_rear: Dimension | None,
    *,
    wear_nm: int = 0,
    spare_front_nm: int = SPARE_NM,
    spare_rear_nm: int = SPARE_NM,
) -> CheckResult:
    """Is the hub wholly on full-form spline, new and worn? Positions rearwards from one datum; wear moves it forward.

    A hub from 34.1 to 62.1 on a spline from 16 to 86 mm has 18.1 mm to spare in front and 23.9 behind. Raises
    InvalidInput for readings from different data, or a front that lies behind its rear.
    """
    joint = "spline engagement"
    wanted = [
        ("the hub's front face", hub_front, ""), ("the hub's rear face", hub_rear, ""),
        ("where the full-form spline begins", spline_front, ""), ("where the full-form spline ends", spline_rear, ""),
    ]  # fmt: skip
    if hub_front is None or hub_rear is None or spline_front is None or spline_rear is None:
        return unknown(joint, list_missing(wanted))
    require_one_datum([hub_front, hub_rear, spline_front, spline_rear])
    faults = [
        Problem(front.name, f"lies behind {rear.name}; are they swapped?")
        for front, rear in ((hub_front, hub_rear), (spline_front, spline_rear))
        if front.high_nm >= rear.low_nm
    ]
    if wear_nm < 0:
        faults.append(Problem("wear_nm", "the wear travel cannot be negative"))
    if faults:
        raise InvalidInput(faults)
    travel = Dimension(name="wear travel", nominal_nm=wear_nm, low_nm=wear_nm, high_nm=wear_nm, basic=True)
    front = stack_up("spare in front", [(1, hub_front), (-1, travel), (-1, spline_front)])
    rear = stack_up("spare behind", [(1, spline_rear), (-1, hub_rear)])
    inputs = [hub_front, hub_rear, spline_front, spline_rear]
    result = combine(joint, [_spare(front, spare_front_nm, inputs), _spare(rear, spare_rear_nm, inputs)])
    return replace(result, cautions=(HUB_CAUTION,))


def _spare(room: Stack, spare_nm: int, inputs: list[Dimension]) -> CheckResult:
    verdict, margin, missing = judge(room, spare_nm, None)
    line = room.line(room.name, f"hub wholly on full-form spline, {show_nm(spare_nm)} to spare, {COMMON_PRACTICE}")
    return CheckResult(
        joint=room.name, verdict=verdict, summary=f"{show_nm(room.nominal_nm)}, wanted {show_nm(spare_nm)}",
        margin=Amount.of_nm(margin), binding=room.name, values=(room.span(),), measure=missing,
        working=Working((line,)), evidence_rank=weakest(inputs),
    )  # fmt: skip

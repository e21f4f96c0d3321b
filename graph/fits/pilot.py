"""The pilot: crank bore, bush or bearing, shaft nose; and the sleeve that makes up between two diameters.

Rules: a bush's clearance on the nose 0.001 to 0.003 in (clutch education page); its press fit in the crank 0.0004 to
0.002 in (forum thread on bush fit); a needle or roller bearing never on a nose that is not hardened (clutch
education page). Overlap, tip and shoulder belong to the length chain.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.lengths import require_positive
from graph.fits.model import (
    NM_PER_INCH,
    NM_PER_MM,
    Amount,
    CheckResult,
    Dimension,
    Verdict,
    Work,
    Working,
    combine,
    list_missing,
    show_nm,
    unknown,
    weakest,
    with_choices,
)  # fmt: skip
from graph.fits.stack import Stack, judge, stack_up

JOINT = "pilot"
BUSH_CLEARANCE_NM = (NM_PER_INCH // 1000, 3 * NM_PER_INCH // 1000)
PRESS_NM = (NM_PER_INCH * 4 // 10_000, 2 * NM_PER_INCH // 1000)
SLEEVE_LEAST_WALL_NM = NM_PER_MM  # thinner rings crush when pressed in (common practice)
BUSH, ROLLER = "bush", "roller"
_CLEARANCE_SOURCE = "clutch education page: 0.001 to 0.003 in on the nose"
_PRESS_SOURCE = "forum thread on bush fit: 0.0004 to 0.002 in"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot:
    """Readings of the pilot joint; None is not measured. `kind`: bush or roller (needle and ball too)."""

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


def check_pilot(pilot: Pilot, *, press_nm: tuple[int, int] = PRESS_NM) -> CheckResult:
    """Press fit in the crank and clearance on the nose. Raises InvalidInput for sizes not above zero."""
    if pilot.kind not in (BUSH, ROLLER):
        raise InvalidInput([Problem("kind", f"expected bush or roller, found {pilot.kind!r}")])
    require_positive((pilot.crank_bore, pilot.outside, pilot.inside, pilot.nose))
    return combine(JOINT, [_in_crank(pilot, press_nm), _on_nose(pilot)])


def _in_crank(pilot: Pilot, press_nm: tuple[int, int]) -> CheckResult:
    bore, outside = pilot.crank_bore, pilot.outside
    if bore is None or outside is None:
        wanted = [("crank bore", bore, "press fit"), ("pilot outside diameter", outside, "press fit")]
        return unknown("pilot in crank", list_missing(wanted))
    stack = stack_up("interference", [(1, outside), (-1, bore)])
    result = _judged("pilot in crank", stack, press_nm, _PRESS_SOURCE, (bore, outside))
    if result.verdict is not Verdict.FAILS:
        return result
    if bore.low_nm > outside.high_nm:
        return _sleeved(result, bore, outside, press_nm)
    ease = Work("turn-bush", "pilot bush", f"turn to {_text(bore.nominal_nm, press_nm, 1)}", irreversible=True)
    made = Work("make-bush", "pilot bush", f"make a bush of {_text(bore.nominal_nm, press_nm, 1)} outside")
    choices = [(ease,), (made,)] if pilot.kind == BUSH and outside.low_nm > bore.high_nm else [(made,)]
    return with_choices(result, choices, f"{result.summary}; {choices[0][0].text}")


def _sleeved(result: CheckResult, bore: Dimension, outside: Dimension, press_nm: tuple[int, int]) -> CheckResult:
    wall = sleeve_wall_nm(bore.nominal_nm, outside.nominal_nm)
    made = Work(
        "make-bush", "pilot bush", f"make a bush of {_text(bore.nominal_nm, press_nm, 1)} outside", remedy="bush"
    )  # fmt: skip
    if wall < SLEEVE_LEAST_WALL_NM:
        summary = f"a sleeve would have {show_nm(wall)} of wall, under {show_nm(SLEEVE_LEAST_WALL_NM)}; {made.text}"
        return with_choices(result, [(made,)], summary)
    sleeve = Work(
        "make-sleeve", "crank bore",
        f"sleeve of {show_nm(wall)} wall: outside {_text(bore.nominal_nm, press_nm, 1)}, "
        f"inside {_text(outside.nominal_nm, press_nm, -1)}",
        Amount.of_nm(wall), remedy="sleeve",
    )  # fmt: skip
    return with_choices(result, [(sleeve,), (made,)], f"{result.summary}; {sleeve.text}")


def _on_nose(pilot: Pilot) -> CheckResult:
    name = "nose in pilot"
    inside, nose = pilot.inside, pilot.nose
    if inside is None or nose is None:
        wanted = [("pilot inside diameter", inside, "clearance"), ("nose diameter", nose, "clearance")]
        return unknown(name, list_missing(wanted))
    if pilot.kind == ROLLER and not pilot.nose_hardened:
        if pilot.nose_hardened is None:
            return unknown(name, list_missing([("hardness of the nose", None, "rollers cut into a soft nose")]))
        made = Work("make-bush", "pilot", "bronze bush in place of the roller bearing", remedy="bush")
        failed = CheckResult(joint=name, verdict=Verdict.FAILS, summary="rollers cut into a nose that is not hardened")
        return with_choices(failed, [(made,)], f"{failed.summary}; {made.text}")
    stack = stack_up("clearance", [(1, inside), (-1, nose)])
    result = _judged(name, stack, BUSH_CLEARANCE_NM, _CLEARANCE_SOURCE, (inside, nose))
    if result.verdict is not Verdict.FAILS or pilot.kind == ROLLER:
        return result
    if stack.nominal_nm < BUSH_CLEARANCE_NM[0]:
        text = f"ream to {_text(nose.nominal_nm, BUSH_CLEARANCE_NM, 1)}"
        work = Work("ream-bush", "pilot bush", text, irreversible=True)
    else:
        work = Work("make-bush", "pilot bush", f"make a bush of {_text(nose.nominal_nm, BUSH_CLEARANCE_NM, 1)} bore")
    return with_choices(result, [(work,)], f"{result.summary}; {work.text}")


def _judged(
    joint: str, stack: Stack, limits: tuple[int, int], source: str, dimensions: tuple[Dimension, ...]
) -> CheckResult:
    verdict, margin, missing = judge(stack, *limits)
    summary = f"{stack.name} {show_nm(stack.nominal_nm)}, {show_nm(limits[0])} to {show_nm(limits[1])} wanted"
    return CheckResult(
        joint=joint, verdict=verdict, summary=summary, binding=stack.name,
        margin=None if verdict is Verdict.UNKNOWN else Amount.of_nm(margin), values=(stack.span(),), measure=missing,
        working=Working((stack.line(source=source),)), evidence_rank=weakest(dimensions),
    )  # fmt: skip


def _text(size_nm: int, allowance_nm: tuple[int, int], sign: int) -> str:
    low, high = sorted(size_nm + sign * allowance for allowance in allowance_nm)
    return f"{show_nm(low)} to {show_nm(high)}"

"""The oil of a gearbox: its level at another angle than it was designed for, and its kind by what is fitted.

A level surface stays level. With the box turned, a plug that is not in its middle shows another quantity than before;
so the level at the plug that holds the same quantity moves by p (tan a - tan a0), p being how far the plug lies behind
the middle of the oil space and a, a0 how far the rear stands below the front (geometry of a level surface in a space
that is about as long as it is deep everywhere; the quantity by the can is the better measure where it is known).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import radians, tan

from graph.errors import InvalidInput, Problem
from graph.fits.model import Amount, CheckResult, Line, Missing, Verdict, Working, show_nm, show_number

STEEPEST, NM_PER_UM = 45, 1_000
AT_THE_PLUG_NM = 2_000_000  # within so much it may simply be filled to the plug (common practice)
CAUTION = "Fill by quantity where it is known: too much foams and is pressed out, too little starves the front bearing."
SOURCE = "geometry of a level surface"


def check_oil_level(behind_nm: int, new_deg: Fraction, old_deg: Fraction = Fraction(0)) -> CheckResult:
    """Where the oil must stand at the level plug for the quantity to stay. `behind_nm`: the plug behind the middle of
    the oil space, negative before it; angles: the rear below the front, in degrees.

    HOLDS within 2 mm of the plug, else FAILS with how far above or below it; it is filled another way then.
    """
    for name, value in (("angle", new_deg), ("designed", old_deg)):
        if abs(value) > STEEPEST:
            raise InvalidInput([Problem(name, f"expected {-STEEPEST} to {STEEPEST} deg, found {float(value):g}")])
    turned = tan(radians(float(new_deg))) - tan(radians(float(old_deg)))
    moved = round(behind_nm * turned / NM_PER_UM) * NM_PER_UM
    line = Line(
        "level at the plug", "p (tan a - tan a0)",
        f"{show_nm(behind_nm)} x (tan {float(new_deg):g} deg - tan {float(old_deg):g} deg)", show_nm(moved), SOURCE,
    )  # fmt: skip
    near = abs(moved) <= AT_THE_PLUG_NM
    where = "above" if moved > 0 else "below"
    amount = show_nm(abs(moved))
    if near:
        summary = f"fill to the plug: the level that holds the same quantity is {amount} {where} it"
    else:
        short = "and stop short of it, with a bent wire as gauge"
        way = "by quantity, or through a higher hole" if moved > 0 else short
        summary = f"not to the plug: the level that holds the same quantity is {amount} {where} it; fill {way}"
    return CheckResult(
        joint="oil level", verdict=Verdict.HOLDS if near else Verdict.FAILS, summary=summary,
        margin=Amount.of_nm(AT_THE_PLUG_NM - abs(moved)), binding=f"{show_number(2)} mm at the plug",
        working=Working((line,)), cautions=(CAUTION,), evidence_rank=5,
    )  # fmt: skip


BRASS = "brass"
RING_MATERIALS = (BRASS, "steel or molybdenum", "carbon or paper lined")
GRADES = ("GL-1", "GL-4", "GL-5", "engine oil", "automatic transmission fluid")
HARD_ON_BRASS = ("GL-5",)
COPPER = "lubrication magazine: GL-5 in a GL-4 box with brass rings shows 2 to 4 times the copper in its oil"


def check_oil_kind(
    stated: str | None, rings: Sequence[tuple[str, str | None]], filled: str | None = None
) -> CheckResult:
    """Which oil, by what is fitted. `stated`: what the box is stated to want; `rings`: each ring and what it is of,
    None where nobody has looked; `filled`: what is meant to go in, or the stated kind.

    FAILS for an oil that attacks a brass ring, or another than is stated; UNKNOWN says what to find out and what is
    ruled out already. Grades: API designations (GL-4, GL-5).
    """
    brass = [label for label, material in rings if material == BRASS]
    unseen = [label for label, material in rings if material is None]
    oil = filled or stated
    made_of = ", ".join(f"{label} {material or 'not looked at'}" for label, material in rings) or "no ring named"
    line = Line("oil", "what is stated, against what is fitted", f"{oil or 'none stated'}; {made_of}",
                "no GL-5" if brass else "-", COPPER)  # fmt: skip
    if oil in HARD_ON_BRASS and brass:
        text = f"{oil} attacks brass ({listed(brass)}): fill GL-4, or rings that bear it"
    elif filled and stated and filled != stated:
        text = f"{filled} is to go in and {stated} is what it wants"
    elif oil is None or (oil in HARD_ON_BRASS and unseen):
        return _not_known(oil, brass, unseen, line)
    else:
        text = f"{oil}"
        return CheckResult(
            joint="oil", verdict=Verdict.HOLDS, summary=text, working=Working((line,)), evidence_rank=5
        )  # fmt: skip
    return CheckResult(joint="oil", verdict=Verdict.FAILS, summary=text, working=Working((line,)), evidence_rank=5)


def _not_known(oil: str | None, brass: Sequence[str], unseen: Sequence[str], line: Line) -> CheckResult:
    missing = (
        [] if oil else [Missing("the oil that this box wants", "its plate, its data sheet, or what came out of it")]
    )
    if unseen:
        missing.append(Missing(f"what {listed(unseen)} {'is' if len(unseen) == 1 else 'are'} of", "brass or not"))
    ruled = f"not GL-5, {listed(brass)} {'is' if len(brass) == 1 else 'are'} brass; " if brass else ""
    told = f"unknown: {ruled}find out {listed([item.name for item in missing])}"
    return CheckResult(
        joint="oil", verdict=Verdict.UNKNOWN, summary=told, measure=tuple(missing), working=Working((line,)),
        evidence_rank=5,
    )  # fmt: skip


def listed(names: Sequence[str]) -> str:
    """`a, b and c`."""
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))

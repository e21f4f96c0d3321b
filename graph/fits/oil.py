"""The oil's level in a gearbox that sits at another angle than it was designed for.

A level surface stays level. With the box turned, a plug that is not in its middle shows another quantity than before;
so the level at the plug that holds the same quantity moves by p (tan a - tan a0), p being how far the plug lies behind
the middle of the oil space and a, a0 how far the rear stands below the front (geometry of a level surface in a space
that is about as long as it is deep everywhere; the quantity by the can is the better measure where it is known).
"""

from __future__ import annotations

from fractions import Fraction
from math import radians, tan

from graph.errors import InvalidInput, Problem
from graph.fits.model import Amount, CheckResult, Line, Verdict, Working, show_nm, show_number

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

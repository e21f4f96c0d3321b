"""An adapter plate that carries the gearbox's weight: a first look at how it bends. It warns and never passes.

The strip between two bolts as a beam on two supports with the load at mid-span: M = F L / 4, stress 6 M / (b t^2),
sag F L^3 / (4 E b t^3) (strength of materials, beam tables of any handbook). A real plate has holes, notches, shock
and fatigue, which this does not see.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM, CheckResult, Line, Missing, Verdict, Working, show_number
from graph.fits.tables_drive import Elasticity

PART_OF_YIELD = Fraction(1, 3)  # for shock and holes, common practice; above it the plate is refused
SOURCE = "beam on two supports, load at mid-span: beam tables of handbooks"
CAUTION = (
    "This is no proof: a plate that is a stressed member of the vehicle is to be calculated and approved by a "
    "qualified engineer. Support the gearbox at its own mount."
)
NO_PROOF = Missing("nothing more: a qualified engineer must calculate this plate", "what is told is a first look")


@dataclass(frozen=True, slots=True)
class Strip:
    """The strip that bends: free span, width and thickness in nm, and its yield strength in MPa."""

    span_nm: int
    width_nm: int
    thickness_nm: int
    yield_mpa: Fraction

    def __post_init__(self) -> None:
        sizes = (("span", self.span_nm), ("width", self.width_nm), ("thickness", self.thickness_nm))
        problems = [Problem(name, "must be above zero, found 0") for name, nm in sizes if nm <= 0]
        if problems:
            raise InvalidInput(problems)


def check_plate_bending(strip: Strip, force_n: Fraction, made: Elasticity) -> CheckResult:
    """FAILS where the stress is above a third of the yield strength, else UNKNOWN: somebody must calculate it."""
    span, width, thickness = (Fraction(nm, NM_PER_MM) for nm in (strip.span_nm, strip.width_nm, strip.thickness_nm))
    stress = 3 * force_n * span / (2 * width * thickness**2)
    sag = force_n * span**3 / (4 * made.modulus_gpa * 1000 * width * thickness**3)
    force, long, wide, thick = (show_number(each) for each in (force_n, span, width, thickness))
    allowed = strip.yield_mpa * PART_OF_YIELD
    lines = (
        Line("stress", "3 F L / (2 b t^2)", f"3 x {force} x {long} / (2 x {wide} x {thick}^2)",
             f"{show_number(stress, 1)} MPa", SOURCE),
        Line("sag", "F L^3 / (4 E b t^3)",
             f"{force} x {long}^3 / (4 x {show_number(made.modulus_gpa * 1000)} x {wide} x {thick}^3)",
             f"{show_number(sag)} mm", SOURCE),
        Line("allowed", "yield / 3", f"{show_number(strip.yield_mpa)} / 3", f"{show_number(allowed, 1)} MPa",
             "a third of the yield strength for shock and holes, common practice"),
    )  # fmt: skip
    told = f"{show_number(stress, 1)} MPa, {show_number(sag)} mm of sag, at most {show_number(allowed, 1)} MPa"
    fails = stress > allowed
    return CheckResult(
        joint="plate bending", verdict=Verdict.FAILS if fails else Verdict.UNKNOWN, summary=told,
        binding="stress", measure=() if fails else (NO_PROOF,),
        working=Working(lines), cautions=(CAUTION,), evidence_rank=5,
    )  # fmt: skip

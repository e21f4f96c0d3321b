"""What a torque converter or fluid coupling takes up, and what it hands to the gearbox.

At a given speed ratio a hydrodynamic drive takes up torque as the square of its speed (similarity law of
turbomachines: T = lambda rho D^5 w^2), so one test point tells all stall speeds of the same converter.
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

from graph.fits.model import Amount, CheckResult, Line, Verdict, Working, combine, show_number
from graph.fits.torque import check_gearbox_torque

LAW = "similarity law of turbomachines: torque goes as speed squared"
STALL_CAUTION = (
    "A stall test heats the fluid within seconds: brakes on, wheels chocked, nobody in front, and only as long as the "
    "gearbox's maker allows."
)


def stall_speed_rpm(tested_nm: Fraction, tested_rpm: Fraction, engine_nm: Fraction) -> Fraction:
    """The engine speed at which a converter that takes `tested_nm` at `tested_rpm` takes the engine's torque."""
    return Fraction(round(float(tested_rpm) * sqrt(float(engine_nm / tested_nm)) * 1000), 1000)


def check_converter(
    tested_nm: Fraction, tested_rpm: Fraction, engine_nm: Fraction, engine_rpm: Fraction,
    stall_ratio: Fraction | None = None, rating_nm: Fraction | None = None,
) -> CheckResult:  # fmt: skip
    """Does the converter hold the engine at or below the speed of its torque peak, and the gearbox what comes out?

    HOLDS where the stall speed is at most `engine_rpm` (the engine is not let run away from a converter too small for
    it). With a stall ratio the gearbox's rating is judged too.
    """
    stall = stall_speed_rpm(tested_nm, tested_rpm, engine_nm)
    numbers = f"{show_number(tested_rpm)} x sqrt({show_number(engine_nm)} / {show_number(tested_nm)})"
    line = Line("stall speed", "n0 sqrt(T / T0)", numbers, f"{show_number(stall)} 1/min", LAW)
    words = f"stalls the engine at {show_number(stall, 0)} 1/min, its torque peak is at {show_number(engine_rpm)} 1/min"
    taken = CheckResult(
        joint="torque converter", verdict=Verdict.HOLDS if stall <= engine_rpm else Verdict.FAILS, summary=words,
        margin=Amount(engine_rpm - stall, "1/min"), binding="stall speed", working=Working((line,)),
        cautions=(STALL_CAUTION,), evidence_rank=5,
    )  # fmt: skip
    if stall_ratio is None:
        return taken
    return combine(
        "torque converter", [taken, check_gearbox_torque(rating_nm, engine_nm, first_multiplier=stall_ratio)]
    )

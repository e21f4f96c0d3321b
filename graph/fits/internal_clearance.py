"""Radial internal clearance of deep groove ball bearings: what a clearance class leaves once fitted and warm.

Classes by ISO 5753-1 (facts/standards/iso5753_clearance.csv). What fits and heat take, by the rules of bearing makers'
general catalogues (from memory): an inner ring's raceway grows by 0.7 to 0.9 of the shaft's interference, an outer
ring's shrinks by as much of the housing's (0.8 taken); an inner ring warmer by dT takes alpha x dT x (4 D + d) / 5.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    NM_PER_MM,
    NM_PER_UM,
    Amount,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Working,
    show_nm,
    show_number,
)
from graph.fits.tables import Bearing
from graph.fits.tables_drive import InternalClearance

CLASSES = ("C2", "CN", "C3", "C4", "C5")
PASSED_ON = Fraction(8, 10)
STEEL_UM_PER_M_K = Fraction(125, 10)
SOURCE = "bearing makers' general catalogues, from memory"
CAUTION = "Fit the class that was in it, unless the bearing's maker says otherwise: play is chosen for noise and life."


@dataclass(frozen=True, slots=True)
class FittedRing:
    """What takes clearance: interference of shaft and housing (nm, 0 where loose), kelvin the inner ring is warmer."""

    shaft_nm: int = 0
    housing_nm: int = 0
    warmer_k: Fraction = Fraction(0)


def check_clearance(rows: Sequence[InternalClearance], bearing: Bearing, cls: str, fitted: FittedRing) -> CheckResult:
    """What is left of a class when fitted and warm: HOLDS where the least of it is not below zero, FAILS where
    the most is, UNKNOWN between: it hangs on the bearing in hand. Raises InvalidInput for a bore outside the table."""
    row = _row(rows, bearing)
    low, high = row.limits_nm[CLASSES.index(cls)]
    taken, lines = _taken(bearing, fitted)
    least, most = low - taken, high - taken
    told = f"{cls} {show_nm(low)} to {show_nm(high)} free, {show_nm(least)} to {show_nm(most)} fitted and warm"
    lines.insert(0, Line("free", f"{cls} at a bore of {show_nm(bearing.bore_nm)}", "", "", str(row.origin)))
    numbers = f"{_um(low)} - {_um(taken)}"
    lines.append(Line("least left", "free - taken", numbers, f"{_um(least)} um", SOURCE))
    why = f"some of {cls} would run without clearance; or take the next looser class"
    measure = (Missing("the clearance of the bearing in hand", why),) if least < 0 <= most else ()
    verdict = Verdict.UNKNOWN if measure else Verdict.FAILS if most < 0 else Verdict.HOLDS
    return CheckResult(
        joint="bearing clearance", verdict=verdict, summary=told, measure=measure,
        margin=Amount.of_nm(least), binding="least clearance", working=Working(tuple(lines)),
        cautions=(CAUTION,), evidence_rank=5,
    )  # fmt: skip


def _row(rows: Sequence[InternalClearance], bearing: Bearing) -> InternalClearance:
    for row in rows:
        if row.over_nm < bearing.bore_nm <= row.incl_nm:
            return row
    most = show_nm(rows[-1].incl_nm)
    text = f"a bore of {show_nm(bearing.bore_nm)} is outside the table, which ends at {most}"
    raise InvalidInput([Problem("bearing", text)])


def _taken(bearing: Bearing, fitted: FittedRing) -> tuple[Fraction, list[Line]]:
    effective = Fraction(4 * bearing.od_nm + bearing.bore_nm, 5)
    fits = PASSED_ON * (fitted.shaft_nm + fitted.housing_nm)
    heat = STEEL_UM_PER_M_K * fitted.warmer_k * effective / 1_000_000
    lines = [
        Line("fits take", "0.8 x (shaft + housing interference)",
             f"0.8 x ({_um(fitted.shaft_nm)} + {_um(fitted.housing_nm)})", f"{_um(fits)} um", SOURCE),
        Line("heat takes", "alpha x dT x (4 D + d) / 5",
             f"0.0125 x {show_number(fitted.warmer_k)} x (4 x {show_number(Fraction(bearing.od_nm, NM_PER_MM))} + "
             f"{show_number(Fraction(bearing.bore_nm, NM_PER_MM))}) / 5", f"{_um(heat)} um", SOURCE),
    ]  # fmt: skip
    return fits + heat, lines


def _um(nm: int | Fraction) -> str:
    return show_number(Fraction(nm) / NM_PER_UM, 3)

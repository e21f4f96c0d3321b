"""Press fits: which class keeps its grip hot, the pressure between two rings, and how far the inner bore closes.

Sources: thick-walled cylinders (Lame) as in machine design handbooks: with the diametral interference i at the
diameter d, p = i / (d [((D^2 + d^2)/(D^2 - d^2) + nu_o)/E_o + ((d^2 + b^2)/(d^2 - b^2) - nu_i)/E_i]); a bore b of the
inner ring closes by 2 p d^2 b / (E_i (d^2 - b^2)). Free expansion: (alpha_o - alpha_i) D dT. Lengths nanometres.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.limits import Material, get_deviation, heat_change_nm
from graph.fits.model import NM_PER_UM, Line, bare_mm, show_nm, show_number
from graph.fits.tables import Tables
from graph.fits.tables_drive import Elasticity

PRESSED_IN = ("p6", "r6", "s6", "t6", "u6")  # loosest first
PRESS_SOURCE = "ISO 286 interference less free expansion, worst case"
LAME_SOURCE = "thick-walled cylinders (Lame), machine design handbooks"


@dataclass(frozen=True, slots=True)
class PressClass:
    """A press fit in a hole: its class with deviations in nanometres, and the grip left in the worst case, hot.

    `holds`: whether any interference is left then. `lines`: every class that was tried, loosest first.
    """

    cls: str
    lower_nm: int
    upper_nm: int
    cold_least_nm: int
    cold_most_nm: int
    hot_least_nm: Fraction
    lines: tuple[Line, ...]

    @property
    def holds(self) -> bool:
        """Whether some interference is left at the running temperature in the worst case."""
        return self.hot_least_nm > 0


def choose_press_class(
    tables: Tables,
    size_nm: int,
    hole_upper_nm: int,
    hole_lower_nm: int,
    outer: Material,
    inner: Material,
    running_c: Fraction | int,
) -> PressClass:
    """The loosest class of PRESSED_IN that still grips at `running_c`, or the tightest one where none does.

    `hole_upper_nm`, `hole_lower_nm`: the hole's deviations from `size_nm`. A 105 mm sleeve in light alloy at 80 C
    loses about 62 um: p6 in H7 (2 to 59 um cold) is loose, t6 (69 to 126) keeps 7.
    """
    loss = heat_change_nm(size_nm, outer, inner, running_c)
    lines: list[Line] = []
    for cls, lower, upper in _classes(tables, size_nm):
        cold_least, cold_most = lower - hole_upper_nm, upper - hole_lower_nm
        hot = cold_least - loss
        numbers = f"{_um(lower)} {signed_um(-hole_upper_nm)} {signed_um(-loss)} um"
        words = f"{_um(hot)} um: {'grips' if hot > 0 else 'loose'}"
        symbol = f"least interference of {cls} at {show_number(Fraction(running_c))} C"
        lines.append(Line(symbol, "ei(sleeve) - ES(hole) - loss", numbers, words, PRESS_SOURCE))
        found = PressClass(cls, lower, upper, cold_least, cold_most, hot, tuple(lines))
        if found.holds:
            return found
    if not lines:
        raise InvalidInput([Problem("size", f"no press fit is tabled at {show_nm(size_nm)}")])
    return found


def _classes(tables: Tables, size_nm: int) -> Iterator[tuple[str, int, int]]:
    known = {row.cls for row in tables.deviations if row.over_nm < size_nm <= row.incl_nm}
    for cls in PRESSED_IN:
        if cls in known:
            row = get_deviation(tables, cls, size_nm)
            yield cls, row.lower_nm, row.upper_nm


def signed_um(nm: int | Fraction) -> str:
    """A term of a sum in micrometres with its sign: `- 35`, `+ 6.6`."""
    return f"{'-' if nm < 0 else '+'} {_um(abs(Fraction(nm)))}"


def _um(nm: int | Fraction) -> str:
    return show_number(Fraction(nm) / NM_PER_UM, 1)


@dataclass(frozen=True, slots=True)
class PressedRing:
    """What a press fit does: pressure (MPa), closing of the inner bore (nm), hoop stress in the outer ring (MPa)."""

    pressure_mpa: Fraction
    bore_closes_nm: Fraction
    hoop_mpa: Fraction
    line: Line


def press_ring(
    interference_nm: int, fit_nm: int, bore_nm: int, outside_nm: int, inner: Elasticity, outer: Elasticity
) -> PressedRing:
    """An inner ring (bore 0: solid) pressed into an outer one. Raises InvalidInput for sizes out of order.

    A bronze bush 28 x 17 with 0.030 mm of interference in a steel flange of 60 mm closes by about 0.022 mm.
    """
    if not 0 <= bore_nm < fit_nm < outside_nm:
        text = f"expected bore < fit < outside, found {show_nm(bore_nm)}, {show_nm(fit_nm)}, {show_nm(outside_nm)}"
        raise InvalidInput([Problem("outside", text)])
    b, d, o = (Fraction(nm) for nm in (bore_nm, fit_nm, outside_nm))
    outer_part = ((o**2 + d**2) / (o**2 - d**2) + outer.poisson) / outer.modulus_gpa
    inner_part = ((d**2 + b**2) / (d**2 - b**2) - inner.poisson) / inner.modulus_gpa
    pressure = interference_nm / (d * (outer_part + inner_part)) * 1000
    closes = 2 * pressure * d**2 * b / (inner.modulus_gpa * 1000 * (d**2 - b**2))
    hoop = pressure * (o**2 + d**2) / (o**2 - d**2)
    sizes = f"bore {bare_mm(bore_nm)}, fit {bare_mm(fit_nm)}, outside {bare_mm(outside_nm)} mm"
    stuff = ", ".join(
        f"E_{side} {show_number(made.modulus_gpa)} GPa, nu_{side} {show_number(made.poisson)}"
        for side, made in (("i", inner), ("o", outer))
    )
    line = Line(
        "bore closes by", "2 p d^2 b / (E_i (d^2 - b^2)), p = i / (d [((D^2+d^2)/(D^2-d^2)+nu_o)/E_o + "
        "((d^2+b^2)/(d^2-b^2)-nu_i)/E_i])", f"i {show_nm(interference_nm)}, {sizes}, {stuff}",
        f"{show_nm(round(closes))}, p {show_number(pressure, 1)} MPa", LAME_SOURCE,
    )  # fmt: skip
    return PressedRing(pressure, closes, hoop, line)

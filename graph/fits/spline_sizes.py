"""Spline sizes from the standards' formulas: ANSI B92.1, ISO 4156, DIN 5480, and SAE straight-sided.

Diameters are exact fractions in the unit of the pitch (inches for ANSI, millimetres for ISO and DIN); only the
base diameter, which holds a cosine, is a float. Sources: facts/standards/spline_formulas.csv (with how far each
is to be trusted) and sae_straight_splines.csv (from memory as a whole).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import cos, pi, radians, tan

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.model import NM_PER_INCH, CheckResult, Line, Verdict, Working, show_nm, show_number
from graph.fits.tables_drive import StraightSpline

# dedendum of the basic rack in modules, by how the teeth are made (DIN 5480-1)
DIN_ROOTS = {
    "broached": Fraction("0.55"),
    "hobbed": Fraction("0.60"),
    "shaped": Fraction("0.65"),
    "rolled": Fraction("0.84"),
}
ANSI_ROOTS = {"flat": Fraction("1.35"), "fillet": Fraction("1.8")}
ISO_ROOTS = {"flat": Fraction("1.5"), "fillet": Fraction("1.8")}
ANSI_COARSE = Fraction(12)  # the external minor diameter is only settled up to 12/24


@dataclass(frozen=True, slots=True)
class SplineSizes:
    """Nominal diameters of a spline pair, all in `unit`. None where the sources do not settle a value."""

    standard: str
    teeth: int
    unit: str
    pitch: Fraction
    base: float
    major_shaft: Fraction
    minor_shaft: Fraction | None
    major_hub: Fraction
    minor_hub: Fraction
    space_width: float
    source: str


def ansi_sizes(teeth: int, pitch: Fraction | int, root: str = "flat") -> SplineSizes:
    """ANSI B92.1, 30 degrees, side fit: 24 teeth, pitch 16/32 has a pitch diameter of 1.5 in.

    `pitch`: diametral pitch P (16 for 16/32); `root`: flat or fillet. Raises InvalidInput.
    """
    p = _positive("pitch", pitch)
    add = _root(ANSI_ROOTS, root)
    _teeth(teeth)
    return SplineSizes(
        standard="ANSI B92.1", teeth=teeth, unit="in", pitch=teeth / p, base=float(teeth / p) * cos(radians(30)),
        major_shaft=(teeth + 1) / p, minor_shaft=(teeth - add) / p if p <= ANSI_COARSE else None,
        major_hub=(teeth + add) / p, minor_hub=(teeth - 1) / p, space_width=pi / 2 / float(p),
        source="ANSI B92.1-1970 (R1993) basic dimension equations",
    )  # fmt: skip


def iso_sizes(teeth: int, module: Fraction | int | str, root: str = "flat", es_mm: Fraction | str = "0") -> SplineSizes:
    """ISO 4156, 30 degrees: nominal sizes with the shaft's fundamental deviation `es_mm` (zero or negative).

    25 teeth, module 1, flat root: shaft 26.0 / 23.5 mm, hub root at least 26.5 mm.
    """
    m, add = _positive("module", Fraction(module)), _root(ISO_ROOTS, root)
    _teeth(teeth)
    es = Fraction(es_mm)
    if es > 0:
        raise InvalidInput([Problem("es_mm", "the fundamental deviation of a shaft is zero or negative")])
    shift = Fraction(round(float(es) / tan(radians(30)), 9)).limit_denominator(10**9)
    form_shaft = _iso_form_shaft(teeth, m, es)
    return SplineSizes(
        standard="ISO 4156", teeth=teeth, unit="mm", pitch=m * teeth, base=float(m * teeth) * cos(radians(30)),
        major_shaft=m * (teeth + 1) + shift, minor_shaft=m * (teeth - add) + shift, major_hub=m * (teeth + add),
        minor_hub=form_shaft + m / 5, space_width=pi / 2 * float(m), source="ISO 4156-1:2005 relations",
    )  # fmt: skip


def _iso_form_shaft(teeth: int, m: Fraction, es: Fraction) -> Fraction:
    """Form diameter: 2 sqrt((DB/2)^2 + (D sin a / 2 - (0.6 m - es / (2 tan a)) / sin a)^2); the 0.6 from memory."""
    angle = radians(30)
    pitch, base = float(m * teeth), float(m * teeth) * cos(angle)
    along = 0.5 * pitch * 0.5 - (0.6 * float(m) - 0.5 * float(es) / tan(angle)) / 0.5
    value = 2.0 * float((base * base / 4 + along * along) ** 0.5)
    return Fraction(round(value, 6)).limit_denominator(10**6)


def din_sizes(
    reference_mm: Fraction | int, module: Fraction | int | str, teeth: int, made: str = "hobbed"
) -> SplineSizes:
    """DIN 5480, 30 degrees, by reference diameter, module, teeth and how the shaft was made; the hub is broached.

    W 30 x 2 x 30 x 14: tip 29.6, hub 26.0 inside. Raises InvalidInput, also where the three do not go together.
    """
    db, m = _positive("reference_mm", Fraction(reference_mm)), _positive("module", Fraction(module))
    _teeth(teeth)
    shift = (db - m * teeth - Fraction("1.1") * m) / 2
    if abs(shift) > Fraction("1.1") * m:
        text = f"{teeth} teeth of module {float(m)} do not make a reference diameter of {float(db)} mm"
        raise InvalidInput([Problem("teeth", text)])
    rack = _root(DIN_ROOTS, made)
    pitch = m * teeth
    return SplineSizes(
        standard="DIN 5480", teeth=teeth, unit="mm", pitch=pitch, base=float(pitch) * cos(radians(30)),
        major_shaft=db - m / 5, minor_shaft=pitch + 2 * shift - 2 * rack * m,
        major_hub=pitch + 2 * shift + 2 * DIN_ROOTS["broached"] * m, minor_hub=db - 2 * m,
        space_width=pi / 2 * float(m) + 2 * float(shift) * tan(radians(30)), source="DIN 5480-1:2006-03 relations",
    )  # fmt: skip


def straight_sizes(
    rows: Sequence[StraightSpline], teeth: int, fit: str, major: Fraction | int
) -> tuple[Fraction, Fraction]:
    """(minor diameter, key width) of an SAE straight-sided spline of that major diameter, in its unit.

    10 teeth, permanent fit, 1 in: 0.910 and 0.156 in. Raises NotFound naming the tabled fits.
    """
    size = _positive("major", major)
    for row in rows:
        if (row.teeth, row.fit) == (teeth, fit):
            return row.minor * size, row.width * size
    raise NotFound("straight-sided spline", f"{teeth} teeth, {fit}", [f"{row.teeth} teeth, {row.fit}" for row in rows])


def show_sizes(sizes: SplineSizes) -> CheckResult:
    """The nominal sizes as a result with one line each; it judges nothing."""
    named = (
        ("pitch diameter", sizes.pitch), ("base diameter", Fraction(round(sizes.base * 10**6), 10**6)),
        ("shaft major", sizes.major_shaft), ("shaft minor", sizes.minor_shaft), ("hub major", sizes.major_hub),
        ("hub minor", sizes.minor_hub), ("space width", Fraction(round(sizes.space_width * 10**6), 10**6)),
    )  # fmt: skip
    lines = [
        Line(
            name, "", "", f"{show_number(value, 4)} {sizes.unit}" if value is not None else "not settled", sizes.source
        )
        for name, value in named
    ]
    shaft = f"shaft {show_number(sizes.major_shaft, 4)} over the teeth"
    words = f"{sizes.standard}, {sizes.teeth} teeth: pitch {show_number(sizes.pitch, 4)}, {shaft}, all in {sizes.unit}"
    return _listed(words, lines)


def show_straight(rows: Sequence[StraightSpline], teeth: int, fit: str, major_nm: int) -> CheckResult:
    """Minor diameter and key width of an SAE straight-sided spline as a result. Raises NotFound."""
    minor, width = straight_sizes(rows, teeth, fit, major_nm)
    part = {name: show_number(Fraction(value) / major_nm, 4) for name, value in (("minor", minor), ("key", width))}
    source = "SAE straight-sided splines, proportions of the major diameter (from memory)"
    inches = show_number(Fraction(major_nm, NM_PER_INCH), 4)
    lines = [
        Line("minor diameter", "part of D", f"{part['minor']} x {inches}", _inches(minor), source),
        Line("key width", "part of D", f"{part['key']} x {inches}", _inches(width), source),
    ]
    return _listed(f"{teeth} keys, {fit}: minor {_inches(minor)}, key {_inches(width)} ({show_nm(width)}) wide", lines)


def _inches(nm: Fraction) -> str:
    return f"{show_number(nm / NM_PER_INCH, 4)} in"


def _listed(words: str, lines: Sequence[Line]) -> CheckResult:
    caution = "Nominal sizes: teeth alone never tell a spline; try the hub on the shaft."
    return CheckResult(
        joint="spline sizes", verdict=Verdict.HOLDS, summary=words, working=Working(tuple(lines)), cautions=(caution,),
        evidence_rank=5,
    )  # fmt: skip


def _positive(name: str, value: Fraction | int) -> Fraction:
    if value <= 0:
        raise InvalidInput([Problem(name, f"must be above zero, found {value}")])
    return Fraction(value)


def _teeth(teeth: int) -> None:
    if isinstance(teeth, bool) or not isinstance(teeth, int) or not 4 <= teeth <= 200:
        raise InvalidInput([Problem("teeth", f"expected a whole number from 4 to 200, found {teeth!r}")])


def _root(table: dict[str, Fraction], name: str) -> Fraction:
    if name not in table:
        raise InvalidInput([Problem("root", f"expected one of {', '.join(table)}, found {name!r}")])
    return table[name]

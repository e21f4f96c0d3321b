"""Lengths as people write them, turned into exact nanometres and into dimensions.

Millimetres, inches with decimals or fractions (`1-1/16 in`, `15/32"`), thou and micrometres; one unit per
reading, and never a number without one. 1 in = 25.4 mm exactly (ISO 80000-3); 1 thou = 0.001 in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.exact import NotExact, fraction_of
from graph.fits.model import (
    NM_PER_INCH,
    NM_PER_MM,
    NM_PER_THOU,
    NM_PER_UM,
    WORST_EVIDENCE,
    Dimension,
    show_nm,
)  # fmt: skip

UNITS_NM = {
    "mm": NM_PER_MM, "millimetre": NM_PER_MM, "millimetres": NM_PER_MM, "cm": 10 * NM_PER_MM,
    "in": NM_PER_INCH, "inch": NM_PER_INCH, "inches": NM_PER_INCH, '"': NM_PER_INCH,
    "thou": NM_PER_THOU, "um": NM_PER_UM, "µm": NM_PER_UM, "μm": NM_PER_UM,
}  # fmt: skip
_READING = re.compile(r"\s*([+-]?)\s*([0-9][0-9 ./-]*|\.[0-9]+)\s*([a-zµμ\"]*)\s*", re.IGNORECASE)
_MIXED = re.compile(r"(?:(\d+)[ -]\s*)?(\d+)/(\d+)")


def read_nm(text: str, path: str = "length") -> int:
    """A written length as whole nanometres. Raises InvalidInput for a missing or unknown unit or half a nanometre.

    >>> read_nm("1-1/16 in"), read_nm("12.5 mm"), read_nm("5 thou")
    (26987500, 12500000, 127000)
    """
    match = _READING.fullmatch(text)
    if not match:
        wanted = "expected one number and one unit such as 12.5 mm or 1-1/16 in"
        raise InvalidInput([Problem(path, f"{wanted}, found {text!r}")])
    sign, digits, unit = match[1], match[2].strip(), match[3].lower()
    if unit not in UNITS_NM:
        found = f"the unit {unit!r}" if unit else "no unit"
        raise InvalidInput([Problem(path, f"expected mm, in, thou or um after the number, found {found} in {text!r}")])
    exact = _number(digits, text, path) * UNITS_NM[unit] * (-1 if sign == "-" else 1)
    if exact.denominator != 1:
        raise InvalidInput([Problem(path, f"{text!r} is finer than a nanometre; round the reading")])
    return int(exact)


def _number(digits: str, text: str, path: str) -> Fraction:
    if "/" in digits:
        match = _MIXED.fullmatch(digits)
        if not match or int(match[3]) == 0:
            raise InvalidInput([Problem(path, f"expected a fraction such as 15/32 or 1-1/16, found {text!r}")])
        return Fraction(int(match[1] or 0)) + Fraction(int(match[2]), int(match[3]))
    try:
        return fraction_of(digits)
    except NotExact:
        raise InvalidInput([Problem(path, f"expected a number, found {text!r}")]) from None


def measured(
    name: str,
    reading: str,
    uncertainty: str,
    *,
    datum: str = "",
    source: str = "measured",
    evidence_rank: int = 1,
    part: str = "",
) -> Dimension:
    """A dimension from a reading and the uncertainty of the tool, both as written ("25.3 mm", "0.05 mm").

    The limits are reading +/- uncertainty; the reading is kept as written. Raises InvalidInput, also for an
    uncertainty of zero: no reading is exact.
    """
    nominal, spread = read_nm(reading, name), read_nm(uncertainty, f"{name}.uncertainty")
    if spread <= 0:
        fault = f"no reading is exact; state the tool's uncertainty, found {uncertainty!r}"
        raise InvalidInput([Problem(f"{name}.uncertainty", fault)])
    return Dimension(
        name=name, nominal_nm=nominal, low_nm=nominal - spread, high_nm=nominal + spread, as_read=reading,
        uncertainty_nm=spread, datum=datum, source=source, evidence_rank=evidence_rank, part=part,
    )  # fmt: skip


def toleranced(
    name: str,
    nominal: str,
    upper: str,
    lower: str,
    *,
    datum: str = "",
    source: str = "drawing",
    evidence_rank: int = WORST_EVIDENCE,
    part: str = "",
) -> Dimension:
    """A dimension from a drawing: nominal size with upper and lower deviation, all as written with units.

    `toleranced("bore", "100 mm", "35 um", "0 um")` lies between 100.000 and 100.035 mm.
    """
    size = read_nm(nominal, name)
    high, low = size + read_nm(upper, f"{name}.upper"), size + read_nm(lower, f"{name}.lower")
    return Dimension(
        name=name, nominal_nm=size, low_nm=low, high_nm=high, datum=datum, source=source,
        evidence_rank=evidence_rank, part=part,
    )  # fmt: skip


def basic(name: str, size: str, *, source: str = "by definition", datum: str = "") -> Dimension:
    """An exact size, such as a standard's basic size or a wanted figure."""
    nm = read_nm(size, name)
    return Dimension(name=name, nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True, source=source, datum=datum)


def require_positive(dimensions: Iterable[Dimension | None]) -> None:
    """Raises InvalidInput naming every dimension whose low limit is not above zero."""
    faults = [
        Problem(d.name, f"must be above zero, found {show_nm(d.low_nm)} at the low limit")
        for d in dimensions if d is not None and d.low_nm <= 0
    ]  # fmt: skip
    if faults:
        raise InvalidInput(faults)


def require_one_datum(dimensions: Iterable[Dimension | None]) -> str:
    """The datum that all given dimensions share. Raises InvalidInput where one has none or they differ."""
    present = [d for d in dimensions if d is not None and not d.basic]
    require_datum(present)
    data = sorted({d.datum for d in present})
    if len(data) > 1:
        raise InvalidInput([Problem("datum", f"taken from different faces ({', '.join(data)}); refer them to one")])
    return data[0] if data else ""


def require_datum(dimensions: Iterable[Dimension | None]) -> None:
    """Raises InvalidInput naming every dimension that does not say from which face it was taken."""
    faults = [
        Problem(f"{d.name}.datum", "no datum; say from which face it was taken")
        for d in dimensions if d is not None and not d.basic and not d.datum
    ]  # fmt: skip
    if faults:
        raise InvalidInput(faults)

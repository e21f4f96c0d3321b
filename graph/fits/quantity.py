"""Quantities as a mechanic reads them: "2.5 mm", "1-1/16 in", "14 thou", kept as read and converted exactly.

A quantity keeps its value and unit as read and its exact amount in the base unit of its dimension
(length: nanometre, so that 1/64 in, 0.01 mm and 1 thou are all whole numbers). Conversion uses pint's
definitions with fractions, so nothing is lost on the way there and back. A bare number is an error.
All dimensions are read here; `graph.fits.lengths.read_nm` is the short way for lengths alone.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from graph.errors import InvalidInput, Problem

BASE_UNITS = {
    "length": "nanometer",
    "angle": "degree",
    "temperature": "kelvin",
    "torque": "newton * meter",
    "force": "newton",
    "mass": "gram",
    "time": "second",
    "speed of rotation": "revolution / minute",
    "count": "dimensionless",
}

# spelling as read -> (dimension, pint's name)
UNITS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), ("length", "millimeter")),
    **dict.fromkeys(("cm",), ("length", "centimeter")),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), ("length", "meter")),
    **dict.fromkeys(("um", "µm", "micron", "microns", "micrometre", "micrometres"), ("length", "micrometer")),
    **dict.fromkeys(("nm", "nanometre", "nanometres"), ("length", "nanometer")),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "″"), ("length", "inch")),
    **dict.fromkeys(("thou", "thous", "mil", "mils"), ("length", "thou")),
    **dict.fromkeys(("ft", "foot", "feet"), ("length", "foot")),
    **dict.fromkeys(("deg", "°", "degree", "degrees"), ("angle", "degree")),
    **dict.fromkeys(("°C", "degC", "C"), ("temperature", "degC")),
    **dict.fromkeys(("°F", "degF", "F"), ("temperature", "degF")),
    **dict.fromkeys(("K",), ("temperature", "kelvin")),
    **dict.fromkeys(("Nm", "N m", "N·m", "N*m"), ("torque", "newton * meter")),
    **dict.fromkeys(("lb ft", "lb-ft", "lbf ft", "ft lb", "ft-lb"), ("torque", "force_pound * foot")),
    **dict.fromkeys(("N",), ("force", "newton")),
    **dict.fromkeys(("kN",), ("force", "kilonewton")),
    **dict.fromkeys(("lbf",), ("force", "force_pound")),
    **dict.fromkeys(("g",), ("mass", "gram")),
    **dict.fromkeys(("kg",), ("mass", "kilogram")),
    **dict.fromkeys(("s",), ("time", "second")),
    **dict.fromkeys(("min", "minute", "minutes"), ("time", "minute")),
    **dict.fromkeys(("h", "hour", "hours"), ("time", "hour")),
    **dict.fromkeys(("rpm", "rev/min", "1/min"), ("speed of rotation", "revolution / minute")),
    **dict.fromkeys(("teeth", "tooth", "holes", "hole", "off", "pieces"), ("count", "dimensionless")),
}

_NUMBER = re.compile(
    r"""(?P<sign>[+\-−]?)\s*
        (?: (?P<whole>\d+)(?:\s*-\s*|\s+)(?P<num>\d+)\s*/\s*(?P<den>\d+)
          | (?P<num2>\d+)\s*/\s*(?P<den2>\d+)
          | (?P<decimal>\d+(?:\.\d*)?|\.\d+) )
        \s*(?P<unit>\S.*)?$""",
    re.VERBOSE,
)
_UNIT_HINT = "write the unit, such as 2.5 mm, 1-1/16 in or 14 thou"
LONGEST_TEXT = 80


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit as read, and `amount`, the same exactly in the dimension's base unit.

    Equality is that of the reading: 25.4 mm and 1 in are the same length (`amount`), not the same reading.
    """

    value: Fraction
    unit: str
    dimension: str
    amount: Fraction
    text: str

    @property
    def nm(self) -> int:
        """A length in whole nanometres. Raises InvalidInput for other dimensions or finer lengths."""
        if self.dimension != "length":
            raise _invalid("", f"{self.text!r} is a {self.dimension}, wanted a length")
        if self.amount.denominator != 1:
            raise _invalid("", f"{self.text!r} is not a whole number of nanometres: give at most six decimals of mm")
        return self.amount.numerator

    def in_unit(self, unit: str) -> Fraction:
        """The exact value in another unit of the same dimension.

        >>> float(quantity_of("7.480 in").in_unit("mm"))
        189.992
        """
        dimension, scale, offset = _unit(unit, "")
        if dimension != self.dimension:
            raise _invalid("", f"{self.text!r} is a {self.dimension}; {unit} measures {dimension}")
        return self.amount / scale - offset

    def __str__(self) -> str:
        return self.text


def quantity_of(text: str, dimension: str = "length", path: str = "") -> Quantity:
    """The quantity that the text states. `path` names the field in errors.

    Raises InvalidInput: no unit, unknown unit, wrong dimension, not a number.

    >>> quantity_of("1-1/16 in").nm, quantity_of("14 thou").nm
    (26987500, 355600)
    """
    value, unit = _split(text, path)
    found, scale, offset = _unit(unit, path)
    if found != dimension:
        raise _invalid(path, f"{text!r} is a {found}, wanted a {dimension}")
    amount = (value + offset) * scale
    if found == "temperature" and amount < 0:
        raise _invalid(path, f"{text!r} is below absolute zero")
    return Quantity(value, unit, found, amount, text.strip())


def _split(text: object, path: str) -> tuple[Fraction, str]:
    if not isinstance(text, str):
        raise _invalid(path, f"expected a quantity as text, found {text!r}: {_UNIT_HINT}")
    if len(text) > LONGEST_TEXT:
        raise _invalid(path, f"a quantity of {len(text)} characters is too long: {_UNIT_HINT}")
    if re.match(r"\s*[+\-−]?\d+,\d", text):
        raise _invalid(path, f"{text!r} has a comma: write 2.5 with a point, and 1000 without separators")
    match = _NUMBER.match(_spell_fractions(text.strip()))
    if match is None:
        raise _invalid(path, f"expected a number with a unit, found {text!r}: {_UNIT_HINT}")
    if match["unit"] is None:
        raise _invalid(path, f"{text!r} has no unit: {_UNIT_HINT}")
    numerator, denominator = match["num"] or match["num2"], match["den"] or match["den2"]
    if denominator is not None and int(denominator) == 0:
        raise _invalid(path, f"{text!r} divides by zero")
    if numerator is not None:
        value = int(match["whole"] or 0) + Fraction(int(numerator), int(denominator))
    else:
        value = Fraction(match["decimal"])
    return (-value if match["sign"] in ("-", "−") else value), match["unit"].strip()


def _spell_fractions(text: str) -> str:
    """`1½` as `1 1/2`, so that one grammar reads both."""
    spelled = ""
    for character in text:
        plain = unicodedata.normalize("NFKC", character) if unicodedata.category(character) == "No" else character
        spelled += f" {plain.replace(chr(0x2044), '/')} " if chr(0x2044) in plain else plain
    return spelled.strip()


# The units that facts use most, so that loading them does not load pint; a test compares these with pint's.
EXACT_SCALES: dict[tuple[str, str], tuple[Fraction, Fraction]] = {
    ("millimeter", "nanometer"): (Fraction(1_000_000), Fraction(0)),
    ("micrometer", "nanometer"): (Fraction(1_000), Fraction(0)),
    ("inch", "nanometer"): (Fraction(25_400_000), Fraction(0)),
    ("thou", "nanometer"): (Fraction(25_400), Fraction(0)),
    ("degree", "degree"): (Fraction(1), Fraction(0)),
    ("degC", "kelvin"): (Fraction(1), Fraction(27315, 100)),
}


@cache
def _registry() -> Any:
    import pint  # here, because pint takes a third of a second to load

    return pint.UnitRegistry(non_int_type=Fraction)


@cache
def _scale(name: str, base: str) -> tuple[Fraction, Fraction]:
    """(scale, offset) such that base = (value + offset) * scale."""
    if (name, base) in EXACT_SCALES:
        return EXACT_SCALES[name, base]
    return _pint_scale(name, base)


def _pint_scale(name: str, base: str) -> tuple[Fraction, Fraction]:
    registry = _registry()
    zero = Fraction(registry.Quantity(Fraction(0), name).to(base).magnitude)
    one = Fraction(registry.Quantity(Fraction(1), name).to(base).magnitude)
    scale = one - zero
    return scale, zero / scale


def _unit(unit: str, path: str) -> tuple[str, Fraction, Fraction]:
    known = UNITS.get(unit) or UNITS.get(unit.lower())
    if known is None:
        raise _invalid(path, f"unknown unit {unit!r}: lengths take mm, in or thou (also um, cm, m, ft)")
    dimension, name = known
    if dimension == "count":
        return dimension, Fraction(1), Fraction(0)
    return (dimension, *_scale(name, BASE_UNITS[dimension]))


def _invalid(path: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(path, message)])

"""Quantities as a mechanic reads them: "2.5 mm", "1-1/16 in", "14 thou", kept as read and converted exactly.

A quantity keeps its value and unit as read and its exact amount in the base unit of its dimension
(length: nanometre, so that 1/64 in, 0.01 mm and 1 thou are all whole numbers). Conversion uses pint's
definitions with fractions, so nothing is lost on the way there and back. A bare number is an error.
Numbers are read by `graph.fits.numbers`; `graph.fits.lengths.read_nm` is the short way for lengths alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.fits.numbers import Number, read_number

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
    "speed": "kilometer / hour",
    "power": "watt",
    "pressure": "pascal",
    "density": "kilogram / meter ** 3",
    "per distance": "1 / kilometer",
    "ratio": "dimensionless",
}

# spelling as read -> (dimension, pint's name)
UNITS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("mm", "mm.", "millimetre", "millimetres", "millimeter", "millimeters"), ("length", "millimeter")),
    **dict.fromkeys(("cm",), ("length", "centimeter")),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), ("length", "meter")),
    **dict.fromkeys(("um", "µm", "μm", "micron", "microns", "micrometre", "micrometres"), ("length", "micrometer")),
    **dict.fromkeys(("nm", "nanometre", "nanometres"), ("length", "nanometer")),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "″", "”"), ("length", "inch")),
    **dict.fromkeys(("thou", "thous", "mil", "mils"), ("length", "thou")),
    **dict.fromkeys(("ft", "foot", "feet"), ("length", "foot")),
    **dict.fromkeys(("deg", "°", "degree", "degrees"), ("angle", "degree")),
    **dict.fromkeys(("°C", "degC", "C"), ("temperature", "degC")),
    **dict.fromkeys(("°F", "degF", "F"), ("temperature", "degF")),
    **dict.fromkeys(("K",), ("temperature", "kelvin")),
    **dict.fromkeys(("Nm", "N m", "N·m", "N*m"), ("torque", "newton * meter")),
    **dict.fromkeys(("lb ft", "lb-ft", "lbf ft", "ft lb", "ft-lb"), ("torque", "force_pound * foot")),
    **dict.fromkeys(("lbf in", "lb in", "lb-in", "in lb", "in-lb"), ("torque", "force_pound * inch")),
    **dict.fromkeys(("N",), ("force", "newton")),
    **dict.fromkeys(("kN",), ("force", "kilonewton")),
    **dict.fromkeys(("lbf",), ("force", "force_pound")),
    **dict.fromkeys(("g",), ("mass", "gram")),
    **dict.fromkeys(("kg",), ("mass", "kilogram")),
    **dict.fromkeys(("s",), ("time", "second")),
    **dict.fromkeys(("min", "minute", "minutes"), ("time", "minute")),
    **dict.fromkeys(("h", "hour", "hours"), ("time", "hour")),
    **dict.fromkeys(("rpm", "rev/min", "1/min"), ("speed of rotation", "revolution / minute")),
    **dict.fromkeys(("km/h", "kph", "kmh"), ("speed", "kilometer / hour")),
    **dict.fromkeys(("mph", "mi/h"), ("speed", "mile / hour")),
    **dict.fromkeys(("m/s",), ("speed", "meter / second")),
    **dict.fromkeys(("kn", "knot", "knots"), ("speed", "knot")),
    **dict.fromkeys(("kW",), ("power", "kilowatt")),
    **dict.fromkeys(("W",), ("power", "watt")),
    **dict.fromkeys(("hp", "bhp"), ("power", "horsepower")),
    **dict.fromkeys(("PS",), ("power", "metric_horsepower")),
    **dict.fromkeys(("GPa",), ("pressure", "gigapascal")),
    **dict.fromkeys(("MPa", "N/mm2"), ("pressure", "megapascal")),
    **dict.fromkeys(("psi",), ("pressure", "psi")),
    **dict.fromkeys(("kg/m3", "kg/m³"), ("density", "kilogram / meter ** 3")),
    **dict.fromkeys(("g/cm3", "g/cm³"), ("density", "gram / centimeter ** 3")),
    **dict.fromkeys(("lb/in3", "lb/in³"), ("density", "pound / inch ** 3")),
    **dict.fromkeys(("/km", "1/km", "per km", "turns/km", "pulses/km"), ("per distance", "1 / kilometer")),
    **dict.fromkeys(("/mi", "1/mi", "per mile", "turns/mile", "pulses/mile"), ("per distance", "1 / mile")),
    **dict.fromkeys(("teeth", "tooth", "holes", "hole", "off", "pieces"), ("count", "dimensionless")),
    **dict.fromkeys((":1", ": 1", "to 1"), ("ratio", "dimensionless")),
}

EXAMPLES = {
    "length": "2.5 mm, 1-1/16 in or 14 thou",
    "angle": "2.5 deg",
    "temperature": "80 C",
    "torque": "180 Nm",
    "force": "5000 N",
    "mass": "12.5 kg",
    "time": "1.5 h",
    "speed of rotation": "3000 rpm",
    "count": "36 teeth",
    "speed": "120 km/h",
    "power": "90 kW",
    "pressure": "207 GPa",
    "density": "7810 kg/m3",
    "per distance": "640 /km",
    "ratio": "3.41 :1",
}
LARGEST = {  # beyond these a unit was mistaken; in base units
    "length": 100_000_000_000,  # 100 m
    "angle": 3_600,
    "temperature": 5_000,
    "torque": 10_000_000,
    "force": 1_000_000_000,
    "mass": 1_000_000_000,
    "time": 1_000_000_000,
    "speed of rotation": 1_000_000,
    "count": 1_000_000,
    "speed": 10_000,
    "power": 1_000_000_000,
    "pressure": 10_000_000_000_000,
    "density": 100_000,
    "per distance": 1_000_000,
    "ratio": 1_000,
}
LONGEST_TEXT = 80
# What nobody reads to three decimals at a bench, but often in thousands: "3,000 rpm" is asked back, "25,013 mm" is not.
OFTEN_IN_THOUSANDS = frozenset(("speed of rotation", "speed", "torque", "force", "mass", "power", "pressure", "count"))
_THOUSANDS = re.compile(r"\s*[+\-−]?\s*(?P<whole>[1-9]\d{0,2})[.,](?P<rest>\d{3})(?!\d)")
_ROUND_THOUSANDS = re.compile(r"\s*[1-9]\d{0,2},000(?!\d)")  # 1,000 mm is a metre to one and a millimetre to another


@dataclass(frozen=True, slots=True)
class ReadQuantity:
    """A value with its unit as read, and `amount`, the same exactly in the dimension's base unit.

    Equality is that of the reading: 25.4 mm and 1 in are the same length (`amount`), not the same reading.
    `rounding`: half of the last place as written, in the base unit (27.0 mm may be anything from 26.95 to 27.05).
    """

    value: Fraction
    unit: str
    dimension: str
    amount: Fraction
    text: str
    rounding: Fraction = Fraction(0)

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
        dimension, scale, offset = _unit(unit, self.dimension, "")
        if dimension != self.dimension:
            raise _invalid("", f"{self.text!r} is a {self.dimension}; {unit} measures {dimension}")
        return self.amount / scale - offset

    def __str__(self) -> str:
        return self.text


def dimension_of(unit: str) -> str:
    """What a unit measures. Raises InvalidInput for an unknown one.

    >>> dimension_of("Nm")
    'torque'
    """
    return _unit(unit, "length", "")[0]


def quantity_of(text: str, dimension: str = "length", path: str = "") -> ReadQuantity:
    """The quantity that the text states. `path` names the field in errors.

    Raises InvalidInput: no unit, unknown unit, wrong dimension, not a number, a count that is not whole.

    >>> quantity_of("1-1/16 in").nm, quantity_of("14 thou").nm
    (26987500, 355600)
    """
    number, unit = _split(text, dimension, path)
    found, scale, offset = _unit(unit, dimension, path)
    example = EXAMPLES[dimension]
    if found != dimension:
        raise _invalid(path, f"{text!r} is a {found}, wanted a {dimension} such as {example}")
    amount = (number.value + offset) * scale
    if found == "count" and amount.denominator != 1:
        raise _invalid(path, f"{text!r} is counted, so it is a whole number; write it such as {example}")
    if found == "temperature" and amount < 0:
        raise _invalid(path, f"{text!r} is below absolute zero; write it such as {example}")
    if abs(amount) > LARGEST[found]:
        raise _invalid(path, f"{text!r} is out of reason for a {found}: check the unit, such as {example}")
    return ReadQuantity(number.value, unit, found, amount, text.strip(), number.rounding * scale)


def _split(text: object, dimension: str, path: str) -> tuple[Number, str]:
    example = EXAMPLES[dimension]
    if not isinstance(text, str):
        raise _invalid(path, f"expected a quantity as text such as {example}, found {text!r}")
    if len(text) > LONGEST_TEXT:
        raise _invalid(path, f"a quantity of {len(text)} characters is too long: write it such as {example}")
    number = read_number(text, path, example)
    round_thousand = dimension == "length" and _ROUND_THOUSANDS.match(text)
    if (round_thousand or dimension in OFTEN_IN_THOUSANDS) and (mark := _THOUSANDS.match(text)):
        whole, rest = mark["whole"], mark["rest"]
        told = f"in {text!r} the mark may be a thousands mark or a decimal one"
        raise _invalid(path, f"{told}: write {whole}{rest}, or {whole}.{rest.rstrip('0') or '0'} if that is meant")
    if not number.rest:
        raise _invalid(path, f"{text!r} has no unit: write it such as {_with_same(text, dimension)}")
    return number, number.rest


def _with_same(text: str, dimension: str) -> str:
    """The same number with the units it may have meant: `25 mm, 25 in`."""
    units = {"length": ("mm", "in", "thou")}.get(dimension, (EXAMPLES[dimension].rpartition(" ")[2],))
    return ", ".join(f"{text.strip()} {unit}" for unit in units)


# The units that facts use most, so that loading them does not load pint; a test compares these with pint's.
EXACT_SCALES: dict[tuple[str, str], tuple[Fraction, Fraction]] = {
    ("millimeter", "nanometer"): (Fraction(1_000_000), Fraction(0)),
    ("micrometer", "nanometer"): (Fraction(1_000), Fraction(0)),
    ("inch", "nanometer"): (Fraction(25_400_000), Fraction(0)),
    ("thou", "nanometer"): (Fraction(25_400), Fraction(0)),
    ("degree", "degree"): (Fraction(1), Fraction(0)),
    ("dimensionless", "dimensionless"): (Fraction(1), Fraction(0)),  # a ratio
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


def _unit(unit: str, dimension: str, path: str) -> tuple[str, Fraction, Fraction]:
    known = UNITS.get(unit) or UNITS.get(unit.lower())
    if known is None:
        firsts = {pint: name for name, (found, pint) in reversed(UNITS.items()) if found == dimension}
        units = sorted(firsts.values(), key=list(UNITS).index)
        words = f"unknown unit {unit[:20]!r}: a {dimension} takes {', '.join(units)}"
        raise _invalid(path, f"{words}; write it such as {EXAMPLES.get(dimension, '2.5 mm')}")
    dimension, name = known
    if dimension == "count":
        return dimension, Fraction(1), Fraction(0)
    return (dimension, *_scale(name, BASE_UNITS[dimension]))


def _invalid(path: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(path, message)])

"""Lengths on paper: millimetres, inches to a thousandth, or both. Micrometres in."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from graph.answer.words import millimetres
from graph.errors import InvalidInput, Problem

METRIC, INCH, BOTH = "metric", "inch", "both"
UNITS = (METRIC, INCH, BOTH)
UM_PER_INCH = 25_400  # exact by definition (1 in = 25.4 mm)


def check_units(units: str) -> str:
    """The units if they are known. Raises InvalidInput."""
    if units not in UNITS:
        raise InvalidInput([Problem("units", f"expected one of {', '.join(UNITS)}, found {units!r}")])
    return units


def length(um: int | None, units: str = BOTH) -> str:
    """The length in words; empty for none.

    >>> length(12700), length(127, "inch"), length(4000, "metric")
    ('12.7 mm (0.500 in)', '0.005 in', '4.0 mm')
    """
    if um is None:
        return ""
    if units == METRIC:
        return millimetres(um)
    return inches(um) if units == INCH else f"{millimetres(um)} ({inches(um)})"


def inches(um: int) -> str:
    """Micrometres as inches to a thousandth: one unit for all, so that numbers beside each other can be compared."""
    exact = Decimal(um) / UM_PER_INCH
    return f"{exact.quantize(Decimal('0.001'), rounding=ROUND_HALF_UP)} in"

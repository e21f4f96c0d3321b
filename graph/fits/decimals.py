"""Numbers of forms: money, hours and days as people type them, with comma or point, or as a fraction; read exactly."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.numbers import read_number

MOST = 10**9


def decimal_of(typed: str, field: str, example: str = "3.5", *, places: int = 2) -> str:
    """The number of 0 or more that was typed, as a plain decimal; empty where nothing was.

    Raises InvalidInput, at the field, for what is no such number, and for more than `places` decimals: whether 1,500
    is one and a half or one thousand five hundred nobody but the writer can say.

    >>> decimal_of("17,50", "cash"), decimal_of("1 1/2", "hours"), decimal_of("", "cash")
    ('17.5', '1.5', '')
    """
    if not typed.strip():
        return ""
    number = read_number(typed, field, example)
    value = number.value
    if number.rest:
        raise _fault(field, f"expected a number alone, found {typed[:40]!r}", example)
    if not 0 <= value < MOST:
        raise _fault(field, f"expected a number from 0 to below {MOST:,}, found {typed[:40]!r}", example)
    if (value * 10**places).denominator != 1 or ("/" not in typed and number.rounding < Fraction(1, 2 * 10**places)):
        told = f"expected at most {places} decimals and no thousands marks, found {typed[:40]!r}"
        raise _fault(field, told, example)
    whole = value * 10**places
    return f"{(Decimal(whole.numerator) / 10**places).normalize():f}"


def _fault(field: str, message: str, example: str) -> InvalidInput:
    return InvalidInput([Problem(field, f"{message}; write it such as {example}")])

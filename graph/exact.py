"""Exact numbers: whole hundredths for money and hours, whole micrometres for lengths, fractions for odds.

No answer may hang on float noise, so numbers are read as decimals and kept as integers.
A float is read as the shortest decimal that stands for it (65.01 is 65.01, not 65.01000000000000511).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

HUNDREDTHS = 100
MICROMETRES = 1000
LARGEST = Decimal(10) ** 9  # above any invoice, hour count or length; keeps sums inside 64 bits
MOST_PLACES = 40  # after the point: a fraction of a number with millions of them would fill the memory


class NotExact(ValueError):
    """The text is not a number of the wanted form; the message says what was wanted."""


def decimal_of(value: object) -> Decimal:
    """The value as a finite decimal. Raises NotExact for text, booleans, NaN, infinities, numbers out of bounds."""
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal, str)):
        raise NotExact(f"expected a number, found {value!r}")
    try:
        number = Decimal(str(value)) if not isinstance(value, Decimal) else value
    except (ArithmeticError, ValueError):
        raise NotExact(f"expected a number, found {_short(value)}") from None
    places = number.as_tuple().exponent
    if not isinstance(places, int):
        raise NotExact(f"expected a finite number, found {value}")
    if number.copy_abs() > LARGEST or places > MOST_PLACES:
        raise NotExact(f"expected at most {LARGEST:,} either way, found {_short(value)}")
    if -places > MOST_PLACES:
        raise NotExact(f"expected at most {MOST_PLACES} digits after the point, found {_short(value)}")
    return number


def _short(value: object) -> str:
    told = str(value)
    return told if len(told) <= 60 else f"{told[:40]}... ({len(told):,} characters)"


def scaled(value: object, scale: int) -> int:
    """The value times `scale` as a whole number. Raises NotExact where digits would be lost.

    >>> scaled("65.01", HUNDREDTHS), scaled(12.7, MICROMETRES)
    (6501, 12700)
    """
    number = decimal_of(value)
    whole = number * scale
    if whole != whole.to_integral_value():
        raise NotExact(f"expected a multiple of {Decimal(1) / scale}, found {value}")
    return int(whole)


def fraction_of(value: object) -> Fraction:
    """The value as an exact fraction. Raises NotExact like `decimal_of`.

    >>> fraction_of(0.35)
    Fraction(7, 20)
    """
    return Fraction(decimal_of(value))


def plain(value: int | Fraction, scale: int = 1) -> int | float:
    """`value / scale` as the JSON number nearest to it; whole numbers stay whole.

    >>> plain(6501, 100), plain(500, 100)
    (65.01, 5)
    """
    number = Fraction(value, scale)
    return number.numerator if number.denominator == 1 else float(number)

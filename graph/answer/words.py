"""Numbers in a mechanic's words: money with its currency, hours, days, millimetres, odds.

Everything takes the exact units of the core and rounds only for the eye.

>>> money(Fraction(58100, 100), "EUR"), hours(560), millimetres(-4000), percent(Fraction(7, 20))
('581.00 EUR', '5.6 h', '-4.0 mm', '35 %')
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from graph.common_cause import CommonCause

SOUNDS_LIKE_YOU = ("uni", "use", "usa", "eu")
STAGE_OF_TASK = {"strip": "strip", "send-out": "send out", "bench": "bench", "refit": "refit"}


def _rounded(value: Fraction, places: int) -> Decimal:
    scale = 10**places
    whole = Decimal(value.numerator * scale) / Decimal(value.denominator)
    return Decimal(whole.quantize(Decimal(1), rounding=ROUND_HALF_UP)) / Decimal(scale)


def money(value: Fraction, currency: str = "") -> str:
    """An amount in currency units, to the hundredth, followed by its currency if it has one."""
    return f"{_rounded(value, 2):.2f} {currency}".rstrip()


def cash(hundredths: int, currency: str = "") -> str:
    """Whole hundredths as an amount."""
    return money(Fraction(hundredths, 100), currency)


def priced(value: Fraction, hours_hundredths: int, currency: str, rate_stated: bool) -> str:
    """A sum of money and hours; where nobody has stated a rate the hours stand beside the money, never as nothing.

    >>> priced(Fraction(270), 450, "EUR", True), priced(Fraction(0), 450, "EUR", False)
    ('270.00 EUR', '4.5 h; no rate stated')
    >>> priced(Fraction(135), 450, "EUR", False)
    '135.00 EUR and 4.5 h; no rate stated'
    """
    if rate_stated or not hours_hundredths:
        return money(value, currency)
    worked = f"{hours(hours_hundredths)}; no rate stated"
    return f"{money(value, currency)} and {worked}" if value else worked


def minutes(value: Fraction) -> str:
    """Minutes, to the whole one.

    >>> minutes(Fraction(61, 2))
    '31 min'
    """
    return f"{_rounded(value, 0):.0f} min"


def hours(hundredths: int) -> str:
    """Whole hundredths of a bench hour: one decimal where that is exact, else two."""
    return f"{Decimal(hundredths) / 100:.{1 if hundredths % 10 == 0 else 2}f} h"


def days(value: Fraction) -> str:
    """Days to one decimal; whole days without.

    >>> days(Fraction(1)), days(Fraction(57, 10))
    ('1 day', '5.7 days')
    """
    shown = f"{_rounded(value, 1):.1f}".removesuffix(".0")
    return f"{shown} day" if shown == "1" else f"{shown} days"


def millimetres(um: int, *, signed: bool = False) -> str:
    """Micrometres as millimetres with one to three decimals, as many as it takes to be exact.

    >>> millimetres(5000, signed=True)
    '+5.0 mm'
    """
    places = 1 if um % 100 == 0 else 2 if um % 10 == 0 else 3
    return f"{Decimal(um) / 1000:{'+' if signed else ''}.{places}f} mm"


def percent(odds: Fraction) -> str:
    """Odds as a percentage, one decimal where needed."""
    return f"{_rounded(odds * 100, 1):.1f}".removesuffix(".0") + " %"


def likelihood(odds: float) -> str:
    """Odds that are not exact, to a whole per cent: never 0 or 100 of what is only nearly so.

    >>> likelihood(0.7), likelihood(0.999), likelihood(0.0001), likelihood(1.0)
    ('70 %', 'more than 99 %', 'less than 1 %', '100 %')
    """
    if 0.995 <= odds < 1:
        return "more than 99 %"
    return "less than 1 %" if 0 < odds < 0.005 else f"{odds:.0%}".replace("%", " %")


def listed(items: Sequence[str], joined_by: str = "and") -> str:
    """`a, b and c`.

    >>> listed(["a", "b", "c"]), listed(["a", "b"], "or"), listed([])
    ('a, b and c', 'a or b', '')
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joined_by} {items[-1]}"


def one(thing: str) -> str:
    """The thing with its article, as it sounds.

    >>> one("adapter plate"), one("bush"), one("universal joint")
    ('an adapter plate', 'a bush', 'a universal joint')
    """
    vowel = thing[:1].lower() in "aeiou" and not thing.lower().startswith(SOUNDS_LIKE_YOU)
    return f"{'an' if vowel else 'a'} {thing}"


def counted(count: int, thing: str) -> str:
    """So many of the thing, with its plural.

    >>> counted(1, "thing"), counted(3, "more part")
    ('1 thing', '3 more parts')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def sentence(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]


def together_words(cause: CommonCause, faults: Sequence[str]) -> str:
    """That these faults, by name, come together more often than by chance, and that the sums count it."""
    named = f"{', '.join(faults[:-1])} and {faults[-1]}"
    return sentence(f"{named} come together more often than by chance ({cause.label}); the sums count that.")

"""Numbers as people write them: decimals with point or comma, fractions in every usual spelling. Read exactly.

`25.4`, `25,4`, `.5`, `3/4`, `1-1/2`, `1 1/2`, `1½`, `1⁄2`, with a sign before. One grammar for every door: what-ifs,
the bench, notes, imports. A mixed number's fraction is a proper one: `1-17/16` is a slip of the pen and refused.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem

FRACTION_SLASHES = ("⁄", "∕")  # fraction slash, division slash
FINEST_RULE = Fraction(1, 128)  # half of a 64th: how surely a fraction off a rule is read, common practice
_NUMBER = re.compile(
    r"""(?P<sign>[+\-−]?)\s*
        (?: (?P<whole>\d+)(?:\s*-\s*|\s+)(?P<num>\d+)\s*/\s*(?P<den>\d+)
          | (?P<num2>\d+)\s*/\s*(?P<den2>\d+)
          | (?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+) )
        (?P<rest>.*)$""",
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Number:
    """An exact value, half of its last place as written (how far it may be rounded), and the text behind it."""

    value: Fraction
    rounding: Fraction
    rest: str


def read_number(text: str, path: str, example: str) -> Number:
    """The number that a text begins with. `example`: what to write instead, for errors.

    Raises InvalidInput: no number, two decimal marks, an improper fraction in a mixed number, a zero below the line.

    >>> read_number("1-1/2 in", "bore", "1-1/16 in").value
    Fraction(3, 2)
    """
    plain = _spell(text.strip())
    match = _NUMBER.match(plain)
    if match is None:
        raise _fault(path, f"expected a number, found {text!r}", example)
    rest = match["rest"]
    if (rest[:1] in ".,/" and rest[:1]) or re.match(r"[eE][+\-]?\d|\d", rest):
        raise _fault(path, f"{text!r} is not one number: one decimal mark, no thousands, no powers of ten", example)
    numerator, denominator = match["num"] or match["num2"], match["den"] or match["den2"]
    if numerator is None:
        value, rounding = _decimal(match["decimal"])
    else:
        assert denominator is not None
        value, rounding = _fraction(match["whole"], int(numerator), int(denominator), text, path, example)
    return Number(-value if match["sign"] in ("-", "−") else value, rounding, rest.strip())


def _decimal(digits: str) -> tuple[Fraction, Fraction]:
    plain = digits.replace(",", ".")
    places = len(plain.partition(".")[2])
    return Fraction(plain if plain[-1] != "." else plain[:-1]), Fraction(1, 2 * 10**places)


def _fraction(
    whole: str | None, numerator: int, denominator: int, text: str, path: str, example: str
) -> tuple[Fraction, Fraction]:
    if denominator == 0:
        raise _fault(path, f"{text!r} divides by zero", example)
    if whole is not None and numerator >= denominator:
        words = f"{text!r}: {numerator}/{denominator} is no fraction below one"
        raise _fault(path, f"{words}; write the whole number that is meant", example)
    return int(whole or 0) + Fraction(numerator, denominator), min(FINEST_RULE, Fraction(1, 2 * denominator))


def _spell(text: str) -> str:
    """`1½` and `1⁄2` as `1 1/2` and `1/2`, so that one grammar reads all."""
    spelled = ""
    for character in text:
        plain = unicodedata.normalize("NFKC", character) if unicodedata.category(character) == "No" else character
        if FRACTION_SLASHES[0] not in plain:  # a superscript is no digit here
            plain = character
        if FRACTION_SLASHES[0] in plain and len(plain) > 1:
            gap = "" if spelled.rstrip().endswith("-") and spelled.rstrip() != "-" else " "
            spelled += f"{gap}{plain.replace(FRACTION_SLASHES[0], '/')} "
        else:
            spelled += "/" if plain in FRACTION_SLASHES else plain
    return spelled.strip()


def _fault(path: str, message: str, example: str) -> InvalidInput:
    return InvalidInput([Problem(path, f"{message}; write it such as {example}")])

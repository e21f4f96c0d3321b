"""Numbers as people say them in a sentence: decimals, halves and other fractions, ranges, one below nothing. Exact.

What is only a part of a longer expression (`2 x 90`, `180 +/- 10`, `1 200`) is found out here, so that no part of it is
taken for the whole. No I/O.
"""

from __future__ import annotations

import re
from fractions import Fraction

from graph.errors import InvalidInput
from graph.fits.numbers import read_number

_SIGN = r"(?:(?<![^\s(:,;=])[-\u2212\u2013\u2014])?"
ONE = rf"{_SIGN}(?:\d+(?: and |[ -])\d+/\d+|\d+/\d+(?!/)|\d+ and an? half|\d+(?:[.,]\d+)*)"
_TO = r"(?:-|\u2212|\u2013|\u2014|to|or|\.\.+|\u2026)"
RANGE = rf"(?:(?:anywhere )?between {ONE} and {ONE}|(?:from )?{ONE} ?{_TO} ?{ONE})"
NUM = rf"(?:{RANGE}|{ONE})"
WIDEST = 5  # times the low end: numbers further apart are two numbers, such as `tansy 5 to 180 Nm`
_OPERATOR_BEFORE = re.compile(
    r"(?:[/*\u00d7^\u00b1~\u2248<>\u2264\u2265]|(?<=\d)[:%]|\+ ?/ ?-|(?<![^\W\d])x) ?$|[-\u2212\u2013\u2014]$"
)
_OPERATOR_AFTER = re.compile(r"[-\u2013/^*\u00d7\u00b1:%] ?\d| ?(?:\u00b1|\+ ?/ ?-|\^|\*|\u00d7|x) ?\d|%")
CHANGING = frozenset(
    {
        "twice",
        "double",
        "triple",
        "half",
        "quarter",
        "third",
        "times",
        "after",
        "before",
        "since",
        "between",
        "nearly",
        "almost",
        "each",
        "per",
        "exceeding",
        "pre",
        "post",
        "beyond",
    }
)
IN_PARTS = "a number is read whole or not at all: write one number, such as 180.5"
CHANGED = "the word before the number makes it another one: say the number that is meant"
BELOW_NOTHING = "it is less than nothing"


def values_of(text: str) -> tuple[Fraction, ...]:
    """The numbers that digits with marks may mean: `1,200` is 1.2 or 1200, both ends of a range.

    >>> values_of("180,5"), values_of("1.200,50"), values_of("1,200")
    ((Fraction(361, 2),), (Fraction(2401, 2),), (Fraction(1200, 1), Fraction(6, 5)))
    >>> values_of("3 1/2"), values_of("2 and a half"), values_of("50 to 60")
    ((Fraction(7, 2),), (Fraction(5, 2),), (Fraction(50, 1), Fraction(60, 1)))
    """
    ends = [text] if text.startswith("half") else _ends(text)
    return _values_of_one(text) if len(ends) < 2 else tuple(value for end in ends for value in _values_of_one(end))


def is_no_range(text: str) -> bool:
    """Whether two numbers stand there that are no range: the second is the smaller, or far larger."""
    ends = [_values_of_one(end) for end in _ends(text)]
    if len(ends) < 2 or not all(ends):
        return False
    low, high = ends[0][-1], ends[1][-1]
    if " or " in text:
        low, high = min(low, high), max(low, high)
    return not 0 < low < high <= WIDEST * low


def is_below_nothing(text: str) -> bool:
    """Whether a minus sign stands before it."""
    return any(re.match(r"[-\u2212\u2013\u2014]", end) for end in _ends(text))


def is_a_fragment(before: str, after: str) -> bool:
    """Whether what stands directly before and after a number makes it a part of a longer expression."""
    return bool(_OPERATOR_BEFORE.search(before[-8:]) or _OPERATOR_AFTER.match(after))


def _ends(text: str) -> list[str]:
    apart = re.sub(r"(?<=\d) ?[-\u2212\u2013\u2014] ?(?=\d)(?!\d+/)", " to ", text)
    return [match[0] for match in re.finditer(ONE, apart)]


def _values_of_one(text: str) -> tuple[Fraction, ...]:
    plain = re.sub(r" and an? half", " 1/2", text).replace(" and ", " ")
    plain = re.sub(r"^half(?: an?)?$", "1/2", plain)
    marks = re.findall("[.,]", plain)
    if len(marks) < 2:
        try:
            value = read_number(plain, "words", "180.5").value
        except InvalidInput:
            return ()
        grouped = re.fullmatch(r"([1-9]\d{0,2})[.,](\d{3})", plain)
        return (Fraction(int(grouped[1] + grouped[2])), value) if grouped else (value,)
    if not re.fullmatch(r"[1-9]\d{0,2}(?:[.,]\d{3})*(?:[.,]\d+)?", plain):
        return ()
    if len(set(marks)) == 1:
        return (Fraction(int(re.sub("[.,]", "", plain))),) if re.fullmatch(r"\d+(?:[.,]\d{3})+", plain) else ()
    if len(set(marks[:-1])) > 1:
        return ()
    whole, _, part = plain.rpartition(marks[-1])
    return (Fraction(re.sub("[.,]", "", whole) + "." + part),)

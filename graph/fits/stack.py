"""Sums of toleranced lengths: worst case and root-sum-square, and the verdict against limits.

Worst case: the limits add. Root-sum-square (RSS): half tolerances add as squares about the middle value, which
supposes independent, centred, roughly normal spreads. Verdicts use the worst case; RSS is shown beside it.
Source: the usual one-dimensional tolerance chain of dimensioning texts (ASME Y14.5 practice); both results are
checked in the tests against a published course example.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from graph.fits.model import Amount, Dimension, Line, Missing, Span, Verdict, bare_mm, show_nm

STACK_SOURCE = "one-dimensional tolerance chain: limits add; RSS of half tolerances"


@dataclass(frozen=True, slots=True)
class Stack:
    """A signed sum of dimensions, in nanometres. `terms`: (sign or factor, dimension)."""

    name: str
    terms: tuple[tuple[int, Dimension], ...]
    nominal_nm: int
    low_nm: int
    high_nm: int
    rss_low_nm: int
    rss_high_nm: int

    def span(self) -> Span:
        """The sum as a Span in millimetres."""
        values = (self.nominal_nm, self.low_nm, self.high_nm, self.rss_low_nm, self.rss_high_nm)
        return Span(self.name, *(Amount.of_nm(value) for value in values))

    def line(self, symbol: str = "", source: str = STACK_SOURCE) -> Line:
        """The sum as a line of working: names, numbers, value and limits."""
        formula = " ".join(f"{_sign(factor, first)}{dimension.name}" for first, (factor, dimension) in _numbered(self))
        numbers = " ".join(
            f"{_sign(factor, first)}{bare_mm(dimension.nominal_nm)}" for first, (factor, dimension) in _numbered(self)
        )
        limits = f"{show_nm(self.nominal_nm)} (worst case {bare_mm(self.low_nm)} to {bare_mm(self.high_nm)}"
        rss = f", RSS {bare_mm(self.rss_low_nm)} to {bare_mm(self.rss_high_nm)})"
        return Line(symbol or self.name, formula, numbers, limits + rss, source)


def stack_up(name: str, terms: Sequence[tuple[int, Dimension]]) -> Stack:
    """The sum of factor x dimension over `terms`, with worst-case and RSS limits in whole nanometres.

    RSS limits are rounded outwards. A chain of readings 25.3 - 10.1 - 14.0 has the sum 1.2 mm.
    """
    low = sum(min(factor * d.low_nm, factor * d.high_nm) for factor, d in terms)
    high = sum(max(factor * d.low_nm, factor * d.high_nm) for factor, d in terms)
    nominal = sum(factor * d.nominal_nm for factor, d in terms)
    squares = sum((factor * (d.high_nm - d.low_nm)) ** 2 for factor, d in terms)
    root = isqrt(squares)
    root += root * root < squares
    rss_low, rss_high = (low + high - root) // 2, -((-(low + high) - root) // 2)
    return Stack(name, tuple(terms), nominal, low, high, max(low, rss_low), min(high, rss_high))


def judge(
    stack: Stack, low_nm: int | Fraction | None, high_nm: int | Fraction | None
) -> tuple[Verdict, Fraction, tuple[Missing, ...]]:
    """(verdict, margin in nm, what to read again) of a sum against limits (None does not bind).

    HOLDS where the whole worst-case range lies within, FAILS where all of it lies outside; where it straddles
    a limit the verdict is UNKNOWN and the widest term is to be read more closely. The margin is that of the
    worst case: the room left at the nearer limit, negative where a limit is passed.
    """
    rooms = []
    if low_nm is not None:
        rooms.append((Fraction(stack.low_nm) - low_nm, Fraction(stack.high_nm) - low_nm))
    if high_nm is not None:
        rooms.append((high_nm - Fraction(stack.high_nm), high_nm - Fraction(stack.low_nm)))
    if not rooms:
        raise ValueError("judge needs at least one limit")
    margin = min(worst for worst, _ in rooms)
    if margin >= 0:
        return Verdict.HOLDS, margin, ()
    if min(best for _, best in rooms) < 0:
        return Verdict.FAILS, margin, ()
    widest = max((d for _, d in stack.terms), key=lambda d: d.high_nm - d.low_nm)
    why = f"{stack.name} lies across its limit within {show_nm(stack.high_nm - stack.low_nm)} of spread"
    return Verdict.UNKNOWN, margin, (Missing(f"{widest.name} more closely", why, widest.datum),)


def _numbered(stack: Stack) -> list[tuple[bool, tuple[int, Dimension]]]:
    return [(index == 0, term) for index, term in enumerate(stack.terms)]


def _sign(factor: int, first: bool) -> str:
    size = "" if abs(factor) == 1 else f"{abs(factor)} x "
    if first:
        return ("-" if factor < 0 else "") + size
    return ("- " if factor < 0 else "+ ") + size

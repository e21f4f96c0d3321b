"""Which of many readings contradict each other, in time that grows with their number and not with their pairs.

Two readings a, b with uncertainties u, v contradict each other where (a - b)^2 > u^2 + v^2 (JCGM 100:2008, 5.1.2). For
a given a the excess over u^2 is a^2 + max over b of (-2ab + b^2 - v^2): the highest of straight lines at a. Their upper
envelope is found by sorting them by slope (the convex hull trick), so the strongest contradiction of every reading
takes n log n steps. Whole numbers, exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm

Line = tuple[int, int, int]  # slope, height at zero, whose it is


def strongest_against(amounts: Sequence[Fraction], uncertainties: Sequence[Fraction]) -> tuple[int | None, ...]:
    """For each reading the place of one that contradicts it most; None where none does.

    >>> strongest_against([Fraction(1), Fraction(2), Fraction(9)], [Fraction(1)] * 3)
    (2, 2, 0)
    """
    scale = lcm(1, *(value.denominator for value in (*amounts, *uncertainties)))
    places = [int(amount * scale) for amount in amounts]
    squares = [int(spread * scale) ** 2 for spread in uncertainties]
    lines = [(-2 * at, at * at - square, who) for who, (at, square) in enumerate(zip(places, squares, strict=True))]
    found: list[int | None] = [None] * len(places)
    highest, top = _envelope(lines), 0
    for who in sorted(range(len(places)), key=places.__getitem__):
        at = places[who]
        while top + 1 < len(highest) and _height(highest[top + 1], at) >= _height(highest[top], at):
            top += 1
        if at * at + _height(highest[top], at) > squares[who]:
            found[who] = highest[top][2]
    return tuple(found)


def _height(line: Line, at: int) -> int:
    return line[0] * at + line[1]


def _envelope(lines: Sequence[Line]) -> list[Line]:
    """The lines that are highest somewhere, by slope; of equal ones the first."""
    kept: list[Line] = []
    for line in sorted(lines, key=lambda one: (one[0], one[1], -one[2])):
        if kept and kept[-1][0] == line[0]:
            kept.pop()
        while len(kept) > 1 and _is_never_highest(kept[-2], kept[-1], line):
            kept.pop()
        kept.append(line)
    return kept


def _is_never_highest(lower: Line, middle: Line, upper: Line) -> bool:
    """Does the middle one lie below where the two others cross?"""
    return (upper[1] - lower[1]) * (middle[0] - lower[0]) >= (middle[1] - lower[1]) * (upper[0] - lower[0])

"""Numbers of the pieces and gaps in a section (part references of ISO 6433): beside what they stand for, and again
before its words. No lines between the two: on a telephone dozens of them make a bundle that nobody can follow.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from graph.section.labels import Label

SIZE = 10.0  # of the figures
DIGIT = 6.2  # width of one, at the widest usual figures
LEFT, RIGHT = 2.0, 152.0  # between these a number may stand
_TURNS = ((1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1), (0, 1), (0, -1))


@dataclass(frozen=True, slots=True)
class Mark:
    """The number `text` of a label, written with its lower left corner at `x`, `y`."""

    text: str
    x: float
    y: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        return self.x, self.y - SIZE + 1, self.x + DIGIT * len(self.text), self.y + 1


def marks_of(labels: Sequence[Label]) -> tuple[Mark, ...]:
    """A number for each label that points at something, in the order of the labels; none lies over another one."""
    spots = [one.spot for one in labels if one.spot]
    placed: list[Mark] = []
    for number, spot in enumerate(spots, start=1):
        tried = list(_around(str(number), spot))
        placed.append(min(tried, key=lambda mark: (_overlap(mark, placed, spots), tried.index(mark))))
    return tuple(placed)


def _around(text: str, spot: tuple[float, float]) -> Iterator[Mark]:
    """Places for the number, the nearest first."""
    x, y = spot
    wide = DIGIT * len(text)
    for away in (3.0, 8.0, 14.0, 20.0, 28.0):
        for across, down in _TURNS:
            left = x + away if across > 0 else x - away - wide if across < 0 else x - wide / 2
            mark = Mark(text, left, y + SIZE / 2 - 1 + down * (SIZE / 2 + away))
            if mark.box[0] >= LEFT and mark.box[2] <= RIGHT:
                yield mark


def _overlap(one: Mark, placed: Sequence[Mark], spots: Sequence[tuple[float, float]]) -> float:
    """How much of the number lies over other ones, or over what other ones stand for."""
    left, top, right, bottom = one.box
    covered = 0.0
    for other in placed:
        a, b, c, d = other.box
        covered += max(0.0, min(right, c) - max(left, a)) * max(0.0, min(bottom, d) - max(top, b)) * 10
    return covered + sum(1.0 for x, y in spots if left - 1 <= x <= right + 1 and top - 1 <= y <= bottom + 1)

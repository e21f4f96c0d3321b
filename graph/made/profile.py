"""The shape of a turned part as it is drawn: the section along its axis in millimetres, made of closed outlines.

x runs along the axis from the side of the first part, y from the axis. Sizes are the middles of their limits.
"""

from __future__ import annotations

from dataclasses import dataclass

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM
from graph.made.model import (
    DISC,
    INSIDE,
    OPENING,
    OUTSIDE,
    RECESS,
    REGISTER,
    SPIGOT,
    STANDS,
    MadePart,
    MadeSize,
)

Point = tuple[float, float]
BREAK_OF_WALL = 3  # an edge is broken by at most so many a part of the wall


@dataclass(frozen=True, slots=True)
class Measure:
    """A dimension to be drawn: the size, and its ends in the section; upright for a diameter, level for a length."""

    size: MadeSize
    start: Point
    end: Point

    @property
    def upright(self) -> bool:
        """Is it drawn across the axis?"""
        return self.start[0] == self.end[0]


@dataclass(frozen=True, slots=True)
class MadeSection:
    """The upper half of the section as one closed outline (the lower is its mirror image), and what is dimensioned."""

    upper: tuple[Point, ...]
    long_mm: float
    across_mm: float
    measures: tuple[Measure, ...]

    @property
    def ends(self) -> tuple[Point, Point]:
        """The upper ends of the edges that are seen across the bore, before and behind."""
        first, last = min(x for x, _ in self.upper), max(x for x, _ in self.upper)
        return tuple((at, min(y for x, y in self.upper if x == at)) for at in (first, last))  # type: ignore[return-value]

    @property
    def lower(self) -> tuple[Point, ...]:
        """The mirror image below the axis."""
        return tuple((x, -y) for x, y in self.upper)


def check_whole(part: MadePart) -> None:
    """Raises InvalidInput naming everything to be measured before the part can be drawn."""
    if part.measure:
        said = "the part cannot be drawn before this is known: measure "
        raise InvalidInput([Problem("sizes", f"{said}{what}") for what in part.measure])


def section_of(part: MadePart) -> MadeSection:
    """The section. Raises InvalidInput where a size is not known."""
    check_whole(part)
    return _disc(part) if part.kind.shape == DISC else _ring(part)


def _mm(part: MadePart, name: str) -> float:
    return part.size(name).middle_nm / NM_PER_MM


def _ring(part: MadePart) -> MadeSection:
    outer, inner, long = _mm(part, OUTSIDE) / 2, _mm(part, INSIDE) / 2, part.along.middle_nm / NM_PER_MM
    edge = min(part.kind.edge_break_nm / NM_PER_MM, (outer - inner) / BREAK_OF_WALL, long / BREAK_OF_WALL)
    upper = (
        (0.0, inner + edge), (0.0, outer - edge), (edge, outer), (long - edge, outer), (long, outer - edge),
        (long, inner + edge), (long - edge, inner), (edge, inner),
    )  # fmt: skip
    measures = (
        Measure(part.size(OUTSIDE), (0.0, -outer), (0.0, outer)),
        Measure(part.size(INSIDE), (long, -inner), (long, inner)),
        Measure(part.along, (0.0, -outer), (long, -outer)),
    )
    return MadeSection(upper, long, 2 * outer, measures)


def _disc(part: MadePart) -> MadeSection:
    outer, register, spigot, opening = (_mm(part, name) / 2 for name in (OUTSIDE, REGISTER, SPIGOT, OPENING))
    thick, deep, stands = part.along.middle_nm / NM_PER_MM, _mm(part, RECESS), _mm(part, STANDS)
    rear = [(thick, outer), (thick, spigot), (thick + stands, spigot), (thick + stands, opening)]
    if not stands:
        rear = [(thick, outer), (thick, opening)]
    upper = ((0.0, register), (0.0, outer), *rear, (deep, opening), (deep, register))
    end = thick + stands
    measures = [
        Measure(part.size(OUTSIDE), (0.0, -outer), (0.0, outer)),
        Measure(part.size(REGISTER), (0.0, -register), (0.0, register)),
        Measure(part.size(OPENING), (end, -opening), (end, opening)),
        Measure(part.along, (0.0, -outer), (thick, -outer)),
        Measure(part.size(RECESS), (0.0, -register), (deep, -register)),
    ]
    if stands:
        measures.insert(2, Measure(part.size(SPIGOT), (end, -spigot), (end, spigot)))
        measures.append(Measure(part.size(STANDS), (thick, -spigot), (end, -spigot)))
    return MadeSection(upper, end, 2 * outer, tuple(measures))

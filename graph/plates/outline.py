"""The closed outline of a plate: the tightest band about a disc for each hole, its edge distance as radius.

The band is what a string about the discs would be (their convex hull): arcs of the discs and straight lines that touch
two. Which disc reaches furthest in a direction changes only where two reach equally far; between such directions one
disc has the arc. Corners are whole micrometres; arcs are bulges (tan of a quarter of the angle), as DXF has them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import acos, atan, atan2, ceil, cos, hypot, pi, sin, tan

from graph.plates.model import Corner

_TURN = 2 * pi
_SAME = 1e-12


@dataclass(frozen=True, slots=True)
class Disc:
    """A disc that the outline goes about."""

    x_um: int
    y_um: int
    radius_um: int

    def reach(self, direction: float) -> float:
        """How far it goes in a direction, from the axis."""
        return self.x_um * cos(direction) + self.y_um * sin(direction) + self.radius_um

    def rim(self, direction: float) -> tuple[int, int]:
        """Its point furthest in a direction, to the nearest micrometre."""
        return (
            round(self.x_um + self.radius_um * cos(direction)), round(self.y_um + self.radius_um * sin(direction))
        )  # fmt: skip


def band(discs: Iterable[Disc]) -> tuple[Corner, ...]:
    """The closed outline about the discs, anticlockwise; the last corner goes on to the first."""
    all_discs = sorted(set(discs), key=lambda disc: (disc.x_um, disc.y_um, disc.radius_um))
    corners: list[Corner] = []
    for disc, start, end in _arcs(all_discs):
        sweep = end - start
        for part in range(2 if sweep > pi else 1):  # an arc above half a turn in two, so that no bulge passes 1
            step = sweep / (2 if sweep > pi else 1)
            corners.append(Corner(*disc.rim(start + part * step), tan(step / 4)))
        last = Corner(*disc.rim(end))
        corners.append(last)
    return tuple(
        corner for n, corner in enumerate(corners)
        if corner.bulge or (corner.x_um, corner.y_um) != (corners[(n + 1) % len(corners)].x_um,
                                                          corners[(n + 1) % len(corners)].y_um)
    )  # fmt: skip


def _arcs(discs: Sequence[Disc]) -> list[tuple[Disc, float, float]]:
    """Which disc has which directions, in order."""
    if len(discs) == 1:
        return [(discs[0], 0.0, _TURN)]
    ends = sorted({0.0, _TURN, *(end for n, a in enumerate(discs) for b in discs[n + 1 :] for end in _equal(a, b))})
    found: list[tuple[Disc, float, float]] = []
    for start, end in pairwise(ends):
        if end - start < _SAME:
            continue
        furthest = max(discs, key=lambda disc: disc.reach((start + end) / 2))
        if found and found[-1][0] == furthest:
            found[-1] = (furthest, found[-1][1], end)
        else:
            found.append((furthest, start, end))
    if len(found) > 1 and found[0][0] == found[-1][0]:
        disc, start, _ = found.pop()
        found[0] = (disc, start - _TURN, found[0][2])
    return found


def _equal(a: Disc, b: Disc) -> tuple[float, ...]:
    """The directions in which the two reach equally far."""
    apart = hypot(b.x_um - a.x_um, b.y_um - a.y_um)
    if apart == 0 or abs(a.radius_um - b.radius_um) >= apart:
        return ()
    towards, half = atan2(b.y_um - a.y_um, b.x_um - a.x_um), acos((a.radius_um - b.radius_um) / apart)
    return ((towards - half) % _TURN, (towards + half) % _TURN)


def area_mm2(outline: Sequence[Corner]) -> float:
    """What the outline encloses."""
    total = 0.0
    for corner, following in zip(outline, (*outline[1:], outline[0]), strict=True):
        total += (corner.x_um * following.y_um - following.x_um * corner.y_um) / 2
        if corner.bulge:
            angle = 4 * atan(corner.bulge)
            radius = hypot(following.x_um - corner.x_um, following.y_um - corner.y_um) / (2 * sin(angle / 2))
            total += radius**2 * (angle - sin(angle)) / 2
    return total / 1e6


def points_mm(outline: Sequence[Corner], step: float = 0.02) -> list[tuple[float, float]]:
    """The outline as points in mm, arcs in steps of `step` radians: for pictures, never for cutting."""
    found: list[tuple[float, float]] = []
    for corner, following in zip(outline, (*outline[1:], outline[0]), strict=True):
        x1, y1, x2, y2 = (um / 1000 for um in (corner.x_um, corner.y_um, following.x_um, following.y_um))
        found.append((x1, y1))
        if not corner.bulge:
            continue
        angle = 4 * atan(corner.bulge)
        half = hypot(x2 - x1, y2 - y1) / 2
        radius = half / sin(angle / 2)
        chord = atan2(y2 - y1, x2 - x1)
        start = chord - angle / 2 - pi / 2
        cx, cy = x1 - radius * cos(start), y1 - radius * sin(start)
        count = max(1, round(angle / step))
        found += [
            (cx + radius * cos(start + angle * n / count), cy + radius * sin(start + angle * n / count))
            for n in range(1, count)
        ]
    return found


def extent_um(outline: Sequence[Corner]) -> tuple[int, int, int, int]:
    """Least x, least y, most x, most y of the outline, to the micrometre (points of arcs included)."""
    points = points_mm(outline, 0.002)
    across, along = [x for x, _ in points], [y for _, y in points]
    return (
        round(min(across) * 1000), round(min(along) * 1000), round(max(across) * 1000), round(max(along) * 1000)
    )  # fmt: skip


def length_mm(outline: Sequence[Corner]) -> int:
    """How long the outline is, to the next whole millimetre above."""
    points = points_mm(outline, 0.002)
    around = zip(points, (*points[1:], *points[:1]), strict=True)
    return ceil(sum(hypot(x - u, y - v) for (x, y), (u, v) in around))

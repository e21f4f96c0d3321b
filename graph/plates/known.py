"""Which pattern is this: a measured face compared with every known one, turned and mirrored.

For each known pattern the best turn is found as in clocking two faces (`graph.fits.pattern_match`), with holes of
either use taken as places only: a thread in one and a clearance hole in the other are the same pattern. How far each
hole is off is told; what lies further off than that is another hole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM, show_nm
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD, Face, Hole

NEAR_NM = 3 * NM_PER_MM
LEAST_HOLES = 3
SCREW_NM = 10 * NM_PER_MM  # any size does: the places count


@dataclass(frozen=True, slots=True)
class HoleMiss:
    """A hole of the measured face and the known pattern's nearest: how far apart, None where it has none near."""

    measured: str
    known: str
    miss_nm: int | None


@dataclass(frozen=True, slots=True)
class PatternLikeness:
    """How well a known pattern fits. `turned_deg`: the known one, anticlockwise; `mirrored`: read from the other side.

    `met`: holes that come together; `of`: the measured face's holes, `known_holes` the pattern's; `worst_nm`,
    `rms_nm`: of those that come together; `certain`: every hole of both within the readings' uncertainty.
    """

    known: str
    label: str
    mirrored: bool
    turned_deg: float
    met: int
    of: int
    known_holes: int
    worst_nm: int
    rms_nm: int
    certain: bool
    misses: tuple[HoleMiss, ...]


def rank_patterns(
    face: Face, known: Mapping[str, Face], limit: int = 10, near_nm: int = NEAR_NM
) -> tuple[PatternLikeness, ...]:
    """The known patterns most like the face, best first, at most `limit`.

    Holes can only meet where their radii are as near: that says how many may meet at the most, so patterns that cannot
    come among the best are never turned. Raises InvalidInput for fewer than three holes, and
    for places that are less sure than a hole is wide: with such readings any pattern would do.
    """
    if len(_places(face)) < LEAST_HOLES:
        said = f"{LEAST_HOLES} holes at least tell one pattern from another, found {len(_places(face))}; measure more"
        raise InvalidInput([Problem("holes", said)])
    least = _least_hole_nm(face)
    if face.uncertainty_nm >= least:
        said = (
            f"{show_nm(face.uncertainty_nm)} either way is more than the smallest hole is wide ({show_nm(least)}), so"
            " any pattern would do: measure the places again; 0.1 mm to 0.5 mm are usual by calliper or tracing"
        )
        raise InvalidInput([Problem("uncertainty", said)])
    waiting = sorted((_alone_at_least(face, other, near_nm), name) for name, other in known.items())
    found: list[PatternLikeness] = []
    for alone, name in waiting:
        if len(found) >= limit and _order(found[limit - 1])[0] < alone:
            break
        likeness = _likeness(face, name, known[name], near_nm)
        if likeness is not None and likeness.met:
            found = sorted((*found, likeness), key=_order)
    return tuple(found[:limit])


def _alone_at_least(face: Face, other: Face, near_nm: int) -> int:
    """How many holes of both stay alone at the least: radii, bolts and dowels apart, paired in order."""
    alone = 0
    for dowel in (False, True):
        mine, theirs = (
            sorted(hypot(hole.x_nm, hole.y_nm) for hole in _places(one) if (hole.use == DOWEL) == dowel)
            for one in (face, other)
        )
        alone += len(mine) + len(theirs) - 2 * _paired(mine, theirs, near_nm)
    return alone


def _paired(a: Sequence[float], b: Sequence[float], near: float) -> int:
    """The most pairs of two sorted lists that lie within `near`: the lowest of both that can pair, do."""
    i = j = count = 0
    while i < len(a) and j < len(b):
        if abs(a[i] - b[j]) <= near + 1:
            i, j, count = i + 1, j + 1, count + 1
        elif a[i] < b[j]:
            i += 1
        else:
            j += 1
    return count


def _order(one: PatternLikeness) -> tuple[int, int, int, bool, str]:
    """Fewest holes of either that stay alone, then the least misses; upright reading before mirrored."""
    alone = one.of + one.known_holes - 2 * one.met
    return (alone, one.rms_nm, one.worst_nm, one.mirrored, one.known)


def _places(face: Face) -> tuple[Hole, ...]:
    """Its bolts and dowels as places that may meet in any use: one as thread, dowels apart as dowels."""
    return tuple(hole for hole in face.holes if hole.use != OTHER)


def _least_hole_nm(face: Face) -> int:
    return min(hole.diameter_nm for hole in _places(face))


def _likeness(face: Face, name: str, other: Face, near_nm: int) -> PatternLikeness | None:
    """The better of the two ways to read the known pattern: as seen, or mirrored."""
    ways = [
        one for mirrored in (False, True)
        if (one := _one_way(face, name, other, near_nm, mirrored=mirrored)) is not None
    ]  # fmt: skip
    return min(ways, key=_order, default=None)


def _one_way(face: Face, name: str, other: Face, near_nm: int, *, mirrored: bool) -> PatternLikeness | None:
    from graph.fits.pattern_match import list_clockings  # scipy takes a while to load; only faces need it

    mine = _as_places(face.holes, THREAD, near_nm)
    sign = -1 if mirrored else 1
    theirs = tuple(
        replace(hole, x_nm=sign * hole.x_nm) for hole in _as_places(other.holes, CLEARANCE, near_nm)
    )  # fmt: skip
    if not theirs:
        return None
    a = replace(face, holes=mine, seen_from="rear")
    b = replace(other, holes=theirs, seen_from="rear", id=name)
    best = next(iter(list_clockings(a, b, near_nm=near_nm, limit=1)), None)
    if best is None:
        return None
    pairs = (*best.lined_up, *best.near)
    limit = face.uncertainty_nm + other.uncertainty_nm
    misses = [HoleMiss(pair.a.id, pair.b.id, pair.miss_nm) for pair in pairs]
    misses += [HoleMiss(hole.id, "", None) for hole in best.left_a]
    misses += [HoleMiss("", hole.id, None) for hole in best.left_b]
    gaps = [pair.miss_nm for pair in pairs]
    return PatternLikeness(
        known=name, label=other.label, mirrored=mirrored, turned_deg=best.angle_deg, met=len(pairs), of=len(mine),
        known_holes=len(theirs), worst_nm=max(gaps, default=0),
        rms_nm=round((sum(gap**2 for gap in gaps) / len(gaps)) ** 0.5) if gaps else 0,
        certain=len(pairs) == len(mine) == len(theirs) and max(gaps) <= limit
        and other.uncertainty_nm < _least_hole_nm(other),
        misses=tuple(misses),
    )  # fmt: skip


def _as_places(holes: Iterable[Hole], use: str, near_nm: int) -> tuple[Hole, ...]:
    """Bolted holes as one use and size, so that they meet within `near_nm`; dowels stay dowels."""
    size = SCREW_NM + (2 * near_nm if use == CLEARANCE else 0)
    return tuple(
        replace(hole, use=DOWEL if hole.use == DOWEL else use, diameter_nm=SCREW_NM if hole.use == DOWEL else size,
                thread="", edge_nm=None)
        for hole in holes if hole.use != OTHER
    )  # fmt: skip

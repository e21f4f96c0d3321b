"""Several photos of one face put together: holes matched, weighed by how sure each is, contradictions told.

Where the sheet stayed in place, all photos share its frame. Where it was moved, each photo is laid on the first by the
holes that both show (a turn and a shift, no scaling, never mirrored); a pattern that looks the same when turned cannot
be laid so, and is refused.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from graph.errors import InvalidInput, Problem
from graph.photo.model import FAR_WORDS, HIDDEN_WORDS, PhotoFound, SeenHole

Floats = NDArray[np.float64]
MOST_PHOTOS = 6
LEAST_SHARED, LEAST_BASE_MM = 3, 25.0
SLACK_MM, OTHER_HOLE_MM = 0.05, 4.0
MOST_LAID = 30  # holes of each photo by which another is laid on it


@dataclass(frozen=True, slots=True)
class Motion:
    """A turn (radians, anticlockwise) and a shift in mm; `pairs`: which holes of the first and second it brings
    together; `middle`, `u_place_mm`, `u_turn`: how surely, about which point."""

    turn: float
    shift: tuple[float, float]
    pairs: tuple[tuple[int, int], ...] = ()
    middle: tuple[float, float] = (0.0, 0.0)
    u_place_mm: float = 0.0
    u_turn: float = 0.0

    def moved(self, places: Floats) -> Floats:
        """The places, turned and shifted."""
        cos, sin = np.cos(self.turn), np.sin(self.turn)
        return np.asarray(places @ np.array([[cos, sin], [-sin, cos]]) + np.array(self.shift))

    def u_at(self, place: Floats) -> float:
        """How unsure the motion leaves a place, mm."""
        far = float(np.hypot(*(place - np.array(self.middle))))
        return float(np.hypot(self.u_place_mm, far * self.u_turn))


@dataclass(frozen=True, slots=True)
class Combined:
    """The holes of all photos in the first one's frame, numbered anew; `seen`: in how many photos each; `notes`."""

    holes: tuple[SeenHole, ...]
    seen: tuple[int, ...]
    notes: tuple[str, ...] = ()


def combine(photos: Sequence[PhotoFound], *, moved: bool) -> Combined:
    """The photos put together. `moved`: the sheet was laid elsewhere between them. Raises InvalidInput."""
    if not 1 <= len(photos) <= MOST_PHOTOS:
        raise InvalidInput([Problem("photo", f"expected 1 to {MOST_PHOTOS} photos of one face, found {len(photos)}")])
    groups: list[list[SeenHole]] = [[hole] for hole in photos[0].holes]
    notes = list(photos[0].notes)
    for number, photo in enumerate(photos[1:], start=2):
        motion = (
            lay_on(tuple(_weighed(group)[0] for group in groups), photo.holes, number) if moved else Motion(0, (0, 0))
        )
        _add(groups, photo.holes, motion)
        notes += [f"photo {number}: {words}" for words in photo.notes]
    found = [_weighed(group) for group in groups]
    order = sorted(range(len(found)), key=lambda k: (-round(found[k][0].y_mm / 10), found[k][0].x_mm))
    holes = tuple(replace(found[k][0], number=place) for place, k in enumerate(order, start=1))
    notes += [
        f"hole {hole.number}: {told}" for hole, k in zip(holes, order, strict=True) for told in found[k][1]
    ]  # fmt: skip
    if len(photos) > 1 and not any(len(group) > 1 for group in groups):
        said = "the photos share no hole: are they of the same face, and did the sheet stay where it was?"
        raise InvalidInput([Problem("photo", said)])
    return Combined(holes, tuple(len(groups[k]) for k in order), tuple(dict.fromkeys(notes)))


def _add(groups: list[list[SeenHole]], holes: Sequence[SeenHole], motion: Motion) -> None:
    """Puts each hole to the group it belongs to, or begins one."""
    known = np.array([[group[0].x_mm, group[0].y_mm] for group in groups]).reshape(-1, 2)
    first = len(groups)
    taken: set[int] = set()
    for hole in holes:
        place = motion.moved(np.array([[hole.x_mm, hole.y_mm]]))[0]
        u_mm = float(np.hypot(hole.u_mm, motion.u_at(place)))
        laid = replace(hole, x_mm=float(place[0]), y_mm=float(place[1]), u_mm=u_mm)
        apart = np.hypot(*(known[:first] - place).T) if first else np.array([])
        near = [int(k) for k in np.argsort(apart) if apart[k] < OTHER_HOLE_MM and int(k) not in taken]
        if near:
            taken.add(near[0])
            groups[near[0]].append(laid)
        else:
            groups.append([laid])


def _weighed(group: Sequence[SeenHole]) -> tuple[SeenHole, tuple[str, ...]]:
    """One hole out of the same one of several photos, and what of it contradicts.

    Weights are the inverse squares of the uncertainties; what photos draw anew is averaged, what they have in common
    (print, lens) is not.
    """
    if len(group) == 1:
        return group[0], ()
    weight = np.array([1 / hole.u_mm**2 for hole in group])
    weight = weight / weight.sum()
    places = np.array([[hole.x_mm, hole.y_mm] for hole in group])
    x, y = weight @ places
    random = float(np.sqrt(sum((w * hole.random_mm) ** 2 for w, hole in zip(weight, group, strict=True))))
    common = sum(w * np.sqrt(max(0.0, hole.u_mm**2 - hole.random_mm**2)) for w, hole in zip(weight, group, strict=True))
    wide = np.array([1 / hole.diameter_u_mm**2 for hole in group])
    across = float((wide / wide.sum()) @ np.array([hole.diameter_mm for hole in group]))
    told = []
    doubts = _doubts(group)
    worst = max(combinations(range(len(group)), 2), key=lambda ab: _beyond(group[ab[0]], group[ab[1]]))
    one, other = group[worst[0]], group[worst[1]]
    u_mm = float(np.hypot(random, common))
    if (beyond := _beyond(one, other)) > 0:
        apart = float(np.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm))
        said = f"the photos differ by {apart:.2f} mm, more than they should: something moved, or it is not one hole"
        told.append(said)
        doubts = (*doubts, said)
        u_mm += beyond
    if any(abs(hole.diameter_mm - across) > hole.diameter_u_mm + min(h.diameter_u_mm for h in group) for hole in group):
        told.append("the photos differ in its diameter: measure it by calliper")
    best = min(group, key=lambda hole: hole.u_mm)
    merged = replace(
        best, x_mm=round(float(x), 3), y_mm=round(float(y), 3), u_mm=round(u_mm, 3), random_mm=round(random, 3),
        diameter_mm=round(across, 3), diameter_u_mm=round(min(hole.diameter_u_mm for hole in group), 3), doubts=doubts,
        remarks=tuple(dict.fromkeys(words for hole in group for words in hole.remarks)),
    )  # fmt: skip
    return merged, tuple(told)


def _beyond(a: SeenHole, b: SeenHole) -> float:
    return float(np.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) - np.hypot(a.u_mm, b.u_mm) - SLACK_MM)


def _doubts(group: Sequence[SeenHole]) -> tuple[str, ...]:
    """What still speaks against it: that it is hidden or far in one photo does not, where another shows it clearly."""
    said = dict.fromkeys(words for hole in group for words in hole.doubts)
    if any(hole.sure for hole in group):
        return tuple(words for words in said if not words.startswith((HIDDEN_WORDS, FAR_WORDS)))
    return tuple(said)


def lay_on(first: Sequence[SeenHole], second: Sequence[SeenHole], number: int) -> Motion:
    """The motion that lays the second photo's holes on the first's. Raises InvalidInput where none or several do."""
    a, b = _surest(first), _surest(second)
    at_a, at_b = (np.array([[hole.x_mm, hole.y_mm] for hole in some]).reshape(-1, 2) for some in (a, b))
    like = np.array([[_alike(one, other) for other in b] for one in a]).reshape(len(a), len(b))
    found: dict[tuple[tuple[int, int], ...], Motion] = {}
    for i, j in combinations(range(len(a)), 2):
        base = at_a[j] - at_a[i]
        long = float(np.hypot(*base))
        if long < LEAST_BASE_MM:
            continue
        for k, m in ((k, m) for k in range(len(b)) for m in range(len(b)) if k != m and like[i, k] and like[j, m]):
            other = at_b[m] - at_b[k]
            if abs(float(np.hypot(*other)) - long) > a[i].u_mm + a[j].u_mm + b[k].u_mm + b[m].u_mm:
                continue
            turn = float(np.arctan2(base[1], base[0]) - np.arctan2(other[1], other[0]))
            rough = Motion(turn, (0.0, 0.0))
            shift = at_a[i] - rough.moved(at_b[k][None])[0]
            pairs = _pairs(a, b, at_a, Motion(turn, (float(shift[0]), float(shift[1]))).moved(at_b), like)
            if len(pairs) >= LEAST_SHARED and pairs not in found:
                found[pairs] = _settled(a, b, at_a, at_b, pairs)
    if not found:
        said = (
            f"photo {number} cannot be laid on the first: fewer than {LEAST_SHARED} holes are common to both; leave the"
            " sheet where it is, or photograph so that three holes show in both"
        )
        raise InvalidInput([Problem("photo", said)])
    most = max(len(pairs) for pairs in found)
    best = [motion for pairs, motion in found.items() if len(pairs) >= most]
    if any(_otherwise(best[0], other, at_b) for other in best[1:]):
        said = f"photo {number} fits the first in several turns, for the pattern repeats: leave the sheet where it is"
        raise InvalidInput([Problem("photo", f"{said}, and say that it was not moved")])
    return best[0]


def _surest(holes: Sequence[SeenHole]) -> list[SeenHole]:
    return sorted(holes, key=lambda hole: (not hole.sure, hole.u_mm))[:MOST_LAID]


def _alike(a: SeenHole, b: SeenHole) -> bool:
    return abs(a.diameter_mm - b.diameter_mm) < a.diameter_u_mm + b.diameter_u_mm + 0.06 * a.diameter_mm


def _pairs(
    a: Sequence[SeenHole], b: Sequence[SeenHole], at_a: Floats, laid: Floats, like: NDArray[np.bool_]
) -> tuple[tuple[int, int], ...]:
    """Which holes come together, each with its nearest."""
    apart = np.hypot(*(at_a[:, None] - laid[None]).transpose(2, 0, 1))
    limit = np.hypot([[one.u_mm for one in a]], [[other.u_mm] for other in b]).T * 1.5 + SLACK_MM
    apart = np.where(like & (apart <= limit), apart, np.inf)
    return tuple(
        (i, int(apart[i].argmin())) for i in range(len(a))
        if np.isfinite(apart[i].min()) and apart[:, int(apart[i].argmin())].argmin() == i
    )  # fmt: skip


def _settled(
    a: Sequence[SeenHole], b: Sequence[SeenHole], at_a: Floats, at_b: Floats, pairs: tuple[tuple[int, int], ...]
) -> Motion:
    """The motion of least weighed squares over the pairs (Procrustes without scale)."""
    left, right = at_a[[i for i, _ in pairs]], at_b[[k for _, k in pairs]]
    squares = np.array([a[i].u_mm ** 2 + b[k].u_mm ** 2 for i, k in pairs])
    weight = (1 / squares) / (1 / squares).sum()
    here, there = weight @ left, weight @ right
    one, other = left - here, right - there
    turn = float(np.arctan2((weight * (other[:, 0] * one[:, 1] - other[:, 1] * one[:, 0])).sum(),
                            (weight * (other * one).sum(axis=1)).sum()))  # fmt: skip
    shift = here - Motion(turn, (0.0, 0.0)).moved(there[None])[0]
    spread = float((one**2).sum())
    u_mm = float(np.sqrt(squares.mean()))
    return Motion(turn, (float(shift[0]), float(shift[1])), pairs, (float(here[0]), float(here[1])),
                  u_mm / np.sqrt(len(pairs)), u_mm / np.sqrt(max(spread, 1.0)))  # fmt: skip


def _otherwise(one: Motion, other: Motion, places: Floats) -> bool:
    """Do the two lay the holes at different places?"""
    return bool(np.hypot(*(one.moved(places) - other.moved(places)).T).max() > OTHER_HOLE_MM)

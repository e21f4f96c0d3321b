"""The clocking angle at which most holes of two faces line up: exact over all angles, not sampled.

For each pair of holes that could take a fastener, the angles at which their axes come within reach of each other
are one interval (law of cosines about the common axis). The number of pairs within reach can only rise where an
interval starts, so it is enough to look at those starts. There the pairs that share a hole are told apart by
assignment (fewest left over, then least sum of squared misses), and the angle is settled in closed form by least
squares, each miss weighed by what it may be, kept inside every interval of the pairs taken.

Order of preference: most holes lined up, most dowels among them, most near misses, least squares, least turn.
Where two holes of one face lie closer than the reach, another equally large assignment may have slightly smaller
squares; the count is still the largest. Misses are not moved sideways: the register, not the bolts, centres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import hypot, radians

import numpy as np
from numpy.typing import NDArray

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD, Face, Hole, allowed_miss_nm, as_seen_from

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
NEAR_NM = 3 * NM_PER_MM  # further apart is not a near miss but another hole
_TURN = 2 * np.pi
_SLACK = 1e-9  # radians; rounding of interval ends, a millionth of a micrometre at any bolt circle


@dataclass(frozen=True, slots=True)
class Pair:
    """Two holes that come together. The miss is from hole `a` to hole `b` after turning, in whole nanometres.

    `allowed_nm` is None where the two take no fastener as they are: thread on thread, or two clearance holes and
    no bolt named.
    """

    a: Hole
    b: Hole
    miss_nm: int
    dx_nm: int
    dy_nm: int
    allowed_nm: Fraction | None


@dataclass(frozen=True, slots=True)
class Clocking:
    """One angle and what comes together there. `angle_deg`: face b turned anticlockwise, seen as face a is.

    `lined_up`: within what is allowed plus the joint uncertainty; `near`: within reach of a remedy.
    """

    angle_deg: float
    lined_up: tuple[Pair, ...]
    near: tuple[Pair, ...]
    left_a: tuple[Hole, ...]
    left_b: tuple[Hole, ...]
    rms_nm: int
    uncertainty_nm: int

    @property
    def dowels(self) -> int:
        """How many of the lined-up pairs are dowels."""
        return sum(pair.a.use == DOWEL for pair in self.lined_up)


@dataclass(frozen=True, slots=True)
class _Pairs:
    """All pairs that could take a fastener, as arrays in mm and radians. Interval k: from start, `width` long."""

    i: Indices
    j: Indices
    allowed: Floats
    start: Floats
    width: Floats
    weight: Floats


def list_clockings(
    a: Face,
    b: Face,
    *,
    bolt_nm: int | None = None,
    near_nm: int = NEAR_NM,
    from_deg: float = -180.0,
    to_deg: float = 180.0,
    limit: int = 5,
) -> tuple[Clocking, ...]:
    """The best clocking angles of face b on face a, best first, at most `limit`, all with the most holes lined up.

    `from_deg`..`to_deg` bounds the turn (a gearbox may lean only so far). `bolt_nm` is the bolt between two
    clearance holes. Where nothing lines up at all, the angle with the most near misses is given. Raises
    InvalidInput for bounds the wrong way round. Empty only where neither face has holes that could meet.
    """
    _check_bounds(near_nm, from_deg, to_deg, limit)
    b = as_seen_from(b, a.seen_from)
    spread = hypot(a.uncertainty_nm, b.uncertainty_nm) / NM_PER_MM
    faces = _Faces(a, b, bolt_nm, near_nm / NM_PER_MM, spread)
    bounds = radians(from_deg), radians(to_deg)
    found = _best(faces, faces.pairs(reach_near=False), bounds) or _best(faces, faces.pairs(reach_near=True), bounds)
    clockings = sorted(
        (faces.clocking(theta, chosen) for theta, chosen in found),
        key=lambda c: (-len(c.lined_up), -c.dowels, -len(c.near), c.rms_nm, abs(c.angle_deg), c.angle_deg),
    )
    return tuple(_distinct(clockings)[:limit])


def _check_bounds(near_nm: int, from_deg: float, to_deg: float, limit: int) -> None:
    problems = []
    if not -360 <= from_deg <= to_deg <= 360:
        problems.append(Problem("from_deg, to_deg", f"expected -360 <= from <= to <= 360, found {from_deg}, {to_deg}"))
    if near_nm <= 0:
        problems.append(Problem("near", "expected a distance above zero"))
    if limit < 1:
        problems.append(Problem("limit", f"expected at least 1, found {limit}"))
    if problems:
        raise InvalidInput(problems)


class _Faces:
    """Both faces as arrays in mm, with b's holes to be turned onto a's."""

    def __init__(self, a: Face, b: Face, bolt_nm: int | None, near: float, spread: float):
        self.holes_a = [hole for hole in a.holes if hole.use != OTHER]
        self.holes_b = [hole for hole in b.holes if hole.use != OTHER]
        self.a, self.b = _places(self.holes_a), _places(self.holes_b)
        self.bolt_nm, self.near, self.spread = bolt_nm, near, spread
        self.allowed = _allowed(self.holes_a, self.holes_b, bolt_nm)
        dowels_a = np.array([hole.use == DOWEL for hole in self.holes_a], dtype=bool)
        dowels_b = np.array([hole.use == DOWEL for hole in self.holes_b], dtype=bool)
        self.kindred = dowels_a[:, None] == dowels_b[None, :]  # a dowel is never the near miss of a bolt

    def pairs(self, reach_near: bool) -> _Pairs:
        """The pairs within reach at some angle. `reach_near`: reach as far as a near miss, clash or not."""
        reach = np.where(self.kindred, self.near, np.nan) if reach_near else self.allowed + self.spread
        radius_a, radius_b = np.abs(self.a)[:, None], np.abs(self.b)[None, :]
        with np.errstate(invalid="ignore"):
            cosine = (radius_a**2 + radius_b**2 - reach**2) / np.maximum(2 * radius_a * radius_b, 1e-12)
            i, j = np.nonzero((reach >= 0) & (np.abs(radius_a - radius_b) <= reach))
        half = np.arccos(np.clip(cosine[i, j], -1, 1))
        middle = np.angle(self.a[i]) - np.angle(self.b[j])
        reached = reach[i, j]
        return _Pairs(
            i, j, self.allowed[i, j], np.mod(middle - half, _TURN), 2 * half + _SLACK,
            1 / np.maximum(reached, 1e-3) ** 2,
        )  # fmt: skip

    def clocking(self, theta: float, chosen: Sequence[tuple[int, int]]) -> Clocking:
        """What comes together at theta: the chosen pairs, then the near misses among the holes left."""
        turned = self.b * np.exp(1j * theta)
        gaps = turned[None, :] - self.a[:, None]
        held = [pair for pair in chosen if abs(gaps[pair]) <= self.allowed[pair] + self.spread + 1e-6]
        near = self._near(np.abs(gaps), held)
        lined_up = tuple(self._pair(i, j, gaps[i, j]) for i, j in held)
        misses = tuple(self._pair(i, j, gaps[i, j]) for i, j in near)
        taken_a, taken_b = {i for i, _ in held + near}, {j for _, j in held + near}
        squares = [pair.miss_nm**2 for pair in lined_up or misses]
        return Clocking(
            angle_deg=round(float(np.degrees(_wrapped(theta))), 4) + 0.0,
            lined_up=lined_up,
            near=misses,
            left_a=tuple(hole for i, hole in enumerate(self.holes_a) if i not in taken_a),
            left_b=tuple(hole for j, hole in enumerate(self.holes_b) if j not in taken_b),
            rms_nm=round((sum(squares) / len(squares)) ** 0.5) if squares else 0,
            uncertainty_nm=round(self.spread * NM_PER_MM),
        )

    def _near(self, distance: Floats, held: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
        cost = np.where(self.kindred & (distance <= self.near), distance, np.inf)
        for row, column in held:
            cost[row, :] = cost[:, column] = np.inf
        i, j = np.nonzero(np.isfinite(cost))
        return _assigned(i, j, cost[i, j])

    def _pair(self, i: int, j: int, gap: complex) -> Pair:
        a, b = self.holes_a[i], self.holes_b[j]
        scale = NM_PER_MM
        return Pair(
            a, b, round(abs(gap) * scale), round(gap.real * scale), round(gap.imag * scale),
            allowed_miss_nm(a, b, self.bolt_nm),
        )  # fmt: skip


def _places(holes: Sequence[Hole]) -> NDArray[np.complex128]:
    return np.array([complex(hole.x_nm, hole.y_nm) / NM_PER_MM for hole in holes], dtype=np.complex128)


def _allowed(holes_a: Sequence[Hole], holes_b: Sequence[Hole], bolt_nm: int | None) -> Floats:
    """`allowed_miss_nm` for every pair at once, in mm; NaN where a pair never takes a fastener."""
    use_a = np.array([hole.use for hole in holes_a])[:, None]
    use_b = np.array([hole.use for hole in holes_b])[None, :]
    size_a = np.array([hole.diameter_nm for hole in holes_a], dtype=float)[:, None] / NM_PER_MM
    size_b = np.array([hole.diameter_nm for hole in holes_b], dtype=float)[None, :] / NM_PER_MM
    allowed = np.full((len(holes_a), len(holes_b)), np.nan)
    allowed = np.where((use_a == THREAD) & (use_b == CLEARANCE), (size_b - size_a) / 2, allowed)
    allowed = np.where((use_a == CLEARANCE) & (use_b == THREAD), (size_a - size_b) / 2, allowed)
    allowed = np.where((use_a == DOWEL) & (use_b == DOWEL), np.abs(size_a - size_b) / 2, allowed)
    if bolt_nm is not None:
        bolt = bolt_nm / NM_PER_MM
        loose = np.where(np.minimum(size_a, size_b) >= bolt, (size_a + size_b) / 2 - bolt, -np.inf)
        allowed = np.where((use_a == CLEARANCE) & (use_b == CLEARANCE), loose, allowed)
    return allowed


def _best(faces: _Faces, pairs: _Pairs, bounds: tuple[float, float]) -> list[tuple[float, list[tuple[int, int]]]]:
    """Every angle with the largest number of pairs in reach, each with its pairs."""
    starts, counts = _counted(pairs, bounds)
    best = 1
    found: dict[tuple[tuple[tuple[int, int], ...], float], float] = {}
    for start, count in zip(starts, counts, strict=True):
        if count < best:
            break
        active = np.nonzero(np.mod(start - pairs.start, _TURN) <= pairs.width)[0]
        chosen = _chosen(faces, pairs, active, start)
        if len(chosen) > best:
            best, found = len(chosen), {}
        if len(chosen) == best:
            theta = _settled(faces, pairs, chosen, start, bounds)
            found[tuple(sorted((int(pairs.i[k]), int(pairs.j[k])) for k in chosen)), round(theta, 6)] = theta
    return [(theta, list(key[0])) for key, theta in found.items()]


def _counted(pairs: _Pairs, bounds: tuple[float, float]) -> tuple[Floats, Indices]:
    """The angles where an interval starts, within bounds, with the number of pairs in reach; most first."""
    low, high = bounds
    free = high - low >= _TURN - _SLACK
    starts = pairs.start if free else np.append(pairs.start, low)
    if not free:
        starts = starts[np.mod(starts - low, _TURN) <= high - low + _SLACK]
    opened, closed = np.sort(pairs.start), np.sort(np.mod(pairs.start + pairs.width, _TURN))
    always = int(np.sum(pairs.start + pairs.width >= _TURN))
    at = np.mod(starts, _TURN)
    counts = np.searchsorted(opened, at, "right") - np.searchsorted(closed, at, "left") + always
    order = np.argsort(-counts, kind="stable")
    return starts[order], counts[order]


def _chosen(faces: _Faces, pairs: _Pairs, active: Indices, theta: float) -> Indices:
    """Of the active pairs, the most that share no hole, with the least weighed squares at theta."""
    i, j = pairs.i[active], pairs.j[active]
    if len(set(i.tolist())) == len(i) and len(set(j.tolist())) == len(j):
        return active
    miss = np.abs(faces.b[j] * np.exp(1j * theta) - faces.a[i])
    kept = set(_assigned(i, j, miss**2 * pairs.weight[active]))
    return active[[(x, y) in kept for x, y in zip(i.tolist(), j.tolist(), strict=True)]]


def _settled(faces: _Faces, pairs: _Pairs, chosen: Indices, start: float, bounds: tuple[float, float]) -> float:
    """The least-squares angle of the chosen pairs, kept within all their intervals and the bounds."""
    a, b = faces.a[pairs.i[chosen]], faces.b[pairs.j[chosen]]
    best = float(np.angle(np.sum(pairs.weight[chosen] * a * np.conj(b))))
    since = np.mod(start - pairs.start[chosen], _TURN)
    back, ahead = float(since.min()), float((pairs.width[chosen] - since).min())
    if bounds[1] - bounds[0] < _TURN - _SLACK:
        turned = float(np.mod(start - bounds[0], _TURN))
        turned = 0.0 if turned > _TURN - _SLACK else turned
        back, ahead = min(back, turned), min(ahead, max(0.0, bounds[1] - bounds[0] - turned))
    step = _wrapped(best - start)
    return _wrapped(start + min(max(step, -back), ahead))


def _assigned(i: Indices, j: Indices, cost: Floats) -> list[tuple[int, int]]:
    """The most pairs (i, j) that share no index, with the least cost among the most."""
    if not len(i):
        return []
    from scipy.optimize import linear_sum_assignment  # here, because scipy takes half a second to load

    rows, row = np.unique(i, return_inverse=True)
    columns, column = np.unique(j, return_inverse=True)
    dear = float(cost.sum()) + 1.0  # one pair more always outweighs any saving
    table = np.full((len(rows), len(columns)), dear)
    table[row, column] = cost
    picked_rows, picked_columns = linear_sum_assignment(table)
    return [
        (int(rows[r]), int(columns[c]))
        for r, c in zip(picked_rows, picked_columns, strict=True)
        if table[r, c] < dear
    ]  # fmt: skip


def _wrapped(angle: float) -> float:
    """The angle in (-pi, pi]."""
    wrapped = float(np.mod(angle + np.pi, _TURN) - np.pi)
    return np.pi if wrapped == -np.pi else wrapped


def _distinct(clockings: Sequence[Clocking]) -> list[Clocking]:
    """The best of those with the most holes lined up, one per angle to a hundredth of a degree."""
    if not clockings:
        return []
    most = len(clockings[0].lined_up)
    kept: list[Clocking] = []
    for clocking in clockings:
        if len(clocking.lined_up) == most and all(abs(clocking.angle_deg - k.angle_deg) > 0.01 for k in kept):
            kept.append(clocking)
    return kept

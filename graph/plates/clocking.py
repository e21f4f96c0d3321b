"""At which angles two patterns stand in one plate: every cell of angles, not a sample.

A pair of holes stops or starts to stand only where its distance equals what it needs (with or without a head, which
a bolt that two holes share has not) or where the two begin to fall together; each such distance is met at two angles
(law of cosines about the common axis). Between neighbouring angles of that kind nothing changes, so a few looks into
each cell speak for it all. They are only where to look: whole micrometres decide (`holes.stands`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from math import floor

import numpy as np
from numpy.typing import NDArray

from graph.plates.holes import allowed_um, need_um
from graph.plates.model import PlateHole

Floats = NDArray[np.float64]
GRID_DEG = 0.01  # finer than any mark-out
LEAST_CELL_DEG = 1e-5
AT_ONCE = 128  # angles in one array
PARTS = 6  # looks into a cell: a bolt that two holes share is wider than a thread, so walls move a little in it


class Pairing:
    """Distances of every hole of one pattern from every hole of the other, as the second turns."""

    def __init__(self, engine: Sequence[PlateHole], gearbox: Sequence[PlateHole]):
        a = np.array([complex(hole.x_um, hole.y_um) for hole in engine], dtype=np.complex128)
        b = np.array([complex(hole.x_um, hole.y_um) for hole in gearbox], dtype=np.complex128)
        self.radius_a, self.radius_b = np.abs(a)[:, None], np.abs(b)[None, :]
        self.middle = np.angle(a)[:, None] - np.angle(b)[None, :]
        shape = (len(engine), len(gearbox))
        self.need = np.array([float(need_um(x, y)) for x in engine for y in gearbox]).reshape(shape)
        bare_a, bare_b = ([replace(hole, head_um=0) for hole in side] for side in (engine, gearbox))
        self.bare = np.array([float(need_um(x, y)) for x in bare_a for y in bare_b]).reshape(shape)
        allowed = [allowed_um(x, y) for x in engine for y in gearbox]
        self.allowed = np.array([-1.0 if found is None else float(found) for found in allowed]).reshape(shape)

    def cells(self, lean_deg: float) -> list[tuple[float, float]]:
        """The cells of angles within the lean, nearest to upright first, in degrees."""
        ends = [np.array([-lean_deg, 0.0, lean_deg])]
        ends += [self._meets(limit) for limit in (self.need, self.bare, self.allowed)]
        found = np.concatenate(ends)
        turned = np.mod(found + 180.0, 360.0) - 180.0
        inside = np.unique(np.concatenate([turned[np.abs(turned) <= lean_deg], ends[0]]))
        cells = [(float(low), float(high)) for low, high in pairwise(inside) if high - low > LEAST_CELL_DEG]
        return sorted(cells, key=lambda cell: (min(abs(cell[0]), abs(cell[1])), cell))

    def _meets(self, limit: Floats) -> Floats:
        with np.errstate(invalid="ignore", divide="ignore"):
            cosine = (self.radius_a**2 + self.radius_b**2 - limit**2) / (2 * self.radius_a * self.radius_b)
        there = (limit > 0) & np.isfinite(cosine) & (np.abs(cosine) <= 1)
        half, middle = np.arccos(cosine[there]), self.middle[there]
        met: Floats = np.degrees(np.concatenate([middle - half, middle + half]))
        return met

    def may_stand(self, degrees: Floats) -> NDArray[np.bool_]:
        """At each angle: does every pair stand, were its heads gone, or fall together? A quick look before the exact
        one."""
        found = np.empty(len(degrees), dtype=bool)
        for start in range(0, len(degrees), AT_ONCE):
            some = np.radians(degrees[start : start + AT_ONCE])[:, None, None]
            cosine = np.cos(self.middle[None] - some)
            squares = self.radius_a**2 + self.radius_b**2 - 2 * self.radius_a * self.radius_b * cosine
            apart = np.sqrt(np.maximum(squares, 0))
            stand = (apart >= self.bare - 2) | (apart <= self.allowed + 2)
            found[start : start + AT_ONCE] = stand.all(axis=(1, 2))
        return found


def angles(pairing: Pairing, lean_deg: float) -> Iterator[float]:
    """The angles to try, in degrees: of each cell in which every pair may stand, nearest to upright first."""
    if lean_deg <= 0:
        return
    cells = pairing.cells(lean_deg)
    middles = np.array([(low + high) / 2 for low, high in cells])
    for low, high in (cell for cell, may in zip(cells, pairing.may_stand(middles), strict=True) if may):
        parts = (low + (high - low) * part / PARTS for part in range(1, PARTS))
        looks = list(dict.fromkeys((_on_grid(low, high), *parts)))
        for degrees, may in zip(looks, pairing.may_stand(np.array(looks)), strict=True):
            if may:
                yield degrees


def _on_grid(low: float, high: float) -> float:
    """The angle of the cell that is nearest to upright and a whole hundredth of a degree; else its middle."""
    spare = min(GRID_DEG, (high - low) / 4)
    near, far = (low, high) if abs(low) <= abs(high) else (high, low)
    sign = 1 if far > near else -1
    steps = floor((near + sign * spare) / GRID_DEG) if sign < 0 else -floor(-(near + sign * spare) / GRID_DEG)
    found = round(steps * GRID_DEG, 2)
    return found if low + spare / 2 <= found <= high - spare / 2 else (low + high) / 2

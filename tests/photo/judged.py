"""What was read off a drawn photo against what was drawn."""

from __future__ import annotations

import time
from dataclasses import dataclass, field

import numpy as np

from graph.errors import InvalidInput
from graph.photo.model import PhotoFound, Printed, SeenHole
from graph.photo.reading import read_grey
from tests.photo.drawn import Drawn, draw

CALLIPER_MM = 0.05


@dataclass
class Judged:
    """Over all photos: each true hole's miss and stated uncertainty, and what went wrong."""

    misses: list[tuple[float, float]] = field(default_factory=list)
    ticked: list[tuple[float, float]] = field(default_factory=list)
    diameters: list[tuple[float, float]] = field(default_factory=list)
    wrong_and_ticked: list[str] = field(default_factory=list)
    unseen: int = 0
    refused: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    @property
    def covered(self) -> float:
        """Share of the true holes whose centre lies within what is stated of it."""
        return float(np.mean([miss <= stated for miss, stated in self.misses]))


def printed(wanted: Drawn, seed: int) -> Printed:
    """The check lines as a person reads them: within what the calliper is said to do."""
    chance = np.random.default_rng(seed)
    across, along = chance.normal(0, CALLIPER_MM / 2, 2)
    return Printed(across_mm=140 * wanted.across + across, along_mm=140 * wanted.along + along,
                   line_u_mm=CALLIPER_MM, under_mm=0.0)  # fmt: skip


def judge(wanted: Drawn, into: Judged) -> PhotoFound | None:
    """Draws, reads, and notes what came of it."""
    photo, lines = draw(wanted), printed(wanted, wanted.seed)
    began = time.process_time()
    try:
        found = read_grey(photo, lines)
    except InvalidInput as error:
        into.refused.append(f"{wanted.seed}: {error}")
        return None
    into.seconds.append(time.process_time() - began)
    met = set()
    for hole in found.holes:
        number, miss = nearest(hole, wanted)
        across = wanted.holes[number][2]
        if miss < 3 and hole.diameter_mm > 0.6 * across:
            met.add(number)
            into.misses.append((miss, hole.u_mm))
            off = min(abs(hole.diameter_mm - across), abs(hole.diameter_mm - across - 2 * wanted.chamfer))
            into.diameters.append((off, hole.diameter_u_mm))
            if hole.sure:
                into.ticked.append((miss, hole.u_mm))
        elif hole.sure:
            into.wrong_and_ticked.append(f"{wanted.seed}: {hole}")
    into.unseen += len(wanted.holes) - len(met)
    return found


def nearest(hole: SeenHole, wanted: Drawn) -> tuple[int, float]:
    """The drawn hole nearest to a seen one, and how far off."""
    far = [float(np.hypot(hole.x_mm - x, hole.y_mm - y)) for x, y, _ in wanted.holes]
    return int(np.argmin(far)), min(far)

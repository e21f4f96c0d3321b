"""Faces for the tests of plates: plain ones, and random pairs from a seed."""

from __future__ import annotations

from math import cos, hypot, radians, sin
from random import Random

from graph.fits.model import NM_PER_MM
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD, Face, Hole
from graph.plates.model import PlateWanted, ThicknessWindow
from graph.plates.rules import PlateRules

MM = NM_PER_MM
SIZES = {THREAD: ((8, "M8x1.25"), (10, "M10x1.5"), (12, "M12x1.75")), CLEARANCE: ((9, ""), (11, ""), (13.5, ""))}


def hole(
    name: str, x: float, y: float, size: float = 10, use: str = THREAD, thread: str = "", load: bool = True
) -> Hole:
    """One hole, places and size in mm."""
    return Hole(
        id=name, x_nm=round(x * MM), y_nm=round(y * MM), diameter_nm=round(size * MM), use=use, thread=thread, load=load
    )


def face(name: str, *holes: Hole, seen_from: str = "rear", uncertainty: float = 0.05) -> Face:
    """A face of holes."""
    return Face(
        id=name, label=name, holes=holes, axis="axis", seen_from=seen_from, uncertainty_nm=round(uncertainty * MM),
        evidence_rank=1,
    )  # fmt: skip


def ring(use: str, count: int, radius: float, size: float, *, first: float = 0.0, thread: str = "") -> tuple[Hole, ...]:
    """Holes at equal distances on a circle, the first so many degrees anticlockwise from the right."""
    turns = [radians(first + 360 * n / count) for n in range(count)]
    return tuple(
        hole(f"{use[0]}{n}", radius * cos(turn), radius * sin(turn), size, use, thread)
        for n, turn in enumerate(turns, start=1)
    )


def random_pair(seed: int) -> PlateWanted:
    """Two patterns as workshops meet them, crowded enough that some have no plate."""
    dice = Random(seed)
    size = dice.choice([12, 14, 15, 16, 18, 20, 25])
    window = dice.choice(
        [ThicknessWindow(), ThicknessWindow(size * 1000, size * 1000, "low", "high"),
         ThicknessWindow(size * 1000, size * 1000 + dice.randrange(0, 12_000), "low", "high")]
    )  # fmt: skip
    return PlateWanted(
        engine=_random_face(dice, "a", "rear"), gearbox=_random_face(dice, "b", dice.choice(["rear", "front"])),
        window=window, lean_deg=dice.choice([0.0, 0.0, 2.0, 10.0]), pieces=dice.choice([1, 2]),
        rules=PlateRules(dice.choice(["steel", "steel", "light alloy"])),
    )  # fmt: skip


def _random_face(dice: Random, name: str, seen_from: str) -> Face:
    use = dice.choice([THREAD, CLEARANCE])
    size, thread = dice.choice(SIZES[use])
    found: list[Hole] = []
    for n in range(dice.randrange(4, 11)):
        for _ in range(200):
            radius, turn = dice.uniform(90, 190), dice.uniform(0, 360)
            x, y = round(radius * cos(radians(turn)), 2), round(radius * sin(radians(turn)), 2)
            if all(hypot(x - one.x_nm / MM, y - one.y_nm / MM) > 34 for one in found):
                made = DOWEL if n in (1, 2) and dice.random() < 0.6 else use
                found.append(
                    hole(f"{name}{n}", x, y, 12 if made == DOWEL else size, made, thread if made == THREAD else "",
                         load=made == DOWEL or dice.random() < 0.9)
                )  # fmt: skip
                break
    if dice.random() < 0.2:
        found.append(hole(f"{name}-oil", 60, 0, 15, OTHER))
    return face(name, *found, seen_from=seen_from, uncertainty=0.1)

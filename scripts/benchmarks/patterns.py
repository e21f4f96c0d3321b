"""How long it takes to find the clocking angle of two bolt faces with noise and decoys, and to judge the joint.

Faces are drawn at random: common holes turned by a random angle and disturbed by up to 0.2 mm, the rest decoys. Every
answer is compared with the angle that was drawn, so that a fast wrong one shows. Wanted: 20 x 20 holes in 10 ms.
"""

from __future__ import annotations

import random
from argparse import Namespace
from math import cos, pi, radians, sin

from graph.fits.model import NM_PER_MM
from graph.fits.pattern import CLEARANCE, THREAD, Face, Hole
from graph.fits.pattern_check import check_faces
from graph.fits.pattern_match import Clocking, list_clockings
from scripts.benchmarks.clock import in_words, middle, percentile, timed
from scripts.benchmarks.table import Table

SIZES, SEED, ROUNDS, QUICK_ROUNDS = (6, 10, 20, 40), 11, 60, 15
NOISE_NM, DECOYS = NM_PER_MM // 5, 0.25  # share of the holes that have no counterpart
APART_DEG = 0.5
CIRCLES_MM = (110, 150, 190)  # on few bolt circles, as in the trade: many pairs could meet
WANTED = "wanted: 20 x 20 holes within 10 ms"


def faces(draw: random.Random, count: int) -> tuple[Face, Face, float]:
    """An engine's threads, a housing's clearance holes turned by the angle (degrees) that comes third."""
    angle, shared = draw.uniform(-180, 180), count - int(count * DECOYS)
    places = [_place(draw) for _ in range(count)]
    turned = [_turned(x, y, -angle) for x, y in places[:shared]]
    noisy = [(x + draw.randint(-NOISE_NM, NOISE_NM), y + draw.randint(-NOISE_NM, NOISE_NM)) for x, y in turned]
    other = [*noisy, *(_place(draw) for _ in range(count - shared))]
    draw.shuffle(other)
    return _face("engine", places, THREAD, 10), _face("housing", other, CLEARANCE, 11), angle


def run(options: Namespace) -> list[Table]:
    """One row for each number of holes."""
    rounds = QUICK_ROUNDS if options.quick else ROUNDS
    rows: list[tuple[str, ...]] = []
    bars: dict[str, float] = {}
    for count in SIZES:
        draw = random.Random(SEED + count)
        match, judge, right = [], [], 0
        for _ in range(rounds):
            engine, housing, angle = faces(draw, count)
            seconds, found = timed(lambda a=engine, b=housing: list_clockings(a, b))  # type: ignore[misc]
            match.append(seconds)
            judge.append(timed(lambda a=engine, b=housing: check_faces(a, b))[0])  # type: ignore[misc]
            right += _is_right(found, angle, count)
        label = f"{count} x {count}"
        worst = in_words(percentile(match, 95))
        rows.append((label, in_words(middle(match)), worst, in_words(middle(judge)), f"{right} of {rounds}"))
        bars[label] = middle(match)
    heads = ("holes", "match, median", "95 %", "match and judge, median", "right angle")
    return [Table("Bolt patterns: clocking angle, 0.2 mm noise, a quarter decoys", heads, rows, (WANTED,), bars)]


def _is_right(found: tuple[Clocking, ...], angle: float, count: int) -> bool:
    if not found:
        return False
    off = (found[0].angle_deg - angle + 180) % 360 - 180
    return abs(off) <= APART_DEG and len(found[0].lined_up) >= (count - int(count * DECOYS)) * 3 // 4


def _place(draw: random.Random) -> tuple[int, int]:
    radius, at = draw.choice(CIRCLES_MM), draw.uniform(0, 2 * pi)
    return round(radius * cos(at) * NM_PER_MM), round(radius * sin(at) * NM_PER_MM)


def _turned(x: int, y: int, degrees: float) -> tuple[int, int]:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return round(x * c - y * s), round(x * s + y * c)


def _face(name: str, places: list[tuple[int, int]], use: str, size_mm: int) -> Face:
    holes = tuple(
        Hole(id=f"{name}{n}", x_nm=x, y_nm=y, diameter_nm=size_mm * NM_PER_MM, use=use)
        for n, (x, y) in enumerate(places, start=1)
    )
    return Face(id=name, label=name, holes=holes, axis="crank axis", seen_from="rear", uncertainty_nm=NM_PER_MM // 20)

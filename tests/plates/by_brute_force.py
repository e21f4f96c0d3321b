"""An independent look at whether two patterns have room in one plate: every 0.02 degree, plain numbers in mm.

It shares no code with `graph.plates`: hole sizes are typed from ISO 273 (medium: 9, 11, 13.5), ISO 4762 and DIN 974-1
(heads 8, 10, 12 high in counterbores of 15, 18, 20), ISO 261 coarse pitches; limits are common practice as the README
says them. To be truly room, walls must have 0.02 mm more than the limit, so that rounding decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, hypot, radians, sin

from graph.fits.pattern import Face
from graph.plates.model import PlateWanted

CLEAR: dict[float, float] = {8: 9.0, 10: 11.0, 12: 13.5}
COUNTERBORE: dict[float, tuple[float, float]] = {8: (15.0, 8.0), 10: (18.0, 10.0), 12: (20.0, 12.0)}
PITCH: dict[float, float] = {8: 1.25, 10: 1.5, 12: 1.75}
SCREW_OF_HOLE: dict[float, int] = {9.0: 8, 11.0: 10, 13.5: 12}
ENGAGED = {"steel": 1.0, "light alloy": 2.0}
EDGE = {"steel": 1.5, "light alloy": 2.0}
WALL, FLOOR, SPARE = 5.0, 3.0, 0.02
STEP_DEG = 0.02


@dataclass
class Plain:
    """A hole of the plate as plain numbers: cylinders of (diameter, from, to)."""

    x: float
    y: float
    size: float
    use: str
    mate: float
    off: float
    cylinders: list[tuple[float, float, float]]


def has_room(wanted: PlateWanted) -> bool:
    """Does one plate carry every hole of both patterns, at some angle and thickness that may be?"""
    if wanted.engine.seen_from != "rear":
        raise ValueError("the engine's face is seen from the rear in these tests")
    least = max([*_leasts(wanted, wanted.engine), *_leasts(wanted, wanted.gearbox)], default=0)
    low = max(least, (wanted.window.low_um or 0) / 1000)
    high = min(30.0, (wanted.window.high_um if wanted.window.high_um is not None else 30_000) / 1000)
    steps = round(wanted.lean_deg / STEP_DEG)
    sizes = [half / 2 for half in range(61) if low <= half / 2 <= high]
    sizes += [low] * (low <= high and not sizes)
    for size in (sizes[0], sizes[-1]) if sizes else ():
        for blind in (False, True):
            a, b = _plain(wanted, True, size, blind), _plain(wanted, False, size, blind)
            if any(_stands(a, b, step * STEP_DEG, size) for step in range(-steps, steps + 1)):
                return True
    return False


def _leasts(wanted: PlateWanted, face: Face) -> Iterator[float]:
    for hole in face.holes:
        size = hole.diameter_nm / 1e6
        if hole.use == "thread":
            yield COUNTERBORE[size][1] + 0.4 * size
        if hole.use == "clearance":
            yield ENGAGED[wanted.rules.material] * SCREW_OF_HOLE[size]


def _plain(wanted: PlateWanted, engine: bool, thick: float, blind: bool) -> list[Plain]:
    face = wanted.engine if engine else wanted.gearbox
    mirror = -1 if face.seen_from == "front" else 1
    found, off = [], face.uncertainty_nm / 1e6
    for hole in face.holes:
        x, y, size = mirror * hole.x_nm / 1e6, hole.y_nm / 1e6, hole.diameter_nm / 1e6
        if hole.use == "dowel":
            found.append(Plain(x, y, size, "dowel", size, off, [(size, *_deep(engine, 1.5 * size, thick, blind))]))
        elif hole.use == "thread":
            bore, deep = COUNTERBORE[size]
            sunk = (bore, thick - deep, thick) if engine else (bore, 0, deep)
            found.append(Plain(x, y, size, "screw", size, off, [(CLEAR[size], 0, thick), sunk]))
        elif hole.use == "clearance":
            screw = SCREW_OF_HOLE[size]
            deep = ENGAGED[wanted.rules.material] * screw + 3 * PITCH[screw]
            found.append(Plain(x, y, screw, "tapped", size, off, [(screw, *_deep(engine, deep, thick, blind))]))
    return found


def _deep(engine: bool, deep: float, thick: float, blind: bool) -> tuple[float, float]:
    if not blind or deep + FLOOR > thick:
        return 0, thick
    return (0, deep) if engine else (thick - deep, thick)


def _stands(a: list[Plain], b: list[Plain], degrees: float, thick: float) -> bool:
    turn = radians(degrees)
    turned = [
        replace(h, x=cos(turn) * h.x - sin(turn) * h.y, y=sin(turn) * h.x + cos(turn) * h.y) for h in b
    ]  # fmt: skip
    holes = []
    for one in a:
        partner = next((h for h in turned if _together(one, h)), None)
        if partner is None:
            holes.append(one)
            continue
        turned.remove(partner)
        x, y = (one.x, one.y) if one.use == "screw" else (partner.x, partner.y)
        if one.use == partner.use:
            x, y = (one.x + partner.x) / 2, (one.y + partner.y) / 2
        width = one.size if one.use == "dowel" else CLEAR[one.size]
        holes.append(Plain(x, y, one.size, "both", one.mate, 0, [(width, 0, thick)]))
    holes += turned
    for n, first in enumerate(holes):
        for second in holes[n + 1 :]:
            apart = hypot(first.x - second.x, first.y - second.y)
            for d1, f1, t1 in first.cylinders:
                for d2, f2, t2 in second.cylinders:
                    if f1 - t2 < FLOOR and f2 - t1 < FLOOR and apart < (d1 + d2) / 2 + WALL + SPARE:
                        return False
    return True


def _together(a: Plain, b: Plain) -> bool:
    apart = hypot(a.x - b.x, a.y - b.y)
    if a.size != b.size or (a.use == "screw" and b.use == "screw"):
        return False
    if "dowel" in (a.use, b.use):
        return a.use == b.use and apart <= 0.05 - SPARE
    if a.use == b.use:
        return apart <= (a.mate + b.mate) / 2 - a.size - a.off - b.off - SPARE
    plain = b if a.use == "screw" else a
    return apart <= (plain.mate - plain.size) / 2 - a.off - b.off - SPARE

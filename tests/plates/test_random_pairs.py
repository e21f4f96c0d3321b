"""Random pairs of patterns: no hole outside its limits, and whoever is refused truly has no room.

The limits are looked at in plain numbers off the JSON (ISO 273, 261, 4762 sizes typed in `by_brute_force`); a refusal
is held against a brute force over every 0.02 degree. `LAYSHAFT_PLATE_PAIRS=200` for the whole.
"""

from __future__ import annotations

import os
from functools import cache
from math import atan, atan2, cos, hypot, pi, radians, sin
from typing import Any

import pytest

from graph.plates.as_json import plate_as_json
from graph.plates.design import design_plate
from graph.plates.model import PlateWanted
from tests.plates.by_brute_force import CLEAR, COUNTERBORE, EDGE, ENGAGED, FLOOR, PITCH, WALL, has_room
from tests.plates.made import random_pair

PAIRS = int(os.environ.get("LAYSHAFT_PLATE_PAIRS", "20"))
ROUNDED = 0.0015  # two places to the micrometre


@cache
def outcome(seed: int) -> dict[str, Any]:
    """What becomes of the pair, as JSON."""
    return plate_as_json(design_plate(random_pair(seed)))


@pytest.mark.parametrize("seed", range(PAIRS))
def test_a_design_keeps_every_limit_and_a_refusal_has_no_room(seed: int) -> None:
    wanted = random_pair(seed)

    found = outcome(seed)

    if found["verdict"] == "refused":
        assert found["reasons"] and all(one["what"] and one["move"] for one in found["reasons"])
        by_the_opening = {one["path"] for one in found["reasons"]} & {"opening", "register"}
        assert by_the_opening or not has_room(wanted)
        return
    for piece in found["design"]["pieces"]:
        assert faults_of(piece, wanted.rules.material) == []
    assert misplaced(found["design"], wanted) == []
    low, high = wanted.window.low_um, wanted.window.high_um
    assert (low or 0) / 1000 <= found["design"]["thickness_mm"] <= (60_000 if high is None else high) / 1000


def test_both_outcomes_are_among_the_pairs() -> None:
    verdicts = [outcome(seed)["verdict"] for seed in range(20)]

    assert 3 <= verdicts.count("refused") <= 17


def cylinders(hole: dict[str, Any]) -> list[tuple[float, float, float]]:
    size = float(hole["thread"][1:].partition("x")[0]) if hole["thread"] else hole["drill_mm"]
    found = [(max(size, hole["drill_mm"]), hole["from_mm"], hole["to_mm"])]
    if hole["counterbore_mm"]:
        deep = hole["counterbore_depth_mm"]
        side = hole["head_side"] == "gearbox"
        start, end = (hole["to_mm"] - deep, hole["to_mm"]) if side else (hole["from_mm"], hole["from_mm"] + deep)
        found.append((hole["counterbore_mm"], start, end))
    return found


def faults_of(piece: dict[str, Any], material: str) -> list[str]:
    faults = []
    thick = piece["thickness_mm"]
    for n, hole in enumerate(piece["holes"]):
        size = float(hole["thread"][1:].partition("x")[0]) if hole["thread"] else hole["drill_mm"]
        if hole["use"] == "screw" and (
            (hole["counterbore_mm"], hole["counterbore_depth_mm"]) != COUNTERBORE[size]
            or hole["drill_mm"] != CLEAR[size]
            or thick - hole["counterbore_depth_mm"] < 0.4 * size
        ):
            faults.append(f"{hole['id']}: head")
        if hole["use"] == "tapped" and (
            abs(hole["drill_mm"] - (size - PITCH[size])) > 1e-9
            or hole["to_mm"] - hole["from_mm"] < ENGAGED[material] * size
        ):
            faults.append(f"{hole['id']}: thread")
        if not 0 <= hole["from_mm"] < hole["to_mm"] <= thick:
            faults.append(f"{hole['id']}: deep")
        edge = min(to_edge(piece["outline"], hole), hypot(hole["x_mm"], hole["y_mm"]) - piece["bore_mm"] / 2)
        if edge < EDGE[material] * size - ROUNDED:
            faults.append(f"{hole['id']}: edge {edge}")
        for other in piece["holes"][n + 1 :]:
            apart = hypot(hole["x_mm"] - other["x_mm"], hole["y_mm"] - other["y_mm"])
            for d1, f1, t1 in cylinders(hole):
                for d2, f2, t2 in cylinders(other):
                    if f1 - t2 < FLOOR and f2 - t1 < FLOOR and apart < (d1 + d2) / 2 + WALL:
                        faults.append(f"{hole['id']} and {other['id']}: {apart}")
    return faults


def to_edge(outline: list[tuple[float, float, float]], hole: dict[str, Any]) -> float:
    """From the hole's axis to the outline: each line and arc by itself."""
    found = []
    for (x1, y1, bulge), (x2, y2, _) in zip(outline, [*outline[1:], outline[0]], strict=True):
        px, py = hole["x_mm"], hole["y_mm"]
        if not bulge:
            along = max(0, min(1, ((px - x1) * (x2 - x1) + (py - y1) * (y2 - y1)) / ((x2 - x1) ** 2 + (y2 - y1) ** 2)))
            found.append(hypot(px - x1 - along * (x2 - x1), py - y1 - along * (y2 - y1)))
            continue
        angle = 4 * atan(bulge)
        radius = hypot(x2 - x1, y2 - y1) / 2 / sin(angle / 2)
        start = atan2(y2 - y1, x2 - x1) - angle / 2 - pi / 2
        cx, cy = x1 - radius * cos(start), y1 - radius * sin(start)
        if (atan2(py - cy, px - cx) - start) % (2 * pi) <= angle:
            found.append(abs(hypot(px - cx, py - cy) - radius))
        found += [hypot(px - x1, py - y1), hypot(px - x2, py - y2)]
    return min(found)


def misplaced(design: dict[str, Any], wanted: PlateWanted) -> list[str]:
    """Holes of the two parts that the plate does not meet where they are."""
    made = [hole for piece in design["pieces"] for hole in piece["holes"]]
    turn, faults = radians(design["angle_deg"]), []
    for letter, face, angle in (("A", wanted.engine, 0.0), ("B", wanted.gearbox, turn)):
        for hole in face.holes:
            if hole.use == "other":
                continue
            x, y = hole.x_nm / 1e6 * (-1 if face.seen_from == "front" else 1), hole.y_nm / 1e6
            x, y = cos(angle) * x - sin(angle) * y, sin(angle) * x + cos(angle) * y
            near = min(made, key=lambda one: hypot(one["x_mm"] - x, one["y_mm"] - y))
            away = hypot(near["x_mm"] - x, near["y_mm"] - y)
            allowed = ROUNDED if near["side"] != "both" else 1.3
            name = f"{letter}-{hole.id}"
            gone = name in design["left_out"]
            if (away > allowed and not gone) or (gone and hole.load):
                faults.append(f"{name}: {away}")
    return faults

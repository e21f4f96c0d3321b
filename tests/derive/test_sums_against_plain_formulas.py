"""Twenty random inputs of each sum, against a formula written down here from its textbook, in plain floating point.

ISO 281 and ISO 76 for bearings, T = K d F, Cardan kinematics, beam theory, similarity of turbomachines, plane geometry,
and counting. Each figure is read off the working that its user sees.
"""

from __future__ import annotations

import math
import random
import re
from collections.abc import Callable
from math import acos, cos, degrees, hypot, pi, radians, sin, sqrt, tan
from typing import Any

import pytest

from graph.what_if.kinds import check_what_if

Inputs = dict[str, str]
Case = tuple[Callable[[random.Random], tuple[Inputs, float]], str, float]


def figure(kind: str, inputs: Inputs, symbol: str) -> float:
    """The number on the working's line of that symbol."""
    line = next(line for line in check_what_if(kind, inputs).working.lines if line.symbol == symbol)
    found = re.match(r"-?\d+(?:\.\d+)?", line.value)
    assert found is not None, line.value
    return float(found[0])


def num(r: random.Random, low: float, high: float, places: int = 2) -> float:
    return round(r.uniform(low, high), places)


def road(r: random.Random) -> tuple[Inputs, float]:
    n, i, f, u = r.randint(600, 7000), num(r, 0.5, 5), num(r, 2, 6), r.randint(1500, 2600)
    return {"speed_rpm": f"{n}", "gear": f"{i}", "final": f"{f}", "tyre": f"{u} mm"}, n / i / f * u * 60 / 1e6


def engine(r: random.Random) -> tuple[Inputs, float]:
    v, i, f, u = r.randint(20, 200), num(r, 0.5, 5), num(r, 2, 6), r.randint(1500, 2600)
    return {"speed": f"{v} km/h", "gear": f"{i}", "final": f"{f}", "tyre": f"{u} mm"}, v * 1e6 / 60 / u * i * f


def gear(r: random.Random) -> tuple[Inputs, float]:
    a, b, c, d = (r.randint(12, 60) for _ in range(4))
    names = ("constant_driving", "constant_driven", "gear_driving", "gear_driven")
    return dict(zip(names, map(str, (a, b, c, d)), strict=True)), b / a * d / c


def hours(r: random.Random) -> tuple[Inputs, float]:
    c, p, n = r.randint(10_000, 80_000), r.randint(900, 9000), r.randint(100, 5000)
    inputs = {"bearing": "6309", "c_n": f"{c}", "radial_n": f"{p}", "speed_rpm": f"{n}"}
    return inputs, (c / p) ** 3 * 1e6 / 60 / n


def rating(r: random.Random) -> tuple[Inputs, float]:
    p, h, n = r.randint(900, 9000), r.randint(500, 40_000), r.randint(100, 5000)
    return {"load_n": f"{p}", "hours": f"{h} h", "speed_rpm": f"{n}"}, p * (h * 60 * n / 1e6) ** (1 / 3)


def torque(r: random.Random) -> tuple[Inputs, float]:
    size, part = r.choice((6, 8, 10, 12)), num(r, 0.4, 0.9)
    load = {6: 11_600, 8: 21_200, 10: 33_700, 12: 48_900}[size]  # ISO 898-1, class 8.8 coarse
    return {"thread": f"M{size}", "class": "8.8", "part": f"{part}"}, 0.2 * size / 1000 * part * load


def joints(r: random.Random) -> tuple[Inputs, float]:
    a, b, p = num(r, 0.5, 8), num(r, 0.5, 8), r.randint(0, 90)
    x, y = a * a - b * b * cos(2 * radians(p)), b * b * sin(2 * radians(p))
    return {"front": f"{a} deg", "rear": f"{b} deg", "phase": f"{p} deg", "most": "90 deg"}, sqrt(hypot(x, y))


def angle(r: random.Random) -> tuple[Inputs, float]:
    s, p, t, q = (num(r, -8, 8) for _ in range(4))
    one, two = ((1, tan(radians(x)), tan(radians(y))) for x, y in ((p, s), (q, t)))
    dot = sum(x * y for x, y in zip(one, two, strict=True))
    true = degrees(acos(dot / sqrt(sum(x * x for x in one) * sum(y * y for y in two))))
    names = ("front_side", "front_plan", "rear_side", "rear_plan")
    return {name: f"{value} deg" for name, value in zip(names, (s, p, t, q), strict=True)}, true


def whirl(r: random.Random) -> tuple[Inputs, float]:
    length, outer, wall = r.randint(600, 1800), r.randint(40, 120), num(r, 1.5, 5, 1)
    inner = outer - 2 * wall
    inertia, area = pi / 64 * (outer**4 - inner**4) / 1e12, pi / 4 * (outer**2 - inner**2) / 1e6
    w = (pi / (length / 1e3)) ** 2 * sqrt(206.843e9 * inertia / (7833 * area))
    inputs = {"length": f"{length} mm", "outer": f"{outer} mm", "wall": f"{wall} mm", "speed_rpm": "500"}
    return inputs, w * 30 / pi


def pulse(r: random.Random) -> tuple[Inputs, float]:
    sent, wanted = r.randint(1000, 20_000), r.randint(1000, 20_000)
    return {"sent": f"{sent} /km", "wanted": f"{wanted} /km"}, wanted / sent


def boat(r: random.Random) -> tuple[Inputs, float]:
    n, old, new, pitch = r.randint(800, 4000), num(r, 1, 4), num(r, 1, 4), r.randint(8, 30)
    return {"speed_rpm": f"{n}", "old": f"{old}", "new": f"{new}", "pitch": f"{pitch} in"}, pitch * new / old


def stall(r: random.Random) -> tuple[Inputs, float]:
    t, n, e = r.randint(50, 600), r.randint(900, 3000), r.randint(50, 900)
    inputs = {"tested_nm": f"{t}", "tested_rpm": f"{n}", "engine_nm": f"{e}", "engine_rpm": "3000"}
    return inputs, n * sqrt(e / t)


def bend(r: random.Random) -> tuple[Inputs, float]:
    span, wide, thick, force = r.randint(50, 400), r.randint(20, 120), r.randint(6, 30), r.randint(100, 5000)
    moment, modulus = force * span / 4, wide * thick**2 / 6
    inputs = {"span": f"{span} mm", "width": f"{wide} mm", "thickness": f"{thick} mm", "force_n": f"{force}"}
    return {**inputs, "yield": "240 MPa"}, moment / modulus


def box(r: random.Random) -> tuple[Inputs, float]:
    i, a, b, c, d = num(r, 2, 6), *(r.randint(15, 45) for _ in range(4))
    names = ("old_driving", "old_driven", "new_driving", "new_driven")
    inputs = dict(zip(names, map(str, (a, b, c, d)), strict=True))
    return {"ratio_1": f"{i}", **inputs}, i / (b / a) * (d / c)


def play(r: random.Random) -> tuple[Inputs, float]:
    shaft, house, warm = r.randint(0, 20), r.randint(0, 10), r.randint(0, 20)
    inputs = {"bearing": "6309", "class": "C3", "shaft": f"{shaft} um", "housing": f"{house} um", "warmer": f"{warm} K"}
    return inputs, 18 - 0.8 * (shaft + house) - 12.5e-6 * warm * (4 * 100 + 45) / 5 * 1000


def static(r: random.Random) -> tuple[Inputs, float]:
    radial, axial = r.randint(500, 20_000), r.randint(0, 15_000)
    inputs = {"bearing": "6309", "radial_n": f"{radial}", "axial_n": f"{axial}"}
    return inputs, 31_500 / max(0.6 * radial + 0.5 * axial, radial)  # ISO 76, deep groove


def clutch(r: random.Random) -> tuple[Inputs, float]:
    n, do, di, mu, faces = r.randint(2000, 12_000), r.randint(180, 300), r.randint(90, 170), num(r, 0.2, 0.45), 2
    inputs = {"clamp_n": f"{n}", "outer": f"{do} mm", "inner": f"{di} mm", "friction": f"{mu}", "faces": f"{faces}"}
    return {**inputs, "engine_nm": "200"}, mu * n * faces * (do / 2 + di / 2) / 2 / 1000  # uniform wear


def slip(r: random.Random) -> tuple[Inputs, float]:
    size, count, circle, mu = r.choice((8, 10, 12)), r.randint(4, 10), r.randint(50, 110), num(r, 0.1, 0.2)
    proof = {8: 30_400, 10: 48_100, 12: 70_000}[size]  # ISO 898-1, class 10.9 coarse
    inputs = {"thread": f"M{size}", "class": "10.9", "bolts": f"{count}", "circle": f"{circle} mm"}
    return {**inputs, "friction": f"{mu}", "engine_nm": "200"}, count * mu * 0.75 * proof * circle / 2000


def cable(r: random.Random) -> tuple[Inputs, float]:
    drive, final, tyre, turns = r.randint(5, 12), num(r, 2.5, 5), r.randint(1600, 2400), r.randint(500, 900)
    inputs = {
        "drive_teeth": f"{drive}",
        "teeth": "19",
        "final": f"{final}",
        "tyre": f"{tyre} mm",
        "cable": f"{turns} /km",
    }
    return inputs, drive * final * 1e6 / tyre / turns


def fluid(r: random.Random) -> tuple[Inputs, float]:
    master, stroke, slave, fork = num(r, 12, 22), num(r, 15, 40, 1), num(r, 15, 28), num(r, 1, 2.5)
    inputs = {"master_bore": f"{master} mm", "master_stroke": f"{stroke} mm", "slave_bore": f"{slave} mm"}
    inputs = {name: f"{text} +/- 0.01 mm" for name, text in inputs.items()}
    rest = {"gap": "1 mm +/- 0.1 mm", "finger_travel": "2 mm +/- 0.1 mm", "fork_ratio": f"{fork}"}
    return {**inputs, **rest}, stroke * (master / slave) ** 2 / fork


def shims(r: random.Random) -> tuple[Inputs, float]:
    play, load = num(r, 0.05, 0.4), num(r, 0.02, 0.15)
    return {"end_float": f"{play} mm +/- 0.01 mm", "preload": f"{load} mm +/- 0.01 mm"}, play + load


def swept(r: random.Random) -> tuple[Inputs, float]:
    up, side = num(r, -0.2, 0.2), num(r, -0.2, 0.2)
    told = {"h12": -up, "h6": up, "h3": -side, "h9": side}
    inputs = {name: f"{value + 0.5:.2f} mm" for name, value in told.items()}
    return inputs, 2 * hypot(up, side)


def outlived(r: random.Random) -> tuple[Inputs, float]:
    old, new = r.randint(20_000, 60_000), r.randint(20_000, 60_000)
    return {"old": "6309", "new": "6209", "old_c_n": f"{old}", "new_c_n": f"{new}"}, (new / old) ** 3


def involute(r: random.Random) -> tuple[Inputs, float]:
    teeth, module = r.randint(10, 60), r.choice((1, 1.5, 2, 3))
    return {"standard": "ISO 4156", "teeth": f"{teeth}", "pitch": f"{module}"}, teeth * module * cos(radians(30))


def squeezed(r: random.Random) -> tuple[Inputs, float]:
    """Lame: bronze (100 GPa, 0.34) pressed into steel (206.843 GPa, 0.292); the bore follows the pressure."""
    d, i, b, big = r.randint(22, 40), num(r, 0.02, 0.09), r.randint(10, 18), r.randint(50, 90)
    rings = ((big**2 + d**2) / (big**2 - d**2) + 0.292) / 206_843 + ((d**2 + b**2) / (d**2 - b**2) - 0.34) / 100_000
    pressure = i / (d * rings)
    inputs = {"outside": f"{d + i:.3f} mm", "bore": f"{d} mm", "inside": f"{b} mm", "around": f"{big} mm"}
    return inputs, 2 * pressure * d**2 * b / (100_000 * (d**2 - b**2))


def between(r: random.Random) -> tuple[Inputs, float]:
    hole, shaft = num(r, 20, 60, 3), num(r, 20, 60, 3)
    wanted = {"low": "0.01 mm", "high": "0.05 mm"}
    return {"hole": f"{hole} mm +/- 0.005 mm", "shaft": f"{shaft} mm +/- 0.005 mm", **wanted}, hole - shaft


def propshaft(r: random.Random) -> tuple[Inputs, float]:
    old, back = num(r, 600, 1800, 1), num(r, 5, 80, 1)
    inputs = {"old": f"{old} mm +/- 0.5 mm", "moved_back": f"{back} mm +/- 0.5 mm from the flange face"}
    return {**inputs, "slip_in": "2 mm", "slip_out": "2 mm"}, old - back


def risen(r: random.Random) -> tuple[Inputs, float]:
    old, new = num(r, 50, 200, 1), num(r, 50, 200, 1)
    inputs = {"old_drop": f"{old} mm +/- 1 mm", "new_drop": f"{new} mm +/- 1 mm", "old_length": "400 mm +/- 1 mm"}
    return {**inputs, "new_length": "410 mm +/- 1 mm", "room_up": "200 mm", "room_down": "200 mm"}, new - old


def oil(r: random.Random) -> tuple[Inputs, float]:
    behind, new, old = num(r, -200, 200, 1), num(r, -8, 8, 1), num(r, -4, 4, 1)
    moved = behind * (math.tan(math.radians(new)) - math.tan(math.radians(old)))
    return {"behind": f"{behind} mm", "angle": f"{new} deg", "designed": f"{old} deg"}, moved


CASES: dict[str, Case] = {
    "oil-level": (oil, "level at the plug", 1e-3),
    "static-safety": (static, "S0", 1e-3), "clutch-torque": (clutch, "T", 0.06), "flange-slip": (slip, "T", 0.06),
    "speedometer": (cable, "driven teeth", 1e-3), "release": (fluid, "travel", 1e-4),
    "taper-preload": (shims, "shims to add", 1e-3), "register": (swept, "TIR", 6e-4),
    "bearing-life": (outlived, "L_new / L_old", 1e-3), "spline-sizes": (involute, "base diameter", 1e-4),
    "pilot-closing": (squeezed, "bore closes by", 1e-4), "fit": (between, "clearance", 6e-4),
    "propshaft-length": (propshaft, "new length", 6e-4), "shaft-drop": (risen, "new - old drop", 6e-4),
    "road-speed": (road, "v", 1e-3), "engine-speed": (engine, "n", 1e-3), "gear-ratio": (gear, "i", 1e-4),
    "bearing-hours": (hours, "L10h", 0.06), "bearing-rating": (rating, "C", 1e-3), "bolt-torque": (torque, "T", 6e-3),
    "two-joints": (joints, "r", 1e-3), "joint-angle": (angle, "angle", 1e-3), "critical-speed": (whirl, "n_crit", 0.6),
    "pulse-factor": (pulse, "factor", 1e-4), "propeller": (boat, "pitch", 1e-3),
    "converter-torque": (stall, "stall speed", 1e-2), "plate-bending": (bend, "stress", 0.06),
    "box-ratios": (box, "gear 1", 1e-4), "bearing-clearance": (play, "least left", 1e-3),
}  # fmt: skip


@pytest.mark.parametrize("kind", CASES)
def test_twenty_random_inputs_agree_with_the_plain_formula(kind: str) -> None:
    draw, symbol, slack = CASES[kind]
    random_ = random.Random(kind)

    for _ in range(20):
        inputs, expected = draw(random_)
        assert figure(kind, inputs, symbol) == pytest.approx(expected, abs=slack), inputs


def _numbers(text: str) -> str | None:
    """A line's numbers as an expression Python can work out; None where they are words."""
    plain = re.sub(r"\b(?:N m|mm|N|kN|um|deg|1/min|MPa)\b", "", text).replace("^", "**").replace(" x ", " * ")
    plain = plain.replace("sqrt", "SQRT")
    if re.search(r"[a-zA-Z,;<>]", plain.replace("SQRT", "")) or not re.search(r"\d", plain):
        return None
    return plain.replace("SQRT", "sqrt")


@pytest.mark.parametrize("kind", CASES)
def test_each_printed_figure_follows_from_the_numbers_printed_beside_it(kind: str) -> None:
    draw, *_ = CASES[kind]
    random_, seen = random.Random(f"{kind} printed"), 0
    for _ in range(5):
        inputs, _expected = draw(random_)
        for line in check_what_if(kind, inputs).working.lines:
            expression, value = _numbers(line.numbers), re.match(r"-?\d+(?:\.(\d+))?", line.value)
            if expression is None or value is None:
                continue
            worked: Any = eval(expression, {"__builtins__": {}}, {"sqrt": sqrt})
            seen += 1
            half = 0.5 * 10 ** -len(value[1] or "")  # the last place as printed
            assert float(value[0]) == pytest.approx(worked, rel=1e-3, abs=1.1 * half), line.text()

    assert seen or kind in ("two-joints", "joint-angle", "critical-speed", "spline-sizes", "pilot-closing", "oil-level")

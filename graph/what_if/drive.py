"""What-ifs of the drive: life, bolts, rings, holes, shims, slip joint, ratios, speeds, rotation, boats, press fits."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.fits import axial, bearing_life, mesh, press, propshaft, rings, sums, threads, torque
from graph.fits.bearing_search import get_bearing
from graph.fits.model import Amount, CheckResult, Dimension, Verdict, Working
from graph.fits.tables import load_tables
from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.what_if.inputs import ANGLE, COUNT, LENGTH, NUMBER, QUANTITY, SIZE, WORD, Field, WhatIf
from graph.what_if.standards import demand_of

Values = Mapping[str, Any]
HANDS = ("clockwise", "anticlockwise")
LEAST = Field(NUMBER, "the least that is wanted", signed=True)
MOST = Field(NUMBER, "the most that is wanted", signed=True)
TYRE = Field(SIZE, "rolling circumference of the tyre", True)
GEAR, FINAL = Field(NUMBER, "ratio of the gear", True), Field(NUMBER, "ratio of the final drive", True)


def _metres(nm: int) -> Fraction:
    return Fraction(nm, 1_000_000_000)


def _pair(v: Values, name: str) -> tuple[int, int] | None:
    driving, driven = v[f"{name}_driving"], v[f"{name}_driven"]
    if (driving is None) != (driven is None):
        missing = "driving" if driving is None else "driven"
        raise InvalidInput([Problem(f"{name}_{missing}", "give both gears of the pair, such as 24")])
    return None if driving is None else (driving, driven)


def _ratio(v: Values) -> CheckResult:
    constant = _pair(v, "constant")
    assert constant is not None  # both are needed
    return sums.gear_ratio(constant, _pair(v, "gear"), _pair(v, "old"), demand_of(v))


def _hours(v: Values) -> CheckResult:
    rating = bearing_life.lowest_ratings(get_bearing(load_tables(), v["bearing"]))
    return sums.bearing_hours(
        v["c_n"] or rating.dynamic_n, v["c0_n"] or rating.static_n, load_drive_tables().load_factors, v["radial_n"],
        v["axial_n"] or Fraction(0), v["f0"] or Fraction(14), v["speed_rpm"], demand_of(v),
    )  # fmt: skip


def _static(v: Values) -> CheckResult:
    rating = bearing_life.lowest_ratings(get_bearing(load_tables(), v["bearing"]))
    guide = bearing_life.get_safety_guide(
        load_drive_tables().safety, v["operation"] or "normal", v["running"] or "normal"
    )
    return bearing_life.check_static(rating, guide, v["radial_n"], v["axial_n"] or 0)


def _bolt(v: Values) -> CheckResult:
    factor = torque.get_torque_factor(load_drive_tables().torque_factors, v["surface"] or "zinc-plated")
    bolt = torque.get_bolt(load_tables(), v["thread"], v["class"])
    return sums.bolt_torque(bolt, factor, v["part"] or Fraction(3, 4), demand_of(v))


def _flange(v: Values) -> CheckResult:
    bolt = torque.get_bolt(load_tables(), v["thread"], v["class"])
    more = {"friction": v["friction"]} if v["friction"] else {}
    return torque.check_bolted_flange(bolt, v["bolts"], v["circle"], v["engine_nm"], **more)


def _ring(v: Values) -> CheckResult:
    ring = rings.get_ring(load_tables(), v["standard"], v["size"])
    return rings.check_ring(ring, v["groove"], v["groove_width"], v["edge"], force_n=int(v["force_n"] or 0))


def _hole(v: Values) -> CheckResult:
    tables = load_tables()
    return threads.check_bolt_hole(
        tables, threads.get_thread(tables, v["thread"]), hole_nm=v["hole"], plate_nm=v["plate"],
        engaged_nm=v["engaged"], into=v["into"] or "steel",
    )  # fmt: skip


def _shims(v: Values) -> CheckResult:
    sizes = [v[f"shim_{n}"] for n in range(1, 7) if v[f"shim_{n}"] is not None]
    shims = [
        Dimension(name=f"shim {n}", nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True) for n, nm in enumerate(sizes, 1)
    ]
    return axial.choose_shims(v["gap"], shims, low_nm=v["low"], high_nm=v["high"])


def _closing(v: Values) -> CheckResult:
    drive = load_drive_tables()
    made, around = (get_elasticity(drive, v[name] or usual) for name, usual in
                    (("bush_of", "bearing bronze"), ("held_in", "steel")))  # fmt: skip
    interference = v["outside"] - v["bore"]
    if interference <= 0:
        raise InvalidInput([Problem("outside", "is not larger than the bore: nothing is pressed in")])
    pressed = press.press_ring(interference, v["bore"], v["inside"], v["around"], made, around)
    left = v["inside"] - round(pressed.bore_closes_nm)
    summary = f"the bore closes by {Amount.of_nm(round(pressed.bore_closes_nm))} to {Amount.of_nm(left)}"
    return CheckResult(
        joint="bush pressed in", verdict=Verdict.HOLDS, summary=summary, working=Working((pressed.line,)),
        cautions=("Prove the bore after pressing: an uneven wall closes unevenly.",), evidence_rank=5,
    )  # fmt: skip


def _teeth(name: str, words: str, needed: bool = False) -> dict[str, Field]:
    return {f"{name}_{side}": Field(COUNT, f"{side} teeth of {words}", needed) for side in ("driving", "driven")}


BOLT = {"thread": Field(WORD, "thread such as M10", True), "class": Field(WORD, "property class such as 10.9", True)}
RADIAL, AXIAL = Field(QUANTITY, "radial load", True, unit="N"), Field(QUANTITY, "axial load, 0 if left out", unit="N")
DEMANDS = {"least": LEAST, "most": MOST}

DRIVE_WHAT_IFS: Mapping[str, WhatIf] = {
    "bearing-hours": WhatIf(
        "Rating life of a ball bearing in hours under its loads.",
        {
            "bearing": Field(WORD, "designation in ISO 15, such as 6309", True),
            "radial_n": RADIAL,
            "axial_n": AXIAL,
            "speed_rpm": Field(QUANTITY, "speed of the shaft", True, unit="rpm"),
            "c_n": Field(QUANTITY, "dynamic rating in hand, the lowest tabled if left out", unit="N"),
            "c0_n": Field(QUANTITY, "static rating in hand, the lowest tabled if left out", unit="N"),
            "f0": Field(NUMBER, "factor f0 of the bearing, 14 if left out"),
            **DEMANDS,
        },
        _hours,
    ),
    "static-safety": WhatIf(
        "Static safety of a ball bearing against the guide value for its running.",
        {
            "bearing": Field(WORD, "designation in ISO 15, such as 6309", True),
            "radial_n": RADIAL,
            "axial_n": AXIAL,
            "operation": Field(WORD, "normal if left out", words=("smooth", "normal", "pronounced shock")),
            "running": Field(WORD, "normal if left out", words=("unimportant", "normal", "high", "non-rotating")),
        },
        _static,
    ),
    "retaining-ring": WhatIf(
        "A retaining ring of DIN 471 or 472 in its groove.",
        {
            "standard": Field(WORD, "which", True, ("DIN 471", "DIN 472")),
            "size": Field(SIZE, "shaft or bore", True),
            "groove": Field(LENGTH, "groove diameter"),
            "groove_width": Field(LENGTH, "groove width"),
            "edge": Field(LENGTH, "land to the edge"),
            "force_n": Field(QUANTITY, "axial force", unit="N"),
        },
        _ring,
    ),
    "bolt-hole": WhatIf(
        "Clearance hole, tapping drill, flush head and engagement of a metric bolt.",
        {
            "thread": Field(WORD, "thread such as M10 or M12x1.5", True),
            "hole": Field(SIZE, "clearance hole as drilled"),
            "plate": Field(SIZE, "plate with a flush head in it"),
            "engaged": Field(SIZE, "thread engaged"),
            "into": Field(WORD, "steel if left out", words=tuple(threads.ENGAGEMENT)),
        },
        _hole,
    ),
    "bolt-torque": WhatIf(
        "Tightening torque of a bolt for its preload.",
        {
            **BOLT,
            "surface": Field(WORD, "zinc-plated if left out"),
            "part": Field(NUMBER, "part of the proof load, 3/4 if left out"),
            **DEMANDS,
        },
        _bolt,
    ),
    "flange-slip": WhatIf(
        "Whether the bolts of a flange carry the torque by friction.",
        {
            **BOLT,
            "bolts": Field(COUNT, "number of bolts", True),
            "circle": Field(SIZE, "bolt circle", True),
            "engine_nm": Field(QUANTITY, "engine torque", unit="Nm"),
            "friction": Field(NUMBER, "friction, 0.15 if left out"),
        },
        _flange,
    ),
    "shim-choice": WhatIf(
        "The fewest shims of a set that leave a gap within limits.",
        {
            "gap": Field(LENGTH, "the gap as measured"),
            "low": Field(SIZE, "least gap wanted", True, signed=True),
            "high": Field(SIZE, "most gap wanted", True, signed=True),
            **{f"shim_{n}": Field(SIZE, "a shim of the set", n == 1) for n in range(1, 7)},
        },
        _shims,
    ),
    "taper-preload": WhatIf(
        "Shims to add to a pair of taper bearings for a preload.",
        {"end_float": Field(LENGTH, "end float as measured"), "preload": Field(LENGTH, "preload wanted", True)},
        lambda v: axial.taper_shims(v["end_float"], v["preload"]),
    ),
    "slip-joint": WhatIf(
        "Spline engaged and room left in a slip joint at ride height.",
        {
            "engaged": Field(LENGTH, "spline engaged, with its datum"),
            "room": Field(LENGTH, "how far it still goes in, with its datum"),
        },
        lambda v: propshaft.check_slip(v["engaged"], v["room"]),
    ),
    "gear-ratio": WhatIf(
        "Ratio of a gear from its teeth, before and after a change of the constant-mesh pair.",
        {
            **_teeth("constant", "the constant-mesh pair", True),
            **_teeth("gear", "the gear's own pair"),
            **_teeth("old", "the constant-mesh pair before"),
            **DEMANDS,
        },
        _ratio,
    ),
    "road-speed": WhatIf(
        "Road speed in km/h at engine revolutions.",
        {
            "speed_rpm": Field(QUANTITY, "engine speed", True, unit="rpm"),
            "gear": GEAR,
            "final": FINAL,
            "tyre": TYRE,
            **DEMANDS,
        },
        lambda v: sums.road_speed(v["speed_rpm"], v["gear"], v["final"], _metres(v["tyre"]), demand_of(v)),
    ),
    "engine-speed": WhatIf(
        "Engine revolutions at a road speed.",
        {
            "speed": Field(QUANTITY, "road speed", True, unit="km/h"),
            "gear": GEAR,
            "final": FINAL,
            "tyre": TYRE,
            **DEMANDS,
        },
        lambda v: sums.engine_speed(v["speed"], v["gear"], v["final"], _metres(v["tyre"]), demand_of(v)),
    ),
    "speedometer": WhatIf(
        "Whether a driven gear makes the speedometer read right; it may never under-read.",
        {
            "drive_teeth": Field(COUNT, "teeth of the drive gear"),
            "teeth": Field(COUNT, "teeth of the driven gear"),
            "final": FINAL,
            "tyre": TYRE,
            "cable": Field(QUANTITY, "cable turns per km, on the dial", unit="/km"),
        },
        lambda v: mesh.check_speedometer(
            v["drive_teeth"], v["teeth"], mesh.output_turns_per_km(v["final"], _metres(v["tyre"])), v["cable"]
        ),
    ),
    "pulse-factor": WhatIf(
        "By how much a converter multiplies the speed pulses.",
        {
            "sent": Field(QUANTITY, "pulses per km that the gearbox sends", True, unit="/km"),
            "wanted": Field(QUANTITY, "pulses per km that the dash wants", True, unit="/km"),
            **DEMANDS,
        },
        lambda v: sums.pulses(v["sent"], v["wanted"], demand_of(v)),
    ),
    "rotation": WhatIf(
        "Which way the output turns.",
        {
            "input": Field(WORD, "hand of the input", True, HANDS),
            "reversals": Field(COUNT, "outside gear meshes on the way, 0 for direct drive", True, signed=True),
            "wanted": Field(WORD, "hand that is wanted", words=HANDS),
        },
        lambda v: sums.rotation(v["input"], v["reversals"], v["wanted"] or ""),
    ),
    "propeller": WhatIf(
        "Propeller shaft speed and a first guess of the pitch with another reduction.",
        {
            "speed_rpm": Field(QUANTITY, "engine speed", True, unit="rpm"),
            "old": Field(NUMBER, "old reduction", True),
            "new": Field(NUMBER, "new reduction", True),
            "pitch": Field(SIZE, "pitch of the propeller", True),
        },
        lambda v: sums.propeller(v["speed_rpm"], v["old"], v["new"], v["pitch"]),
    ),
    "two-joints": WhatIf(
        "What two propshaft joints leave of their unevenness, with the phase of the yokes.",
        {
            "front": Field(ANGLE, "angle of the front joint", True),
            "rear": Field(ANGLE, "angle of the rear joint", True),
            "phase": Field(ANGLE, "yokes out of phase by, 0 deg if left out"),
            "most": Field(ANGLE, "most resultant angle, 3 deg if left out"),
        },
        lambda v: sums.two_joints(v["front"], v["rear"], v["phase"] or Fraction(0), v["most"] or Fraction(3)),
    ),
    "pilot-closing": WhatIf(
        "How far the bore of a bush closes when it is pressed in.",
        {
            "outside": Field(SIZE, "outside of the bush", True),
            "bore": Field(SIZE, "bore that takes it", True),
            "inside": Field(SIZE, "inside of the bush, loose", True),
            "around": Field(SIZE, "outside of the part round it", True),
            "bush_of": Field(WORD, "bearing bronze if left out", words=("bearing bronze", "steel", "cast iron")),
            "held_in": Field(WORD, "steel if left out", words=("steel", "cast iron", "light alloy")),
        },
        _closing,
    ),
}

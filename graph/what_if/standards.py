"""What-ifs by published sizes: SAE housings and flywheels, splines, ISO 286, bearings; boats, converters, plates."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.fits import (
    bearing_search,
    class_fit,
    converter,
    internal_clearance,
    marine,
    oil,
    plate_bending,
    sae,
    spline_sizes,
    sums,
)
from graph.fits.model import CheckResult, Line, Missing, Verdict, Working, unknown
from graph.fits.tables import load_tables
from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.what_if.inputs import ANGLE, COUNT, LENGTH, NUMBER, QUANTITY, SIZE, WORD, Field, WhatIf

Values = Mapping[str, Any]
DEMANDS = {"least": Field(NUMBER, "the least that is wanted"), "most": Field(NUMBER, "the most that is wanted")}
ANSI, ISO, DIN, SAE_KEYS = "ANSI B92.1", "ISO 4156", "DIN 5480", "SAE straight-sided"
KEY_FITS = ("permanent", "slide, not under load", "slide under load")
GEARS = tuple(f"ratio_{n}" for n in range(1, 7))


def demand_of(v: Values) -> sums.FigureLimits:
    """The least and most of a what-if's figure."""
    return sums.FigureLimits(*(None if v[name] is None else Fraction(v[name]) for name in ("least", "most")))


def _housing(v: Values) -> CheckResult:
    readings = sae.HousingReadings(v["register"], v["circle"], v["holes"], v["spigot"])
    return sae.check_housing(load_drive_tables().housings, v["number"] or "", readings)


def _flywheel(v: Values) -> CheckResult:
    readings = sae.FlywheelReadings(v["recess"], v["circle"], v["holes"], v["depth"], v["pilot_bore"])
    return sae.check_flywheel(load_drive_tables().flywheels, v["size"] or "", readings)


def _splines(v: Values) -> CheckResult:
    standard = v["standard"]
    if standard == SAE_KEYS:
        rows = load_drive_tables().straight_splines
        return spline_sizes.show_straight(rows, v["teeth"], v["fit"] or KEY_FITS[0], _given(v, "major", "1-1/8 in"))
    pitch = _given(v, "pitch", "16 for 16/32" if standard == ANSI else "2")
    if standard == DIN:
        reference = Fraction(_given(v, "reference", "30 mm"), 1_000_000)
        sizes = spline_sizes.din_sizes(reference, pitch, v["teeth"], v["made"] or "hobbed")
    elif standard == ISO:
        sizes = spline_sizes.iso_sizes(v["teeth"], pitch, v["root"] or "flat")
    else:
        sizes = spline_sizes.ansi_sizes(v["teeth"], pitch, v["root"] or "flat")
    return spline_sizes.show_sizes(sizes)


def _given(v: Values, name: str, example: str) -> Any:
    if v[name] is None:
        raise InvalidInput([Problem(name, f"is missing: {v['standard']} goes by it; write it such as {example}")])
    return v[name]


def _clearance(v: Values) -> CheckResult:
    fitted = internal_clearance.FittedRing(v["shaft"] or 0, v["housing"] or 0, v["warmer"] or Fraction(0))
    bearing = bearing_search.get_bearing(load_tables(), v["bearing"])
    return internal_clearance.check_clearance(load_drive_tables().clearances, bearing, v["class"] or "CN", fitted)


def _find(v: Values) -> CheckResult:
    if all(v[name] is None for name in ("bore", "outside", "width")):
        return unknown("bearing by its sizes", [Missing("bore, outside diameter or width", "with a calliper")])
    found = bearing_search.find_bearings(load_tables(), bore_nm=v["bore"], od_nm=v["outside"], width_nm=v["width"])
    names = ", ".join(bearing.designation for bearing in found)
    line = Line("bearings", "every tabled one of these sizes", "", names or "none", "ISO 15 series 60, 62, 63")
    return CheckResult(
        joint="bearing by its sizes", verdict=Verdict.HOLDS if found else Verdict.FAILS, binding="sizes",
        summary=names or "no bearing of series 60, 62 or 63 has these sizes", working=Working((line,)), evidence_rank=5,
    )  # fmt: skip


def _ratios(v: Values) -> CheckResult:
    ratios = {name[-1]: Fraction(v[name]) for name in GEARS if v[name] is not None}
    direct = "" if v["direct"] is None else str(v["direct"])
    if direct and direct not in ratios:
        raise InvalidInput(
            [Problem("direct", f"no ratio is given for gear {direct}; write the gear's number, such as 4")]
        )
    old, new = ((v[f"{name}_driving"], v[f"{name}_driven"]) for name in ("old", "new"))
    return sums.box_ratios(ratios, old, new, direct, demand_of(v))


def _angle(v: Values) -> CheckResult:
    front, rear = ((v[f"{end}_side"], v[f"{end}_plan"] or Fraction(0)) for end in ("front", "rear"))
    return sums.joint_angle(front, rear, v["speed_rpm"], v["uneven"], demand_of(v))


def _drop(v: Values) -> CheckResult:
    angles = (v["old_angle"] or Fraction(0), v["new_angle"] or Fraction(0))
    lengths = (v["old_length"], v["new_length"])
    return marine.check_shaft_drop(v["old_drop"], v["new_drop"], v["room_up"], v["room_down"], angles, lengths)


def _converter(v: Values) -> CheckResult:
    return converter.check_converter(
        v["tested_nm"], v["tested_rpm"], v["engine_nm"], v["engine_rpm"], v["stall_ratio"], v["rating_nm"]
    )


def _bending(v: Values) -> CheckResult:
    strip = plate_bending.Strip(v["span"], v["width"], v["thickness"], v["yield"])
    made = get_elasticity(load_drive_tables(), v["material"] or "light alloy")
    return plate_bending.check_plate_bending(strip, v["force_n"], made)


def _sizes(about: Mapping[str, str]) -> dict[str, Field]:
    return {name: Field(LENGTH, words) for name, words in about.items()}


STANDARD_WHAT_IFS: Mapping[str, WhatIf] = {
    "flywheel-housing": WhatIf(
        "A flywheel housing by SAE J617: which number is it, and does the other spigot go in.",
        {
            "number": Field(WORD, "SAE number; left out: which one is it", words=(
                "00", "0", "1/2", "1", "2", "3", "4", "5", "6")),
            **_sizes({"register": "diameter of the register", "circle": "bolt circle",
                      "spigot": "the male register that is to go in"}),
            "holes": Field(COUNT, "bolt holes"),
        },
        _housing,
    ),
    "flywheel": WhatIf(
        "A flywheel by SAE J620: which clutch size is it.",
        {
            "size": Field(WORD, "SAE clutch size; left out: which one is it"),
            **_sizes({"recess": "diameter of the clutch's recess", "circle": "bolt circle of the clutch",
                      "depth": "depth of the recess", "pilot_bore": "bore for the pilot bearing"}),
            "holes": Field(COUNT, "tapped holes for the clutch"),
        },
        _flywheel,
    ),
    "spline-sizes": WhatIf(
        "Nominal sizes of a spline by its standard; of straight-sided ones the minor diameter and the key.",
        {
            "standard": Field(WORD, "which", True, (ANSI, ISO, DIN, SAE_KEYS)),
            "teeth": Field(COUNT, "teeth or keys", True),
            "pitch": Field(NUMBER, "diametral pitch (ANSI) or module in mm (ISO, DIN)"),
            "reference": Field(SIZE, "reference diameter, DIN only"),
            "major": Field(SIZE, "major diameter, straight-sided only"),
            "root": Field(WORD, "root, flat if left out", words=("flat", "fillet")),
            "made": Field(WORD, "how the shaft is made, DIN only, hobbed if left out",
                          words=tuple(spline_sizes.DIN_ROOTS)),
            "fit": Field(WORD, "fit, straight-sided only, permanent if left out", words=KEY_FITS),
        },
        _splines,
    ),
    "class-fit": WhatIf(
        "A fit by its ISO 286 classes, such as 30 H7/s6.",
        {
            "size": Field(SIZE, "basic size", True),
            "hole": Field(WORD, "class of the hole, such as H7", True),
            "shaft": Field(WORD, "class of the shaft, such as s6 or r6", True),
            "wanted": Field(WORD, "kind of fit that is wanted", words=class_fit.KINDS),
        },
        lambda v: class_fit.check_class_fit(load_tables(), v["size"], v["hole"], v["shaft"], v["wanted"] or ""),
    ),
    "size-class": WhatIf(
        "Which ISO 286 classes a measured hole or shaft could be.",
        {
            "kind": Field(WORD, "which", True, ("hole", "shaft")),
            "basic": Field(SIZE, "basic size", True),
            "measured": Field(LENGTH, "as measured", True),
        },
        lambda v: class_fit.name_classes(load_tables(), v["kind"], v["basic"], v["measured"]),
    ),
    "bearing-by-size": WhatIf(
        "Which ball bearings of series 60, 62 and 63 have these sizes.",
        {name: Field(SIZE, words) for name, words in
         (("bore", "bore"), ("outside", "outside diameter"), ("width", "width"))},
        _find,
    ),
    "bearing-rating": WhatIf(
        "The dynamic rating that a ball bearing needs for a life in hours.",
        {
            "load_n": Field(QUANTITY, "equivalent load", True, unit="N"),
            "hours": Field(QUANTITY, "life wanted", True, unit="h"),
            "speed_rpm": Field(QUANTITY, "speed of the shaft", True, unit="rpm"),
            **DEMANDS,
        },
        lambda v: sums.bearing_rating(v["load_n"], v["hours"], v["speed_rpm"], demand_of(v)),
    ),
    "bearing-clearance": WhatIf(
        "What a clearance class of a ball bearing leaves once it is fitted and warm.",
        {
            "bearing": Field(WORD, "designation in ISO 15, such as 6309", True),
            "class": Field(WORD, "CN if left out", words=internal_clearance.CLASSES),
            "shaft": Field(SIZE, "interference on the shaft, 0 if it is loose"),
            "housing": Field(SIZE, "interference in the housing, 0 if it is loose"),
            "warmer": Field(QUANTITY, "how much warmer the inner ring runs", unit="K", signed=True),
        },
        _clearance,
    ),
    "box-ratios": WhatIf(
        "All ratios of a box after a change of its constant-mesh pair.",
        {
            **{name: Field(NUMBER, f"ratio of gear {name[-1]}", name == GEARS[0]) for name in GEARS},
            "direct": Field(COUNT, "the gear that goes straight through, if one does"),
            **{f"{name}_{side}": Field(COUNT, f"{side} teeth of the {name} pair", True)
               for name in ("old", "new") for side in ("driving", "driven")},
            **DEMANDS,
        },
        _ratios,
    ),
    "joint-angle": WhatIf(
        "The true angle of a universal joint from two views, and how unevenly it turns.",
        {
            "front_side": Field(ANGLE, "slope of the front shaft, side view", True, signed=True),
            "rear_side": Field(ANGLE, "slope of the rear shaft, side view", True, signed=True),
            "front_plan": Field(ANGLE, "slope of the front shaft, plan view, 0 deg if left out", signed=True),
            "rear_plan": Field(ANGLE, "slope of the rear shaft, plan view, 0 deg if left out", signed=True),
            "speed_rpm": Field(QUANTITY, "speed of the shaft", unit="rpm"),
            "uneven": Field(NUMBER, "part of the speed that it may vary by in all"),
            **DEMANDS,
        },
        _angle,
    ),
    "shaft-drop": WhatIf(
        "Another reverse gear in a boat: how far the engine must rise for the shaft to stay.",
        {
            **_sizes({"old_drop": "drop of the gear that is in it", "new_drop": "drop of the other gear",
                      "old_length": "length, engine face to coupling, of the old gear",
                      "new_length": "length, engine face to coupling, of the other gear"}),
            "old_angle": Field(ANGLE, "down angle of the old gear, 0 deg if left out"),
            "new_angle": Field(ANGLE, "down angle of the other gear, 0 deg if left out"),
            "room_up": Field(SIZE, "how far the engine can go up"),
            "room_down": Field(SIZE, "how far the engine can go down"),
        },
        _drop,
    ),
    "oil-level": WhatIf(
        "Where the oil must stand at the level plug of a gearbox that sits at another angle.",
        {
            "behind": Field(SIZE, "level plug behind the middle of the oil space; before it with a minus", True,
                            signed=True),
            "angle": Field(ANGLE, "how far the rear stands below the front now", True, signed=True),
            "designed": Field(ANGLE, "the same as designed, 0 deg if left out", signed=True),
        },
        lambda v: oil.check_oil_level(v["behind"], v["angle"], v["designed"] or Fraction(0)),
    ),
    "converter-torque": WhatIf(
        "What a torque converter takes up at stall, and what it hands to the gearbox.",
        {
            "tested_nm": Field(QUANTITY, "torque that it takes up at stall", True, unit="Nm"),
            "tested_rpm": Field(QUANTITY, "the speed at which it does", True, unit="rpm"),
            "engine_nm": Field(QUANTITY, "greatest torque of the engine", True, unit="Nm"),
            "engine_rpm": Field(QUANTITY, "the speed at which the engine gives it", True, unit="rpm"),
            "stall_ratio": Field(NUMBER, "torque multiplication at stall"),
            "rating_nm": Field(QUANTITY, "rating of the gearbox's input", unit="Nm"),
        },
        _converter,
    ),
    "plate-bending": WhatIf(
        "A plate that carries the gearbox: a first look at stress and sag. It warns and never passes.",
        {
            "span": Field(SIZE, "free span between bolts", True),
            "width": Field(SIZE, "width of the strip that bends", True),
            "thickness": Field(SIZE, "thickness of the plate", True),
            "force_n": Field(QUANTITY, "force at mid-span", True, unit="N"),
            "yield": Field(QUANTITY, "yield strength", True, unit="MPa"),
            "material": Field(WORD, "light alloy if left out", words=("light alloy", "steel", "cast iron")),
        },
        _bending,
    ),
}  # fmt: skip

"""What-ifs by published sizes, each through the door that its user takes, with the source beside it."""

from __future__ import annotations

from math import acos, cos, degrees, radians, sqrt

import pytest

from api.pages.bench import CHAINS, written
from api.pages.bench import EXAMPLES as EXAMPLES_OF_BENCH
from graph.errors import InvalidInput, NotFound
from graph.fits.model import Verdict
from graph.what_if.kinds import WHAT_IFS, check_what_if

HOLDS, FAILS, UNKNOWN = Verdict.HOLDS, Verdict.FAILS, Verdict.UNKNOWN
GEARS = {"old_driving": "20", "old_driven": "32", "new_driving": "22", "new_driven": "30"}

EXAMPLES = [
    # SAE J617 (ISO 7648), power take-off catalogue: No. 3 register 16.125/16.130 in, 12 bolts on 16-7/8 in
    ("flywheel-housing", {"register": "409.64 mm +/- 0.02 mm"}, HOLDS, "SAE No. 3:"),
    ("flywheel-housing", {"register": "16.1275 in +/- 1 thou", "circle": "16-7/8 in +/- 4 thou", "holes": "12"}, HOLDS,
     "SAE No. 3:"),
    ("flywheel-housing", {"number": "4", "register": "409.64 mm +/- 0.02 mm"}, FAILS, "wanted 361.950 to 362.080 mm"),
    ("flywheel-housing", {"number": "3", "register": "409.60 mm +/- 0.05 mm"}, UNKNOWN, "SAE No. 3"),
    ("flywheel-housing", {"register": "400 mm +/- 0.1 mm"}, FAILS, "no SAE No. has these sizes; nearest: SAE No. 3"),
    ("flywheel-housing", {"number": "3", "spigot": "409.80 mm +/- 0.02 mm", "circle": "428.6 mm +/- 0.1 mm"}, FAILS,
     "does not fit"),
    # SAE J620: size 11.5 recess 13.875 in, 8 holes, depth 39.6, pilot bore 72 (the outside of 6207, 6306)
    ("flywheel", {"recess": "13-7/8 in +/- 2 thou", "holes": "8"}, HOLDS, "SAE size 11.5:"),
    ("flywheel", {"size": "11.5", "recess": "352.42 mm +/- 0.05 mm", "depth": "30 mm +/- 0.1 mm"}, FAILS,
     "wanted 39.100 to 40.100 mm"),
    # ANSI B92.1 formulas: N/P = 24/16, (N + 1)/P; Machinery's Handbook
    ("spline-sizes", {"standard": "ANSI B92.1", "teeth": "24", "pitch": "16"}, HOLDS, "pitch 1.5, shaft 1.5625"),
    # DIN 5480 W 30 x 2 x 14: tip dB - 0.2 m = 29.6
    ("spline-sizes", {"standard": "DIN 5480", "teeth": "14", "pitch": "2", "reference": "30 mm"}, HOLDS, "shaft 29.6 "),
    # ISO 4156 25 x 1: m (z + 1) = 26
    ("spline-sizes", {"standard": "ISO 4156", "teeth": "25", "pitch": "1"}, HOLDS, "shaft 26 over the teeth"),
    # SAE, from memory: 10 keys, permanent fit: d = 0.910 D, W = 0.156 D
    ("spline-sizes", {"standard": "SAE straight-sided", "teeth": "10", "major": "1 in"}, HOLDS,
     "minor 0.91 in, key 0.156 in (3.9624 mm) wide"),
    # ISO 286-2: 30 H7 0/+21, s6 +48/+35, r6 +41/+28
    ("class-fit", {"size": "30 mm", "hole": "H7", "shaft": "s6"}, HOLDS, "interference, -0.048 mm to -0.014 mm"),
    ("class-fit", {"size": "30 mm", "hole": "H7", "shaft": "r6"}, HOLDS, "interference, -0.041 mm to -0.007 mm"),
    ("class-fit", {"size": "50 mm", "hole": "H7", "shaft": "g6", "wanted": "interference"}, FAILS, "clearance"),
    # ISO 286-2 at 45: k6 +2/+18, m5 +9/+20, m6 +9/+25
    ("size-class", {"kind": "shaft", "basic": "45 mm", "measured": "45.015 mm +/- 0.001 mm"}, HOLDS, "k6, m5, m6"),
    ("size-class", {"kind": "hole", "basic": "45 mm", "measured": "45.9 mm +/- 0.001 mm"}, FAILS, "none of the tabled"),
    # ISO 15: 62 outside has 6007, 6206 and 6305
    ("bearing-by-size", {"outside": "62 mm"}, HOLDS, "6007, 6206, 6305"),
    ("bearing-by-size", {"outside": "63 mm"}, FAILS, "no bearing of series 60, 62 or 63"),
    # ISO 281: 2000 N, 20 000 h at 1500 1/min is 1800 million turns: 2000 x 1800^(1/3)
    ("bearing-rating", {"load_n": "2000", "hours": "20000 h", "speed_rpm": "1500"}, HOLDS, "24328.808 N"),
    # ISO 5753-1 at 45: C3 18 to 36 um, CN 6 to 23; fits take 0.8 x 18 (makers' catalogues, from memory)
    ("bearing-clearance", {"bearing": "6309", "class": "C3", "shaft": "18 um"}, HOLDS, "0.0036 mm to 0.0216 mm fitted"),
    ("bearing-clearance", {"bearing": "6309", "shaft": "18 um"}, UNKNOWN, "-0.0084 mm to 0.0086 mm fitted"),
    ("bearing-clearance", {"bearing": "6309", "class": "C2", "shaft": "18 um"}, FAILS, "-0.0034 mm fitted and warm"),
    # counting teeth: 3.6 x (30/22) / (32/20) = 3.0682, direct stays
    ("box-ratios", {"ratio_1": "3.6", "ratio_4": "1", "direct": "4", **GEARS, "least": "3.3"}, FAILS, "3.068, 1;"),
    # 3-4-5 of small angles: 0.3 and 0.4 degrees make 0.5 (geometry)
    ("joint-angle", {"front_side": "0.3 deg", "front_plan": "0.4 deg", "rear_side": "0 deg"}, HOLDS, "0.5 deg"),
    # exercise: 1200 1/min, 100 1/min of fluctuation: 16.42 degrees
    ("joint-angle", {"front_side": "16.5 deg", "rear_side": "0 deg", "uneven": "1/12"}, FAILS, "at most 16.42"),
    # plane geometry: 108 - 96
    ("shaft-drop", {"old_drop": "96 mm +/- 0.5 mm", "new_drop": "108 mm +/- 0.5 mm"}, UNKNOWN, "rises by 12.000 mm"),
    ("shaft-drop", {"old_drop": "96 mm +/- 0.5 mm", "new_drop": "108 mm +/- 0.5 mm", "room_up": "20 mm",
                    "room_down": "0 mm"}, HOLDS, "room 20.000 mm up"),
    ("shaft-drop", {"old_drop": "4-1/4 in +/- 20 thou", "new_drop": "2-1/8 in +/- 20 thou", "room_up": "20 mm",
                    "room_down": "10 mm"}, FAILS, "rises by -53.975 mm"),
    # under an angle of 8 degrees 350 mm of length are 49 mm of height (350 sin 8): 30 mm are not the rise
    ("shaft-drop", {"old_drop": "70 mm +/- 0.5 mm", "new_drop": "100 mm +/- 0.5 mm", "room_up": "40 mm",
                    "room_down": "50 mm", "new_angle": "8 deg"}, UNKNOWN, "draw it"),
    # geometry of a level surface: 150 mm x tan 4 deg = 10.489 mm; 25 mm x tan 4 deg = 1.748 mm
    ("oil-level", {"behind": "150 mm", "angle": "4 deg"}, FAILS, "10.489 mm above it; fill by quantity"),
    ("oil-level", {"behind": "-150 mm", "angle": "4 deg"}, FAILS, "10.489 mm below it; fill and stop short"),
    ("oil-level", {"behind": "25 mm", "angle": "4 deg"}, HOLDS, "fill to the plug"),
    ("oil-level", {"behind": "150 mm", "angle": "4 deg", "designed": "4 deg"}, HOLDS, "fill to the plug"),
    # similarity law of turbomachines, T ~ n^2: 1800 x sqrt(288 / 200) = 2160
    ("converter-torque", {"tested_nm": "200", "tested_rpm": "1800", "engine_nm": "288", "engine_rpm": "2500"}, HOLDS,
     "stalls the engine at 2160 1/min"),
    ("converter-torque", {"tested_nm": "200", "tested_rpm": "1800", "engine_nm": "288", "engine_rpm": "2500",
                          "stall_ratio": "2", "rating_nm": "500"}, FAILS, "input is 576 N m"),
    # beam tables: 3 x 1500 x 200 / (2 x 60 x 15^2) = 33.3 MPa; it never passes
    ("plate-bending", {"span": "200 mm", "width": "60 mm", "thickness": "15 mm", "force_n": "1500", "yield": "240 MPa"},
     UNKNOWN, "33.3 MPa"),
    ("plate-bending", {"span": "200 mm", "width": "60 mm", "thickness": "8 mm", "force_n": "1500", "yield": "240 MPa"},
     FAILS, "117.2 MPa"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "inputs", "verdict", "words"), EXAMPLES)
def test_a_published_size_gives_its_answer(kind: str, inputs: dict[str, str], verdict: Verdict, words: str) -> None:
    result = check_what_if(kind, inputs)

    assert result.verdict is verdict, result.summary
    assert words in result.summary


@pytest.mark.parametrize(
    ("kind", "inputs", "words"),
    [
        ("spline-sizes", {"standard": "DIN 5480", "teeth": "14", "pitch": "2"}, "reference: is missing: DIN 5480"),
        ("class-fit", {"size": "30 mm", "hole": "s6", "shaft": "s6"}, "hole: s6 is no class of a hole"),
        ("box-ratios", {"ratio_1": "3", "direct": "4", **GEARS}, "direct: no ratio is given for gear 4"),
        ("bearing-by-size", {"bore": "80 mm", "outside": "40 mm"}, "are they swapped"),
        ("shaft-drop", {"room_up": "-5 mm"}, "room_up: cannot be below zero"),
        ("oil-level", {"behind": "150 mm", "angle": "60 deg"}, "expected -45 to 45 deg"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(kind: str, inputs: dict[str, str], words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        check_what_if(kind, inputs)


def test_sizes_that_are_not_tabled_are_not_found() -> None:
    with pytest.raises(NotFound, match="permanent"):
        check_what_if("spline-sizes", {"standard": "SAE straight-sided", "teeth": "12", "major": "1 in"})
    with pytest.raises(NotFound, match="11.5"):
        check_what_if("flywheel", {"size": "12", "recess": "352.42 mm +/- 0.05 mm"})


def test_the_plate_window_tells_what_else_moves_and_which_pairs_hold() -> None:
    """Common practice: a plate moves lever, mount and propshaft by its own thickness."""
    typed, fields = EXAMPLES_OF_BENCH[CHAINS], WHAT_IFS[CHAINS].fields
    inputs = {name: written(CHAINS, name, field, typed, "mm", "0.05 mm") for name, field in fields.items()}

    told = check_what_if(CHAINS, {name: text for name, text in inputs.items() if text}).working.text()

    assert "lever back by 15.000 mm" in told
    assert "plate and flywheel spacer in mm: (" in told


@pytest.mark.parametrize(("front", "rear"), [(3.0, -1.0), (0.0, 7.5)])
def test_a_joint_angle_agrees_with_the_cosines(front: float, rear: float) -> None:
    """Independent: both shafts in one plane, so the angle is the difference of the slopes; 1/cos - cos inverted."""
    inputs = {"front_side": f"{front} deg", "rear_side": f"{rear} deg", "uneven": "0.01"}
    result = check_what_if("joint-angle", inputs)

    most = degrees(acos((-0.01 + sqrt(0.01**2 + 4)) / 2))
    assert 1 / cos(radians(most)) - cos(radians(most)) == pytest.approx(0.01)
    assert result.margin is not None
    assert float(result.margin.value) == pytest.approx(most - abs(front - rear), abs=1e-4)

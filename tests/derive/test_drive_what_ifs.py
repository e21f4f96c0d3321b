"""Sums of the drive, each through the what-if that its user types, with the source beside it."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from graph.errors import InvalidInput
from graph.fits.model import Verdict
from graph.what_if.kinds import check_what_if

BOLT = {"thread": "M12", "class": "8.8"}
GEARBOX = {"gear": "0.8", "final": "3.75", "tyre": "2000 mm"}

EXAMPLES = [
    # 6208 with C 22.4 kN, P 3.2 kN, 650 1/min: 8795 h (lecture notes "Antifriction bearings", Example 1)
    ("bearing-hours", {"bearing": "6208", "radial_n": "3200", "speed_rpm": "650", "c_n": "22.4 kN"}, "8794.872 h"),
    # the same with C 29.1 kN: about 19 300 h (general catalogue example, from memory)
    ("bearing-hours", {"bearing": "6208", "radial_n": "3.2 kN", "speed_rpm": "650 rpm", "c_n": "29100"}, "19282.548 h"),
    # M10 8.8: proof load 33.7 kN (ISO 898-1); 0.2 x 10 mm x 0.75 x 33.7 kN = 50.55 N m
    ("bolt-torque", {"thread": "M10", "class": "8.8", "surface": "zinc-plated"}, "50.55 N m"),
    # 60 x 2.0 m / (0.8 x 3.75) = 40 km/h at 1000 1/min (counting)
    ("road-speed", {**GEARBOX, "speed_rpm": "1000 rpm"}, "40 km/h"),
    ("road-speed", {**GEARBOX, "speed_rpm": "3000"}, "120 km/h"),
    ("engine-speed", {**GEARBOX, "speed": "120 km/h"}, "3000 1/min"),
    # 20/32 and 16/36: 1.6 x 2.25 = 3.6 (counting teeth)
    ("gear-ratio", {"constant_driving": "20", "constant_driven": "32", "gear_driving": "16", "gear_driven": "36"},
     "3.6"),
    ("pulse-factor", {"sent": "6000 /km", "wanted": "4500 /km"}, "0.75"),
    ("propeller", {"speed_rpm": "3000", "old": "2", "new": "2.5", "pitch": "16 in"}, "1200 1/min"),
    # two joints of 6 and 2 degrees in phase: sqrt(36 - 4) = 5.657 (Cardan kinematics)
    ("two-joints", {"front": "6 deg", "rear": "2 deg"}, "5.657 deg"),
    # equal joints a quarter turn out of phase: sqrt(9 + 9) = 4.243
    ("two-joints", {"front": "3 deg", "rear": "3 deg", "phase": "90 deg"}, "4.243 deg"),
    ("rotation", {"input": "clockwise", "reversals": "2"}, "output turns clockwise"),
    ("rotation", {"input": "clockwise", "reversals": "1"}, "output turns anticlockwise"),
    # ISO 273 medium 13.5, ISO 4762 head 12 high, DIN 974-1 counterbore 20
    ("bolt-hole", {"thread": "M12"}, "M12x1.75: hole 13.500 mm (medium), counterbore 20.000 mm x 12.000 mm deep"),
    # workshop manuals: end float 0.009 in and preload 0.004 in want 0.013 in of shims
    ("taper-preload", {"end_float": "9 thou +/- 0.5 thou", "preload": "4 thou +/- 0.5 thou"}, "0.0130 in"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "inputs", "words"), EXAMPLES)
def test_a_sum_comes_to_its_published_figure(kind: str, inputs: dict[str, str], words: str) -> None:
    result = check_what_if(kind, inputs)

    assert words in result.summary
    assert result.working.lines


@pytest.mark.parametrize(
    ("kind", "inputs", "verdict"),
    [
        ("gear-ratio", {"constant_driving": "20", "constant_driven": "32", "gear_driving": "16", "gear_driven": "36",
                        "least": "3.3"}, Verdict.HOLDS),  # first gear at least 3.3
        ("gear-ratio", {"constant_driving": "22", "constant_driven": "30", "gear_driving": "16", "gear_driven": "36",
                        "least": "3.3"}, Verdict.FAILS),
        ("engine-speed", {**GEARBOX, "speed": "120 km/h", "most": "2900"}, Verdict.FAILS),  # 120 km/h below 2900
        ("rotation", {"input": "clockwise", "reversals": "2", "wanted": "clockwise"}, Verdict.HOLDS),
        ("rotation", {"input": "clockwise", "reversals": "3", "wanted": "clockwise"}, Verdict.FAILS),
        ("two-joints", {"front": "3 deg", "rear": "3 deg"}, Verdict.HOLDS),
        ("bolt-hole", {"thread": "M10", "plate": "12 mm"}, Verdict.FAILS),  # 2 mm left under a head 10 high
        ("bolt-hole", {"thread": "M10", "engaged": "15 mm", "into": "light alloy"}, Verdict.FAILS),  # 2 d wanted
        ("speedometer", {"drive_teeth": "8", "teeth": "25", "final": "3.9", "tyre": "1.95 m", "cable": "640 /km"},
         Verdict.HOLDS),
        ("speedometer", {"drive_teeth": "8", "teeth": "26", "final": "3.9", "tyre": "1.95 m", "cable": "640 /km"},
         Verdict.FAILS),  # it may never under-read
        ("flange-slip", {"thread": "M10", "class": "10.9", "bolts": "6", "circle": "75 mm", "engine_nm": "250 Nm"},
         Verdict.HOLDS),
        ("static-safety", {"bearing": "6309", "radial_n": "5 kN"}, Verdict.HOLDS),
    ],
)  # fmt: skip
def test_a_demand_is_judged(kind: str, inputs: dict[str, str], verdict: Verdict) -> None:
    assert check_what_if(kind, inputs).verdict is verdict


def test_a_bush_closes_by_most_of_its_interference() -> None:
    """Lame: bronze 28 x 17, 0.030 mm of interference, steel of 60 mm; tests/fits/test_press.py solves the ring."""
    result = check_what_if(
        "pilot-closing", {"outside": "28.03 mm", "bore": "28 mm", "inside": "17.04 mm", "around": "60 mm"}
    )

    assert "the bore closes by 0.0" in result.summary
    assert result.working.lines[0].symbol == "bore closes by"


@pytest.mark.parametrize("seed", range(20))
def test_road_speed_agrees_with_plain_metres_and_minutes(seed: int) -> None:
    """Independent: wheel turns a minute x circumference x 60 / 1000."""
    r = random.Random(seed)
    rpm, gear, final, tyre = r.randint(600, 7000), r.randint(50, 450), r.randint(200, 600), r.randint(1500, 2600)

    result = check_what_if(
        "road-speed",
        {"speed_rpm": str(rpm), "gear": f"{gear / 100}", "final": f"{final / 100}", "tyre": f"{tyre} mm", "least": "1"},
    )

    wheel_turns = rpm / (gear / 100) / (final / 100)
    assert result.margin is not None
    assert float(result.margin.value) + 1 == pytest.approx(wheel_turns * tyre / 1000 * 60 / 1000)


def test_half_a_pair_and_a_negative_count_are_refused_at_their_field() -> None:
    with pytest.raises(InvalidInput, match="gear_driven: give both gears"):
        check_what_if("gear-ratio", {"constant_driving": "20", "constant_driven": "32", "gear_driving": "16"})
    with pytest.raises(InvalidInput, match="reversals: cannot be negative"):
        check_what_if("rotation", {"input": "clockwise", "reversals": "-1"})


def test_the_factor_of_a_change_of_gears_is_told() -> None:
    """20/32 becomes 22/30: every indirect ratio times 75/88 = 0.8523."""
    result = check_what_if(
        "gear-ratio",
        {"constant_driving": "22", "constant_driven": "30", "old_driving": "20", "old_driven": "32"},
    )

    assert any("0.8523" in line.value for line in result.working.lines)
    assert Fraction(75, 88) == Fraction(30, 22) / Fraction(32, 20)

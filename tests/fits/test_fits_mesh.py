"""Gear mesh, ratios, road speed and speedometer as counted examples.

Sources: handbook centre distance of gears; counting of teeth and turns (common practice); invented tooth counts.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import cos, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.lengths import measured
from graph.fits.mesh import (
    Gear,
    centre_distance_nm,
    check_mesh,
    check_speedometer,
    driven_teeth,
    output_turns_per_km,
    pulse_factor,
    ratio,
    scale_ratios,
    shifts_for,
    speed_per_1000_rpm_kmh,
    working_distance_nm,
)
from graph.fits.model import Verdict

M = Fraction("2.5")


def _gear(teeth: int | None, hand: str | None = "left", helix: int = 25, module: Fraction | None = M) -> Gear:
    return Gear(teeth=teeth, module_mm=module, helix_deg=Fraction(helix), hand=hand)


def test_centre_distance_of_a_spur_pair_is_module_times_mean_teeth() -> None:  # 2.5 x (20 + 32) / 2 = 65 mm
    spur = Gear(teeth=20, module_mm=M, helix_deg=Fraction(0), hand="none")

    assert centre_distance_nm(spur, Gear(teeth=32, module_mm=M, helix_deg=Fraction(0), hand="none")) == 65_000_000


def test_a_helix_widens_the_centre_distance() -> None:
    found = centre_distance_nm(_gear(20), _gear(32, "right"))

    assert found / 1e6 == pytest.approx(65 / cos(radians(25)), abs=1e-6)


def test_a_new_input_gear_of_the_same_teeth_holds() -> None:
    assert check_mesh(_gear(20), _gear(20), _gear(32, "right")).verdict is Verdict.HOLDS


@pytest.mark.parametrize(
    ("new", "words"),
    [
        (_gear(24), "24 and 32 teeth at"), (_gear(20, "right"), "hands right and right"),
        (_gear(20, helix=24), "helix 24 deg"), (_gear(20, module=Fraction(3)), "module 3 mm does not run with 2.5 mm"),
    ],
)  # fmt: skip
def test_a_gear_that_does_not_run_says_why(new: Gear, words: str) -> None:
    result = check_mesh(_gear(20), new, _gear(32, "right"))

    assert result.verdict is Verdict.FAILS
    assert words in result.summary


@pytest.mark.parametrize(
    ("new", "name"),
    [
        (_gear(None), "the teeth of the new input gear"), (_gear(20, None), "the hand of the new input gear"),
        (_gear(20, module=None), "the module of the new input gear"),
    ],
)  # fmt: skip
def test_what_was_not_counted_is_asked_for(new: Gear, name: str) -> None:
    result = check_mesh(_gear(20), new, _gear(32, "right"))

    assert result.verdict is Verdict.UNKNOWN
    assert [item.name for item in result.measure] == [name]


def test_a_changed_input_pair_scales_every_indirect_ratio() -> None:
    # 20/32 becomes 22/30: indirect gears times (30/22)/(32/20) = 75/88, direct stays 1
    ratios = {"1": Fraction("3.52"), "2": Fraction("1.76"), "4": Fraction(1)}

    scaled = scale_ratios(ratios, (20, 32), (22, 30), direct="4")

    assert scaled == {"1": Fraction(3), "2": Fraction("1.5"), "4": Fraction(1)}


def test_ratios_are_driven_over_driving_teeth() -> None:
    assert ratio(((20, 32), (16, 36))) == Fraction("3.6")


def test_road_speed_per_1000_revolutions() -> None:  # 60 x 2.0 m / (0.8 x 3.75) = 40 km/h
    assert speed_per_1000_rpm_kmh(Fraction("0.8"), Fraction("3.75"), Fraction(2)) == 40


def test_output_turns_and_driven_teeth_of_a_speedometer() -> None:
    # 1000 x 3.9 / 1.95 = 2000 turns per km; 8 teeth on the drive, 640 cable turns per km: 25 driven teeth
    per_km = output_turns_per_km(Fraction("3.9"), Fraction("1.95"))

    assert per_km == 2000
    assert driven_teeth(8, per_km, Fraction(640)) == 25


@pytest.mark.parametrize(
    ("teeth", "verdict"), [(25, Verdict.HOLDS), (24, Verdict.HOLDS), (26, Verdict.FAILS), (22, Verdict.FAILS)]
)
def test_a_speedometer_may_over_read_a_little_but_never_under_read(teeth: int, verdict: Verdict) -> None:
    assert check_speedometer(8, teeth, Fraction(2000), Fraction(640)).verdict is verdict


def test_a_wrong_driven_gear_names_the_right_one() -> None:
    result = check_speedometer(8, 27, Fraction(2000), Fraction(640))

    assert result.summary.startswith("under-reads by 7.4 % with 27 teeth; 25 teeth")


def test_an_unknown_dial_leaves_the_speedometer_unknown() -> None:
    assert check_speedometer(8, 25, Fraction(2000), None).verdict is Verdict.UNKNOWN


def test_a_converter_multiplies_the_pulses() -> None:
    assert pulse_factor(Fraction(6000), Fraction(4500)) == Fraction(3, 4)


def test_bad_gears_are_refused_with_every_fault() -> None:
    with pytest.raises(InvalidInput) as caught:
        Gear(teeth=2, module_mm=Fraction(-1), helix_deg=Fraction(80), hand="up")

    assert [problem.path for problem in caught.value.problems] == ["teeth", "module_mm", "helix_deg", "hand"]


@given(st.integers(10, 60), st.integers(10, 60))
def test_scaling_there_and_back_restores_the_ratios(driving: int, driven: int) -> None:
    ratios = {"1": Fraction("3.5"), "2": Fraction(2)}

    there = scale_ratios(ratios, (20, 32), (driving, driven))

    assert scale_ratios(there, (driving, driven), (20, 32)) == ratios


# Profile-shifted pairs as a gear handbook works them (module, helix, teeth, shifts, centre distance in mm; from memory)
SHIFTED = [
    ("3", 0, 12, 24, "0.6", "0.36", 56.4999),
    ("3", 30, 12, 60, "0.09809", "0", 125.0),
]


@pytest.mark.parametrize(("module", "helix", "z1", "z2", "x1", "x2", "distance"), SHIFTED)
def test_profile_shift_moves_the_centres_as_the_handbook_has_it(
    module: str, helix: int, z1: int, z2: int, x1: str, x2: str, distance: float
) -> None:
    hands = ("left", "right") if helix else ("none", "none")
    first, second = (
        Gear(teeth=z, module_mm=Fraction(module), helix_deg=Fraction(helix), hand=hand)
        for z, hand in zip((z1, z2), hands, strict=True)
    )
    shifts = Fraction(x1) + Fraction(x2)

    assert working_distance_nm(first, second, shifts) / 1e6 == pytest.approx(distance, abs=1e-3)
    assert float(shifts_for(first, second, round(distance * 1e6)) or 0) == pytest.approx(float(shifts), abs=1e-3)


def test_gears_that_run_with_profile_shift_are_unknown_until_their_thickness_is_measured() -> None:
    """Module 3, 30 degrees, 12 and 60 teeth run at 125.000 with x 0.09809; without shift they make 124.708."""
    new, layshaft = _gear(12, helix=30, module=Fraction(3)), _gear(60, "right", helix=30, module=Fraction(3))
    case = measured("centres", "125.000 mm", "0.01 mm")

    found = check_mesh(new, new, layshaft, case)

    assert found.verdict is Verdict.UNKNOWN
    assert "+0.0981 modules" in found.summary
    stated = [replace(gear, shift=Fraction(x)) for gear, x in ((new, "0.09809"), (layshaft, "0"))]
    assert check_mesh(new, stated[0], stated[1], case).verdict is Verdict.HOLDS
    plain = [replace(gear, shift=Fraction(0)) for gear in (new, layshaft)]
    assert check_mesh(new, plain[0], plain[1], case).verdict is Verdict.FAILS


def test_gears_of_other_pressure_angles_do_not_run() -> None:
    old = replace(_gear(20), pressure_deg=Fraction(20))

    assert (
        "pressure angle 20 deg" in check_mesh(old, old, replace(_gear(32, "right"), pressure_deg=Fraction(15))).summary
    )


@given(st.integers(12, 60), st.integers(12, 90), st.integers(0, 35), st.fractions(Fraction(-2, 5), Fraction(7, 5)))
def test_the_shift_found_for_a_distance_is_the_one_that_made_it(z1: int, z2: int, helix: int, shifts: Fraction) -> None:
    first, second = _gear(z1, helix=helix), _gear(z2, "right", helix=helix)

    found = shifts_for(first, second, working_distance_nm(first, second, shifts))

    assert found is not None
    assert float(found) == pytest.approx(float(shifts), abs=1e-3)

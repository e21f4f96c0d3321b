"""Joint angles, critical speed, slip, length and lever against worked examples and stated practice.

Sources: worked_examples.json (ujoint-1, ujoint-3, crit-1, crit-2, crit-4, each with its own source), the joint-angle
table of facts/standards, drive-shaft practice; "a plate moves the lever back by its own thickness" is common practice.
"""

from __future__ import annotations

import json
from fractions import Fraction
from math import pi
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.driveline import (
    Tube,
    angle_for_fluctuation_deg,
    check_critical_speed,
    check_joint_angles,
    critical_speed_rpm,
    fluctuation_rpm,
    get_angle_limit,
    joint_angle_deg,
    lumped_critical_speed_rpm,
)
from graph.fits.lengths import measured
from graph.fits.model import NM_PER_INCH, NM_PER_MM, Dimension, Verdict
from graph.fits.propshaft import check_length, check_lever, check_slip
from graph.fits.tables_drive import load_drive_tables

ANGLES = load_drive_tables().angles
EXAMPLES: dict[str, dict[str, Any]] = {
    example["id"]: example
    for example in json.loads(
        (Path(__file__).parent / "published" / "worked_examples.json").read_text(encoding="utf-8")
    )
}
PSI = 6894.757293168  # Pa


STEEL = {"modulus_gpa": Fraction("206.843"), "density_kg_m3": Fraction(7833)}  # 30e6 psi, 0.283 lb/in3


def _tube(example: str) -> Tube:
    inputs = EXAMPLES[example]["inputs"]
    density = inputs["rho_slug_in3"] * 14.5939029372 / 0.0254**3  # slug per cubic inch
    return Tube(
        length_nm=inputs["L_in"] * NM_PER_INCH, outer_nm=inputs["OD_in"] * NM_PER_INCH,
        wall_nm=int(inputs["wall_in"] * NM_PER_INCH), 
        modulus_gpa=Fraction(inputs["E_psi"] * PSI / 1e9), density_kg_m3=Fraction(density),
    )  # fmt: skip


@pytest.mark.parametrize("example", ["crit-1", "crit-2"])
def test_critical_speed_of_a_4_ft_tube_by_both_models(example: str) -> None:
    # the exercise prints the lumped-mass value; the uniform beam is the one the check uses
    tube, case = _tube(example), EXAMPLES[example]

    assert lumped_critical_speed_rpm(tube) == pytest.approx(case["published"]["n_rpm"], rel=0.01)
    assert critical_speed_rpm(tube) == pytest.approx(case["recomputed"]["n_rpm_uniform_beam"], rel=0.01)


def test_critical_speed_of_a_solid_inch_shaft_31_in_long() -> None:  # crit-4: about 520 rad/s
    tube = Tube(
        length_nm=31 * NM_PER_INCH, outer_nm=NM_PER_INCH, wall_nm=NM_PER_INCH // 2,
        modulus_gpa=Fraction(30e6 * PSI / 1e9), density_kg_m3=Fraction(0.282 * 0.45359237 / 0.0254**3),
    )  # fmt: skip

    assert critical_speed_rpm(tube) * pi / 30 == pytest.approx(520, rel=0.01)


def test_the_7200_of_a_calculator_page_is_not_what_its_formula_gives() -> None:  # wrong copy: 48 x 3 x 0.12 in steel
    tube = Tube(
        length_nm=48 * NM_PER_INCH, outer_nm=3 * NM_PER_INCH, wall_nm=3_048_000, modulus_gpa=Fraction(30e6 * PSI / 1e9),
        density_kg_m3=Fraction(0.283 * 0.45359237 / 0.0254**3),
    )  # fmt: skip

    assert critical_speed_rpm(tube) == pytest.approx(8437, rel=0.002)


def test_a_joint_that_fluctuates_by_100_of_1200_stands_at_16_4_degrees() -> None:  # ujoint-1
    angle = angle_for_fluctuation_deg(100 / 1200)
    low, high = fluctuation_rpm(1200, angle)

    published = EXAMPLES["ujoint-1"]["published"]
    assert angle == pytest.approx(published["beta_deg"], rel=0.003)
    assert (round(high), round(low)) == (published["n_max"], published["n_min"])


def test_a_joint_that_fluctuates_by_an_eighth_stands_at_20_degrees() -> None:  # ujoint-3
    assert angle_for_fluctuation_deg(0.125) == pytest.approx(EXAMPLES["ujoint-3"]["recomputed"]["beta_deg"], abs=1e-3)


@pytest.mark.parametrize(
    ("speed", "limit"),
    [
        (5000, "3.2"),
        (4500, "3.7"),
        (4000, "4.2"),
        (3500, "5.0"),
        (3000, "5.8"),
        (1500, "11.5"),
        (2000, "8.7"),
        (4600, "3.2"),
    ],
)
def test_the_angle_limit_is_that_of_the_next_higher_speed(speed: int, limit: str) -> None:  # joint-maker's rules
    assert get_angle_limit(ANGLES, speed).angle_deg == Fraction(limit)


def test_a_speed_above_the_angle_table_is_refused() -> None:
    with pytest.raises(InvalidInput, match="ends at 5000"):
        get_angle_limit(ANGLES, 6000)


def test_two_equal_small_angles_hold() -> None:
    result = check_joint_angles(ANGLES, Fraction(2), Fraction("2.3"), 4000)

    assert result.verdict is Verdict.HOLDS
    assert str(result.margin) == "0.5 deg"


@pytest.mark.parametrize(
    ("front", "rear", "binding"),
    [("0.2", "0.6", "front joint too straight"), ("4.5", "4.4", "front joint too steep"), ("1", "2.5", "ends unequal")],
)
def test_bad_angles_name_the_limit_that_binds(front: str, rear: str, binding: str) -> None:
    result = check_joint_angles(ANGLES, Fraction(front), Fraction(rear), 4000)

    assert result.verdict is Verdict.FAILS
    assert result.binding == binding


def test_angles_above_3_degrees_hold_with_a_caution() -> None:
    result = check_joint_angles(ANGLES, Fraction(4), Fraction(4), 3500)

    assert result.verdict is Verdict.HOLDS
    assert "Above 3 deg expect vibration." in result.cautions


def test_an_unmeasured_angle_is_unknown() -> None:
    assert check_joint_angles(ANGLES, None, Fraction(2), 4000).verdict is Verdict.UNKNOWN


def test_a_joint_angle_adds_side_and_plan_view() -> None:  # small angles: root of the sum of squares, 3-4-5
    assert joint_angle_deg(0.3, 0.4, 0.0, 0.0) == pytest.approx(0.5, abs=1e-4)


@given(st.floats(-30, 30), st.floats(-30, 30), st.floats(-30, 30), st.floats(-30, 30))
def test_a_joint_angle_is_the_same_from_either_side(a: float, b: float, c: float, d: float) -> None:
    assert joint_angle_deg(a, b, c, d) == pytest.approx(joint_angle_deg(c, d, a, b), abs=1e-6)


def test_a_propshaft_stays_below_three_quarters_of_its_critical_speed() -> None:
    tube = Tube(length_nm=1500 * NM_PER_MM, outer_nm=76 * NM_PER_MM, wall_nm=2 * NM_PER_MM, **STEEL)
    allowed = round(critical_speed_rpm(tube)) * 3 // 4

    assert check_critical_speed(tube, allowed).verdict is Verdict.HOLDS
    assert check_critical_speed(tube, allowed + 1).verdict is Verdict.FAILS
    assert check_critical_speed(None, 4000).verdict is Verdict.UNKNOWN


@given(st.integers(500, 2000), st.integers(40, 120))
def test_a_tube_half_as_long_turns_four_times_as_fast(length_mm: int, outer_mm: int) -> None:
    def tube(length: int) -> Tube:
        return Tube(length_nm=length * NM_PER_MM, outer_nm=outer_mm * NM_PER_MM, wall_nm=2 * NM_PER_MM, **STEEL)

    assert critical_speed_rpm(tube(length_mm)) == pytest.approx(4 * critical_speed_rpm(tube(2 * length_mm)))


def test_a_tube_with_too_thick_a_wall_is_refused() -> None:
    with pytest.raises(InvalidInput, match="twice the wall"):
        Tube(length_nm=NM_PER_MM, outer_nm=10, wall_nm=6, **STEEL)


def _at(name: str, mm: str, uncertainty: str = "1 mm", datum: str = "gearbox front face") -> Dimension:
    return measured(name, f"{mm} mm", uncertainty, datum=datum)


@pytest.mark.parametrize(
    ("engaged", "room", "verdict"),
    [
        ("80", "30", Verdict.HOLDS),
        ("60", "30", Verdict.FAILS),
        ("80", "10", Verdict.FAILS),
        ("75", "30", Verdict.UNKNOWN),
    ],
)
def test_a_slip_joint_keeps_3_in_engaged_and_1_in_free(engaged: str, room: str, verdict: Verdict) -> None:
    assert check_slip(_at("spline engaged", engaged), _at("room to push in", room)).verdict is verdict


def test_a_5_mm_thicker_plate_is_taken_up_by_the_slip_joint() -> None:
    moved = _at("output moved back", "5", "0.2 mm")

    result = check_length(_at("propshaft", "1200"), moved, slip_room_nm=25_000_000, slip_out_nm=10_000_000)

    assert result.verdict is Verdict.HOLDS
    assert str(result.values[0].nominal) == "1195.000 mm"


def test_a_gearbox_40_mm_further_back_wants_a_shorter_propshaft() -> None:
    result = check_length(
        _at("propshaft", "1200"), _at("output moved back", "40"), slip_room_nm=25_000_000, slip_out_nm=10_000_000
    )

    assert [(work.operation, str(work.amount)) for work in result.work] == [("shorten-propshaft", "40.000 mm")]
    assert "to 1160.000 mm and balance it" in result.summary


@pytest.mark.parametrize("plate_mm", [10, 20])
def test_a_plate_moves_the_lever_back_by_its_own_thickness(plate_mm: int) -> None:  # common practice
    plate = measured("plate", f"{plate_mm} mm", "0.1 mm")

    result = check_lever(_at("lever", "520"), plate, _at("front edge", "480"), _at("rear edge", "570"))

    assert str(result.values[0].nominal) == f"{40 + plate_mm}.000 mm"
    assert str(result.values[1].nominal) == f"{50 - plate_mm}.000 mm"
    assert result.verdict is Verdict.HOLDS


def test_a_thick_plate_asks_for_a_cut_in_the_tunnel() -> None:
    plate = measured("plate", "45 mm", "0.1 mm")

    result = check_lever(_at("lever", "520"), plate, _at("front edge", "480"), _at("rear edge", "570"))

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert [(work.operation, str(work.amount)) for work in result.work] == [("cut-tunnel", "7.100 mm")]


def test_a_lever_measured_from_another_face_is_refused() -> None:
    plate = measured("plate", "10 mm", "0.1 mm")

    with pytest.raises(InvalidInput, match="refer them to one"):
        check_lever(_at("lever", "520", datum="block"), plate, _at("front edge", "480"), _at("rear edge", "570"))

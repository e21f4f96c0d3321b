"""Figures that were once wrong, each through the door that its user takes, with the source beside it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from graph.derive.around import deriver_of
from graph.derive.plate_sketch import plate_sketch
from graph.errors import InvalidInput
from graph.fits.lengths import read_nm
from graph.fits.model import NM_PER_MM, Verdict
from graph.fits.pattern import Face, Hole
from graph.fits.sketch import sketch_text
from graph.fits.tables import load_tables
from graph.fits.threads import find_thread_of_hole
from graph.identify.units import identify_unit
from graph.what_if.inputs import WORD, WhatIf, read_fields
from graph.what_if.kinds import WHAT_IFS, check_what_if, try_what_if
from tests.derive.shop import index

WORN_BORE = {"side": "housing", "bearing": "6309", "seat": "100.060 mm +/- 0.003 mm", "family": "light alloy"}


def test_work_and_sketches_of_a_worn_bore_name_the_same_sizes() -> None:
    """ISO 286-2: 105 H7 is 105.000 to 105.035; the ring of 2.5 mm wall is common practice."""
    result, (bored, sleeve) = try_what_if("bearing-seat", WORN_BORE)

    assert "105.000 mm H7 (105.000 to 105.035)" in result.work[0].text
    assert "A: bore diameter 105.000 mm H7 (105.000 mm to 105.035 mm)" in sketch_text(bored)
    assert "A: outside diameter 105.000 mm t6 (105.104 mm to 105.126 mm)" in sketch_text(sleeve)
    assert "B: inside diameter 100.000 mm N7 (99.955 mm to 99.990 mm)" in sketch_text(sleeve)


def test_a_steel_sleeve_in_light_alloy_is_fitted_for_the_hot_state() -> None:
    """(21.5 - 11.7) um/(m K) x 105 mm x 60 K = 61.7 um: p6 (37 to 59 um) loses all of it, t6 (104 to 126) keeps 7."""
    result = check_what_if("bearing-seat", WORN_BORE)

    lines = [line.text() for line in result.working.lines]
    assert any("least interference of p6 at 80 C" in line and "-59.7 um: loose" in line for line in lines)
    assert any("least interference of t6 at 80 C" in line and "7.3 um: grips" in line for line in lines)


def test_a_bearing_expands_as_its_sourced_coefficient_says() -> None:
    """12.5 um/(m K), needle bearing catalogue; 12.0 is a rounded memory: (21.5 - 12.5) x 100 mm x 60 K = 54 um."""
    result = check_what_if("bearing-seat", WORN_BORE)

    assert any("(21.5 - 12.5) um/(m K) x 100.000 mm x 60 K = 54 um" in line.text() for line in result.working.lines)


@pytest.mark.parametrize(
    ("seat", "verdict"),
    [("10.004 mm +/- 0.002 mm", Verdict.HOLDS), ("9.980 mm +/- 0.002 mm", Verdict.HOLDS_WITH_WORK)],
)
def test_a_bore_of_ten_is_judged(seat: str, verdict: Verdict) -> None:
    """ISO 286-2 above 6 to 10 mm: j5 +4/-2, k6 +10/+1; ISO 492 Normal: bore 0/-8."""
    result = check_what_if("bearing-seat", {"side": "shaft", "bearing": "6200", "seat": seat})

    assert result.verdict is verdict
    assert "9.998 to 10.010 mm" in result.summary


def plate(thickness: int) -> str:
    """The demo's block (six M10x1.5) and bell (eight holes of 11), a plate between them."""
    deriver = deriver_of(index())
    faces = (deriver.measured.face(part, "engine-face") for part in ("block-pipit", "bell-tansy-spare"))
    block, bell = (face for face in faces if face is not None)
    return sketch_text(plate_sketch(load_tables(), block, bell, thickness * NM_PER_MM, "make a plate", 100_000, ()))


def test_a_plate_names_real_threads_clearance_holes_and_counterbores() -> None:
    """ISO 261 M10x1.5; ISO 273 medium 11; ISO 4762 head 16 x 10; DIN 974-1 counterbore 18; drill d - P = 8.5."""
    text = plate(15)

    assert "hole A-a1: 0.000 mm right, 168.000 mm up, diameter 11.000 mm, clearance" in text
    assert "hole B-b1: -48.000 mm right, 183.000 mm up, M10x1.5, thread" in text
    assert "11.000 mm through (ISO 273 medium), counterbore 18.000 mm x 10.000 mm deep" in text
    assert "tapping drill 8.500 mm; at most 15.000 mm of thread engaged, wanted 10.000 mm in steel" in text
    assert "20.000 mm in light alloy" in text
    assert "wanted (common practice): take a thicker plate" not in text


def test_a_plate_too_thin_for_its_heads_says_what_stays_under_them() -> None:
    """ISO 4762: the head of M10 is 10 high, so 2 of 12 stay."""
    assert "2.000 mm of plate stay under the head, at least 4.000 mm wanted" in plate(12)


@pytest.mark.parametrize(
    ("hole", "thread"),  # ISO 273: medium of M8, M10, M12, M14, M16; fine M10; coarse M12; and what it has not
    [("9", "M8"), ("11", "M10"), ("13.5", "M12"), ("15.5", "M14"), ("17.5", "M16"), ("10.5", "M10"), ("14.5", "M12"),
     ("6.6", "M6"), ("5.5", "M5"), ("7.8", None), ("19", None)],
)  # fmt: skip
def test_a_clearance_hole_tells_its_thread_by_iso_273(hole: str, thread: str | None) -> None:
    found = find_thread_of_hole(load_tables(), read_nm(f"{hole} mm"))

    assert (found.name if found else None) == thread


def test_a_hole_that_no_table_has_is_asked_for_and_not_invented() -> None:
    """7/16 in clearance of 11.5 mm is nobody's ISO 273 size: the nearest, 11 and 12, are beyond its reading."""
    hole = Hole(id="b9", x_nm=0, y_nm=0, diameter_nm=11_500_000)
    face = Face(id="b", label="bell", holes=(hole,), axis="axis", seen_from="rear", uncertainty_nm=100_000)
    text = sketch_text(plate_sketch(load_tables(), face, face, 15 * NM_PER_MM, "make a plate", 100_000, ()))

    assert "ask before drilling" in text
    assert "hole B-b9: 0.000 mm right, 0.000 mm up, diameter 11.500 mm" in text


def test_the_travel_of_the_release_bearing_can_be_repeated_from_its_line() -> None:
    """Equal volumes: 19.05^2 x 35 / 44^2 / 2 with a fork of 2."""
    result = check_what_if(
        "release",
        {
            "master_bore": "19.05 mm +/- 0.02 mm",
            "master_stroke": "35 mm +/- 0.5 mm",
            "slave_bore": "22 mm +/- 0.02 mm",
            "fork_ratio": "2",
            "gap": "3 mm +/- 0.2 mm",
            "finger_travel": "8 mm +/- 0.2 mm",
        },
    )

    travel, *_, left = (line for line in result.working.lines if line.symbol in ("travel", "left"))
    assert travel.numbers == "19.050^2 x 35.000 / (22.000^2 - 0.000^2) / 2"
    assert travel.value.startswith(f"{19.05**2 * 35 / 22**2 / 2:.3f}")
    assert result.margin is not None and str(result.margin) == left.value


@pytest.mark.parametrize(
    ("front", "rear", "speed", "verdict"),
    [  # each joint 0.5 to 3 deg, ends within 1 deg; 8.7 deg at 2000, 11.5 at 1500 1/min: joint-maker's rules
        ("2.0 deg", "2.85 deg", "3000 rpm", Verdict.UNKNOWN),  # 0.85 apart, each read to 0.1
        ("2.0 deg", "2.75 deg", "3000 rpm", Verdict.HOLDS),
        ("2.0 deg", "3.3 deg", "3000 rpm", Verdict.FAILS),
        ("8.0 deg", "8.2 deg", "2000 rpm", Verdict.HOLDS),
        ("11.0 deg", "11.2 deg", "1500 rpm", Verdict.HOLDS),
        ("9.0 deg", "9.2 deg", "2000 rpm", Verdict.FAILS),
    ],
)
def test_joint_angles_within_their_reading_of_a_limit_are_to_be_read_finer(
    front: str, rear: str, speed: str, verdict: Verdict
) -> None:
    assert check_what_if("joint-angles", {"front": front, "rear": rear, "speed_rpm": speed}).verdict is verdict


@pytest.mark.parametrize(
    ("more", "critical"),
    [  # 48 x 3 x 0.12 in: 8437 1/min by the page's own formula with 30e6 psi and 0.283 lb/in3
        ({}, 8437),
        ({"modulus": "30000000 psi", "density": "0.283 lb/in3"}, 8437),
        # aluminium, 10e6 psi, 0.00305 slug/in3: 8255 as a uniform beam (vehicle dynamics exercise)
        ({"wall": "0.125 in", "modulus": "10000000 psi", "density": "2716.1 kg/m3"}, 8255),
    ],
)
def test_a_tube_has_the_critical_speed_of_its_material(more: dict[str, str], critical: int) -> None:
    inputs = {"length": "48 in", "outer": "3 in", "wall": "0.12 in", "speed_rpm": "4000", **more}

    result = check_what_if("critical-speed", inputs)

    found = int(result.working.lines[0].value.split()[0])
    assert found == pytest.approx(critical, rel=0.001)


def test_a_bearing_s_life_goes_by_the_lowest_of_the_new_and_the_highest_of_the_old() -> None:
    """ISO 281: (C_new / C_old)^3; tabled 6209 32.5 to 33.2 kN, 6309 52.7 to 58.5 kN."""
    worse = check_what_if("bearing-life", {"old": "6309", "new": "6209", "least_part": "0.2"})
    either = check_what_if("bearing-life", {"old": "6006", "new": "6007", "least_part": "1.8"})

    assert "(32500 / 58500 N)^3 = 0.171" in worse.working.lines[0].text()
    assert either.verdict is Verdict.UNKNOWN
    assert "ratings of the two bearings in hand" in either.measure[0].name
    assert check_what_if("bearing-life", {"old": "6309", "new": "6309"}).verdict is Verdict.HOLDS


def test_ratings_of_the_bearings_in_hand_settle_the_life() -> None:
    """(45 / 50)^3 = 0.729."""
    inputs = {"old": "6309", "new": "6209", "old_c_n": "50 kN", "new_c_n": "45000"}

    assert "life becomes 0.729" in check_what_if("bearing-life", inputs).summary


def test_a_shoulder_s_radius_is_never_invented() -> None:
    inputs = {"width": "25 mm +/- 0.01 mm", "spacing": "23 mm +/- 0.02 mm from the shoulder"}
    _, (unknown,) = try_what_if("axial-location", inputs)
    _, (known,) = try_what_if("axial-location", {**inputs, "chamfer": "1.5 mm"})

    assert "nobody has stated the bearing's chamfer" in sketch_text(unknown)
    assert "leave radius 1.500 mm at the shoulder" in sketch_text(known)


def test_a_tir_within_its_readings_of_the_limit_is_to_be_swept_again() -> None:
    """Offset 2.49 thou: TIR 4.98 of 5 thou, read to 0.005 mm (half a division)."""
    result = check_what_if("register", {"h12": "0 thou", "h3": "2.49 thou", "h6": "4.98 thou", "h9": "2.49 thou"})

    assert result.verdict is Verdict.UNKNOWN


@pytest.mark.parametrize("kind", WHAT_IFS)
@pytest.mark.parametrize("text", ["", "-1000000", "1e9", "NaN", "inf", "7" * 30, "1-17/16 in", "9 parsecs"])
def test_every_number_of_every_check_refuses_nonsense_at_its_field_with_an_example(kind: str, text: str) -> None:
    """Missing, negative, huge, not a number, without a unit: the fault names the field and shows how it is written."""
    for name, field in WHAT_IFS[kind].fields.items():
        if field.form == WORD:
            continue
        with pytest.raises(InvalidInput) as refusal:
            read_fields(WhatIf("one field", {name: replace(field, needed=True)}, dict), {name: text})
        (problem,) = refusal.value.problems
        assert problem.path == name
        assert any(word in problem.message for word in ("such as", field.how)), problem.message


def test_one_more_reading_that_suits_a_variant_does_not_rule_it_out() -> None:
    """The demo's Hollin 5 (stick-out 147, ten teeth, 28.6 over them) has a case whose label names a seat of 90."""
    readings = {"stick-out": "147 mm", "spline-major": "28.6 mm", "spline-teeth": "10"}

    before = identify_unit(index(), "gearbox", readings)
    after = identify_unit(index(), "gearbox", {**readings, "housing-bore": "90 mm"})

    first = after.standings[0]
    assert (first.variant, first.possible) == ("hollin-5", True)
    assert first.probability > before.standings[0].probability
    assert after.something_else < 0.05


def test_a_difference_of_temperature_is_the_same_in_kelvin_and_in_degrees() -> None:
    said = {"bearing": "6309", "shaft": "0.02 mm", "housing": "0 mm"}
    one, other = (check_what_if("bearing-clearance", {**said, "warmer": warmer}) for warmer in ("5 K", "5 C"))

    assert one.margin == other.margin

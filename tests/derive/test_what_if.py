"""What-if checks on typed dimensions: published and handbook figures through the text interface, and bad input."""

from __future__ import annotations

import pytest

from graph.errors import InvalidInput, NotFound
from graph.fits.as_json import result_as_json
from graph.fits.model import Verdict
from graph.what_if.inputs import HOW
from graph.what_if.kinds import WHAT_IFS, check_what_if


def test_width_25_in_room_for_23_wants_two_millimetres_off_the_shoulder() -> None:
    """Common practice."""
    result = check_what_if(
        "axial-location", {"width": "25 mm +/- 0.01 mm", "spacing": "23 mm +/- 0.02 mm from the shoulder"}
    )

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert "turn 2.000 mm off the shoulder" in result.summary


def test_three_depths_make_the_end_float() -> None:
    """Gearbox manual's example: 25.3 - 10.1 - 14.0 = 1.2, wanted 1.1 to 1.3."""
    result = check_what_if(
        "end-float",
        {
            "outer": "25.3 mm +/- 0.02 mm from the case face",
            "inner": "10.1 mm +/- 0.02 mm from the case face",
            "part": "14.0 mm +/- 0.02 mm",
            "low": "1.1 mm",
            "high": "1.3 mm",
        },
    )

    assert result.verdict is Verdict.HOLDS
    assert "end float 1.200 mm" in result.summary


def test_four_dial_readings_give_offset_run_out_and_the_dowel() -> None:
    """Worked example: 0, +9, +14, +5 thou; offset 7.28, TIR 14.6; dowels of 7 leave about 0.56."""
    result = check_what_if(
        "register", {"h12": "0 thou", "h3": "9 thou", "h6": "14 thou", "h9": "5 thou", "dowel_1": "7 thou"}
    )

    assert "TIR 0.370 mm (14.56 thou)" in result.summary
    assert "leave TIR 0.014 mm (0.56 thou)" in result.summary


def test_readings_that_do_not_close_are_to_be_taken_again() -> None:
    """Worked example: with 11 at nine o'clock 0 + 14 is not 9 + 11."""
    result = check_what_if("register", {"h12": "0 thou", "h3": "9 thou", "h6": "14 thou", "h9": "11 thou"})

    assert result.verdict is Verdict.UNKNOWN
    assert result.measure


LENGTHS = {
    "crank_flange": "14.0 mm +/- 0.05 mm from the block rear face",
    "bore_depth": "45 mm +/- 0.05 mm from the crank flange",
    "friction_face": "24.0 mm +/- 0.05 mm from the crank flange",
    "fingers": "48.0 mm +/- 0.05 mm from the flywheel friction face",
    "bell_depth": "165.0 mm +/- 0.3 mm from the bell housing front face",
    "bearing_height": "90 mm +/- 0.05 mm from the gearbox front mounting face",
}


def test_what_is_not_measured_of_the_length_chains_is_named_and_the_rest_gives_its_window() -> None:
    """Worked example: release gap = T - 11, within 3 to 5: T from 14 to 16 where nothing else is known."""
    result = check_what_if("length-chains", {**LENGTHS, "plate": "15 mm"})

    assert result.verdict is Verdict.UNKNOWN
    assert any("stick out" in missing.name for missing in result.measure)
    assert "plate 14.000 mm (release gap) to 16.000 mm (release gap)" in result.summary


def test_a_propshaft_tube_has_a_critical_speed() -> None:
    result = check_what_if(
        "critical-speed", {"length": "1500 mm", "outer": "2-1/2 in", "wall": "0.065 in", "speed_rpm": "4000"}
    )

    assert result.margin is not None
    assert result.margin.unit == "1/min"


def test_what_is_left_out_is_unknown_and_says_what_to_measure() -> None:
    result = check_what_if("pilot", {"nose": "17.00 mm +/- 0.01 mm"})

    assert result.verdict is Verdict.UNKNOWN
    assert {"crank bore", "pilot outside diameter", "pilot inside diameter"} <= {one.name for one in result.measure}


@pytest.mark.parametrize(
    ("inputs", "problem"),
    [
        ({"width": "25 mm"}, "say how surely it is known"),
        ({"width": "25 +/- 0.01"}, "'25' has no unit: write it such as 25 mm, 25 in"),
        ({"width": "25 mm +/- 0 mm"}, "no reading is exact"),
        ({"width": "-25 mm +/- 0.01 mm", "spacing": "23 mm +/- 0.01 mm from the face"}, "must be above zero"),
        ({"width": "25 mm +/- 0.01 mm", "spacing": "23 mm +/- 0.01 mm"}, "no datum"),
        ({"wdth": "25 mm +/- 0.01 mm"}, "did you mean width"),
        ({"play_low": "wide"}, "expected a number, found 'wide'"),
        ({"width": "25 mm +/- 0.01 mm " + "x" * 300}, "longer than 200 characters"),
    ],
)
def test_bad_input_is_refused_by_name(inputs: dict[str, str], problem: str) -> None:
    with pytest.raises(InvalidInput, match=problem):
        check_what_if("axial-location", inputs)


def test_all_faults_of_the_inputs_are_told_together() -> None:
    with pytest.raises(InvalidInput) as refusal:
        check_what_if("bearing-seat", {"side": "left", "seat": "45 mm", "running_c": "hot"})

    assert [problem.path for problem in refusal.value.problems] == ["side", "bearing", "seat", "running_c"]


def test_a_check_that_does_not_exist_is_not_found() -> None:
    with pytest.raises(NotFound, match="axial-location"):
        check_what_if("axial-locations", {})
    with pytest.raises(NotFound, match="6309"):
        check_what_if("bearing-seat", {"side": "shaft", "bearing": "6409", "seat": "45.01 mm +/- 0.01 mm"})


@pytest.mark.parametrize("kind", WHAT_IFS)
def test_every_check_says_what_it_takes_and_never_passes_on_nothing(kind: str) -> None:
    what_if = WHAT_IFS[kind]

    assert what_if.about.endswith(".")
    assert all(field.about and field.form in HOW for field in what_if.fields.values())
    if any(field.needed for field in what_if.fields.values()):
        with pytest.raises(InvalidInput, match="is missing"):
            check_what_if(kind, {})
    elif kind == "fit":
        with pytest.raises(InvalidInput, match="state at least one limit"):
            check_what_if(kind, {})
    else:
        assert check_what_if(kind, {}).verdict is Verdict.UNKNOWN


def test_a_result_as_json_carries_numbers_units_and_texts() -> None:
    result = result_as_json(
        check_what_if("axial-location", {"width": "1 in +/- 1 thou", "spacing": "25.5 mm +/- 0.02 mm from the face"})
    )

    assert result["verdict"] == "holds with work"
    (play,) = result["values"]
    assert play["nominal"] == {"value": 0.1, "unit": "mm", "text": "0.100 mm"}
    assert play["worst_case"][0]["value"] == pytest.approx(0.1 - 0.02 - 0.0254)
    assert {"symbol", "formula", "numbers", "value", "source", "text"} == set(result["working"][0])

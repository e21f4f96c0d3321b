"""Measurements: kept as read, compared by joint uncertainty (root sum of squares, JCGM 100:2008, 5.1.2)."""

from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.measurement import FEW_READINGS, CheckedMeasurement, find_dispute, measurement_of, settle


def stick_out(id: str, reading: str, uncertainty: str = "0.05 mm", **more: Any) -> CheckedMeasurement:
    return measurement_of(
        id=id, quantity="stick-out", reading=reading, uncertainty=uncertainty, of="box-a",
        datum="gearbox front mounting face", **more,
    )  # fmt: skip


def test_a_reading_becomes_a_dimension_with_its_words_kept() -> None:
    dimension = stick_out("m1", "7.480 in", method="straight-edge and depth micrometer", temperature="68 F").dimension()

    assert (dimension.nominal_nm, dimension.low_nm, dimension.high_nm) == (189_992_000, 189_942_000, 190_042_000)
    assert dimension.as_read == "7.480 in"
    assert dimension.datum == "gearbox front mounting face"
    assert dimension.temperature_c == 20


def test_an_unstated_uncertainty_is_that_of_the_tool() -> None:
    reading = measurement_of(
        id="m", quantity="bell depth", reading="6.496 in", of="bell", datum="bell front face", method="tape"
    )

    assert reading.uncertainty.text == "1.0 mm"


def test_readings_in_two_units_within_their_joint_uncertainty_agree() -> None:
    # 7.480 in = 189.992 mm; sqrt(0.05^2 + 0.05^2) = 0.0707 mm
    assert find_dispute(stick_out("m1", "7.480 in"), stick_out("m2", "190.06 mm")) is None


def test_readings_beyond_their_joint_uncertainty_are_a_dispute_not_an_average() -> None:
    settled = settle([stick_out("m1", "7.480 in"), stick_out("m2", "190.07 mm"), stick_out("m3", "190.0 mm")])

    assert settled.best is None
    assert [(d.first.id, d.second.id) for d in settled.disputes] == [("m1", "m2")]
    assert settled.disputes[0].difference == Fraction(78_000)
    assert "7.480 in" in settled.disputes[0].text()


def test_the_joint_uncertainty_itself_is_still_agreement() -> None:
    # 3-4-5: uncertainties 0.03 and 0.04 mm join to exactly 0.05 mm
    assert find_dispute(stick_out("a", "190.00 mm", "0.03 mm"), stick_out("b", "190.05 mm", "0.04 mm")) is None
    assert find_dispute(stick_out("a", "190.00 mm", "0.03 mm"), stick_out("b", "190.051 mm", "0.04 mm"))


def test_of_agreeing_readings_the_surest_counts() -> None:
    settled = settle([stick_out("tape", "190 mm", "1.0 mm"), stick_out("depth", "190.02 mm")])

    assert settled.best is not None
    assert settled.best.id == "depth"


def test_different_things_cannot_dispute() -> None:
    other = measurement_of(
        id="m", quantity="stick-out", reading="190 mm", uncertainty="0.05 mm", of="box-a", datum="bell front face"
    )

    with pytest.raises(InvalidInput, match="datum: not the same thing"):
        find_dispute(stick_out("m1", "190 mm"), other)


def test_every_fault_of_a_measurement_is_named_at_once() -> None:
    with pytest.raises(InvalidInput) as caught:
        measurement_of(id="m", quantity="stick-out", reading="190", of="", of_kind="family", uncertainty="0 mm")

    assert {problem.path for problem in caught.value.problems} == {"of", "of_kind", "datum", "reading", "uncertainty"}


def test_a_negative_diameter_is_impossible() -> None:
    with pytest.raises(InvalidInput, match="a size is above zero"):
        measurement_of(
            id="m", quantity="bore diameter", reading="-38.1 mm", of="crank", form="size", method="bore gauge"
        )


@pytest.mark.parametrize("reading", ["23,5 teeth", "23.5 teeth", "47/2 teeth"])
def test_what_is_counted_is_a_whole_number(reading: str) -> None:
    with pytest.raises(InvalidInput, match="is counted, so it is a whole number"):
        _spline(reading, "count", "0 teeth")

    assert _spline("23,0 teeth", "count", "0 teeth").reading.amount == 23


@pytest.mark.parametrize(
    ("reading", "taken"), [("0 deg", True), ("32.5 deg", True), ("-20 deg", False), ("360 deg", False)]
)
def test_an_angle_is_a_part_of_a_turn(reading: str, taken: bool) -> None:
    if taken:
        assert _spline(reading, "angle", "1 deg").reading.dimension == "angle"
        return
    with pytest.raises(InvalidInput, match="an angle is from 0 to below 360 deg"):
        _spline(reading, "angle", "1 deg")


def _spline(reading: str, dimension: str, uncertainty: str) -> CheckedMeasurement:
    return measurement_of(
        id="m", quantity="of a spline", reading=reading, of="shaft", dimension=dimension, form="size",
        uncertainty=uncertainty,
    )  # fmt: skip


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 40), st.integers(1, 9)), min_size=FEW_READINGS + 1, max_size=30))
def test_many_readings_are_judged_as_pair_by_pair_though_not_every_pair_is_named(read: list[tuple[int, int]]) -> None:
    readings = [stick_out(f"m{at:02}", f"{180 + mm} mm", f"{spread} mm") for at, (mm, spread) in enumerate(read)]
    apart = [pair for pair in combinations(readings, 2) if find_dispute(*pair)]

    settled = settle(readings)

    assert (settled.best is None) == bool(apart)
    named = {one.id for dispute in settled.disputes for one in (dispute.first, dispute.second)}
    assert named == {one.id for pair in apart for one in pair}
    assert {(dispute.first, dispute.second) for dispute in settled.disputes} <= set(apart)
    assert len(settled.disputes) <= len(readings)

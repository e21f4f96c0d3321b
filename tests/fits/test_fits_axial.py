"""Axial location as worked examples: the shoulder job, selected rings, end float, taper bearing shims.

Sources: a passenger-car gearbox manual (25.3 - 10.1 - 14.0), a marine gear manual (0.009 + 0.004 in), a truck
gearbox manual (0.06 to 0.11 mm), DIN 471/472 rows of facts/standards; the shoulder job is common practice.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput, NotFound
from graph.fits.axial import check_location, choose_shims, end_float, taper_shims
from graph.fits.lengths import basic, measured, read_nm
from graph.fits.model import NM_PER_MM, Dimension, Verdict
from graph.fits.rings import check_ring, get_ring
from graph.fits.tables import load_tables

TABLES = load_tables()


def toleranced(name: str, nominal: str, upper: str, lower: str, source: str = "drawing") -> Dimension:
    size = read_nm(nominal)
    return Dimension(
        name=name, nominal_nm=size, low_nm=size + read_nm(lower), high_nm=size + read_nm(upper), source=source
    )


WIDTH_25 = toleranced("bearing width", "25 mm", "0 mm", "-0.12 mm", source="ISO 492 Normal")


def _spacing(reading: str, uncertainty: str = "0.02 mm") -> Dimension:
    return measured("shoulder-to-ring spacing", reading, uncertainty, datum="ring groove")


def test_a_shaft_located_for_23_mm_takes_a_25_mm_bearing_after_2_mm_off_the_shoulder() -> None:  # common practice
    result = check_location(WIDTH_25, _spacing("23.00 mm"), chamfer_nm=1_500_000)

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert [(work.operation, str(work.amount)) for work in result.work] == [("turn-shoulder", "2.000 mm")]
    assert "radius at most 1.500 mm" in result.work[0].text
    assert "cut = width - spacing = 25.000 - 23.000 = 2.000 mm" in result.working.text()


def test_the_shoulder_job_fails_when_too_little_may_come_off() -> None:
    stock = measured("shoulder width", "1.5 mm", "0.1 mm", datum="ring groove")

    result = check_location(WIDTH_25, _spacing("23.00 mm"), stock=stock)

    assert result.verdict is Verdict.FAILS
    assert result.summary == "needs 2.000 mm off the shoulder, but only 1.400 mm may come off"


def test_a_bearing_of_the_right_width_drops_in() -> None:  # common practice: same width and seats, bearing only
    width = measured("bearing width", "24.98 mm", "0.01 mm")

    result = check_location(width, _spacing("25.03 mm", "0.01 mm"))

    assert result.verdict is Verdict.HOLDS
    assert str(result.margin) == "0.030 mm"


def test_a_bearing_of_table_width_has_its_ring_chosen_at_assembly() -> None:
    result = check_location(WIDTH_25, _spacing("25.03 mm"))

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert result.work[0].operation == "select-ring"


def test_a_narrower_bearing_gets_a_shim_ring() -> None:
    result = check_location(toleranced("bearing width", "23 mm", "0 mm", "-0.12 mm"), _spacing("25.00 mm"))

    assert [(work.operation, str(work.amount)) for work in result.work] == [("fit-shim", "1.950 mm")]


def test_a_play_that_may_be_tight_asks_for_a_better_reading() -> None:
    result = check_location(measured("bearing width", "25.00 mm", "0.05 mm"), _spacing("25.02 mm", "0.05 mm"))

    assert result.verdict is Verdict.UNKNOWN
    assert "more closely" in result.measure[0].name


@pytest.mark.parametrize(
    ("width", "spacing", "name"), [(None, "s", "the bearing width"), ("w", None, "the shoulder-to-ring spacing")]
)
def test_a_missing_reading_is_named(width: str | None, spacing: str | None, name: str) -> None:
    result = check_location(width and WIDTH_25, spacing and _spacing("25 mm"))  # type: ignore[arg-type]

    assert result.verdict is Verdict.UNKNOWN
    assert [item.name for item in result.measure] == [name]


def test_a_spacing_without_datum_is_refused() -> None:
    with pytest.raises(InvalidInput, match="shoulder-to-ring spacing.datum: no datum"):
        check_location(WIDTH_25, measured("shoulder-to-ring spacing", "23 mm", "0.02 mm"))


@given(st.integers(5_000, 60_000), st.integers(-4_000, 4_000), st.integers(1, 30))
def test_after_the_cut_the_bearing_goes_in(width_um: int, more_um: int, spread_um: int) -> None:
    width = Dimension(
        name="width", nominal_nm=width_um * 1000, low_nm=width_um * 1000 - 100_000, high_nm=width_um * 1000
    )
    nominal = max(1_000, width_um + more_um) * 1000
    spacing = Dimension(
        name="spacing",
        nominal_nm=nominal,
        low_nm=nominal - spread_um * 1000,
        high_nm=nominal + spread_um * 1000,
        datum="face",
    )

    result = check_location(width, spacing)

    cut = sum(int(w.amount.value * NM_PER_MM) for w in result.work if w.operation == "turn-shoulder" and w.amount)
    if cut:
        assert nominal + cut == width.high_nm
    else:
        assert nominal + spread_um * 1000 >= width.low_nm


def test_end_float_is_first_depth_less_second_depth_less_width() -> None:  # passenger-car gearbox manual
    depths = [
        measured(name, reading, "0.02 mm", datum="case face")
        for name, reading in (("A", "25.3 mm"), ("B", "10.1 mm"), ("C", "14.0 mm"))
    ]

    result = end_float(*depths, low_nm=1_100_000, high_nm=1_300_000)

    assert result.verdict is Verdict.HOLDS
    assert str(result.values[0].nominal) == "1.200 mm"
    assert "A - B - C = 25.300 - 10.100 - 14.000 = 1.200 mm" in result.working.text()


def test_an_end_float_read_with_a_coarse_tool_is_not_called_right() -> None:
    depths = [
        measured(name, reading, "0.05 mm", datum="case face")
        for name, reading in (("A", "25.3 mm"), ("B", "10.1 mm"), ("C", "14.0 mm"))
    ]

    result = end_float(*depths, low_nm=1_100_000, high_nm=1_300_000)

    assert result.verdict is Verdict.UNKNOWN


def test_an_end_float_of_0_02_is_below_0_06_to_0_11() -> None:  # truck gearbox manual, example 2
    total = [
        measured("A", "10.02 mm", "0.005 mm", datum="face"),
        measured("B", "5 mm", "0.005 mm", datum="face"),
        measured("C", "5 mm", "0.005 mm"),
    ]

    result = end_float(*total, low_nm=60_000, high_nm=110_000)

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert result.work[0].text == "fit a ring or shim 0.065 mm thinner"


def test_taper_bearing_shims_are_clearance_plus_preload() -> None:  # marine gear manual: 0.009 + 0.004 = 0.013 in
    result = taper_shims(measured("end float", "0.009 in", "0.0005 in"), basic("preload", "0.004 in"))

    assert result.work[0].operation == "add-shims"
    assert result.work[0].text == "add 0.3302 mm (0.0130 in) of shims"


def test_a_wanted_end_float_counts_as_negative_preload() -> None:
    result = taper_shims(measured("end float", "0.05 mm", "0.01 mm"), basic("wanted", "-0.08 mm"))

    assert (result.work[0].operation, str(result.work[0].amount)) == ("remove-shims", "-0.030 mm")


def test_the_fewest_shims_that_do_are_chosen() -> None:
    shims = [toleranced(f"shim {t}", f"{t} mm", "0.005 mm", "-0.005 mm") for t in ("0.10", "0.20", "0.50")]

    result = choose_shims(measured("gap", "0.66 mm", "0.01 mm", datum="face"), shims, low_nm=30_000, high_nm=100_000)

    assert [work.remedy for work in result.work] == ["shim 0.10", "shim 0.50"]


def test_a_window_narrower_than_the_reading_fails_and_says_so() -> None:
    shims = [toleranced("shim", "0.1 mm", "0.005 mm", "-0.005 mm")]

    result = choose_shims(measured("gap", "0.3 mm", "0.05 mm", datum="face"), shims, low_nm=0, high_nm=50_000)

    assert result.verdict is Verdict.FAILS
    assert "the gap is known to 0.100 mm, the window is 0.050 mm wide" in result.summary


def test_a_ring_for_45_mm_suits_a_standard_groove() -> None:  # DIN 471: groove 42.5 -0.25, 1.85 wide, land 3.8
    ring = get_ring(TABLES, "DIN 471", 45 * NM_PER_MM)

    result = check_ring(
        ring,
        measured("groove", "42.40 mm", "0.02 mm"),
        measured("groove width", "1.90 mm", "0.02 mm"),
        measured("land", "4.0 mm", "0.1 mm"),
        force_n=20_000,
    )

    assert result.verdict is Verdict.HOLDS


def test_a_ring_in_a_narrow_groove_fails() -> None:
    ring = get_ring(TABLES, "DIN 471", 45 * NM_PER_MM)

    result = check_ring(
        ring, measured("g", "42.40 mm", "0.02 mm"), measured("w", "1.70 mm", "0.02 mm"), measured("l", "4 mm", "0.1 mm")
    )

    assert result.verdict is Verdict.FAILS


def test_a_ring_loaded_above_its_groove_fails() -> None:
    ring = get_ring(TABLES, "DIN 472", 100 * NM_PER_MM)

    result = check_ring(ring, None, None, None, force_n=100_000)

    assert result.verdict is Verdict.FAILS
    assert "above the groove's 93100 N" in result.summary


def test_a_ring_that_is_not_made_names_its_neighbours() -> None:
    with pytest.raises(NotFound, match=r"did you mean 45\.000 mm, 48\.000 mm"):
        get_ring(TABLES, "DIN 471", 46 * NM_PER_MM)


def test_limits_the_wrong_way_round_are_refused() -> None:
    depth = measured("A", "1 mm", "0.1 mm", datum="face")

    with pytest.raises(InvalidInput, match="expected low below high"):
        end_float(depth, depth, depth, low_nm=5, high_nm=1)

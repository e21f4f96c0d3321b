"""Bearing seats, the search for a standard bearing, and bearing life, against published and common-practice cases.

Sources: worked_examples.json (each with its own source), ISO 15 sizes, ISO 286/492 limits, ISO 281, ISO 76;
"common practice" where the trade has no document.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput, NotFound
from graph.fits.bearing import check_seat
from graph.fits.bearing_life import (
    Ratings,
    check_static,
    check_substitute,
    equivalent_load_n,
    get_safety_guide,
    highest_ratings,
    life_hours,
    lowest_ratings,
    rating_life_mrev,
    required_rating,
    static_safety,
)
from graph.fits.bearing_search import BearingChoice, find_bearings, get_bearing, propose_bearings
from graph.fits.lengths import measured
from graph.fits.limits import Material
from graph.fits.model import NM_PER_MM, Dimension, Verdict
from graph.fits.seats import ROTATING, STANDING, Seat, bearing_ring
from graph.fits.tables import load_tables
from graph.fits.tables_drive import load_drive_tables

TABLES, DRIVE = load_tables(), load_drive_tables()
STEEL = Material("bearing steel", Fraction("12.5"))
SHAFT_STEEL = Material("alloy steel", Fraction("12.3"))
ALLOY = Material("casting alloy", Fraction("21.5"))
EXAMPLES: dict[str, dict[str, Any]] = {
    example["id"]: example
    for example in json.loads(
        (Path(__file__).parent / "published" / "worked_examples.json").read_text(encoding="utf-8")
    )
}


def _shaft(reading: str, uncertainty: str = "0.002 mm") -> Seat:
    journal = measured("journal", reading, uncertainty)
    return Seat(side="shaft", measured=journal, duty=ROTATING, family="steel", material=SHAFT_STEEL)


def _housing(reading: str, uncertainty: str = "0.002 mm", stock: Dimension | None = None) -> Seat:
    bore = measured("housing bore", reading, uncertainty)
    return Seat(side="housing", measured=bore, duty=STANDING, family="light alloy", material=ALLOY, stock=stock)


def _spacing(reading: str) -> Dimension:
    return measured("spacing", reading, "0.02 mm", datum="ring groove")


def _seat(seat: Seat, designation: str, running_c: int = 20) -> Any:
    ring = bearing_ring(TABLES, get_bearing(TABLES, designation), seat.side)
    return check_seat(TABLES, DRIVE, seat, ring, running_c=running_c, bearing_steel=STEEL)


def closes_both_seats(choice: BearingChoice) -> bool:
    return all(part.verdict is Verdict.HOLDS for part in choice.result.parts[:2])


def test_a_k6_journal_of_45_mm_holds_a_6309() -> None:  # k6 at 45 mm: +2/+18 um (ISO 286-2)
    result = _seat(_shaft("45.012 mm"), "6309")

    assert result.verdict is Verdict.HOLDS
    assert str(result.margin) == "0.004 mm"


def test_a_housing_that_is_too_tight_is_bored() -> None:
    result = _seat(_housing("99.500 mm"), "6309")

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert (result.work[0].operation, str(result.work[0].amount)) == ("bore-housing", "0.475 mm")  # K7: 99.975


def test_a_housing_with_too_little_wall_cannot_be_bored() -> None:
    wall = measured("wall left", "0.2 mm", "0.05 mm")

    result = _seat(_housing("99.500 mm", stock=wall), "6309")

    assert result.verdict is Verdict.FAILS
    assert "the wall is too thin" in result.summary


def test_a_bore_5_mm_too_large_takes_a_sleeve_of_2_5_mm_wall() -> None:
    result = _seat(_housing("90.000 mm"), "6209")

    assert [work.text.split(" in ")[0] for work in result.work] == ["press a sleeve of 2.5 mm wall"]


def test_a_slightly_worn_housing_is_bored_for_a_ring() -> None:  # too thin a ring cannot be pressed, common practice
    result = _seat(_housing("100.200 mm"), "6309")

    assert [work.operation for work in result.work] == ["bore-housing", "fit-sleeve"]
    assert "105.000 mm" in result.work[0].text


def test_a_worn_journal_is_built_up_and_marked_weak() -> None:
    result = _seat(_shaft("44.900 mm"), "6309")

    assert [(work.operation, work.weak) for work in result.work] == [("build-up-journal", True)]


def test_an_unmeasured_seat_is_unknown() -> None:
    seat = Seat(side="housing", measured=None, duty=STANDING, family="light alloy", material=ALLOY)

    result = _seat(seat, "6309")

    assert result.verdict is Verdict.UNKNOWN
    assert result.measure[0].name == "the housing bore"


def test_a_seat_read_too_coarsely_is_unknown() -> None:
    assert _seat(_shaft("45.012 mm", "0.05 mm"), "6309").verdict is Verdict.UNKNOWN


def test_heat_loosens_the_ring_in_a_light_alloy_housing_by_the_worked_amount() -> None:
    # thermal-3: 90 mm, casting alloy 21.5 on bearing steel 12.5, 80 K: 64.8 um
    result = _seat(_housing("89.990 mm"), "6308", running_c=100)

    cold, hot = result.values
    assert float(hot.worst_low.value - cold.worst_low.value) == pytest.approx(0.0648)
    assert any("can creep" in caution for caution in result.cautions)


def test_an_unknown_duty_names_the_known_ones() -> None:
    seat = Seat(
        side="shaft", measured=measured("j", "45 mm", "0.002 mm"), duty="shakes", family="steel", material=STEEL
    )

    with pytest.raises(NotFound, match="ring turns; normal load"):
        _seat(seat, "6309")


def test_a_seat_that_is_neither_shaft_nor_housing_is_refused() -> None:
    with pytest.raises(InvalidInput, match="expected shaft or housing, found 'lid'"):
        Seat(side="lid", measured=None, duty=STANDING, family="steel", material=STEEL)


def test_the_100_x_25_bearing_on_a_shaft_located_for_23_mm_needs_2_mm_off_the_shoulder() -> None:  # common practice
    choices = propose_bearings(
        TABLES, DRIVE, _shaft("45.010 mm"), _housing("99.990 mm"), _spacing("23.00 mm"), bearing_steel=STEEL
    )

    best = choices[0]
    assert (best.bearing.designation, best.bearing.od_nm, best.bearing.width_nm) == (
        "6309",
        100 * NM_PER_MM,
        25 * NM_PER_MM,
    )
    assert closes_both_seats(best)
    assert [(work.operation, str(work.amount)) for work in best.work] == [("turn-shoulder", "2.000 mm")]


def test_replacing_only_the_bearing_serves_where_width_and_seats_agree() -> None:  # common practice
    choices = propose_bearings(
        TABLES, DRIVE, _shaft("40.010 mm"), _housing("89.990 mm"), _spacing("23.05 mm"), bearing_steel=STEEL
    )

    assert choices[0].bearing.designation == "6308"
    assert closes_both_seats(choices[0])
    assert [work.operation for work in choices[0].work] == ["select-ring"]


def test_a_bearing_of_another_series_closes_both_seats() -> None:
    # a shaft and case made for 35 x 72 x 17 meet a journal of 30 mm: the 63 series has 30 x 72
    choices = propose_bearings(
        TABLES, DRIVE, _shaft("30.008 mm"), _housing("71.990 mm"), _spacing("19.05 mm"), bearing_steel=STEEL
    )

    assert (choices[0].bearing.designation, closes_both_seats(choices[0])) == ("6306", True)


def test_without_the_spacing_every_choice_stays_unknown() -> None:
    choices = propose_bearings(TABLES, DRIVE, _shaft("40.010 mm"), _housing("89.990 mm"), None, bearing_steel=STEEL)

    assert choices[0].bearing.designation == "6308"
    assert {choice.result.verdict for choice in choices} == {Verdict.UNKNOWN}


def test_the_search_needs_both_seats() -> None:
    nobody = Seat(side="shaft", measured=None, duty=ROTATING, family="steel", material=STEEL)

    with pytest.raises(InvalidInput, match="shaft: measure the seat first"):
        propose_bearings(TABLES, DRIVE, nobody, _housing("90 mm"), None, bearing_steel=STEEL)


@pytest.mark.parametrize(
    ("od", "names"),
    [
        (52, {"6205", "6304"}),
        (62, {"6007", "6206", "6305"}),
        (72, {"6207", "6306"}),
        (80, {"6010", "6208", "6307"}),
        (100, {"6013", "6211", "6309"}),
    ],
)
def test_bearings_of_a_pilot_bore_are_those_of_the_sae_table(od: int, names: set[str]) -> None:
    # SAE J620 column L (pilot bearing bores) with ISO 15 outside diameters
    assert {bearing.designation for bearing in find_bearings(TABLES, od_nm=od * NM_PER_MM)} == names


def test_a_bore_larger_than_the_outside_diameter_is_refused() -> None:
    with pytest.raises(InvalidInput, match="are they swapped"):
        find_bearings(TABLES, bore_nm=100 * NM_PER_MM, od_nm=45 * NM_PER_MM)


def test_life_of_16_kn_under_2_kn_is_512_million_revolutions() -> None:  # life-3
    assert rating_life_mrev(16_000, 2_000) == EXAMPLES["life-3"]["published"]["L10_Mrev"]


@pytest.mark.parametrize("example", ["life-1", "life-2"])
def test_life_in_hours_is_the_published_one(example: str) -> None:
    case = EXAMPLES[example]
    inputs = case["inputs"]
    life = rating_life_mrev(Fraction(str(inputs["C_kN"])), Fraction(str(inputs["P_kN"])))

    assert float(life_hours(life, inputs["n_rpm"])) == pytest.approx(case["published"]["L10h"], rel=case["rtol"])


def test_life_falls_with_the_cube_of_the_load() -> None:  # life-5: 2350 lb for 1 Mrev, so 1675 lb gives 2.76
    assert float(rating_life_mrev(2350, 1675)) == pytest.approx(2.76, rel=0.005)


def test_the_rating_a_life_asks_for_is_the_published_one() -> None:  # life-4
    inputs = EXAMPLES["life-4"]["inputs"]

    found = required_rating(inputs["P_lb"], inputs["life_h"], inputs["n_rpm"])

    assert found == pytest.approx(EXAMPLES["life-4"]["published"]["C_lb"], rel=1e-3)


def test_the_equivalent_load_of_a_published_problem() -> None:
    # life-11: Fr 5, Fa 2, C0 10 kN. The textbook's rows go by Fa/C0, those of ISO 281 by f0 Fa/C0; they are the same
    # rows with f0 = 12.3 (0.172 / 0.014).
    found = equivalent_load_n(DRIVE.load_factors, 5_000, 2_000, 10_000, Fraction("12.3"))

    assert float(found) == pytest.approx(EXAMPLES["life-11"]["published"]["Fe_kN"] * 1000, rel=0.005)


def test_a_small_axial_load_does_not_count() -> None:
    assert equivalent_load_n(DRIVE.load_factors, 5_000, 100, 10_000, 13) == 5_000


def test_an_axial_load_beyond_the_table_is_refused() -> None:
    with pytest.raises(InvalidInput, match="too high for the bearing"):
        equivalent_load_n(DRIVE.load_factors, 1_000, 9_000, 10_000, 13)


def test_static_safety_by_iso_76() -> None:  # P0 = max(0.6 x 1000 + 0.5 x 2000, 1000) = 1600
    assert static_safety(16_000, 1_000, 2_000) == 10


def test_a_substitute_of_half_the_rating_lives_an_eighth() -> None:  # ISO 281
    result = check_substitute(Ratings(Fraction(40_000), Fraction(1), "a"), Ratings(Fraction(20_000), Fraction(1), "b"))

    assert result.verdict is Verdict.FAILS
    assert "life becomes 0.125 of the old" in result.summary


def test_a_wider_bearing_of_the_same_bore_outlives_the_old_one_by_any_catalogue() -> None:
    old, new = highest_ratings(get_bearing(TABLES, "6209")), lowest_ratings(get_bearing(TABLES, "6309"))

    assert check_substitute(old, new).verdict is Verdict.HOLDS


def test_an_unread_bearing_number_leaves_the_life_unknown() -> None:
    assert check_substitute(None, lowest_ratings(get_bearing(TABLES, "6309"))).verdict is Verdict.UNKNOWN


def test_static_safety_is_held_against_the_guide_value() -> None:
    guide = get_safety_guide(DRIVE.safety, "normal", "high")  # balls: 2
    ratings = Ratings(Fraction(16_000), Fraction(16_000), "stated")

    assert check_static(ratings, guide, 8_000).verdict is Verdict.HOLDS
    assert check_static(ratings, guide, 8_001).verdict is Verdict.FAILS
    assert check_static(None, guide, 8_000).verdict is Verdict.UNKNOWN


@given(st.integers(1, 10**6), st.integers(1, 10**6), st.integers(1, 10**6))
def test_swapping_a_bearing_and_back_changes_nothing(first: int, second: int, load: int) -> None:
    there = rating_life_mrev(second, load) / rating_life_mrev(first, load)
    back = rating_life_mrev(first, load) / rating_life_mrev(second, load)

    assert there * back == 1

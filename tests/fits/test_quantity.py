"""Readings with units. 1 in = 25.4 mm and 1 lb = 0.45359237 kg exactly (international yard and pound agreement,
1959); standard gravity 9.80665 m/s2 (3rd CGPM, 1901). JOB = the trade notes' worked examples."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits import quantity
from graph.fits.lengths import read_nm
from graph.fits.quantity import quantity_of


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("2.5 mm", 2_500_000),
        ("1-1/16 in", 26_987_500),
        ('1 1/16"', 26_987_500),
        ("1½ in", 38_100_000),
        ("½ in", 12_700_000),
        ("1⁄2 in", 12_700_000),
        ("1 1⁄2 in", 38_100_000),
        ("1-1/2 in", 38_100_000),
        ("1 1/2 in", 38_100_000),
        ("1-½ in", 38_100_000),
        ("17/16 in", 26_987_500),
        ("2,5 mm", 2_500_000),
        (",5 mm", 500_000),
        ("3 mil", 76_200),
        ("1/64 in", 396_875),
        ("7.480 in", 189_992_000),  # the worked example's stick-out, there rounded to 190.0 mm
        ("1.500 in", 38_100_000),  # the worked tractor example's crank bore, 38.10 mm
        ("14 thou", 355_600),
        ("-3 thou", -76_200),
        ("0.5 um", 500),
        (".005 in", 127_000),
    ],
)
def test_lengths_as_read_become_whole_nanometres(text: str, nm: int) -> None:
    quantity = quantity_of(text)

    assert quantity.nm == nm
    assert quantity.text == text
    assert quantity.in_unit(quantity.unit) == quantity.value


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "value"),
    [
        ("68 F", "temperature", "C", Fraction(20)),
        ("-40 C", "temperature", "F", Fraction(-40)),
        ("1 lb ft", "torque", "Nm", Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048")),
        ("90 min", "time", "h", Fraction(3, 2)),
        ("3000 rpm", "speed of rotation", "rpm", Fraction(3000)),
        ("36 teeth", "count", "teeth", Fraction(36)),
    ],
)
def test_other_dimensions_convert_exactly_too(text: str, dimension: str, unit: str, value: Fraction) -> None:
    assert quantity_of(text, dimension).in_unit(unit) == value


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2.5", "no unit"),
        ("", "expected a number"),
        ("1.234,5 mm", "one decimal mark"),
        ("1-17/16 in", "no fraction below one"),
        ("3 cubits", "unknown unit 'cubits'"),
        ("1/0 in", "divides by zero"),
        ("1-1/16", "no unit"),
        ("20 C", "temperature, wanted a length"),
        ("NaN mm", "expected a number"),
        ("inf mm", "expected a number"),
        ("200 m", "out of reason for a length"),
        ("1e999 mm", "powers of ten"),
        ("9" * 200 + " mm", "too long"),
    ],
)
def test_what_is_no_length_says_why_and_where(text: str, words: str) -> None:
    with pytest.raises(InvalidInput, match=words) as caught:
        quantity_of(text, path="stick-out")

    assert caught.value.problems[0].path == "stick-out"


def test_below_absolute_zero_is_refused() -> None:
    with pytest.raises(InvalidInput, match="absolute zero"):
        quantity_of("-300 C", "temperature")


@given(
    st.fractions(min_value=-1000, max_value=1000, max_denominator=64).filter(lambda f: 64 % f.denominator == 0),
    st.sampled_from(["mm", "thou", "um", "ft", "m"]),
)
def test_any_inch_fraction_goes_to_another_unit_and_back_unchanged(inches: Fraction, unit: str) -> None:
    read = quantity_of(f"{inches.numerator}/{inches.denominator} in")

    there = read.in_unit(unit)

    back = quantity_of(f"{there.numerator}/{there.denominator} {unit}").in_unit("in")
    assert back == inches


@given(st.integers(0, 200), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_lengths_are_read_the_same_by_the_short_way(whole: int, parts: int, data: st.DataObject) -> None:
    text = f"{whole}-{data.draw(st.integers(1, parts - 1))}/{parts} in"

    assert quantity_of(text).nm == read_nm(text)


@pytest.mark.parametrize(("name", "base"), quantity.EXACT_SCALES)
def test_the_units_that_load_no_pint_have_pints_scale(name: str, base: str) -> None:
    assert quantity.EXACT_SCALES[name, base] == quantity._pint_scale(name, base)

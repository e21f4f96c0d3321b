"""The contract of all joint checks: dimensions, sums, verdicts, readings as written.

Sources: an open course page on tolerance stack-up (stack-2), a general RSS note (stack-3), 1 in = 25.4 mm.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.lengths import basic, measured, read_nm, require_one_datum
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Missing,
    Verdict,
    Work,
    combine,
    fixed,
    show_nm,
    show_number,
    unknown,
)
from graph.fits.stack import judge, stack_up

EXAMPLES: dict[str, dict[str, Any]] = {
    example["id"]: example
    for example in json.loads(
        (Path(__file__).parent / "published" / "worked_examples.json").read_text(encoding="utf-8")
    )
}


def _dimension(name: str, nominal: float, tolerance: float) -> Dimension:
    return measured(name, f"{nominal} mm", f"{tolerance} mm")


def test_a_published_stack_has_its_gap_worst_case_and_rss() -> None:  # stack-2
    case = EXAMPLES["stack-2"]
    parts = {name: _dimension(name, *case["inputs"][name]) for name in ("housing", "plate", "spacer", "cap")}

    gap = stack_up("gap", [(1, parts["housing"]), (-1, parts["plate"]), (-1, parts["spacer"]), (-1, parts["cap"])])

    assert gap.nominal_nm / 1e6 == case["published"]["gap"]
    assert (gap.high_nm - gap.low_nm) / 2e6 == case["published"]["tol_worst"]
    assert (gap.rss_high_nm - gap.rss_low_nm) / 2e6 == pytest.approx(case["recomputed"]["tol_rss"], abs=1e-6)


def test_ten_equal_tolerances_add_and_root_sum_square() -> None:  # stack-3
    total = stack_up("sum", [(1, _dimension(f"part {i}", 10, 0.1)) for i in range(10)])

    assert (total.high_nm - total.low_nm) / 2e6 == EXAMPLES["stack-3"]["published"]["tol_worst"]
    assert (total.rss_high_nm - total.rss_low_nm) / 2e6 == pytest.approx(
        EXAMPLES["stack-3"]["published"]["tol_rss"], rel=0.002
    )


_dims = st.builds(
    lambda low, width: Dimension(name="d", nominal_nm=low, low_nm=low, high_nm=low + width),
    st.integers(-(10**9), 10**9), st.integers(1, 10**7),
)  # fmt: skip


@given(st.lists(st.tuples(st.sampled_from([-2, -1, 1, 3]), _dims), min_size=1, max_size=6))
def test_rss_never_goes_beyond_the_worst_case(terms: list[tuple[int, Dimension]]) -> None:
    stack = stack_up("sum", terms)

    assert stack.low_nm <= stack.rss_low_nm <= stack.rss_high_nm <= stack.high_nm


@given(_dims, st.integers(-(10**9), 10**9), st.integers(0, 10**8))
def test_a_verdict_of_holds_means_every_value_within_is_right(dim: Dimension, low: int, width: int) -> None:
    verdict, margin, missing = judge(stack_up("s", [(1, dim)]), low, low + width)

    within = low <= dim.low_nm and dim.high_nm <= low + width
    assert (verdict is Verdict.HOLDS) == within == (margin >= 0)
    assert (verdict is Verdict.UNKNOWN) == bool(missing)
    if verdict is Verdict.FAILS:
        assert dim.high_nm < low or dim.low_nm > low + width


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("12.5 mm", 12_500_000), ("1-1/16 in", 26_987_500), ("1 1/16 in", 26_987_500), ('15/32"', 11_906_250),
        ("0.013 in", 330_200), ("5 thou", 127_000), ("2.5 um", 2_500), ("-3 thou", -76_200), ("6.496 in", 164_998_400),
    ],
)  # fmt: skip
def test_a_length_is_read_exactly(text: str, nm: int) -> None:
    assert read_nm(text) == nm


@pytest.mark.parametrize(
    "text", ["12.5", "1 in 3 mm", "3/0 in", "1 stone", "", "1..2 mm", "0.0000001 mm", "mm 5", "1/3 in", "nan mm"]
)
def test_a_length_that_cannot_be_read_says_what_was_wanted(text: str) -> None:
    with pytest.raises(InvalidInput) as caught:
        read_nm(text, "bore")

    assert caught.value.problems[0].path == "bore"


@pytest.mark.parametrize(
    ("low", "high", "message"),
    [
        (5, 4, "swap them"),
        (5, 5, "has no tolerance"),
        (0, 10**15, "check the unit"),
        (0.5, 4, "expected whole nanometres"),
    ],
)
def test_an_impossible_dimension_is_refused(low: Any, high: Any, message: str) -> None:
    with pytest.raises(InvalidInput, match=message):
        Dimension(name="bore", nominal_nm=4, low_nm=low, high_nm=high)


def test_only_a_size_by_definition_may_have_no_tolerance() -> None:
    assert basic("reference diameter", "30 mm").low_nm == 30_000_000
    with pytest.raises(InvalidInput, match="no reading is exact"):
        measured("bore", "30 mm", "0 mm")


def test_the_reading_is_kept_as_written() -> None:
    plate = measured("plate", "1-1/16 in", "0.05 mm", datum="block rear face")

    assert plate.as_read == "1-1/16 in"
    assert plate.text() == "plate 26.9875 mm (26.9375 to 27.0375, read as 1-1/16 in)"


def test_readings_without_or_from_different_data_are_refused() -> None:
    first, second = measured("a", "1 mm", "0.1 mm", datum="block"), measured("b", "1 mm", "0.1 mm", datum="box")

    with pytest.raises(InvalidInput, match="different faces \\(block, box\\)"):
        require_one_datum([first, second])
    with pytest.raises(InvalidInput, match=r"c\.datum: no datum"):
        require_one_datum([first, measured("c", "1 mm", "0.1 mm")])


def _result(joint: str, verdict: Verdict, margin: Amount | None = None, rank: int = 1) -> CheckResult:
    return CheckResult(
        joint=joint, verdict=verdict, summary=joint, margin=margin, evidence_rank=rank,
        work=(Work("turn", "shaft", "turn it"),) if verdict is Verdict.HOLDS_WITH_WORK else (),
        measure=(Missing("the bore"),) if verdict is Verdict.UNKNOWN else (),
    )  # fmt: skip


@pytest.mark.parametrize("worse", [Verdict.HOLDS_WITH_WORK, Verdict.UNKNOWN, Verdict.FAILS])
def test_the_gravest_verdict_decides(worse: Verdict) -> None:
    assert combine("joint", [_result("a", Verdict.HOLDS), _result("b", worse)]).verdict is worse


def test_an_unknown_part_never_passes_and_a_failed_one_outweighs_it() -> None:
    parts = [_result("a", Verdict.UNKNOWN), _result("b", Verdict.FAILS)]

    assert combine("joint", parts).verdict is Verdict.FAILS
    assert combine("joint", parts).measure == (Missing("the bore"),)


def test_the_smallest_margin_binds_and_evidence_is_that_of_the_weakest_part() -> None:
    parts = [
        _result("a", Verdict.HOLDS, Amount.of_nm(2_000_000), 1),
        _result("b", Verdict.HOLDS, Amount.of_nm(500_000), 6),
    ]

    result = combine("joint", parts)

    assert (str(result.margin), result.binding, result.evidence_rank) == ("0.500 mm", "b", 6)


def test_a_verdict_without_its_reason_is_refused() -> None:
    with pytest.raises(InvalidInput, match="must name what to measure"):
        CheckResult(joint="j", verdict=Verdict.UNKNOWN, summary="")
    with pytest.raises(InvalidInput, match="must say which work"):
        CheckResult(joint="j", verdict=Verdict.HOLDS_WITH_WORK, summary="")
    with pytest.raises(InvalidInput, match="no checks to combine"):
        combine("joint", [])


def test_unknown_names_what_to_measure() -> None:
    result = unknown("pilot", [Missing("the bore", "it decides the ring", "crank flange")])

    assert result.summary == "unknown: measure the bore"
    assert result.measure[0].text() == "measure the bore from crank flange: it decides the ring"


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (Fraction(1, 3), 3, "0.333"),
        (Fraction(-1, 2), 0, "-1"),
        (Fraction(-1, 5000), 3, "0.000"),
        (Fraction(5), 2, "5.00"),
    ],
)
def test_numbers_are_rounded_half_away_from_zero(value: Fraction, places: int, text: str) -> None:
    assert fixed(value, places) == text


def test_whole_numbers_keep_their_zeros() -> None:
    assert (show_number(100), show_number(Fraction(5, 2)), show_nm(10_500)) == ("100", "2.5", "0.0105 mm")

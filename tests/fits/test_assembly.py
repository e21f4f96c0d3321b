"""Run-out, flatness and crank end float at assembly. Sources of the limits: graph/fits/assembly.py."""

from __future__ import annotations

import pytest

from graph.errors import NotFound
from graph.fits.assembly import LIMITS, check_crank_end_float, check_out
from graph.fits.lengths import measured
from graph.fits.model import Dimension, Verdict


def dial(reading: str, uncertainty: str = "0.01 mm") -> Dimension:
    return measured("dial reading", reading, uncertainty, source="dial gauge")


@pytest.mark.parametrize(
    ("what", "good", "bad"),
    [
        ("block face, flatness", "0.08 mm", "0.12 mm"),  # common practice: 0.1 mm
        ("flywheel, clutch face", "4 thou", "6 thou"),  # 0.005 in
        ("input shaft", "0.02 mm", "0.05 mm"),  # 0.03 mm
        ("hub adaptor, bore and pilot", "0.10 mm", "0.15 mm"),  # 0.13 mm
        ("marine coupling, face", "0.05 mm", "0.10 mm"),  # 0.003 in = 0.0762 mm
        ("marine coupling, pilot", "0.03 mm", "0.07 mm"),  # 0.002 in = 0.0508 mm
    ],
)
def test_each_limit_from_both_sides(what: str, good: str, bad: str) -> None:
    assert check_out(what, dial(good)).verdict is Verdict.HOLDS
    assert check_out(what, dial(bad)).verdict is Verdict.FAILS


def test_a_reading_across_the_limit_is_to_be_taken_again() -> None:
    assert check_out("input shaft", dial("0.03 mm")).verdict is Verdict.UNKNOWN


def test_nothing_read_is_unknown_and_an_unknown_face_is_named() -> None:
    assert check_out("input shaft", None).verdict is Verdict.UNKNOWN
    with pytest.raises(NotFound, match="input shaft"):
        check_out("bonnet", dial("1 mm"))
    assert all(limit.source for limit in LIMITS.values())


def test_an_end_float_that_stays_holds_though_two_readings_differ_within_their_uncertainty() -> None:
    """Common practice: 0.05 to 0.25 mm, before as after."""
    assert check_crank_end_float(dial("0.15 mm"), dial("0.14 mm")).verdict is Verdict.HOLDS


def test_an_end_float_that_shrinks_means_that_something_bottoms() -> None:
    result = check_crank_end_float(dial("0.15 mm"), dial("0.06 mm"))

    assert result.verdict is Verdict.FAILS
    assert "shrinks by 0.090 mm on bolting up: find what bottoms" in result.summary
    assert any("thrust bearing" in caution for caution in result.cautions)


def test_too_much_end_float_to_begin_with_fails_as_well() -> None:
    assert check_crank_end_float(dial("0.40 mm"), dial("0.40 mm")).verdict is Verdict.FAILS


def test_one_reading_alone_says_nothing() -> None:
    result = check_crank_end_float(dial("0.15 mm"), None)

    assert result.verdict is Verdict.UNKNOWN
    assert "after" in result.measure[0].name


def test_an_end_float_below_the_usual_after_bolting_up_fails_even_where_it_hardly_shrank() -> None:
    """0.060 before and 0.035 after: shrunk by less than is beyond doubt, yet below 0.05 (common practice)."""
    result = check_crank_end_float(dial("0.060 mm"), dial("0.035 mm"))

    assert result.verdict is Verdict.FAILS
    assert "end float bolted up: 0.035 mm, usual 0.050 to 0.250 mm" in result.summary


def test_an_end_float_above_the_usual_after_bolting_up_fails() -> None:
    assert check_crank_end_float(dial("0.20 mm"), dial("0.40 mm")).verdict is Verdict.FAILS


def test_a_crank_that_is_locked_fails_and_one_that_gains_play_is_read_again() -> None:
    """0.05 to 0.25 mm is common practice; bolting a gearbox up can take end float away, never add to it."""
    locked = check_crank_end_float(dial("0.20 mm"), dial("0.00 mm"))
    grown = check_crank_end_float(dial("0.10 mm"), dial("0.20 mm"))

    assert locked.verdict is Verdict.FAILS
    assert grown.verdict is Verdict.UNKNOWN
    assert "read both again" in grown.measure[0].why

"""Bolts, dowels, hands, sensor, shim and oil against sums by hand and the laws they must keep.

Engagement 1 d in steel, 1.5 d in cast iron, 2 d in light alloy (common practice); end float by subtraction of depths
(gearbox manuals); air gap 0.5 to 1.5 mm (common practice); GL-5 on brass (lubrication magazine).
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.bolt_length import check_bolt_length
from graph.fits.dowels import check_dowels
from graph.fits.hand import HANDS, check_input_hand, check_pinion_hand, check_tooth_pitch
from graph.fits.model import NM_PER_MM, Dimension, Verdict
from graph.fits.oil import GRADES, check_oil_kind
from graph.fits.retainer_shim import check_retainer_shim
from graph.fits.sensor_gap import READS, check_sensor_gap
from graph.fits.threads import ENGAGEMENT


def mm(name: str, value: float, datum: str = "") -> Dimension:
    """An exact length."""
    nm = round(value * NM_PER_MM)
    return Dimension(name=name, nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True, datum=datum)


tenths = st.integers(1, 800).map(lambda n: n / 10)


@given(
    grip=tenths, added=tenths, depth=tenths, length=tenths, thread=st.sampled_from([6, 8, 10, 12, 14]),
    into=st.sampled_from(sorted(ENGAGEMENT)),
)  # fmt: skip
def test_a_bolt_holds_where_its_thread_is_long_enough_and_1_mm_is_left_behind_it(
    grip: float, added: float, depth: float, length: float, thread: int, into: str
) -> None:
    engaged = Fraction(round(10 * length) - round(10 * grip) - round(10 * added), 10)
    good = engaged >= ENGAGEMENT[into] * thread and Fraction(round(10 * depth), 10) - engaged >= 1

    found = check_bolt_length(
        "bolts",
        mm("length", length),
        mm("grip", grip),
        thread * NM_PER_MM,
        mm("depth", depth),
        into,
        mm("plate", added),
    )

    assert (found.verdict is Verdict.HOLDS) == good
    assert good or "get bolts of" in found.summary or "no length does" in found.summary


def test_a_plate_between_costs_its_thickness_of_thread() -> None:
    """M10, 40 long, 20 gripped: 20 engaged; through 12 more, 8: two short of 1 d."""
    bare, through = (
        check_bolt_length("bolts", mm("length", 40), mm("grip", 20), 10 * NM_PER_MM, mm("depth", 30), "steel", plate)
        for plate in (None, mm("plate", 12))
    )

    assert (bare.verdict, through.verdict) == (Verdict.HOLDS, Verdict.FAILS)
    assert through.margin is not None and through.margin.value == -2
    assert "get bolts of 42.000 to 61.000 mm" in through.summary


def test_a_bolt_of_which_something_is_not_known_is_unknown_and_asks_for_it() -> None:
    found = check_bolt_length("bolts", mm("length", 40), None, 10 * NM_PER_MM, None, "steel")

    assert found.verdict is Verdict.UNKNOWN
    assert [item.name for item in found.measure] == [
        "what their heads clamp, washers with it", "how deep a bolt may go in, and what lies behind",
    ]  # fmt: skip
    with pytest.raises(InvalidInput):
        check_bolt_length("bolts", mm("a", 40), mm("b", 20), 1, mm("c", 30), "cheese")


@pytest.mark.parametrize(("pins", "holes", "verdict"), [
    (2, 2, "holds"), (3, 2, "holds"), (1, 2, "fails"), (2, 0, "fails"), (None, 2, "unknown"), (0, None, "unknown"),
])  # fmt: skip
def test_two_dowels_on_both_faces(pins: int | None, holes: int | None, verdict: str) -> None:
    counted = [None if one is None else Fraction(one) for one in (pins, holes)]

    assert str(check_dowels(*counted).verdict) == verdict


@pytest.mark.parametrize("engine", HANDS)
@pytest.mark.parametrize("other", HANDS)
def test_a_shaft_is_driven_as_it_is_turned_and_a_pinion_turns_against_its_ring(engine: str, other: str) -> None:
    assert (check_input_hand(engine, other).verdict is Verdict.HOLDS) == (engine == other)
    assert (check_pinion_hand(engine, other).verdict is Verdict.HOLDS) == (engine != other)


def test_teeth_of_one_module_mesh() -> None:
    """Tip diameter 33 of 9 teeth: 33 / 11 = 3; 27.5 / 11 = 2.5."""
    assert check_tooth_pitch(Fraction(3), Fraction(33, 11)).verdict is Verdict.HOLDS
    assert check_tooth_pitch(Fraction(3), Fraction(55, 22)).verdict is Verdict.FAILS


@pytest.mark.parametrize(("reads", "gap", "moved", "verdict"), [
    (READS[0], 1.0, 0.4, "holds"), (READS[0], 1.0, 5.0, "fails"), (READS[1], 6.0, 5.0, "holds"),
    (READS[1], 1.0, 5.0, "fails"), (READS[2], 1.0, 5.0, "unknown"),
])  # fmt: skip
def test_a_ring_that_moves_rearwards_leaves_or_meets_its_sensor(
    reads: str, gap: float, moved: float, verdict: str
) -> None:
    """Ahead of the ring the gap grows by the spacer, behind it it shrinks: 1.4, 6.0, 1.0, -4.0."""
    assert str(check_sensor_gap(reads, mm("gap", gap), mm("spacer", moved)).verdict) == verdict


def test_a_sensor_at_the_rim_loses_the_teeth_sideways() -> None:
    rim = (READS[2], mm("gap", 1.0), mm("spacer", 5.0))

    assert check_sensor_gap(*rim, mm("sideways", 6.0)).verdict is Verdict.HOLDS
    assert check_sensor_gap(*rim, mm("sideways", 4.0)).verdict is Verdict.FAILS


@given(recess=tenths, gasket=st.integers(0, 10).map(lambda n: n / 10), proud=tenths, low=st.integers(0, 20))
def test_the_shim_leaves_the_middle_of_the_end_float(recess: float, gasket: float, proud: float, low: int) -> None:
    high = low + 10
    limits = [hundredth * NM_PER_MM // 100 for hundredth in (low, high)]

    found = check_retainer_shim(mm("recess", recess), mm("proud", proud), mm("gasket", gasket), *limits)

    gap = Fraction(round(10 * recess) + round(10 * gasket) - round(10 * proud), 10)
    shim = gap - Fraction(low + high, 200)
    assert (found.verdict is Verdict.FAILS) == (shim < 0)
    if shim >= 0:
        assert found.work[0].amount is not None and found.work[0].amount.value == shim


def test_limits_of_end_float_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(InvalidInput, match="above the most"):
        check_retainer_shim(mm("a", 5), mm("b", 4), mm("c", 0.2), 200_000, 100_000)


@given(stated=st.sampled_from([None, *GRADES]), filled=st.sampled_from([None, *GRADES]),
       rings=st.lists(st.sampled_from([None, "brass", "steel or molybdenum"]), max_size=3))  # fmt: skip
def test_no_oil_that_attacks_brass_is_ever_passed(
    stated: str | None, filled: str | None, rings: list[str | None]
) -> None:
    found = check_oil_kind(stated, [(f"ring {n}", one) for n, one in enumerate(rings)], filled)

    oil = filled or stated
    if oil == "GL-5" and "brass" in rings:
        assert found.verdict is Verdict.FAILS
    if oil is None or (oil == "GL-5" and None in rings and "brass" not in rings):
        assert found.verdict is not Verdict.HOLDS
    if found.verdict is Verdict.HOLDS:
        assert oil is not None and (stated is None or oil == stated)

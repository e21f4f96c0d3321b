"""Adapter plates to be made: two patterns in one plate, or holes that collide. Wall at least 5 mm (common practice)."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from graph.derive.plates import check_plate, stock_thicknesses_nm
from graph.fits.model import NM_PER_MM, Verdict
from graph.fits.pattern import CLEARANCE, THREAD, Face, Hole

MM = NM_PER_MM


def face(name: str, use: str, *places: tuple[float, float], size: int = 10, seen_from: str = "rear") -> Face:
    holes = tuple(
        Hole(id=f"{name}{n}", x_nm=round(x * MM), y_nm=round(y * MM), diameter_nm=size * MM, use=use)
        for n, (x, y) in enumerate(places, start=1)
    )
    return Face(
        id=name, label=name, holes=holes, axis="axis", seen_from=seen_from, uncertainty_nm=MM // 10, evidence_rank=1
    )


def test_the_wall_is_the_distance_less_half_of_counterbore_and_thread() -> None:
    """M10: head 16 (ISO 4762) counterbored 18 (DIN 974-1); 40 - (18 + 10) / 2 = 26."""
    result = check_plate(face("a", THREAD, (100, 0)), face("b", CLEARANCE, (140, 0), size=11))

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert result.margin is not None
    assert result.margin.value == 26 - 5
    assert "40.000 - (18.000 mm + 10.000 mm) / 2" in result.working.text()


def test_holes_that_would_break_into_each_other_are_named() -> None:
    result = check_plate(face("a", THREAD, (100, 0)), face("b", CLEARANCE, (110, 0), size=11))

    assert result.verdict is Verdict.FAILS
    assert "a1 and b1 (-4.000 mm)" in result.summary


def test_holes_that_fall_together_share_a_bolt() -> None:
    result = check_plate(face("a", THREAD, (100, 0)), face("b", CLEARANCE, (100.3, 0), size=11))

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert "1 holes fall together" in result.work[0].text


def test_a_face_seen_from_the_front_is_mirrored_before_it_is_compared() -> None:
    block = face("a", THREAD, (100, 0))

    assert check_plate(block, face("b", CLEARANCE, (110, 0), size=11, seen_from="front")).verdict is not Verdict.FAILS
    assert check_plate(block, face("b", CLEARANCE, (-110, 0), size=11, seen_from="front")).verdict is Verdict.FAILS


def test_thin_plates_are_left_out_for_thick_bolts() -> None:
    """Head 10 or 16 high (ISO 4762) and 0.4 of the diameter under it: 14 and 22.4."""
    assert min(stock_thicknesses_nm(face("a", THREAD, (100, 0)), face("b", CLEARANCE, (140, 0), size=11))) == 15 * MM
    assert min(stock_thicknesses_nm(face("a", THREAD, (100, 0), size=16), face("b", CLEARANCE, (140, 0)))) == 25 * MM


@given(st.floats(-150, 150), st.floats(-150, 150))
def test_a_hole_further_off_never_has_less_wall(x: float, y: float) -> None:
    block = face("a", THREAD, (0, 200))
    near, far = (face("b", CLEARANCE, (x * k, 200 + y * k), size=11) for k in (1, 2))

    first, second = (check_plate(block, bell) for bell in (near, far))
    if first.margin is not None and second.margin is not None:
        assert second.margin.value >= first.margin.value

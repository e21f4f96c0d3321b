"""Release travel: equal volumes, travel = A master x stroke / A slave (formula page on bearing travel; geometry).
Finger travel 0.55 in: 4x4 conversion guide on clutches."""

from fractions import Fraction
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.lengths import measured
from graph.fits.model import Dimension, Verdict
from graph.fits.release import Hydraulics, bearing_travel_nm, check_release

MM = 1_000_000


def size(name: str, value: str) -> Dimension:
    return measured(name, value, "0.05 mm")


def hydraulics(master: str = "19.05 mm", stroke: str = "35 mm") -> Hydraulics:
    return Hydraulics(
        master_bore=size("master bore", master), master_stroke=size("stroke", stroke),
        slave_bore=size("slave bore", "44 mm"), slave_inside=size("slave inside", "36 mm"),
    )  # fmt: skip


GAP, FINGERS = size("gap", "4 mm"), size("finger travel", "0.55 in")


@given(st.integers(10, 30), st.integers(10, 50), st.integers(31, 60), st.integers(0, 30))
def test_travel_is_the_ratio_of_the_areas(master: int, stroke: int, slave: int, inside: int) -> None:
    areas = (pi * master**2 / 4) / (pi * (slave**2 - inside**2) / 4)

    travel = bearing_travel_nm(master * MM, stroke * MM, slave * MM, inside * MM)

    assert float(travel) / MM == pytest.approx(areas * stroke)


def test_enough_travel_holds_by_what_is_left() -> None:
    # 19.05^2 x 35 / (44^2 - 36^2) = 19.8462 mm; 4 + 13.97 = 17.97 mm wanted
    result = check_release(hydraulics(), GAP, FINGERS)

    assert result.verdict is Verdict.HOLDS
    assert "bearing travels 19.8462 mm, 17.970 mm wanted" in result.summary
    assert result.cautions


def test_too_small_a_master_names_the_bore_that_does() -> None:
    result = check_release(hydraulics("15.87 mm"), GAP, FINGERS)

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    bore = result.work[0].amount.value  # type: ignore[union-attr]
    assert bore == Fraction("18.2")
    assert bore**2 * 35 / (44**2 - 36**2) >= Fraction("17.97") > (bore - Fraction("0.1")) ** 2 * 35 / (44**2 - 36**2)


def test_too_much_travel_wants_a_pedal_stop() -> None:
    result = check_release(hydraulics("22.2 mm"), GAP, FINGERS, size("longest travel", "22 mm"))

    assert [work.operation for work in result.work] == ["pedal-stop"]


def test_travel_across_the_limit_is_unknown() -> None:
    assert check_release(hydraulics("18.13 mm"), GAP, FINGERS).verdict is Verdict.UNKNOWN


def test_what_is_not_measured_is_asked_for() -> None:
    result = check_release(hydraulics(), None, FINGERS)

    assert [item.name for item in result.measure] == ["release gap at rest"]


def test_a_ring_with_its_inside_outside_is_refused() -> None:
    with pytest.raises(InvalidInput, match="inside below its bore"):
        bearing_travel_nm(20 * MM, 30 * MM, 36 * MM, 44 * MM)

"""Figures that were once wrong, each through the door that its user takes, with the source beside it."""

from __future__ import annotations

import pytest

from graph.derive.what_if import check_what_if, try_what_if
from graph.fits.model import Verdict
from graph.fits.sketch import sketch_text

WORN_BORE = {"side": "housing", "bearing": "6309", "seat": "100.060 mm +/- 0.003 mm", "family": "light alloy"}


def test_work_and_sketches_of_a_worn_bore_name_the_same_sizes() -> None:
    """ISO 286-2: 105 H7 is 105.000 to 105.035; the ring of 2.5 mm wall is common practice."""
    result, (bored, sleeve) = try_what_if("bearing-seat", WORN_BORE)

    assert "105.000 mm H7 (105.000 to 105.035)" in result.work[0].text
    assert "A: bore diameter 105.000 mm H7 (105.000 mm to 105.035 mm)" in sketch_text(bored)
    assert "A: outside diameter 105.000 mm t6 (105.104 mm to 105.126 mm)" in sketch_text(sleeve)
    assert "B: inside diameter 100.000 mm N7 (99.955 mm to 99.990 mm)" in sketch_text(sleeve)


def test_a_steel_sleeve_in_light_alloy_is_fitted_for_the_hot_state() -> None:
    """(21.5 - 11.7) um/(m K) x 105 mm x 60 K = 61.7 um: p6 (37 to 59 um) loses all of it, t6 (104 to 126) keeps 7."""
    result = check_what_if("bearing-seat", WORN_BORE)

    lines = [line.text() for line in result.working.lines]
    assert any("least interference of p6 at 80 C" in line and "-59.7 um: loose" in line for line in lines)
    assert any("least interference of t6 at 80 C" in line and "7.3 um: grips" in line for line in lines)


def test_a_bearing_expands_as_its_sourced_coefficient_says() -> None:
    """12.5 um/(m K), needle bearing catalogue; 12.0 is a rounded memory: (21.5 - 12.5) x 100 mm x 60 K = 54 um."""
    result = check_what_if("bearing-seat", WORN_BORE)

    assert any("(21.5 - 12.5) um/(m K) x 100.000 mm x 60 K = 54 um" in line.text() for line in result.working.lines)


@pytest.mark.parametrize(
    ("seat", "verdict"),
    [("10.004 mm +/- 0.002 mm", Verdict.HOLDS), ("9.980 mm +/- 0.002 mm", Verdict.HOLDS_WITH_WORK)],
)
def test_a_bore_of_ten_is_judged(seat: str, verdict: Verdict) -> None:
    """ISO 286-2 above 6 to 10 mm: j5 +4/-2, k6 +10/+1; ISO 492 Normal: bore 0/-8."""
    result = check_what_if("bearing-seat", {"side": "shaft", "bearing": "6200", "seat": seat})

    assert result.verdict is verdict
    assert "9.998 to 10.010 mm" in result.summary

"""A sensor from elsewhere on this engine's ring: the pattern that its control unit reads decides whether it is a way.

A ring of 60 places with 58 teeth against 36 with 35: counting; the patterns' use, common practice.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from graph.answer.model.answer import Answer
from graph.catalogue.model import Part
from graph.derive.around import deriver_of
from graph.fits.model import Verdict
from graph.fits.tooth_pattern import check_tooth_pattern
from graph.lookups.findings import PairFinding
from graph.reading import CatalogueIndex
from tests.derive.shop import measured
from tests.mistakes.committed import ask, with_sensor

OTHER, JOINT = "sensor-other", "crank-sensor-signal"


def facts(places: int, teeth: int | None) -> CatalogueIndex:
    """The Ouzel's ring has 60 places and 58 teeth; the sensor in hand belongs to a control unit with this pattern."""
    read = [
        measured("signal-places", "flywheel-ouzel", "60 off"), measured("signal-teeth", "flywheel-ouzel", "58 off"),
        measured("signal-places", OTHER, f"{places} off"),
    ]  # fmt: skip
    if teeth is not None:
        read.append(measured("signal-teeth", OTHER, f"{teeth} off"))
    whole = with_sensor(read).catalogue
    other = Part(id=OTHER, label="sensor of another engine", kind="crank-sensor", hours_hundredths=30)
    return CatalogueIndex(replace(whole, parts={**whole.parts, OTHER: other}))


def found(places: int, teeth: int | None) -> PairFinding:
    return deriver_of(facts(places, teeth)).pair(JOINT, "flywheel-ouzel", OTHER)


def answer(places: int, teeth: int | None) -> Answer:
    return ask(facts(places, teeth), own=(OTHER,), avoid=("sensor-ouzel",))


def test_a_sensor_of_the_rings_pattern_is_a_way_and_one_of_another_is_ruled_out() -> None:
    alike, other = answer(60, 58), answer(36, 35)

    assert OTHER in str(alike.routes[0].picks)
    assert all(line.joint != JOINT for line in alike.routes[0].assumptions)
    assert not any(OTHER in str(route.picks) for route in other.routes)
    assert "the ring has 60-2, the control unit reads 36-1" in found(36, 35).edges[0].reason


def test_a_pattern_of_which_one_count_is_missing_is_asked_for_and_is_no_pass() -> None:
    half = found(60, None)

    assert half.unknown is not None
    assert [gap.quantity for gap in half.unknown.gaps] == ["signal-teeth"]
    assert not half.edges


@pytest.mark.parametrize(("ring", "read", "verdict"), [
    ((60, 58), (60, 58), Verdict.HOLDS), ((36, 35), (36, 35), Verdict.HOLDS), ((60, 58), (60, 60), Verdict.FAILS),
    ((60, 58), (36, 35), Verdict.FAILS), ((58, 60), (60, 58), Verdict.UNKNOWN), ((60, None), (60, 58), Verdict.UNKNOWN),
])  # fmt: skip
def test_only_the_same_pattern_will_do(
    ring: tuple[int, int | None], read: tuple[int, int | None], verdict: Verdict
) -> None:
    counted = [None if one is None else Fraction(one) for one in (*ring, *read)]

    assert check_tooth_pattern(*counted).verdict is verdict


def test_a_tooth_of_sixty_is_six_degrees() -> None:
    """360 / 60 = 6, 360 / 36 = 10."""
    lines = check_tooth_pattern(Fraction(60), Fraction(58), Fraction(36), Fraction(35)).working.lines

    assert [line.value for line in lines] == ["6 deg", "10 deg"]

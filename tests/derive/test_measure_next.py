"""What to measure next, and which variant this is: the demo's readings, sums done by hand."""

from __future__ import annotations

from fractions import Fraction
from functools import partial

import pytest

from graph.catalogue.model import FITS, Edge
from graph.counter.next_measurement import measure_next
from graph.errors import InvalidInput, NotFound
from graph.identify import units as identify_units
from graph.identify.units import identify_unit
from graph.reading import Question
from tests.demo.shop import SETTLED
from tests.derive.shop import index

asked_of = partial(Question, context=SETTLED)


def test_the_bore_of_the_hub_is_worth_the_price_of_the_other_disc() -> None:
    """With a worn ring expected: 932.20 now, 95 less where the disc in the crate fits."""
    (first,) = measure_next(index(), asked_of(gearbox="hollin-5", engine="ouzel-20", own=("disc-half-measured",)))

    assert (first.part, first.quantity, first.joints) == ("disc-half-measured", "spline-minor", ("clutch-spline",))
    assert (first.now, first.if_holds) == (Fraction("932.2"), Fraction("837.2"))
    assert first.if_fails == first.now
    assert first.change == 95
    assert first.tool == "calliper"


def test_two_gaps_of_one_joint_are_both_named() -> None:
    facts = index(without=["m-crate-teeth"])

    found = measure_next(facts, asked_of(gearbox="hollin-5", engine="ouzel-20", own=("disc-half-measured",)))

    assert {one.quantity for one in found} == {"spline-minor", "spline-teeth"}


def test_the_quicker_of_two_measurements_that_tell_the_same_comes_first() -> None:
    facts = index(without=["m-crate-teeth"])

    first, second = measure_next(facts, asked_of(gearbox="hollin-5", engine="ouzel-20", own=("disc-half-measured",)))

    assert first.change == second.change
    assert first.minutes < second.minutes


def test_a_measurement_that_would_open_the_first_route_decides() -> None:
    """Without the seat of the late case no bearing can be looked for, and 6309 is not to be had."""
    facts = index(without=["m-hollin-minor"])
    asked = asked_of(
        gearbox="hollin-5", engine="ouzel-20", own=("disc-unlabelled",), avoid=("disc-hollin-228", "shaft-hollin-long")
    )

    (first,) = measure_next(facts, asked)

    assert first.decides
    assert (first.now, first.quantity) == (None, "spline-minor")
    assert first.if_holds is not None


def test_a_joint_that_only_hearsay_closes_is_worth_proving() -> None:
    hearsay = Edge(
        id="hearsay", kind=FITS, source="disc-half-measured", target="shaft-hollin-short", joint="clutch-spline",
        evidence="hearsay",
    )  # fmt: skip

    (first,) = measure_next(
        index(edges=[hearsay]), asked_of(gearbox="hollin-5", engine="ouzel-20", own=("disc-half-measured",))
    )

    assert first.quantity == "spline-minor"
    assert first.if_fails == Fraction("932.2")
    assert first.change == 95


def test_where_nothing_is_missing_nothing_is_asked_for() -> None:
    assert measure_next(index(), asked_of(gearbox="sedge-4a", engine="ouzel-20")) == ()


def test_the_tail_tells_most_per_minute_of_a_sedge() -> None:
    found = identify_unit(index(), "sedge", {})

    assert found.next_steps[0].feature == "tail-length"
    assert found.identified is None


def test_a_long_tail_is_the_sedge_4b() -> None:
    found = identify_unit(index(), "sedge", {"tail-length": "347 mm +/- 1 mm from the rear face of the case"})

    assert found.identified == "sedge-4b"


def test_a_short_tail_and_a_close_first_gear_is_the_sedge_4c() -> None:
    found = identify_unit(index(), "sedge", {"tail-length": "310 mm +/- 1 mm", "first-gear-turns": "29"})

    assert found.identified == "sedge-4c"


def test_readings_that_no_variant_has_are_said_to_be_of_none() -> None:
    found = identify_unit(index(), "sedge", {"tail-length": "500 mm +/- 1 mm"})

    assert found.identified is None
    assert "no known variant agrees" in found.summary


def test_bad_observations_are_refused_by_name() -> None:
    with pytest.raises(NotFound, match="tail-length"):
        identify_unit(index(), "sedge", {"tail-lenght": "310 mm"})
    with pytest.raises(InvalidInput, match="expected one of boss, no boss"):
        identify_unit(index(), "tansy", {"sensor-boss": "perhaps"})
    with pytest.raises(NotFound, match="sedge"):
        identify_unit(index(), "sedges", {})
    with pytest.raises(InvalidInput, match="nothing is measured"):
        identify_unit(index(), "dunlin-25d", {})


def test_work_that_the_joint_may_ask_for_is_weighed_as_well() -> None:
    """A bush turned to size costs 18 and 0.1 h at 60; the visit to the machine shop is paid for the plate already."""
    facts = index(without=["m-bush-outside"])
    asked = asked_of(gearbox="tansy-5", engine="pipit-16", own=("bell-tansy-spare", "bush-unlabelled"))

    (first,) = measure_next(facts, asked)

    assert first.quantity == "pilot-outside"
    assert first.if_holds is not None
    assert first.if_work == first.if_holds + 18 + 6
    assert first.change == first.now - first.if_holds  # type: ignore[operator]


def test_a_joint_without_usual_work_has_no_such_figure() -> None:
    """No shop cuts a hub's spline to suit: another disc is the remedy."""
    (first,) = measure_next(index(), asked_of(gearbox="hollin-5", engine="ouzel-20", own=("disc-half-measured",)))

    assert first.if_work is None


def test_of_very_many_units_only_those_with_something_measured_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    every = identify_unit(index(), "gearbox", {})
    monkeypatch.setattr(identify_units, "MOST_UNITS", 0)

    some = identify_unit(index(), "gearbox", {})

    measured = {one.variant for one in some.standings}
    assert measured <= {one.variant for one in every.standings}
    assert measured > {one for _, one in index().descent("sedge")}
    assert {step.feature for step in some.next_steps} == {step.feature for step in every.next_steps}

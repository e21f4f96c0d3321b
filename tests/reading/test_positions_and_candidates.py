"""Which parts can hold a place: as found, by *replaces*, or by closing a joint."""

from __future__ import annotations

from dataclasses import replace

from graph.conversion.document import Rule
from graph.reading.model import AVOIDED, CANNOT_CLOSE, CLOSES_A_JOINT, CONDITION_FALSE, NO_PRICE
from tests.reading.bench import Bench, candidate, only_if, parts_at, position, position_of, reasons


def test_what_the_units_contain_is_there_as_found_and_costs_nothing() -> None:
    bench = Bench().closed()
    bench.parts["shaft-1"] = replace(bench.parts["shaft-1"], cash_hundredths=9900, hours_hundredths=50)

    found = candidate(bench.read(), "at-shaft/shaft-1")

    assert (found.as_found, found.cash_hundredths, found.hours_hundredths, found.tasks) == (True, 0, 0, ())


def test_a_replacement_is_bought_and_fitted_with_its_place_open() -> None:
    bench = Bench().closed()
    bench.part("shaft-2", "shaft", cash_hundredths=16000, hours_hundredths=50)
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-1", "shaft-2", "spline")

    new = candidate(bench.read(), "at-shaft/shaft-2")

    assert (new.as_found, new.cash_hundredths, new.hours_hundredths, new.tasks) == (False, 16000, 50, ("strip",))


def test_replaces_reaches_through_a_part_that_was_itself_replaced() -> None:
    bench = Bench().closed()
    for new, old in (("shaft-2", "shaft-1"), ("shaft-3", "shaft-2")):
        bench.part(new, "shaft")
        bench.replaces(new, old)
        bench.fits("bearing-1", new, "journal")
        bench.fits("disc-1", new, "spline")

    assert parts_at(bench.read(), "shaft") == ["shaft-1", "shaft-2", "shaft-3"]


def test_a_part_that_nobody_calls_a_replacement_is_found_by_the_joint_it_closes() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.part("disc-2", "disc")
    bench.fits("disc-2", "shaft-1", "spline")

    reading = bench.read()

    assert parts_at(reading, "disc") == ["disc-2"]
    assert reading.candidates["at-disc/disc-2"].how == CLOSES_A_JOINT
    assert reasons(reading)["disc-1"] == CANNOT_CLOSE


def test_a_new_housing_and_the_bearing_that_fits_only_it_are_found_together() -> None:
    bench = Bench().closed()
    bench.part("case-2", "case")
    bench.part("bearing-2", "bearing")
    bench.fits("housing-1", "case-2", "flange")
    bench.fits("case-2", "bearing-2", "seat")
    bench.fits("bearing-2", "shaft-1", "journal")

    reading = bench.read()

    assert parts_at(reading, "case") == ["case-1", "case-2"]
    assert parts_at(reading, "bearing") == ["bearing-1", "bearing-2"]


def test_a_part_of_another_kind_never_holds_the_place() -> None:
    bench = Bench().closed()
    bench.part("sleeve-9", "sleeve")
    bench.replaces("sleeve-9", "shaft-1")

    assert parts_at(bench.read(), "shaft") == ["shaft-1"]


def test_a_family_stands_for_its_variants_and_is_never_picked_itself() -> None:
    bench = Bench().closed()
    bench.part("shaft-family", "shaft", abstract=True)
    bench.part("shaft-2a", "shaft", variant_of="shaft-family")
    bench.fits("bearing-1", "shaft-family", "journal")
    bench.fits("disc-1", "shaft-family", "spline")

    assert parts_at(bench.read(), "shaft") == ["shaft-1", "shaft-2a"]


def test_a_unit_has_what_its_family_has_except_where_it_says_otherwise() -> None:
    bench = Bench().closed()
    bench.part("box-family", "gearbox", abstract=True)
    bench.parts["box-1"] = replace(bench.parts["box-1"], variant_of="box-family")
    bench.part("shaft-0", "shaft")
    bench.part("plug-1", "plug")
    bench.positions["at-plug"] = position("plug", "plug")
    bench.contains("box-family", "shaft-0", "shaft")
    bench.contains("box-family", "plug-1", "plug")

    reading = bench.read()

    assert parts_at(reading, "plug") == ["plug-1"]
    assert "shaft-0" not in parts_at(reading, "shaft")


def test_a_part_that_comes_with_the_other_unit_costs_nothing_but_fitting() -> None:
    bench = Bench().closed()
    bench.part("shaft-e", "shaft", cash_hundredths=20000, hours_hundredths=50)
    bench.contains("engine-1", "shaft-e", "shaft")
    bench.fits("bearing-1", "shaft-e", "journal")

    brought = candidate(bench.read(), "at-shaft/shaft-e")

    assert (brought.as_found, brought.cash_hundredths, brought.hours_hundredths) == (False, 0, 50)


def robbed_box(with_family: bool) -> Bench:
    """A gearbox that came without its input bearing, and its sister, which has one."""
    bench = Bench().closed()
    del bench.edges["box-1-contains-bearing-1-at-at-bearing"]
    bench.fits("case-1", "bearing-1", "seat")
    bench.fits("bearing-1", "shaft-1", "journal")
    bench.part("box-family", "gearbox", abstract=True)
    bench.part("box-2", "gearbox", variant_of="box-family")
    bench.contains("box-2", "bearing-1", "bearing")
    family = "box-family" if with_family else ""
    bench.parts["box-1"] = replace(bench.parts["box-1"], variant_of=family)
    return bench


def test_a_place_between_two_others_that_the_units_sisters_fill_must_be_filled_here_too() -> None:
    reading = robbed_box(with_family=True).read()

    assert parts_at(reading, "bearing") == ["bearing-1"]
    assert not candidate(reading, "at-bearing/bearing-1").as_found


def test_a_place_that_nobody_says_the_unit_has_is_not_asked_for() -> None:
    reading = robbed_box(with_family=False).read()

    assert "at-bearing" not in [position.id for position in reading.conversion.positions]


def test_an_avoided_part_family_or_kind_is_left_out_and_said_so() -> None:
    bench = Bench().closed()
    bench.part("shaft-family", "shaft", abstract=True)
    bench.part("shaft-2", "shaft", variant_of="shaft-family")
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-1", "shaft-2", "spline")

    for avoided in ("shaft-2", "shaft-family"):
        reading = bench.read(avoid=(avoided,))
        assert parts_at(reading, "shaft") == ["shaft-1"]
        assert reasons(reading)["shaft-2"] == AVOIDED


def test_a_place_for_which_every_part_is_avoided_holds_a_stand_in_that_no_route_may_pick() -> None:
    reading = Bench().closed().read(avoid=("shaft-1",))

    (nothing,) = position_of(reading, "at-shaft").candidates
    assert nothing.label == "no part known for shaft"
    assert Rule(nothing.id, excludes=(nothing.id,)) in reading.conversion.rules
    assert {joint.joint: joint.why for joint in reading.open_joints}["spline"] == "no part is known for shaft"


def test_a_part_whose_condition_is_false_is_left_out_and_one_unknown_is_to_confirm() -> None:
    bench = Bench().closed()
    bench.part("shaft-2", "shaft", conditions=only_if("torque_nm", "<=", "300"))
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-1", "shaft-2", "spline")

    too_much = bench.read(context={"torque_nm": 350})
    unknown = bench.read()

    assert parts_at(too_much, "shaft") == ["shaft-1"]
    assert reasons(too_much)["shaft-2"] == CONDITION_FALSE
    assert candidate(unknown, "at-shaft/shaft-2").to_confirm == ("torque_nm <= 300",)


def test_a_part_in_hand_has_no_price_and_no_lead_time_but_must_be_fitted() -> None:
    bench = Bench().closed()
    bench.part("shaft-2", "shaft", cash_hundredths=16000, hours_hundredths=50, days=5)
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-1", "shaft-2", "spline")

    owned = candidate(bench.read(own=("shaft-2",)), "at-shaft/shaft-2")

    assert (owned.cash_hundredths, owned.days, owned.hours_hundredths) == (0, 0, 50)


def test_a_part_on_the_shelf_costs_its_book_value_and_no_waiting() -> None:
    bench = Bench().closed()
    bench.part("shaft-2", "shaft", cash_hundredths=4000, days=5, in_stock=True)
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-1", "shaft-2", "spline")

    shelf = candidate(bench.read(), "at-shaft/shaft-2")

    assert (shelf.cash_hundredths, shelf.days) == (4000, 0)


def test_a_part_without_a_price_is_not_taken_for_free() -> None:
    bench = Bench().closed()
    bench.part("shaft-2", "shaft", cash_hundredths=None)
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-1", "shaft-2", "spline")

    reading = bench.read()

    assert parts_at(reading, "shaft") == ["shaft-1"]
    assert reasons(reading)["shaft-2"] == NO_PRICE
    assert parts_at(bench.read(own=("shaft-2",)), "shaft") == ["shaft-1", "shaft-2"]


def test_positions_stand_in_order_of_their_ids() -> None:
    reading = Bench().closed().read()

    ids = [one.id for one in reading.conversion.positions]

    assert ids == sorted(ids)
    assert position_of(reading, "at-case").kind == "at-case"

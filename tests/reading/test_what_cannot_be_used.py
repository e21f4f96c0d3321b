"""Parts in a condition beyond use, conditions that are false, and what laying a part in between has to open."""

from __future__ import annotations

from dataclasses import replace

import pytest

from graph.answer.ground import Ground
from graph.answer.model.answer import OpenLine
from graph.answer.model.fit import IMPOSSIBLE, UNKNOWN
from graph.answer.open_ends import open_lines, verdict_of
from graph.catalogue.terms import TaskKind
from graph.reading import CatalogueIndex, Reading
from graph.reading.model import CONDITION_FALSE, UNUSABLE
from graph.reading.tasks import UnitTasks
from graph.search import solve
from tests.demo.shop import catalogue
from tests.reading.bench import ENGINE, GEARBOX, Bench, link, only_if, parts_at, reasons


def test_a_damaged_part_does_not_stay_in_its_place_and_the_reason_is_said() -> None:
    bench = Bench().closed()
    bench.parts["disc-1"] = replace(bench.parts["disc-1"], condition="damaged")

    reading = bench.read()

    assert parts_at(reading, "disc") == ["at-disc/none"]
    assert reasons(reading)["disc-1"] == UNUSABLE
    (line,) = lines_of(reading)[:1]
    assert line.left_out == ("left out: cannot be used: disc-1: damaged, so it cannot be used as it is",)


def test_what_replaces_a_damaged_part_takes_its_place_be_it_new_or_the_old_one_repaired() -> None:
    bench = Bench().closed()
    bench.parts["disc-1"] = replace(bench.parts["disc-1"], condition="damaged")
    bench.part("disc-1-relined", "disc", cash_hundredths=4000, condition="reconditioned")
    bench.replaces("disc-1-relined", "disc-1")
    bench.fits("disc-1-relined", "shaft-1", "spline")

    (route,) = solve(bench.read().conversion, "total", 0).routes

    assert route.picks["at-disc"] == "at-disc/disc-1-relined"
    assert route.cash_hundredths == 4000


def test_a_damaged_part_that_the_shop_can_buy_again_is_paid_for_and_fitted() -> None:
    bench = Bench().closed()
    offered = replace(bench.parts["disc-1"], cash_hundredths=9500, condition="new", found_condition="damaged")
    bench.parts["disc-1"] = offered

    (route,) = solve(bench.read().conversion, "total", 0).routes

    assert route.cash_hundredths == 9500
    assert "clutch-off" in route.tasks


def test_a_damaged_part_is_not_bought_either() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.part("disc-2", "disc", cash_hundredths=100, condition="damaged")
    bench.fits("disc-2", "shaft-1", "spline")

    reading = bench.read()

    assert "disc-2" not in parts_at(reading, "disc")
    assert reasons(reading)["disc-2"] == UNUSABLE


def test_the_trades_conditions_say_which_of_them_cannot_be_used() -> None:
    """Common practice: what is broken, or measured beyond its limits, does not go back in."""
    unusable = {one.id for one in catalogue().part_conditions.values() if not one.usable}

    assert unusable == {"damaged", "worn-out"}


def test_a_condition_known_to_be_false_is_left_out_and_not_to_be_measured() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.fits("disc-1", "shaft-1", "spline", conditions=only_if("year", ">=", "1990"))

    reading = bench.read(context={"year": 1985})
    (line,) = [line for line in lines_of(reading) if line.what == "spline"]

    assert reasons(reading)["disc-1-fits-shaft-1-at-spline"] == CONDITION_FALSE
    assert line.left_out[0].startswith("left out: condition false")
    assert "measur" not in line.opens
    assert verdict_of(lines_of(reading)) == IMPOSSIBLE


def test_a_joint_of_which_nothing_is_noted_is_still_to_be_measured() -> None:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")

    assert verdict_of(lines_of(bench.read())) == UNKNOWN


def lines_of(reading: Reading) -> tuple[OpenLine, ...]:
    ground = Ground(reading.conversion, reading.catalogue, reading, CatalogueIndex(reading.catalogue))
    return open_lines(ground, solve(reading.conversion, "total", 0).open)


def test_a_part_between_two_others_pays_for_being_reached_once() -> None:
    bench = Bench()
    for joint, via in (("spline", "clutch-off"), ("face", "box-out")):
        bench.joints[joint] = replace(bench.joints[joint], via_tasks=(via,))
    bench.part("plate-20", "plate")
    bench.part("sleeve-1", "sleeve")
    for one, other, at in (
        ("block-1", "plate-20", "face"), ("plate-20", "housing-1", "face"),
        ("disc-1", "sleeve-1", "spline"), ("sleeve-1", "shaft-1", "spline"),
    ):  # fmt: skip
        bench.fits(one, other, at)

    reading = bench.read()
    (route,) = solve(reading.conversion, "total", 0).routes

    assert link(reading, "spline/disc-1+sleeve-1+shaft-1").tasks == ("clutch-off",)
    assert route.hours_hundredths == 450 + 50


@pytest.mark.parametrize("joint", [one.id for one in catalogue().joint_kinds.values() if one.via_kinds])
def test_every_joint_that_takes_a_part_between_says_what_laying_it_in_opens(joint: str) -> None:
    kind = catalogue().joint_kinds[joint]

    assert kind.via_tasks or kind.tasks


def test_a_flywheel_spacer_has_gearbox_clutch_and_flywheel_off() -> None:
    """Common practice: 0.3 + 0.4 + 0.8 + 3.0 h for the gearbox, 0.5 for the clutch, 0.7 for the flywheel."""
    kind = catalogue().joint_kinds["flywheel-to-crank"]

    opened = UnitTasks(CatalogueIndex(catalogue()), ()).closed(kind.via_tasks)

    assert {"gearbox-out-and-in", "clutch-off-and-on", "flywheel-off-and-on"} <= {task.id for task in opened}
    assert sum(task.hours_hundredths for task in opened) == 450 + 50 + 70


@pytest.mark.parametrize(
    ("assembly", "parted_by"),
    [
        ("marine-gear-on-damper", {"marine-shaft-uncoupled", "marine-gearbox-out-and-in"}),
        ("stationary-drive", {"unit-moved-back"}),
        ("motor-on-a-coupler", {"motor-out-and-in"}),
        ("tractor-split", {"tractor-split-and-rejoined"}),
    ],
)
def test_a_job_of_another_kind_has_no_propshaft_and_no_crossmember_to_take_off(
    assembly: str, parted_by: set[str]
) -> None:
    """Common practice: a marine gear slides back off its shaft, a tractor is split; none has a crossmember."""
    work = UnitTasks(CatalogueIndex(catalogue()), (), assembly)

    opened = {task.id for task in work.closed(["gearbox-out-and-in"])}

    assert parted_by <= opened
    assert opened.isdisjoint({"prop-shaft-off-and-on", "crossmember-and-lever-off", "gearbox-out-and-in"})
    assert parted_by <= {task.id for task in work.closed(["clutch-off-and-on"])}


def test_a_boat_asked_without_its_vehicle_is_parted_as_boats_are() -> None:
    bench = Bench().closed()
    bench.tasks["shaft-off"] = TaskKind(
        "shaft-off",
        "shaft-off",
        "",
        cash_hundredths=0,
        hours_hundredths=300,
        only_for=("marine",),
        instead_of="box-out",
    )
    for unit in (GEARBOX, ENGINE):
        bench.parts[unit] = replace(bench.parts[unit], made_for=("marine",))

    (boat,) = solve(bench.read().conversion, "total", 0).routes

    assert boat.tasks == ("shaft-off",)

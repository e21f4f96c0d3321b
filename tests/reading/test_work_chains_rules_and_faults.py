"""What goes along with the choices: tasks, dimensions, needs, features, faults, tests beforehand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from graph.catalogue.model import StatedFault, StatedInspection
from graph.catalogue.terms import ChainKind, TaskKind
from graph.conversion.document import Rule
from graph.errors import InvalidQuestion, NotFound
from graph.reading import Question, read_conversion
from graph.reading.model import NEED_UNMET
from tests.reading.bench import Bench, candidate, joint_of, link, links_at, only_if, parts_at, position_of, reasons


def with_other_disc() -> Bench:
    bench = Bench()
    bench.fits("block-1", "housing-1", "face")
    bench.part("disc-2", "disc", cash_hundredths=13500, hours_hundredths=60)
    bench.fits("disc-2", "shaft-1", "spline")
    return bench


def test_only_tasks_that_something_asks_for_are_in_the_document_with_all_before_them() -> None:
    reading = with_other_disc().read()

    assert {task.id: task.after for task in reading.conversion.tasks} == {"box-out": (), "clutch-off": ("box-out",)}


def test_a_task_of_the_asked_unit_stands_in_for_the_general_one_everywhere() -> None:
    bench = with_other_disc()
    bench.tasks["box-out-4wd"] = TaskKind(
        "box-out-4wd", "", cash_hundredths=0, hours_hundredths=700, only_for=("engine-1",), instead_of="box-out"
    )

    reading = bench.read()

    assert {task.id: task.after for task in reading.conversion.tasks} == {
        "box-out-4wd": (),
        "clutch-off": ("box-out-4wd",),
    }
    assert link(reading, "face/block-1+housing-1").tasks == ("box-out-4wd",)


def test_a_dimension_starts_from_the_units_and_is_shifted_by_parts_and_edges() -> None:
    bench = with_other_disc()
    bench.chains["overlap"] = ChainKind("overlap", "overlap", "", 0, 12000, 16000, ("at-shaft",))
    bench.shifts("box-1", "overlap", 5000)
    bench.shifts("engine-1", "overlap", 1000)
    bench.shifts("shaft-1", "overlap", 2500)
    bench.shifts("disc-2-fits-shaft-1-at-spline", "overlap", 7000)

    reading = bench.read()

    (chain,) = reading.conversion.chains
    assert (chain.start_um, chain.low_um, chain.high_um) == (6000, 12000, 16000)
    assert candidate(reading, "at-shaft/shaft-1").shifts_um == {"overlap": 2500}
    assert link(reading, "spline/disc-2+shaft-1").shifts_um == {"overlap": 7000}


def test_a_dimension_is_asked_only_where_its_places_exist_and_something_is_known_of_it() -> None:
    bench = with_other_disc()
    bench.chains["lever"] = ChainKind("lever", "lever", "", 0, 0, 1, ("at-lever",))
    bench.chains["gap"] = ChainKind("gap", "gap", "", 0, 3000, 5000, ("at-disc",))
    bench.shifts("disc-2", "lever", 500)

    reading = bench.read()

    assert reading.conversion.chains == ()
    assert candidate(reading, "at-disc/disc-2").shifts_um == {}
    assert reasons(reading)["gap"] == "not known"


def test_a_variants_own_shift_replaces_its_familys() -> None:
    bench = with_other_disc()
    bench.chains["gap"] = ChainKind("gap", "gap")
    bench.part("disc-family", "disc", abstract=True)
    bench.parts["disc-2"] = replace(bench.parts["disc-2"], variant_of="disc-family")
    bench.shifts("disc-family", "gap", 4000)
    assert candidate(bench.read(), "at-disc/disc-2").shifts_um == {"gap": 4000}

    bench.shifts("disc-2", "gap", 3000)

    assert candidate(bench.read(), "at-disc/disc-2").shifts_um == {"gap": 3000}


def test_a_need_is_a_rule_between_choices() -> None:
    bench = with_other_disc()
    bench.part("shaft-2", "shaft")
    bench.replaces("shaft-2", "shaft-1")
    bench.fits("bearing-1", "shaft-2", "journal")
    bench.fits("disc-2", "shaft-2", "spline")
    bench.needs("disc-2", "shaft-2")

    assert bench.read().conversion.rules == (Rule("at-disc/disc-2", needs_any=("at-shaft/shaft-2",)),)


def test_needs_of_one_group_are_alternatives() -> None:
    bench = with_other_disc()
    for bolts in ("bolts-long", "bolts-short"):
        bench.part(bolts, "bolts", cash_hundredths=1800)
        bench.needs("disc-2", bolts, group="bolts")

    first, *_ = bench.read().conversion.rules

    assert first == Rule("at-disc/disc-2", needs_any=("extra/bolts-long", "extra/bolts-short"))


def test_a_needed_part_without_a_place_gets_one_that_may_stay_empty() -> None:
    bench = with_other_disc()
    bench.part("bolts-long", "bolts", cash_hundredths=1800)
    bench.needs("disc-2", "bolts-long")

    reading = bench.read()

    empty, filled = position_of(reading, "extra/bolts-long").candidates
    assert (empty.as_found, empty.cash_hundredths) == (True, 0)
    assert (filled.as_found, filled.cash_hundredths) == (False, 1800)


def test_a_loose_part_is_picked_only_with_what_needs_it() -> None:
    bench = with_other_disc()
    bench.part("bolts-long", "bolts", cash_hundredths=0)
    bench.needs("disc-2", "bolts-long")

    assert bench.read().conversion.rules == (
        Rule("at-disc/disc-2", needs_any=("extra/bolts-long",)),
        Rule("extra/bolts-long", needs_any=("at-disc/disc-2",)),
    )


def test_a_choice_whose_need_is_not_to_be_had_is_left_out() -> None:
    bench = with_other_disc()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.part("bolts-long", "bolts", cash_hundredths=1800)
    bench.needs("disc-2", "bolts-long")

    reading = bench.read(avoid=("bolts-long",))

    assert parts_at(reading, "disc") == ["disc-1"]
    assert reasons(reading)["disc-2"] == NEED_UNMET


def test_a_need_that_does_not_apply_here_asks_for_nothing() -> None:
    bench = with_other_disc()
    bench.part("bolts-long", "bolts", cash_hundredths=1800)
    bench.needs("disc-2", "bolts-long", conditions=only_if("duty", "=", "race"))

    assert bench.read(context={"duty": "road"}).conversion.rules == ()


def test_an_exclusion_is_a_rule_and_of_a_unit_it_leaves_the_choice_out() -> None:
    bench = with_other_disc()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.excludes("disc-2", "housing-1")
    assert bench.read().conversion.rules == (Rule("at-disc/disc-2", excludes=("at-housing/housing-1",)),)

    bench.excludes("disc-2", "engine-1", reason="cover too small")

    assert parts_at(bench.read(), "disc") == ["disc-1"]


def test_a_feature_is_added_only_under_its_condition_and_one_unknown_is_to_confirm() -> None:
    bench = with_other_disc()
    bench.adds("disc-2", "gear-signal", conditions=only_if("ecu", "=", "late"))

    late = candidate(bench.read(context={"ecu": "late"}), "at-disc/disc-2")
    early = candidate(bench.read(context={"ecu": "early"}), "at-disc/disc-2")
    unknown = candidate(bench.read(), "at-disc/disc-2")

    assert (late.features, early.features, unknown.features) == (("gear-signal",), (), ("gear-signal",))
    assert unknown.to_confirm == ("ecu = late",)


def test_a_feature_that_the_gearbox_has_by_itself_is_not_asked_of_the_search() -> None:
    bench = with_other_disc()
    bench.adds("box-1", "fifth-gear")

    reading = bench.read(features=("fifth-gear", "gear-signal"))

    assert reading.offered == ("fifth-gear",)
    assert reading.conversion.features == ("gear-signal",)


def test_faults_are_those_of_the_parts_as_found_and_reach_what_lays_them_open() -> None:
    bench = with_other_disc()
    bench.faults["worn-bearing"] = StatedFault(
        "worn-bearing", "worn", "", "at-bearing", "box-1", Fraction(2, 5), 4800, 40
    )
    bench.faults["worn-disc"] = StatedFault("worn-disc", "worn", "", "at-disc", "disc-2", Fraction(1, 2), 0, 0)
    bench.lays_open("strip", "worn-bearing")
    bench.inspections["listen"] = StatedInspection("listen", "listen", "", 0, 50, ("worn-bearing", "worn-disc"))

    reading = bench.read()

    (fault,) = reading.conversion.faults
    assert (fault.id, fault.position, fault.odds, fault.reach) == (
        "worn-bearing",
        "at-bearing",
        Fraction(2, 5),
        ("strip",),
    )
    assert "strip" in {task.id for task in reading.conversion.tasks}
    assert [one.settles for one in reading.conversion.inspections] == [("worn-bearing",)]


def test_rate_deadline_and_day_come_from_the_question_or_the_shop() -> None:
    bench = with_other_disc()

    shop, asked = bench.read().conversion, bench.read(rate_hundredths=4500, deadline=Fraction(6)).conversion

    assert (shop.rate_hundredths, shop.deadline, shop.day_hours) == (6000, None, 8)
    assert (asked.rate_hundredths, asked.deadline) == (4500, 6)


def test_an_unknown_id_names_what_looks_like_it() -> None:
    with pytest.raises(NotFound, match=r"no part with the id 'disk-2'; did you mean disc-2"):
        with_other_disc().read(own=("disk-2",))


@pytest.mark.parametrize(
    ("asked", "path"),
    [
        ({"objective": "cheapest"}, "objective"),
        ({"alternatives": -1}, "alternatives"),
        ({"rate_hundredths": -1}, "rate"),
        ({"deadline": Fraction(-1)}, "deadline"),
        ({"own": ("disc-2",), "avoid": ("disc-2",)}, "avoid"),
    ],
)
def test_a_question_that_cannot_be_asked_says_where(asked: dict[str, object], path: str) -> None:
    with pytest.raises(InvalidQuestion) as raised:
        with_other_disc().read(**asked)

    assert [problem.path for problem in raised.value.problems] == [path]


def test_a_family_of_gearboxes_cannot_be_asked_about_but_its_variants_can() -> None:
    bench = with_other_disc()
    bench.part("box-family", "gearbox", abstract=True)
    bench.parts["box-1"] = replace(bench.parts["box-1"], variant_of="box-family")

    with pytest.raises(InvalidQuestion, match=r"box-1"):
        read_conversion(bench.catalogue(), Question(gearbox="box-family", engine="engine-1"))


def test_joints_know_their_two_places() -> None:
    reading = with_other_disc().read()

    assert joint_of(reading, "spline").between == ("at-disc", "at-shaft")
    assert links_at(reading, "spline") == ["spline/disc-2+shaft-1"]

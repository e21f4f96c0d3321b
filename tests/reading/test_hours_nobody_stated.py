"""Hours that nobody has stated are not none: no route wins by them, and what of it is known counts as "at least"."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from graph.answer.asking import ask_index
from graph.answer.model.answer import Answer
from graph.answer.plain import amounts_of
from graph.answer.sums import NOT_STATED, hours_of_step
from graph.catalogue.model import Catalogue, StatedFault, StatedInspection
from graph.catalogue.terms import PartKind, TaskKind
from graph.costing.rates import Rate
from graph.costing.works import with_rates
from graph.lookups.index import CatalogueIndex
from graph.reading import Question
from graph.reading.untold import lacking_of_task
from tests.reading.bench import ENGINE, GEARBOX
from tests.reading.open_world import OpenBench, assumed, proven

RATE = 60
ALL_JOBS = Fraction("4.5") + Fraction("0.8")  # box out and in, road test
CLUTCH = Fraction("0.5")


def other_disc(price: int, hours: int | None, name: str = "disc-2", bench: OpenBench | None = None) -> OpenBench:
    """The disc found does not go on the spline; another does."""
    bench = bench or OpenBench()
    if "disc-1-does-not-fit-shaft-1-at-spline" not in bench.edges:
        bench.fits("block-1", "housing-1", "face")
        bench.misfit("disc-1", "shaft-1", "spline")
    bench.part(name, "disc", cash_hundredths=price * 100, hours_hundredths=hours)
    bench.replaces(name, "disc-1")
    bench.fits(name, "shaft-1", "spline")
    return bench


def ask(known: Catalogue, **asked: Any) -> Answer:
    return ask_index(CatalogueIndex(known), Question(gearbox=GEARBOX, engine=ENGINE, **asked)).answer


def test_a_part_to_fit_whose_hours_nobody_stated_makes_no_route_that_is_proven() -> None:
    told, silent = other_disc(100, 30).read(), other_disc(100, None).read()

    assert proven(told) == 100 + RATE * (ALL_JOBS + CLUTCH + Fraction("0.3"))
    assert proven(silent) is None
    assert assumed(silent) == {"at-disc/disc-2"}


def test_such_an_answer_says_at_least_and_names_what_is_missing() -> None:
    answer = ask(other_disc(100, None).catalogue())
    (route,) = answer.routes

    assert answer.status == "if it holds"
    assert (route.verdict, route.unpriced) == ("bolt-on with parts", ("hours to fit disc-2",))
    assert route.sums[0].words == "at least 448.00 XTS"
    assert all(line.words.startswith("at least") or line.words.endswith("has priced") for line in route.sums)
    assert "at least 448.00 XTS (5.8 h, " in answer.headline and "proven" not in answer.headline
    (step,) = [step for step in route.steps if step.source == "at-disc/disc-2"]
    assert (hours_of_step(step), step.not_stated) == (NOT_STATED, ("hours to fit disc-2",))


def test_a_dearer_part_whose_hours_are_stated_goes_first_while_the_other_could_win() -> None:
    bench = other_disc(150, 30, "disc-3", other_disc(100, None))

    answer = ask(bench.catalogue(), alternatives=0)

    assert answer.status == "proven on what is known"
    assert [route.picks["at-disc"] for route in answer.routes] == ["at-disc/disc-3", "at-disc/disc-2"]
    assert [route.at_least for route in answer.routes] == [False, True]


def test_hours_that_could_not_change_the_answer_leave_it_proven() -> None:
    bench = other_disc(100, 30, "disc-3", other_disc(150, None))

    answer = ask(bench.catalogue(), alternatives=0)

    assert (answer.status, answer.routes[0].picks["at-disc"]) == ("proven", "at-disc/disc-3")


def test_no_hours_are_a_statement() -> None:
    assert proven(other_disc(100, 0).read()) == 100 + RATE * (ALL_JOBS + CLUTCH)


def test_the_hours_of_a_family_or_a_kind_stand_for_a_parts_own_and_are_named() -> None:
    known = other_disc(100, None).catalogue()
    kinds = {**known.part_kinds, "disc": PartKind("disc", "clutch disc", usual_hours_hundredths=40)}
    parts = dict(known.parts)
    parts["discs"] = replace(parts["disc-2"], id="discs", label="discs of a family", abstract=True, hours_hundredths=20)
    parts["disc-2"] = replace(parts["disc-2"], variant_of="discs")

    of_kind = ask(replace(known, part_kinds=kinds)).routes[0]
    of_family = ask(replace(known, part_kinds=kinds, parts=parts)).routes[0]

    assert [of_kind.total, of_family.total] == [
        100 + RATE * (ALL_JOBS + CLUTCH + extra) for extra in (Fraction("0.4"), Fraction("0.2"))
    ]
    assert not of_kind.assumptions and not of_family.assumptions
    assert [[s.text for s in r.steps if s.source == "at-disc/disc-2"] for r in (of_kind, of_family)] == [
        ["Fit disc-2 (hours as usual for the kind: clutch disc)"], ["Fit disc-2 (hours as for discs of a family)"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("stated", "missing"),
    [
        ({"cash_hundredths": 2000, "hours_hundredths": None}, ("hours of mill the face",)),
        ({"cash_hundredths": None, "hours_hundredths": 100}, ("price of mill the face",)),
        ({"cash_hundredths": None, "hours_hundredths": None}, ("price of mill the face", "hours of mill the face")),
        ({"cash_hundredths": 0, "hours_hundredths": 100}, ()),
    ],
)
def test_machining_needs_its_money_and_its_hours_stated(stated: dict[str, Any], missing: tuple[str, ...]) -> None:
    bench = OpenBench()
    bench.fits("disc-1", "shaft-1", "spline")
    bench.machined("block-1", "housing-1", "face", operations=("mill the face",), **stated)

    (route,) = ask(bench.catalogue()).routes

    assert route.unpriced == missing
    assert route.at_least is bool(missing)


def test_a_plain_fit_takes_no_hours_of_its_own_but_one_that_asks_for_work_does() -> None:
    plain, work = OpenBench().closed(), OpenBench()
    work.fits("block-1", "housing-1", "face", cash_hundredths=6000)
    work.fits("disc-1", "shaft-1", "spline")

    assert proven(plain.read()) == RATE * ALL_JOBS
    assert proven(work.read()) is None
    assert ask(work.catalogue()).routes[0].unpriced == ("hours of block-1 fits housing-1",)


def test_a_task_whose_hours_nobody_stated_leaves_all_that_needs_it_open() -> None:
    bench = OpenBench().closed()
    bench.tasks["road-test"] = TaskKind("road-test", "road test", cash_hundredths=0)

    (route,) = ask(bench.catalogue()).routes

    assert proven(bench.read()) is None
    assert route.unpriced == ("hours of road test",)
    assert [hours_of_step(step) for step in route.steps if step.source == "road-test"] == [NOT_STATED]


def test_what_tasks_use_up_is_not_free_where_nobody_stated_it() -> None:
    """Forgetting never cheapens: 20.00 of oil stated is in the sum; not stated, the sum is "at least" and says why."""
    told, silent = OpenBench().closed(), OpenBench().closed()
    for name in ("road-test", "box-out"):
        told.tasks[name] = replace(told.tasks[name], cash_hundredths=2000)
        silent.tasks[name] = replace(silent.tasks[name], cash_hundredths=None)

    (stated,), answer = ask(told.catalogue()).routes, ask(silent.catalogue())
    (route,) = answer.routes

    assert proven(told.read()) == 40 + RATE * ALL_JOBS and proven(silent.read()) is None
    assert not stated.at_least and not stated.assumptions
    assert route.at_least and answer.status != "proven"
    assert set(route.unpriced) == {"price of consumables: road-test", "price of consumables: box-out"}
    (line,) = route.assumptions  # one thing to find out, told once
    assert line.is_figure and line.words.startswith("price of consumables: ") and "in no sum" in line.words
    told_of = [amounts_of(step, "XTS") for step in route.steps if step.source == "road-test"]
    assert told_of == ["consumables not stated, 0.8 h"]


def test_another_rate_does_not_say_what_is_used_up() -> None:
    """What wiring at a dearer rate adds to the bench's is no statement of its consumables."""
    wiring = TaskKind("wiring", "wiring", hours_hundredths=100, work="electrical")
    rates = [Rate("bench", 6000, "XTS"), Rate("electrical", 8000, "XTS")]

    charged, _ = with_rates(Catalogue(currency="XTS", tasks={"wiring": wiring}), rates)

    assert charged.tasks["wiring"].cash_hundredths == 2000
    assert lacking_of_task(charged.tasks["wiring"]) == ("price of consumables: wiring",)


def test_a_part_that_may_be_worn_is_no_bargain_for_want_of_the_hours_to_mend_it() -> None:
    bench = OpenBench().closed()
    bench.faults["worn"] = StatedFault("worn", "worn disc", "", "at-disc", "disc-1", Fraction(1, 2), 100, None)
    bench.lays_open("clutch-off", "worn")

    assert proven(bench.read()) is None
    assert ask(bench.catalogue()).routes[0].unpriced == ("hours to put right: worn disc",)


def test_a_part_that_may_be_worn_is_no_bargain_for_want_of_the_price_to_mend_it() -> None:
    bench = OpenBench().closed()
    bench.faults["worn"] = StatedFault("worn", "worn disc", "", "at-disc", "disc-1", Fraction(1, 2), None, 10)
    bench.lays_open("clutch-off", "worn")

    assert proven(bench.read()) is None
    assert ask(bench.catalogue()).routes[0].unpriced == ("price to put right: worn disc",)


def test_a_test_of_which_nobody_says_how_long_it_takes_is_no_look_for_nothing() -> None:
    bench = OpenBench().closed()
    bench.faults["worn"] = StatedFault("worn", "worn disc", "", "at-disc", "disc-1", Fraction(1, 2), 100, 10)
    bench.lays_open("clutch-off", "worn")
    bench.inspections["listen"] = StatedInspection("listen", "listen", "", 0, None, ("worn",))

    reading = bench.read()

    assert reading.conversion.inspections == ()
    assert [out.text for out in reading.left_out if out.what == "listen"] == [
        "listen: nobody has stated how long it takes, so it is not weighed as a look"
    ]


def test_what_a_donor_gives_goes_back_by_the_work_of_its_place() -> None:
    """A part that a unit holds at the place is put in as the one that came out was: that is in the place's hours."""
    bench = OpenBench()
    bench.fits("block-1", "housing-1", "face")
    bench.misfit("disc-1", "shaft-1", "spline")
    bench.part("engine-2", "engine", cash_hundredths=None)
    bench.part("disc-2", "disc", cash_hundredths=None, hours_hundredths=None)
    bench.contains("engine-2", "disc-2", "disc")
    bench.fits("disc-2", "shaft-1", "spline")

    assert proven(bench.read(own=("engine-2",))) == RATE * (ALL_JOBS + CLUTCH)


@pytest.mark.parametrize(("price", "named"), [(150, True), (20, False)])
def test_a_part_that_nobody_has_priced_is_named_with_the_price_below_which_it_would_win(
    price: int, named: bool
) -> None:
    """Disc 3 costs 150 and half an hour more than disc 2: 150 + 30 - 0 - 12; at 20 with no hours it always wins."""
    bench = other_disc(price, 50 if named else 0, "disc-3", other_disc(0, 20))
    bench.parts["disc-2"] = replace(bench.parts["disc-2"], cash_hundredths=None, hours_hundredths=20 if named else 100)

    answer = ask(bench.catalogue())

    assert answer.routes[0].picks["at-disc"] == "at-disc/disc-3"
    assert answer.status == ("proven on what is known" if named else "proven")
    assert answer.ranking == (
        ("disc-2: in no route, for nobody has priced it; below 168.00 XTS a route with it is cheaper than route 1.",)
        if named
        else ()
    )

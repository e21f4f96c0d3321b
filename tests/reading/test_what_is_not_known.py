"""What nobody has written down is neither there nor missing: it is assumed, doubted and priced."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from graph.catalogue.terms import ChainKind
from graph.conversion.document import Fault
from graph.reading import Question, Reading, read_conversion
from tests.reading.bench import ENGINE, GEARBOX, joint_of, links_at, only_if, parts_at
from tests.reading.open_world import JOB, OpenBench, assumed, best, priced, proven

RATE = 60
BOX_OUT, CLUTCH, ROAD_TEST = Fraction("4.5"), Fraction("0.5"), Fraction("0.8")


def doubt(reading: Reading, name: str) -> Fault:
    return next(one for one in reading.conversion.faults if one.id == f"doubt/{name}")


def test_a_question_says_which_job_it_is_or_the_units_do() -> None:
    silent = OpenBench(made_for=()).closed()
    named = silent.read(assembly=JOB)

    assert OpenBench().closed().read().assembly == JOB
    assert (named.assembly, named.asks) == (JOB, ())
    assert silent.read().assembly == ""
    assert [one.split(" was made for")[0] for one in silent.read().asks] == [
        "Nobody has stated what box-1", "Nobody has stated what engine-1",
    ]  # fmt: skip
    assert f"bench job ({JOB})" in silent.read().asks[0]


def test_where_two_jobs_would_do_it_asks_and_reads_what_is_written_down_alone() -> None:
    bench = OpenBench(made_for=(JOB, "other-job")).closed()
    facts = bench.catalogue()
    other = replace(facts.assemblies[JOB], id="other-job", label="other job")
    facts = replace(facts, assemblies={**facts.assemblies, "other-job": other})

    reading = read_conversion(facts, Question(gearbox=GEARBOX, engine=ENGINE))

    assert reading.asks == (
        "More than one assembly would do. Name one in the question: bench job (bench-job) or other job (other-job).",
    )
    assert reading.conversion == bench.as_before().conversion


def test_with_all_stated_nothing_is_assumed_and_the_road_test_is_paid_once() -> None:
    reading = OpenBench().closed().read()
    (route,) = best(reading).routes

    assert (assumed(reading), reading.doubts) == (set(), {})
    assert route.total == RATE * (BOX_OUT + ROAD_TEST)
    assert route.total - best(OpenBench().closed().as_before()).routes[0].total == RATE * ROAD_TEST


def test_a_part_nobody_has_stated_is_assumed_to_be_there_and_replaced_once_if_it_does_not_fit() -> None:
    """Disc not known: it may not go on the spline (odds 0.7). The median of three discs is 100, fitting 0.5 h."""
    bench = OpenBench(usual={"spline": {"remedy": "other disc", "remedy_kind": "disc"}}).closed()
    bench.forget_part(ENGINE, "disc-1", "disc")
    bench.forget("disc-1-fits-shaft-1-at-spline")
    del bench.parts["disc-1"]
    for number, price in enumerate((8000, 10000, 30000)):
        bench.part(f"disc-9{number}", "disc", cash_hundredths=price, hours_hundredths=50)
    reading = bench.read()
    told = reading.doubts["doubt/at-disc/at-disc-not-known"]

    assert parts_at(reading, "disc") == ["at-disc-not-known"]
    assert doubt(reading, "at-disc/at-disc-not-known").odds == Fraction(7, 10)
    assert told.cost_source == "the median of 3 prices of this shop"
    assert (told.position, told.odds_source, told.unpriced) == ("at-disc", "estimate", ())
    seen = RATE * (BOX_OUT + CLUTCH + ROAD_TEST) + Fraction(7, 10) * (100 + RATE * Fraction("0.5"))
    blind = RATE * (BOX_OUT + ROAD_TEST) + Fraction(7, 10) * (100 + RATE * Fraction("0.5") + RATE * (BOX_OUT + CLUTCH))
    assert best(reading).routes[0].expected == min(seen, blind) == 439
    assert proven(reading) is None


def test_an_engine_that_never_had_a_disc_needs_one_and_pays_it_today() -> None:
    bench = OpenBench().closed()
    bench.forget_part(ENGINE, "disc-1", "disc")
    bench.forget("disc-1-fits-shaft-1-at-spline")
    del bench.parts["disc-1"]
    bench.has_none(ENGINE, "disc")
    priced(bench, "disc", 8000, 10000, 30000)
    reading = bench.read()
    (route,) = best(reading).routes

    assert doubt(reading, "at-disc/at-disc-needed").odds == 1
    assert route.total == 100 + RATE * (BOX_OUT + CLUTCH + ROAD_TEST)
    assert route.expected == route.total
    assert (proven(reading), best(bench.as_before()).routes[0].total) == (None, RATE * BOX_OUT)


def test_a_disc_that_is_stated_to_fit_fills_the_place_of_one_that_is_missing_and_nothing_is_assumed() -> None:
    bench = OpenBench().closed()
    bench.forget_part(ENGINE, "disc-1", "disc")
    bench.has_none(ENGINE, "disc")
    bench.parts["disc-1"] = replace(bench.parts["disc-1"], cash_hundredths=4000)

    assert proven(bench.read()) == 40 + RATE * (BOX_OUT + CLUTCH + ROAD_TEST)


def test_a_place_that_may_be_filled_is_assumed_to_be_empty_and_doubted_as_if_it_were_not() -> None:
    bench = OpenBench(must=("at-block", "at-housing", "at-case", "at-bearing", "at-shaft"), may=("at-disc",)).closed()
    bench.forget_part(ENGINE, "disc-1", "disc")
    silent = bench.read()
    bench.has_none(ENGINE, "disc")

    assert {"at-disc/at-disc-none-known", "spline/at-disc-none-known+shaft-1 not there"} <= assumed(silent)
    assert doubt(silent, "at-disc/at-disc-none-known").odds == Fraction(7, 10)
    assert assumed(bench.read()) == set()
    assert "at-disc" not in {position.id for position in bench.read().conversion.positions}


def test_a_pair_nobody_has_spoken_of_is_assumed_to_mate_and_one_that_is_noted_not_to_never_is() -> None:
    bench = OpenBench(
        usual={"spline": {"remedy": "other disc", "remedy_cash_hundredths": 9000, "remedy_hours_hundredths": 50}}
    )
    bench.fits("block-1", "housing-1", "face")
    silent = bench.read()
    bench.misfit("disc-1", "shaft-1", "spline")

    assert links_at(silent, "spline") == ["spline/disc-1+shaft-1 not known"]
    found = doubt(silent, "spline/disc-1")
    assert (found.odds, found.cash_hundredths, found.hours_hundredths, found.on) == (
        Fraction(7, 10), 9000, 50, ("spline/disc-1+shaft-1 not known",),
    )  # fmt: skip
    assert (found.reach, found.shows) == (("clutch-off",), True)  # shorter than the strip behind the shaft
    assert links_at(bench.read(), "spline") == []
    assert best(bench.read()).status == "no route"


def test_what_has_no_price_hours_or_odds_is_named_and_not_nothing() -> None:
    bench = OpenBench()
    bench.fits("disc-1", "shaft-1", "spline")
    told = bench.read().doubts["doubt/face/block-1"]
    bench.fits("block-1", "housing-1", "face")
    bench.forget("disc-1-fits-shaft-1-at-spline")
    free = bench.read(rate_hundredths=0)

    assert told.unpriced == ("price of a remedy at face", "hours of a remedy at face")
    assert "odds" in OpenBench(usual={"flange": {}}).read().doubts or told.odds_source == "estimate"
    assert "the bench rate" not in free.doubts["doubt/spline/disc-1"].unpriced  # no hours known, so none to charge


def test_a_bought_part_is_assumed_to_close_one_joint_and_not_two() -> None:
    """A case that is noted to fit bearing and housing is missing nothing; a bearing that fits nothing is not read."""
    bench = OpenBench().closed()
    bench.part("case-2", "case", cash_hundredths=5000)
    bench.replaces("case-2", "case-1")
    bench.fits("case-2", "bearing-1", "seat")
    one_short = bench.read()
    bench.forget("case-2-fits-bearing-1-at-seat")

    assert "flange/housing-1+case-2 not known" in assumed(one_short)
    assert assumed(bench.read()) == set()


def test_several_parts_on_one_that_nobody_has_measured_hang_on_one_doubt() -> None:
    bench = OpenBench(usual={"spline": {"remedy": "other disc", "remedy_kind": "disc"}})
    bench.fits("block-1", "housing-1", "face")
    for number in (2, 3):
        bench.part(f"disc-{number}", "disc", cash_hundredths=number * 1000)
        bench.replaces(f"disc-{number}", "disc-1")
    reading = bench.read()

    (found,) = [one for one in reading.conversion.faults if one.id.startswith("doubt/spline")]
    assert len(found.on) == 3


def test_a_condition_that_is_not_known_is_an_assumption_and_one_that_is_known_is_none() -> None:
    bench = OpenBench()
    bench.fits("block-1", "housing-1", "face", conditions=only_if("torque_nm", "<=", "300"))
    bench.fits("disc-1", "shaft-1", "spline")

    assert proven(bench.read()) is None
    assert proven(bench.read(context={"torque_nm": 250})) == RATE * (BOX_OUT + ROAD_TEST)
    assert bench.read().doubts["doubt/condition/torque_nm <= 300"].unpriced == ("what it costs if it is not so", "odds")


def test_a_length_that_is_missing_leaves_the_dimension_open_and_is_not_taken_for_none() -> None:
    """Two of three discs say how they move the gap; of the one in the engine nobody has."""
    bench = OpenBench().closed()
    bench.chains["gap"] = ChainKind("gap", "gap", "", 0, 2000, None, ("at-disc", "at-shaft"), remedy="Shim.")
    for number in (7, 8):
        bench.part(f"disc-{number}", "disc")
        bench.shifts(f"disc-{number}", "gap", 1000)
    bench.shifts("shaft-1", "gap", 5000)
    reading = bench.read()
    (chain,) = reading.conversion.chains

    assert chain.id == "gap"
    assert {one.id: one.unmeasured for p in reading.conversion.positions for one in p.candidates if one.unmeasured} == {
        "at-disc/disc-1": ("gap",)
    }
    assert doubt(reading, "length/gap").on == ("at-disc/disc-1",)
    assert reading.doubts["doubt/length/gap"].remedy == "Shim"
    assert proven(reading) is None
    bench.shifts("disc-1", "gap", 1000)
    assert proven(bench.read()) == RATE * (BOX_OUT + ROAD_TEST)


def test_places_of_a_vehicle_that_is_not_asked_about_are_not_asked_for_and_that_is_said() -> None:
    bench = OpenBench(
        must=("at-block", "at-disc", "at-housing", "at-case", "at-bearing", "at-shaft", "at-tunnel")
    ).closed()
    bench.positions["at-tunnel"] = replace(bench.positions["at-block"], id="at-tunnel", label="tunnel", owner="vehicle")
    reading = bench.read()

    assert assumed(reading) == set()
    assert [(one.what, one.reason) for one in reading.left_out] == [("at-tunnel", "not asked about")]


def test_two_units_of_which_nothing_is_known_but_their_job_have_a_route_and_a_doubt_where_they_meet() -> None:
    bench = OpenBench()
    for name in list(bench.edges):
        bench.forget(name)
    reading = bench.read()

    assert {one.id for one in reading.conversion.faults} == {
        "doubt/face/at-block-not-known",
        "doubt/spline/at-disc-not-known",
    }
    assert best(reading).routes[0].total == RATE * (BOX_OUT + CLUTCH + ROAD_TEST)  # the clutch off, to see the spline


def test_machining_of_which_nobody_states_what_it_takes_is_never_proven_at_a_price_of_nothing() -> None:
    bench = OpenBench().closed()
    bench.forget("block-1-fits-housing-1-at-face")
    bench.machined(
        "block-1", "housing-1", "face", operations=("drill four holes",), cash_hundredths=None, hours_hundredths=None
    )
    free = bench.read()
    bench.forget("block-1-requires-machining-housing-1-at-face")
    bench.machined("block-1", "housing-1", "face", operations=("drill four holes",), hours_hundredths=100)

    assert proven(free) is None
    assert [one.assumed for one in joint_of(free, "face").links] == [True]
    assert proven(bench.read()) == RATE * (BOX_OUT + ROAD_TEST + 1)

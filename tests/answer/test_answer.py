"""The whole answer from a solution that was worked out by hand: words, JSON and text say the same."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from graph.answer.build import build_answer
from graph.answer.ground import Ground
from graph.answer.model.answer import Answer
from graph.answer.model.fit import IMPOSSIBLE, UNKNOWN
from graph.answer.serial import answer_as_json
from graph.answer.text import answer_as_text
from graph.catalogue.terms import ChainKind, Term
from graph.search.result import Completeness, LookFirst, Open, RouteChange, Solution
from tests.answer.by_hand import CATALOGUE, CONVERSION, DISC_AND_BUSH, GROUND, LONG_SHAFT

# Looking first: 641 + 361 p for the worked example of the route definition; here the shaft needs a grinder besides,
# so its repaired branch costs 902 + 72: 60 + 0.65 x 581 + 0.35 x 974 = 778.55.
SOLUTION = Solution(
    "optimal", "expected", (DISC_AND_BUSH, LONG_SHAFT), (DISC_AND_BUSH,),
    LookFirst(("test",), Fraction(77855, 100), {"worn": (Fraction(153, 1000), Fraction(792, 1000))}),
)  # fmt: skip
CHANGES = (
    RouteChange("odds", "worn", Fraction(35, 100), Fraction(47, 100), LONG_SHAFT),
    RouteChange("rate", "", Fraction(60), None, None),
    RouteChange("price", "disc1", Fraction(135), Fraction(218), LONG_SHAFT),
)


def answer() -> Answer:
    return build_answer(GROUND, SOLUTION, question={"gearbox": "alder-4", "engine": "brook-16"}, changes=CHANGES)


def no_route(*opens: Open) -> Answer:
    return build_answer(GROUND, Solution("no route", "expected", (), open=opens), question={})


def test_the_headline_names_verdict_sums_and_what_looking_first_is_worth() -> None:
    assert answer().headline == (
        "alder-4 to brook-16: bolt-on with parts; proven cheapest: 581.00 EUR (5.6 h, 5.7 days),"
        " 844.20 EUR with likely wear; looking first brings that down to 778.55 EUR"
    )


def test_looking_first_is_told_with_what_it_costs_and_saves() -> None:
    look = answer().look_first

    assert look is not None
    assert look.saves == Fraction(84420 - 77855, 100)
    assert look.words == (
        "Road test (60.00 EUR), then take the best route for what is found."
        " Expected 778.55 EUR, 65.65 EUR less on average than going in blind."
    )
    assert look.odds_words == ("worn ring: looking first pays while the odds are between 15.3 % and 79.2 % (now 35 %)",)


def test_a_range_of_all_odds_is_said_of_the_rest_of_the_look_and_not_of_that_fault() -> None:
    """A fault whose odds do not matter is not what makes looking pay: the others of the same look are."""
    everything = (Fraction(0), Fraction(1))
    faults = (*CONVERSION.faults, replace(CONVERSION.faults[0], id="nicked", label="nicked shaft"))
    ground = Ground(replace(CONVERSION, faults=faults), CATALOGUE)
    ranges = {"worn": (Fraction(153, 1000), Fraction(792, 1000)), "nicked": everything}
    look = LookFirst(("test",), Fraction(77855, 100), ranges)

    found = build_answer(ground, replace(SOLUTION, look_first=look), question={}).look_first

    assert found is not None
    assert found.odds_words == (
        "worn ring: looking first pays while the odds are between 15.3 % and 79.2 % (now 35 %)",
        "nicked shaft: the rest of what is looked at pays whatever its odds (now 35 %)",
    )


def test_what_would_change_the_answer_is_told_in_words() -> None:
    other = "long-nose shaft and long nose"
    assert [change.words for change in answer().changes] == [
        f"odds of worn ring (now 35 %): above 47 % another route is the cheapest ({other})",
        "bench rate per hour (now 60.00 EUR): no value changes the answer",
        f"price of other disc (now 135.00 EUR): above 218.00 EUR another route is the cheapest ({other})",
    ]


def test_the_reader_is_told_that_faults_are_taken_as_independent() -> None:
    assert any("independent" in line for line in answer().assumptions)
    assert any("local law" in line for line in answer().cautions)


STOPPED = (
    Completeness("route", False, Fraction(412, 10), "another route may be cheaper by up to the gap"),
    Completeness("alternatives", True),
    Completeness("front", False, None, "routes that are better in cash or hours than these may be missing"),
)


def test_an_answer_that_stopped_early_says_what_is_missing_and_by_how_much_it_may_be_off() -> None:
    stopped = replace(SOLUTION, status="stopped early", gap=Fraction(412, 10), parts=STOPPED)
    made = build_answer(GROUND, stopped, question={})

    assert made.unfinished == (
        "Route: another route may be cheaper by up to the gap of 41.20 EUR.",
        "Front: routes that are better in cash or hours than these may be missing.",
    )
    assert "; best found so far, cheapest: 581.00 EUR" in made.headline
    assert "Not finished in time" in answer_as_text(made)


def test_a_gap_in_hours_is_told_in_hours() -> None:
    stopped = replace(SOLUTION, status="stopped early", objective="hours", gap=Fraction(3, 2))
    parts = (Completeness("route", False, Fraction(3, 2), "another route may be cheaper by up to the gap"),)
    made = build_answer(GROUND, replace(stopped, parts=parts), question={})

    assert made.unfinished == ("Route: another route may be cheaper by up to the gap of 1.5 h.",)


def test_a_best_route_that_is_proven_is_called_so_though_something_else_stopped_early() -> None:
    stopped = replace(SOLUTION, status="stopped early", gap=Fraction(0), parts=STOPPED[1:])

    made = build_answer(GROUND, stopped, question={})

    assert made.status == "proven" and "; proven cheapest: 581.00 EUR" in made.headline
    assert made.unfinished == ("Front: routes that are better in cash or hours than these may be missing.",)


def test_no_route_found_in_time_is_not_called_impossible() -> None:
    made = build_answer(GROUND, Solution("stopped early", "expected", ()), question={})

    assert made.headline == "alder-4 to brook-16: no route was found before the time ran out; there may be one"
    assert made.verdict == UNKNOWN


def test_the_json_holds_decimals_and_millimetres_and_the_same_sums() -> None:
    found = answer_as_json(answer())

    best = found["routes"][0]
    assert (best["cash"], best["hours"], best["total"], best["expected"]) == (245, 5.6, 581, 844.2)
    assert best["side_effects"][0]["value_mm"] == 12.5
    assert round(sum(step["cash"] for step in best["steps"]), 2) == best["cash"]
    assert round(sum(step["hours"] for step in best["steps"]), 2) == best["hours"]


def test_a_front_route_that_is_also_ranked_says_its_rank() -> None:
    assert [point.rank for point in answer().front] == [1]


def test_the_text_shows_every_step_every_caution_and_the_sums_without_colour() -> None:
    text = answer_as_text(answer())

    route = answer().routes[0]
    assert all(step.text in text for step in route.steps)
    assert "CAUTION: Strap it to the jack." in text
    assert "Total 581.00 EUR = 245.00 cash + 5.6 h at 60.00 EUR per hour; 5.7 days." in text
    assert "\x1b" not in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_names_that_look_like_markup_are_printed_as_they_are() -> None:
    hostile = replace(CONVERSION.tasks[0], label="[red]out[/red] [link=x]")
    ground = Ground(replace(CONVERSION, tasks=(hostile, *CONVERSION.tasks[1:])), CATALOGUE)

    assert "[red]out[/red] [link=x]" in answer_as_text(build_answer(ground, SOLUTION, question={}))


def test_a_joint_that_nobody_has_measured_is_unknown_and_says_what_to_measure() -> None:
    found = no_route(Open("nose", "joint", "no link joins any two candidates"))

    assert found.verdict == UNKNOWN
    assert found.open[0].opens == "measuring short shaft against pilot as found at this joint: no note closes it yet"
    assert "measuring short shaft" in answer_as_text(found)


def test_a_chain_out_of_its_limits_says_by_how_much_and_names_the_remedy() -> None:
    chain = Open("overlap", "chain", "every route leaves too little", -7000)
    known = replace(CATALOGUE, chain_kinds={"overlap": ChainKind("overlap", "pilot overlap", remedy="Extended bush.")})

    (bare,) = no_route(chain).open
    ground = Ground(CONVERSION, known)
    (told,) = build_answer(ground, Solution("no route", "expected", (), open=(chain,)), question={}).open

    assert bare.nearest_miss == "7.0 mm too little; allowed 12.0 mm to 16.0 mm"
    assert bare.opens == "a part that adds 7.0 mm at pilot overlap; measure it on these parts first"
    assert told.opens == "Extended bush."


def test_a_feature_or_deadline_that_cannot_be_had_says_so() -> None:
    found = no_route(
        Open("fifth-gear", "feature", "nothing offers it"), Open("deadline", "deadline", "the shortest takes 5.7 days")
    )

    assert found.verdict == IMPOSSIBLE
    assert found.headline == "alder-4 to brook-16: no route; 2 things stay open"
    assert "asking without fifth-gear" in found.open[0].opens
    assert found.open[1].opens == "a later deadline, or the part that waits from stock"


def test_labels_come_from_the_catalogue_where_it_has_them() -> None:
    known = replace(CATALOGUE, features={"signal": Term("signal", "gear position signal")})

    found = build_answer(
        Ground(CONVERSION, known), Solution("no route", "expected", (), open=(Open("signal", "feature", "none"),)),
        question={},
    )  # fmt: skip

    assert found.open[0].label == "gear position signal"

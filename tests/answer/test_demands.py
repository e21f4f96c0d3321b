"""What a question demands of the finished job, computed for each route. Sums by hand; teeth as in the demo's facts.

Ratios: driven over driving teeth, in series. Road speed: 0.06 n U / i, with n in 1/min, U in m. Both are counting.
Hollin: 35/20 x 32/16 = 3.5 in first, close ratios 35/20 x 31/17 = 3.191; fifth 35/20 x 17/36 = 0.826; the pick-up's
axle 3.90 +/- 0.005, its tyres 2.020 +/- 0.010 m: 120 x 0.8264 x 3.90 / (0.06 x 2.020) = 3191 a minute.
"""

from __future__ import annotations

import random
import re
from fractions import Fraction
from itertools import product

import pytest

from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.serial import answer_as_json
from graph.answer.text import answer_as_text
from graph.catalogue.model import Measurement
from graph.conversion.document import Candidate, Position
from graph.counter.shop import Shop
from graph.errors import InvalidInput, InvalidQuestion
from graph.fits.model import Verdict
from graph.fits.wanted import (
    CONSTANT_DRIVEN,
    CONSTANT_DRIVING,
    EXAMPLES,
    DemandFigure,
    read_wanted,
    teeth_of,
)
from graph.papers.details import Details
from graph.papers.estimate import estimate
from graph.papers.html import as_html
from graph.papers.job_sheet import job_sheet
from graph.reading import Question
from graph.reading.demanded import INPUT_SHAFT, LAYSHAFT, MAINSHAFT, Demand, DemandCell, Judged, _Judging
from tests.derive.shop import index, measured

ASKED = {"vehicle": "sorrel-pick-up", "context": {"torque_nm": 180, "duty": "road", "tools": ("press",)}}


def ask(*demands: str, gearbox: str = "hollin-5", more: tuple[Measurement, ...] = ()) -> Answer:
    question = Question(gearbox=gearbox, engine="ouzel-20", demands=demands, alternatives=0, **ASKED)  # type: ignore[arg-type]
    return Shop(index(more=more)).ask(question)


def worked(line: str) -> float:
    """The value of a printed sum, from the numbers printed in it."""
    sums = re.findall(r"= ([\d.x/ ()]+) = ", line)
    assert sums, line
    return float(eval(sums[0].replace("x", "*")))


def test_what_is_asked_is_shown_with_a_sum_that_can_be_repeated_everywhere() -> None:
    answer = ask("first gear at least 3.3", "120 km/h in fifth gear at most 3300 a minute")

    ratio, speed = answer.routes[0].demands
    assert (ratio.verdict, ratio.working) == ("holds", ("i first = driven / driving, in series = 35/20 x 32/16 = 3.5",))
    assert ratio.margin == Fraction(2, 10)
    assert [worked(line) for line in speed.working] == pytest.approx([3191.01, 3171.2, 3211.0], abs=0.05)
    assert [float(re.findall(r"([\d.]+) 1/min$", line)[0]) for line in speed.working] == pytest.approx(
        [worked(line) for line in speed.working], abs=0.001
    )
    told = [*ratio.working, *speed.working]
    route = answer.routes[0]
    papers = [as_html(made(answer, route, Details(number="J-1", dated="2026-06-30"))) for made in (estimate, job_sheet)]
    for shown in (" ".join(answer_as_text(answer).split()), str(answer_as_json(answer)), *papers):
        assert all(line in shown for line in told)


def test_a_demand_that_no_route_meets_leaves_none_and_names_the_nearest_figure() -> None:
    answer = ask("first gear at least 3.6")

    assert answer.status == "no route"
    (line,) = [one for one in answer.open if one.kind == "demand"]
    assert (line.label, line.nearest_miss) == ("first gear at least 3.6", "3.5, so this fails")


def test_what_is_not_known_is_not_passed_and_says_what_to_find_out() -> None:
    answer = ask("output turns the same way")

    assert answer.status != "proven"
    route = answer.routes[0]
    assert (route.demands[0].verdict, route.verdict) == ("unknown", "unknown: measure this")
    assert "output turns the same way: not known; find out output turns of Hollin 5" in route.to_confirm
    assert any("output turns of Hollin 5 (turn the input by hand and look" in text for text in settling(route))


def settling(route: AnsweredRoute) -> list[str]:
    return [one.words for line in route.assumptions for one in line.settles]


@pytest.mark.parametrize(("way", "status"), [("as the input", "proven"), ("against the input", "no route")])
def test_once_it_is_looked_at_the_way_the_output_turns_decides(way: str, status: str) -> None:
    seen = measured("output-turns", "hollin-5", way)

    assert ask("output turns anticlockwise", more=(seen,)).status == status  # as the Ouzel does


def test_the_highest_gear_is_the_one_that_the_gearbox_has() -> None:
    """Fifth of five: 3191 a minute; nobody knows of a sixth."""
    five = measured("forward-gears", "hollin-5", "5 off")

    (line,) = ask("120 km/h at most 3300 a minute", more=(five,)).routes[0].demands
    assert line.words.startswith("120 km/h in top gear at most 3300 1/min: 3191.007 1/min")


def test_a_figure_within_its_readings_of_the_limit_is_not_known() -> None:
    """3171 to 3211 a minute: 3200 may hold or not."""
    (line,) = ask("120 km/h in fifth gear at most 3200 a minute").routes[0].demands

    assert line.verdict == "unknown"
    assert "measure finer" in line.words


def test_a_demand_that_the_route_meets_anyway_costs_nothing() -> None:
    assert ask("first gear at least 3.5").routes[0].expected == ask().routes[0].expected


@pytest.mark.parametrize("text", [
    "", "first gear", "seventh gear at least 3", "first gear at least 0", "first gear at least -3", "fast",
    "first gear at least 1-17/16", "first gear at least nan", "120 in fifth gear below 3000 rpm",
    "120 km/h in fifth gear below 3000 km/h", "first gear at least 999999999", "output turns blue", "x" * 200,
])  # fmt: skip
def test_a_demand_that_cannot_be_read_is_refused_at_its_field_with_an_example(text: str) -> None:
    with pytest.raises(InvalidInput) as refused:
        read_wanted(text, "demands[0]")

    (problem,) = refused.value.problems
    assert problem.path == "demands[0]"
    assert any(word in problem.message for word in ("such as", "proper", "expected", "out of reason"))


@pytest.mark.parametrize("text", EXAMPLES)
def test_a_demand_reads_as_the_same_in_its_own_spelling(text: str) -> None:
    wanted = read_wanted(text, "demands[0]")

    assert read_wanted(wanted.text, "demands[0]") == wanted


def test_a_question_with_a_demand_that_cannot_be_read_is_refused() -> None:
    with pytest.raises(InvalidQuestion, match=r"demands\[0\]"):
        ask("quick")


GEARED = {INPUT_SHAFT: (CONSTANT_DRIVING,), LAYSHAFT: (CONSTANT_DRIVEN, teeth_of("first")[0]),
          MAINSHAFT: (teeth_of("first")[1],)}  # fmt: skip


def made_by_chance(chance: random.Random) -> tuple[Demand, list[Position]]:
    """Up to four shafts at each of three places, some with teeth that nobody has counted."""
    places: dict[str, dict[str, DemandCell]] = {}
    values: dict[tuple[str, str], DemandFigure | str] = {}
    for place, quantities in GEARED.items():
        for number in range(chance.randint(1, 4)):
            part = f"{place}-{number}"
            places.setdefault(place, {})[part] = DemandCell(part, part, number == 0)
            for quantity in quantities:
                if chance.random() < 0.85:
                    teeth = Fraction(chance.randint(16, 34))
                    values[part, quantity] = DemandFigure(teeth, teeth, teeth, str(teeth))
    if chance.random() < 0.4:
        stated = Fraction(chance.randint(20, 40), 10)
        values["box", "first-gear-ratio"] = DemandFigure(stated, stated, stated, str(stated))
    wanted = read_wanted(f"first gear {chance.choice(['at least', 'below'])} {chance.randint(8, 30) / 10}", "")
    positions = [
        Position(place, place, place, tuple(Candidate(id=one, label=one, part=one) for one in held))
        for place, held in places.items()
    ]
    return Demand(wanted, {"gearbox": "box", "engine": "e", "vehicle": ""}, places, values), positions


@pytest.mark.parametrize("seed", range(60))
def test_exactly_what_fails_is_ruled_out_and_what_is_not_known_is_marked(seed: int) -> None:
    """Every combination, judged alone, against the rules that the search is given."""
    demand, positions = made_by_chance(random.Random(seed))
    judged = Judged()
    _Judging(demand, positions, judged, "demands[0]").run()
    open_ = judged.unsettled.get(demand.wanted.text, {})

    for picks in product(*(held for held in demand.places.values())):
        verdict = demand.judge(dict(zip(demand.places, picks, strict=True))).verdict
        ruled_out = any(
            {rule.when, *rule.also} <= set(picks) and not set(rule.excludes).isdisjoint(picks) for rule in judged.rules
        )
        assert ruled_out == (verdict is Verdict.FAILS)
        assert verdict is not Verdict.UNKNOWN or not set(picks).isdisjoint(open_)


def test_twenty_random_routes_come_to_what_plain_division_gives() -> None:
    """First gear from four counts of teeth, by floating point; and the same from the printed sum."""
    chance = random.Random(7)
    for _ in range(20):
        a, b, c, d = (chance.randint(12, 60) for _ in range(4))
        values: dict[tuple[str, str], DemandFigure | str] = {
            (place, quantity): DemandFigure(Fraction(teeth), Fraction(teeth), Fraction(teeth), str(teeth))
            for place, quantity, teeth in (
                (INPUT_SHAFT, CONSTANT_DRIVING, a), (LAYSHAFT, CONSTANT_DRIVEN, b),
                (LAYSHAFT, teeth_of("first")[0], c), (MAINSHAFT, teeth_of("first")[1], d),
            )
        }  # fmt: skip
        places = {place: {place: DemandCell(place, place, True)} for place in GEARED}
        wanted = read_wanted("first gear at least 0.001", "")
        (line,) = Demand(wanted, {"gearbox": "g"}, places, values).judge({p: p for p in GEARED}).working.lines

        assert float(line.value) == pytest.approx(b / a * d / c, abs=0.0005001)
        assert worked(f"i = {line.numbers} = ") == pytest.approx(b / a * d / c)

"""Documents in which not everything is known, against enumeration and against the integer programme.

LAYSHAFT_UNKNOWNS: how many seeds (4 if not set). The formulas are those of the route's definition (DEVELOPERS.md,
"What a route costs"), written twice: in tests/reference/enumerate.py and tests/reference/programme.py.
"""

from __future__ import annotations

import os
from fractions import Fraction

import pytest

from graph.search.result import OBJECTIVES
from tests.reference.cpsat import CpSat
from tests.reference.enumerate import list_ways
from tests.reference.maker import TINY, WORKED, Shape
from tests.reference.programme import read_whole
from tests.reference.reading import Document
from tests.reference.trade import spline_and_pilot
from tests.reference.unknowns import make_open_document
from tests.search.asking import answer, ask, faults_found, list_changes, worth
from tests.search.test_proof_enumeration import complaints

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

SEEDS = int(os.environ.get("LAYSHAFT_UNKNOWNS", "4"))
SHAPES = (TINY, Shape(2, 4, 1, tasks=3, chains=1, faults=2, rules=0, inspections=2, density=0.9))


def test_every_part_of_the_answer_is_what_enumeration_finds() -> None:
    wrong = []
    for shape in SHAPES:
        for seed in range(SEEDS):
            document = make_open_document(seed, shape)
            ways = list_ways(document)
            for objective in OBJECTIVES:
                solution = ask(document, objective, alternatives=4)
                found = [*complaints(document, ways, objective, solution), *faults_found(document, solution)]
                wrong += [f"{shape} seed {seed} {objective}: {one}" for one in found]

    assert wrong == []


def test_the_minimum_is_the_one_that_cp_sat_proves() -> None:
    wrong = []
    for seed in range(SEEDS // 2):
        document = make_open_document(seed, WORKED)
        model = CpSat(read_whole(document))
        for objective in OBJECTIVES:
            solution, proven = ask(document, objective, alternatives=0), model.minimum(objective)
            found = worth(solution.routes[0], objective) if solution.routes else None
            if found != proven:
                wrong.append(f"seed {seed} {objective}: found {found}, CP-SAT {proven}")

    assert wrong == []


def in_doubt(odds: float, **more: object) -> Document:
    """Rate 60; disc and bush cost 581, the long shaft 870.

    Whether the other disc's spline fits is not known: if not, 120 and 1.0 h (180) more, behind the gearbox (270).
    """
    document = spline_and_pilot(0.0)
    link = document["joints"][0]["links"][0]
    link["assumed"] = True
    document["faults"].append(
        {"id": "spline", "on": [link["id"]], "odds": odds, "cash": 120, "hours": 1, "reach": ["out"], "shows": True}
    )
    return {**document, **more}


def test_a_doubt_that_laying_open_tells_adds_its_odds_times_the_remedy() -> None:
    best = answer(in_doubt(0.5))["routes"][0]

    assert (best["total"], best["expected"]) == (581, 581 + 0.5 * 180)
    assert [one["what"] for one in best["assumed"]] == ["spline 0"]


def test_a_doubt_of_odds_one_is_due_and_paid_now() -> None:
    best = answer(in_doubt(1))["routes"][0]

    assert (best["total"], best["expected"], best["spread"]["p90"]) == (761, 761, 761)
    assert (best["cash"], best["hours"]) == (365, 6.6)


def test_where_nothing_may_be_assumed_the_other_route_is_taken() -> None:
    best = answer(in_doubt(0.5, most_assumed=0))["routes"][0]

    assert (best["total"], best["assumed"]) == (870, [])


def test_measuring_pays_where_a_remedy_is_dearer_than_not_doing_the_job() -> None:
    """Blind: 620 for not doing the job. Measured for 6: half the time 581, else 620; 606.50 on average."""
    measure = {"id": "gauge", "hours": 0.1, "settles": ["spline"]}
    printed = answer(in_doubt(0.5, instead=620, inspections=[measure]))

    assert printed["look_first"]["expected"] == 6 + (581 + 620) / 2
    assert printed["instead"]["cost"] == 620


def test_a_measurement_that_needs_the_box_out_pays_for_it_even_if_the_job_is_not_done() -> None:
    """Box out and in 4.5 h, 270: paid by the route anyway, lost where the job is not done."""
    measure = {"id": "gauge", "hours": 0.1, "settles": ["spline"], "tasks": ["out"]}
    printed = answer(in_doubt(0.5, instead=620, inspections=[measure]))

    assert printed["look_first"] is None


def test_a_chain_that_a_pick_leaves_open_is_not_judged() -> None:
    document = in_doubt(0)
    document["chains"] = [{"id": "overlap", "label": "pilot overlap", "start": 5, "low": 12}]
    document["joints"][1]["links"][0]["unmeasured"] = ["overlap"]
    best = answer(document)["routes"][0]

    assert (best["total"], best["chains"]) == (581, {"overlap": None})
    assert [one["what"] for one in best["unmeasured"]] == ["overlap"]


def test_where_too_much_would_be_assumed_the_answer_says_how_much() -> None:
    document = in_doubt(0, most_assumed=0)
    for link in document["joints"][0]["links"]:
        link["assumed"] = True
    printed = answer(document)

    assert printed["status"] == "no route"
    assert [one["what"] for one in printed["open"]] == ["most_assumed"]
    assert "assumes 1 picks or more" in printed["open"][0]["why"]


def test_odds_of_a_doubt_that_would_change_nothing_are_said_to() -> None:
    """581 + 180 p stays below 870 up to the limit, and due it costs 761."""
    assert [one.value for one in list_changes(in_doubt(0.5)) if one.what == "spline"] == [None]


def test_odds_of_a_doubt_that_change_the_answer_are_found() -> None:
    """With a remedy of 400 more the disc costs 581 + 580 p: as dear as the shaft's 870 at 289 / 580."""
    document = in_doubt(0.25)
    document["faults"][1]["cash"] = 520

    assert [one.value for one in list_changes(document) if one.what == "spline"] == [Fraction(289, 580)]

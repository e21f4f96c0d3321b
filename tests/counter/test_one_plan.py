"""What to measure first is the answer's own plan, whoever asks: nobody hears a second truth."""

from __future__ import annotations

from dataclasses import replace

from graph.answer.model.answer import Answer
from graph.counter.measuring import ALL_IS_PROVEN, plan_as_json, plan_of_answer
from graph.counter.next_measurement import NextMeasurement
from tests.answer.test_assumed import answered
from tests.answer.test_status import NOT_KNOWN, STATED, document


def nothing() -> tuple[NextMeasurement, ...]:
    return ()


def unasked() -> tuple[NextMeasurement, ...]:
    raise AssertionError("the answer has a plan of its own")


def of_an_assembly(answer: Answer) -> Answer:
    return replace(answer, assembly="clutch-and-propshaft")


def test_the_plan_is_what_the_answer_measures_first() -> None:
    answer = of_an_assembly(answered(document(STATED, NOT_KNOWN)))

    plan = plan_of_answer(answer, unasked)

    assert plan.first == answer.measure_first != ()
    assert (plan.headline, plan.status, plan.words) == (answer.headline, answer.status, ())


def test_no_route_is_not_told_that_nothing_could_change_it() -> None:
    plan = plan_of_answer(answered(document()), nothing)

    assert plan.status == "no route"
    assert plan.words[0].startswith("clutch spline: ")
    assert ALL_IS_PROVEN not in plan.words


def test_what_is_proven_needs_no_measuring_and_the_plan_says_so() -> None:
    known = replace(document(STATED), faults=(), inspections=())

    assert plan_of_answer(of_an_assembly(answered(known)), unasked).words == (ALL_IS_PROVEN,)


def test_the_plan_comes_as_json_with_every_look() -> None:
    found = plan_as_json(plan_of_answer(of_an_assembly(answered(document(NOT_KNOWN))), unasked))

    assert [look["inspection"] for look in found["first"]] == ["gauge"]
    assert found["missing"] == []

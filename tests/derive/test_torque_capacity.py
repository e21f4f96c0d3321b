"""Gearbox and clutch against the engine's torque. Invented torques; the reserve of 1.25 is common practice."""

from __future__ import annotations

from fractions import Fraction

from graph.answer.asking import answer_question
from graph.answer.model.fit import NOT_ADVISABLE, WITH_PARTS
from graph.answer.model.route import AnsweredRoute
from graph.answer.text import answer_as_text
from graph.catalogue.model import Measurement
from graph.reading.question import Question
from tests.derive.shop import index, measured


def torque(quantity: str, of: str, reading: str) -> Measurement:
    return measured(quantity, of, reading, uncertainty="1 N m")


ENGINE = torque("engine-torque", "pipit-16", "128 N m")
GEARBOX = torque("input-torque-rating", "sedge-4a", "150 N m")
CLUTCH = torque("clutch-torque-capacity", "cover-pipit", "165 N m")


def best(*facts: Measurement, **context: str) -> AnsweredRoute:
    question = Question(gearbox="sedge-4a", engine="pipit-16", objective="total", context=context)
    return answer_question(index(more=facts), question).routes[0]


def test_the_rating_is_held_against_the_engines_torque_and_the_clutch_with_its_reserve() -> None:
    route = best(ENGINE, GEARBOX, CLUTCH)

    gearbox, clutch = route.capacities
    assert (gearbox.verdict, gearbox.margin_torque_nm) == ("holds", Fraction(22))  # 150 - 128
    assert (clutch.verdict, clutch.load_torque_nm, clutch.margin_torque_nm) == (
        "holds",
        Fraction(160),
        Fraction(5),
    )  # 165 - 1.25 x 128
    assert route.verdict == WITH_PARTS


def test_over_capacity_is_not_advisable_and_the_number_is_said() -> None:
    route = best(ENGINE, torque("input-torque-rating", "sedge-4a", "120 N m"), CLUTCH)

    assert route.verdict == NOT_ADVISABLE
    assert "carries 120 N m, engine torque at the input is 128 N m" in route.summary
    assert route.capacities[0].margin_torque_nm == -8


def test_foot_pounds_are_converted_exactly() -> None:  # 1 lbf ft = 1.3558179483314004 N m (NIST SP 811)
    route = best(ENGINE, torque("input-torque-rating", "sedge-4a", "100 lb ft"))

    found = route.capacities[0].capacity_torque_nm
    assert found is not None and abs(found - Fraction("135.58179483314004")) < Fraction(1, 10**12)


def test_a_tuned_engine_counts_with_the_torque_that_the_question_states() -> None:
    assert best(ENGINE, GEARBOX, torque_nm="180").verdict == NOT_ADVISABLE


def test_one_side_alone_asks_for_the_other_and_never_guesses() -> None:
    route = best(ENGINE)

    assert [line.verdict for line in route.capacities] == ["unknown", "unknown"]
    assert route.verdict == WITH_PARTS
    assert any("the gearbox's torque rating" in text for text in route.to_confirm)


def test_readings_that_contradict_each_other_are_not_known() -> None:
    other = measured("input-torque-rating", "sedge-4a", "210 N m", id="another", uncertainty="1 N m")

    assert best(ENGINE, GEARBOX, other).capacities[0].verdict == "unknown"


def test_where_nobody_noted_a_torque_it_is_unknown_if_one_is_asked_for() -> None:
    assert {line.verdict for line in best(torque_nm="400").capacities} == {"unknown"}
    assert best().capacities == ()


def test_the_printed_answer_has_the_numbers() -> None:
    question = Question(gearbox="sedge-4a", engine="pipit-16", objective="total")

    text = answer_as_text(answer_question(index(more=(ENGINE, GEARBOX, CLUTCH)), question))

    assert "carries 150 N m, engine torque at the input is 128 N m" in text

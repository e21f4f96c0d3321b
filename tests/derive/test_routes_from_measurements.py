"""Routes that no note states, found from measurements alone, with sums done by hand. Bench rate 60 an hour.

Gearbox out and in 4.5 h, clutch 0.5 h, dialled in 1.5 h, one visit to the machine shop 0.5 h (facts/kinds/tasks.ttl).
Prices: the demo's price list.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from graph.answer.asking import answer_question
from graph.reading.model import NOT_KNOWN
from graph.reading.question import Question
from graph.search import solve
from tests.demo.shop import SETTLED, fitted
from tests.derive.shop import best, computed, index, read, with_nothing_assumed, without_prices

RATE = 60
OUT_AND_IN, CLUTCH, DIALLED_IN, VISIT = (Fraction(text) for text in ("4.5", "0.5", "1.5", "0.5"))
EVERY_JOB = Fraction("1.8")  # lengths measured 1.0 h, road test 0.8 h
DISC: dict[str, Any] = {"own": ("disc-unlabelled",)}
BUSH: dict[str, Any] = {"own": ("bush-unlabelled",)}
BELL: dict[str, Any] = {"own": ("bell-tansy-spare", "bush-unlabelled")}


def test_a_disc_without_a_label_saves_the_new_one() -> None:
    _, noted = best(index(), "hollin-5", "ouzel-20", derive=False, **DISC)
    reading, route = best(index(), "hollin-5", "ouzel-20", **DISC)

    assert noted.total == 669
    assert fitted(reading, route) == {"disc-unlabelled", "bush-extended"}
    assert computed(reading, route) == {"clutch-spline", "disc-to-flywheel", "disc-to-cover"}
    assert route.total == 100 + RATE * (OUT_AND_IN + CLUTCH + Fraction("0.6") + Fraction("0.5") + EVERY_JOB) == 669 - 95


def test_a_bush_without_a_label_closes_crank_and_nose_at_once() -> None:
    _, noted = best(index(), "sedge-4a", "pipit-16", derive=False, refuse_disputed=True, **BUSH)
    reading, route = best(index(), "sedge-4a", "pipit-16", refuse_disputed=True, **BUSH)

    assert computed(reading, route) == {"pilot-in-crank", "pilot-on-nose"}
    assert noted.total - route.total == 28
    assert route.chains_um["pilot-overlap"] == 16_000  # 8 behind the block as measured: the same as the noted bush


def test_a_plate_made_between_two_measured_patterns_replaces_the_swap_of_cases() -> None:
    """1762 with the late case; 1104 with a plate of 15: 340 + 122 cash, 10.7 h."""
    _, noted = best(index(), "tansy-5", "pipit-16", derive=False, **BELL)
    reading, route = best(index(), "tansy-5", "pipit-16", **BELL)

    plate = "computed-engine-face--block-pipit--bell-tansy-spare--15--plate"
    own = Fraction("0.8") + Fraction("0.5") + 2 * Fraction("0.3")
    hours = OUT_AND_IN + CLUTCH + DIALLED_IN + VISIT + own + EVERY_JOB
    assert noted.total == 1762
    assert fitted(reading, route) == {plate, "bell-tansy-spare", "bush-unlabelled", "disc-tansy-225"}
    assert (route.cash_hundredths, route.hours_hundredths) == (462_00, 1070)
    assert route.total == 340 + 122 + RATE * hours == 1104


def test_only_the_plate_of_15_keeps_every_chain_within_its_limits() -> None:
    """Gap T - 11 within 3 to 5, starter T - 11.5 within 2 to 4, shoulder T - 11 at least 2: T from 14 to 15.5."""
    reading, route = best(index(), "tansy-5", "pipit-16", **BELL)

    chains = {chain: Fraction(um, 1000) for chain, um in route.chains_um.items()}
    assert chains["release-gap"] == 15 - 11
    assert chains["starter-rest-gap"] == 15 - Fraction("11.5")
    assert chains["shoulder-to-bearing"] == 15 - 11
    assert chains["pilot-overlap"] == 33 - 15
    thicknesses = {part.id.split("--")[-2] for part in reading.derived.parts if part.kind == "adapter-plate"}
    assert {"15", "16", "20", "30"} <= thicknesses
    assert "12" not in thicknesses  # a flush M10 head, 10 high (ISO 4762), would leave 2 mm under it


def test_the_visit_to_the_machine_shop_is_paid_once() -> None:
    _, route = best(index(), "tansy-5", "pipit-16", **BELL)

    assert "machine-shop-visit" in route.tasks


def test_a_bearing_that_cannot_be_had_is_replaced_by_another_series_with_a_sleeve() -> None:
    """6211 is 55 x 100 x 21 (ISO 15): the housing takes it as it is, the journal wants a sleeve and a shim ring."""
    facts = index()
    reading, route = best(facts, "tansy-5r", "pipit-16", avoid=("bearing-6309",))
    noted = read(facts, "tansy-5r", "pipit-16", derive=False, avoid=("bearing-6309",))
    without = solve(with_nothing_assumed(noted), "total", 0)

    assert without.status == "no route"
    assert "computed-iso15-6211" in fitted(reading, route)
    assert computed(reading, route) == {"input-bearing-in-housing", "input-bearing-on-shaft"}
    opened = OUT_AND_IN + Fraction("0.8") + Fraction("1.2")
    hours = opened + VISIT + Fraction("0.3") + Fraction("0.4") + Fraction("0.1") + EVERY_JOB
    assert route.total == 41 + 48 + 14 + RATE * hours == 679
    bearing = reading.catalogue.parts["computed-iso15-6211"]
    assert bearing.cash_hundredths == 41_00
    assert "ISO 281" in bearing.to_confirm[0]


@pytest.mark.parametrize(
    ("fact", "missing"),
    [
        ("m-disc-minor", "spline minor diameter of Disc 228 without a label"),
        ("m-disc-front", "hub front reach of Disc 228 without a label"),
        ("m-disc-form", "spline form of Disc 228 without a label"),
        ("m-hollin-teeth", "spline teeth of Hollin input shaft"),
        ("m-disc-thickness", "disc thickness of Disc 228 without a label"),
    ],
)
def test_one_measurement_less_turns_the_joint_to_unknown_and_never_to_a_guess(fact: str, missing: str) -> None:
    reading, route = best(index(without=[fact]), "hollin-5", "ouzel-20", **DISC)

    assert route.total == 669
    assert "disc-unlabelled" not in fitted(reading, route)
    told = [out.text for out in reading.left_out if out.reason == NOT_KNOWN]
    assert any(text.startswith("unknown: measure") and missing in text for text in told)


def test_a_dispute_between_two_readings_turns_the_joint_to_unknown() -> None:
    from tests.derive.shop import measured

    again = measured("spline-minor", "disc-unlabelled", "24.60 mm", uncertainty="0.05 mm")

    reading, route = best(index(more=[again]), "hollin-5", "ouzel-20", **DISC)

    assert route.total == 669
    told = [out.text for out in reading.left_out if out.reason == NOT_KNOWN and "24.60 mm" in out.text]
    assert told and all("again" in text for text in told)  # against each of the box's measured shafts


def test_what_the_price_list_lacks_makes_no_edge_of_nothing() -> None:
    reading, route = best(without_prices("make-plate"), "tansy-5", "pipit-16", **BELL)

    assert route.total == 1762
    assert any("the price list has no make-plate" in out.text for out in reading.left_out)


def test_a_part_without_a_price_that_is_not_in_hand_is_not_used() -> None:
    assert read(index(), "hollin-5", "ouzel-20").derived.edges == ()


def test_notes_alone_answer_as_before() -> None:
    """What is computed adds to what is noted; a question that no measurement touches keeps its answer."""
    for gearbox, engine in (("hollin-5", "ouzel-20"), ("tansy-5", "pipit-16"), ("sedge-4a", "ouzel-20")):
        _, noted = best(index(), gearbox, engine, derive=False)
        _, route = best(index(), gearbox, engine)
        assert route.total == noted.total


def test_computed_edges_stay_out_where_the_question_asks_for_better_evidence() -> None:
    _, route = best(index(), "hollin-5", "ouzel-20", evidence_floor="done-without-follow-up", **DISC)

    assert route.total == 669


def test_a_measured_length_carries_its_uncertainty_into_the_margin_of_the_answer() -> None:
    question = Question(gearbox="hollin-5", engine="ouzel-20", objective="total", context=SETTLED, **DISC)

    answer = answer_question(index(), question)

    front = next(effect for effect in answer.routes[0].side_effects if effect.chain == "spline-spare-front")

    assert front.worst_case_um == 50  # the depth micrometer's 0.05 mm
    assert front.measure_again == ("hub front reach of Disc 228 without a label, ten teeth",)

"""Where a note and the arithmetic speak of one pair: they agree, disagree, or the arithmetic waits."""

from __future__ import annotations

from typing import Any

import pytest

from graph.catalogue.model import DOES_NOT_FIT, FITS, Edge
from graph.derive.around import deriver_of
from graph.derive.explain import explain_edge
from graph.errors import NotFound
from graph.fits.model import Verdict
from graph.fits.sketch import sketch_text
from tests.derive.shop import best, index, measured, read

ON_SHAFT, IN_HOUSING, SPLINE = "input-bearing-on-shaft", "input-bearing-in-housing", "clutch-spline"
TANSY_23 = [
    measured("journal-diameter", "shaft-tansy-23", "45.010 mm", uncertainty="0.002 mm"),
    measured("shoulder-to-ring", "shaft-tansy-23", "23.00 mm", uncertainty="0.01 mm", datum="journal shoulder"),
]


def noted(kind: str, source: str, target: str, joint: str) -> Edge:
    return Edge(
        id="a-note", kind=kind, source=source, target=target, joint=joint, evidence="word-of-the-trade", reason="said"
    )


def test_a_shaft_set_for_23_and_a_bearing_of_25_ask_for_two_millimetres_off_the_shoulder_as_the_note_says() -> None:
    """Common practice; the same pair stands in the demo as a note of work done."""
    explained = explain_edge(index(more=TANSY_23), "bearing-6309-cut-for-shaft-tansy-23")

    assert explained.standing == "agrees with the note"
    assert explained.finding is not None
    assert explained.finding.result is not None
    assert explained.finding.result.verdict is Verdict.HOLDS_WITH_WORK
    assert any("turn 2.000 mm off the shoulder" in work.text for work in explained.finding.result.work)


def test_the_sketch_for_it_names_datum_size_tolerance_radius_and_what_to_leave_alone() -> None:
    (sketch,) = explain_edge(index(more=TANSY_23), "bearing-6309-cut-for-shaft-tansy-23").sketches

    text = sketch_text(sketch)
    assert "datum: near side of the ring groove" in text
    assert "25.000 mm (25.000 mm to 25.050 mm); take 2.000 mm off" in text
    assert "leave radius 1.500 mm" in text
    assert "do not touch: journal, ring groove" in text


def test_a_bearing_and_a_seat_that_agree_need_nothing() -> None:
    """Replacing only the bearing serves where width and seat agree (common practice)."""
    explained = explain_edge(index(), "case-hollin-late-fits-bearing-6309")

    assert explained.standing == "agrees with the note"
    assert explained.finding is not None
    assert explained.finding.edges == ()


def test_a_note_that_says_fits_against_arithmetic_that_fails_is_a_dispute_and_both_stand() -> None:
    wrong = noted(FITS, "disc-unlabelled", "shaft-hollin-short", SPLINE)
    facts = index(
        without=["m-disc-teeth"], more=[measured("spline-teeth", "disc-unlabelled", "23 teeth")], edges=[wrong]
    )

    reading = read(facts, "hollin-5", "ouzel-20", own=("disc-unlabelled",))

    (dispute,) = (one for one in reading.disputes if one.joint == SPLINE)
    assert dispute.edges_for == ("a-note",)
    assert dispute.edges_against == ("computed-clutch-spline--disc-unlabelled--shaft-hollin-short--not",)
    link = next(id_ for id_, origin in reading.links.items() if any(edge.id == "a-note" for edge in origin.edges))
    assert reading.links[link].disputed


def test_a_note_that_says_does_not_fit_against_arithmetic_that_holds_is_a_dispute_too() -> None:
    wrong = noted(DOES_NOT_FIT, "disc-unlabelled", "shaft-hollin-short", SPLINE)

    reading = read(index(edges=[wrong]), "hollin-5", "ouzel-20", own=("disc-unlabelled",))

    (dispute,) = (one for one in reading.disputes if one.joint == SPLINE)
    assert dispute.edges_against == ("a-note",)
    assert any("noted as does not fit; the arithmetic says holds" in one.text for one in reading.derived.disputes)
    _, refused = best(index(edges=[wrong]), "hollin-5", "ouzel-20", own=("disc-unlabelled",), refuse_disputed=True)
    assert refused.total == 669


def test_a_shift_that_a_note_states_otherwise_than_measured_is_told() -> None:
    """The noted height of the release bearing is 90.0; measured 92.0 it cannot both be."""
    higher = measured(
        "release-height", "release-tansy", "92.0 mm", uncertainty="0.1 mm", datum="gearbox front mounting face"
    )

    reading = read(index(more=[higher]), "tansy-5", "ouzel-20")

    (dispute,) = reading.derived.disputes
    assert "noted -90.000 mm, measured -92.000 mm" in dispute.text


def test_a_computed_edge_carries_its_working_and_is_never_better_known_than_calculated() -> None:
    reading = read(index(), "hollin-5", "ouzel-20", own=("disc-unlabelled",))

    edge = next(one for one in reading.derived.edges if one.joint == SPLINE)
    working = reading.derived.workings[edge.id].working.text()
    assert edge.evidence == "calculated"
    assert "28.700 - 28.5496 = 0.1504 mm" in working  # 1.124 in = 28.5496 mm
    assert "source" not in working
    assert all(line.source for line in reading.derived.workings[edge.id].working.lines)


def test_every_computed_edge_can_be_explained_by_its_id_on_a_fresh_index() -> None:
    asked: dict[str, Any] = {"own": ("disc-unlabelled", "bush-unlabelled", "bell-tansy-spare")}
    mating = [
        edge.id
        for gearbox, engine in (("hollin-5", "ouzel-20"), ("tansy-5", "pipit-16"), ("tansy-5r", "pipit-16"))
        for edge in read(index(), gearbox, engine, **asked).derived.edges
        if edge.joint
    ]
    fresh = index()

    assert len(mating) > 20
    for edge in mating:
        assert explain_edge(fresh, edge).edge.id == edge


def test_a_plate_has_a_sketch_with_both_patterns() -> None:
    edge = "computed-engine-face--block-pipit--bell-tansy-spare--15--in"

    (sketch,) = explain_edge(index(), edge).sketches

    text = sketch_text(sketch)
    assert "thickness 15.000 mm" in text
    assert "A-a1" in text
    assert "B-b8" in text


def test_an_edge_that_nobody_knows_is_named_with_near_ones() -> None:
    with pytest.raises(NotFound, match="case-hollin-late-fits-bearing-6309"):
        explain_edge(index(), "case-hollin-late-fits-bearing-6308")
    with pytest.raises(NotFound):
        explain_edge(index(), "computed-clutch-spline--no-such--shaft-hollin-short")


def test_an_edge_of_a_joint_without_a_check_is_shown_without_arithmetic() -> None:
    explained = explain_edge(index(), "tail-sedge-fits-mount-sorrel")

    assert (explained.standing, explained.finding) == ("not computed", None)


def test_a_pair_is_computed_once() -> None:
    deriver = deriver_of(index())

    first = deriver.pair(IN_HOUSING, "case-hollin-late", "bearing-6309")

    assert deriver.pair(IN_HOUSING, "case-hollin-late", "bearing-6309") is first

"""Sublet sketches for rings and bushes. ISO 286-2: k5 on 45 mm is +2 to +13 micrometres, P7 on 40 mm -17 to -42.

The pilot ring is the worked example of the trade notes: crank bore 38.10 (1.500 in), pilot 35.00, wall 1.55 mm.
Press fit 0.0004 to 0.002 in and clearance 0.001 to 0.003 in: pages named in graph/fits/pilot.py.
"""

from __future__ import annotations

import pytest
from defusedxml import ElementTree

from graph.derive.explain import explain_edge
from graph.fits.model import Verdict
from graph.fits.sketch import sketch_text
from graph.fits.sketch_svg import sketch_svg
from graph.what_if.kinds import try_what_if
from tests.derive.shop import index, measured

PILOT_RING = {"crank_bore": "1.500 in +/- 0.2 thou", "outside": "35.00 mm +/- 0.005 mm"}
NOSE = {"inside": "17.50 mm +/- 0.005 mm", "nose": "17.00 mm +/- 0.005 mm"}


def test_a_journal_sleeve_is_pressed_on_and_finished_for_the_bearing() -> None:
    result, (sketch,) = try_what_if(
        "bearing-seat", {"side": "shaft", "bearing": "6209", "seat": "40.00 mm +/- 0.005 mm"}
    )

    text = sketch_text(sketch)
    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert "A: outside diameter 45.000 mm k5 (45.002 mm to 45.013 mm)" in text
    assert "B: inside diameter 40.000 mm P7 (39.958 mm to 39.983 mm)" in text
    assert "do not touch: the journal, fillet radius" in text
    assert "material: steel; soft" in text


def test_the_ring_between_crank_and_pilot_has_the_walls_two_diameters() -> None:
    result, sketches = try_what_if("pilot", {**PILOT_RING, "inside": "17.05 mm +/- 0.005 mm", "nose": NOSE["nose"]})

    ring, bush = sketches
    text = sketch_text(ring)
    assert "sleeve of 1.550 mm wall" in result.summary
    assert "outside diameter 38.100 mm (38.1102 mm to 38.1508 mm)" in text  # 1.500 in + 0.4 to 2 thou
    assert "inside diameter 35.000 mm (34.9492 mm to 34.9898 mm)" in text
    assert "bearing bronze" in sketch_text(bush)


def test_a_bush_that_is_loose_on_the_nose_is_made_anew_with_its_bore() -> None:
    _, sketches = try_what_if(
        "pilot", {"outside": "28.03 mm +/- 0.005 mm", "crank_bore": "28.00 mm +/- 0.005 mm", **NOSE}
    )

    (bush,) = sketches
    text = sketch_text(bush)
    assert "inside diameter 17.000 mm (17.0254 mm to 17.0762 mm)" in text  # 1 to 3 thou over the nose
    assert "bore proved after it is pressed in" in text


@pytest.mark.parametrize("inputs", [{**PILOT_RING, **NOSE}])
def test_every_sketch_is_drawn_with_its_words(inputs: dict[str, str]) -> None:
    _, sketches = try_what_if("pilot", inputs)

    assert sketches
    for sketch in sketches:
        assert ElementTree.fromstring(sketch_svg(sketch)).tag.endswith("svg")
        assert "A 38.100" in sketch_svg(sketch)


def test_what_holds_as_it_is_sends_nothing_out() -> None:
    seat = {"side": "shaft", "bearing": "6209", "seat": "45.008 mm +/- 0.002 mm"}

    result, sketches = try_what_if("bearing-seat", seat)

    assert result.verdict is Verdict.HOLDS
    assert sketches == ()


def test_a_pilot_of_the_graph_that_is_too_small_for_the_crank_has_its_ring_sketched() -> None:
    facts = index(
        without=["m-bush-outside"],
        more=[measured("pilot-outside", "bush-unlabelled", "24.00 mm", uncertainty="0.005 mm")],
    )

    explained = explain_edge(facts, "computed-pilot-in-crank--crank-pipit--bush-unlabelled--1--in")

    assert any("pilot sleeve for Pipit crankshaft" in sketch_text(sketch) for sketch in explained.sketches)

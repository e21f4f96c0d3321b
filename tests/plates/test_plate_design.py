"""Plates by hand: thickness, walls, clocking, holes drilled less deep, two pieces, openings, weight, bending.

Sizes: M10 head 10 high (ISO 4762) in a counterbore of 18 (DIN 974-1), clearance 11 (ISO 273 medium), M10 coarse 1.5
(ISO 261). Walls, edges, floors and engagement are common practice as `graph/plates/rules.py` says each.
"""

from __future__ import annotations

from fractions import Fraction
from math import asin, cos, degrees, pi
from typing import Any

import pytest

from graph.errors import InvalidInput
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD
from graph.plates.design import design_plate
from graph.plates.model import PlateDesign, PlateRefused, PlateWanted, ThicknessWindow
from graph.plates.outline import Disc, area_mm2, band
from graph.plates.rules import PlateRules
from graph.plates.standard_faces import housing_face, housing_of
from tests.plates.made import face, hole, ring

DOWELS = (hole("d1", 0, 130, 12, DOWEL), hole("d2", 0, -130, 12, DOWEL))
BLOCK = face("block", *ring(THREAD, 6, 160, 10, thread="M10x1.5"), *DOWELS)
ACROSS = (hole("d1", 130, 0, 12, DOWEL), hole("d2", -130, 0, 12, DOWEL))
BELL = face("bell", *ring(CLEARANCE, 6, 160, 11, first=30), *ACROSS)


def designed(**wanted: Any) -> PlateDesign:
    found = design_plate(PlateWanted(**{"engine": BLOCK, "gearbox": BELL} | wanted))
    assert isinstance(found, PlateDesign), found
    return found


def refused(**wanted: Any) -> PlateRefused:
    found = design_plate(PlateWanted(**{"engine": BLOCK, "gearbox": BELL} | wanted))
    assert isinstance(found, PlateRefused), found
    return found


def test_the_thinnest_stock_plate_that_does_is_taken() -> None:
    """Flush M10 heads want 10 + 0.4 x 10 = 14; stock above is 15."""
    assert designed().thickness_um == 15_000


def test_a_window_without_a_stock_size_is_milled_to() -> None:
    """14.0 to 14.5: milled from 15 to 14.0."""
    piece = designed(window=ThicknessWindow(14_000, 14_500, "release gap", "starter rest gap")).pieces[0]

    assert (piece.thickness_um, piece.stock_mm) == (14_000, 15)


def test_light_alloy_wants_twice_the_thread() -> None:
    """2 x 10 = 20 of engagement; edges at 2 d instead of 1.5 d."""
    found = designed(rules=PlateRules("light alloy")).pieces[0]

    assert found.thickness_um == 20_000 and found.least_edge_um == 20_000


def test_a_window_too_thin_names_the_limit_to_move() -> None:
    found = refused(window=ThicknessWindow(10_000, 13_000, "release gap", "starter rest gap"))

    assert "14.000 mm is wanted for a flush M10 head" in found.reasons[0].what
    assert "starter rest gap" in found.reasons[0].move


def test_an_empty_window_names_both_limits() -> None:
    found = refused(window=ThicknessWindow(16_000, 15_000, "release gap", "starter rest gap"))

    assert "release gap" in found.reasons[0].what and "starter rest gap" in found.reasons[0].move


def test_holes_of_either_side_get_what_the_part_wants() -> None:
    holes = {one.id: one for one in designed().pieces[0].holes}

    screw, thread, dowel = holes["A-t1"], holes["B-c1"], holes["A-d1"]
    assert (screw.use, screw.drill_um, screw.head_um, screw.head_deep_um, screw.head_side) == (
        "screw", 11_000, 18_000, 10_000, "gearbox"
    )  # fmt: skip
    assert (thread.use, thread.thread, thread.drill_um) == ("tapped", "M10x1.5", 8_500)
    assert (dowel.use, dowel.drill_um) == ("dowel", 12_000)


def test_a_face_read_from_the_front_is_mirrored() -> None:
    mirrored = face("bell", hole("b", 100, 120, 11, CLEARANCE), seen_from="front")

    made = next(one for one in designed(gearbox=mirrored).pieces[0].holes if one.id == "B-b")

    assert (made.x_um, made.y_um) == (-100_000, 120_000)


def test_holes_that_fall_together_share_one_bolt() -> None:
    """Clearance 11 on a thread of 10: (11 - 10) / 2 = 0.5 may be missed (ASME Y14.5, fixed fastener)."""
    near = face("bell", hole("b", 160.4, 0, 11, CLEARANCE), hole("c", 0, 160, 11, CLEARANCE))
    far = face("bell", hole("b", 160.6, 0, 11, CLEARANCE), hole("c", 0, 160, 11, CLEARANCE))

    one = next(hole for hole in designed(gearbox=near).pieces[0].holes if hole.side == "both")
    assert (one.id, one.use, one.x_um, one.head_um) == ("A-t1+b", "bolt", 160_000, 0)
    assert "A-t1 and B-b" in refused(gearbox=far, pieces=1).reasons[0].what


def test_a_gearbox_that_may_lean_is_turned_no_further_than_it_must() -> None:
    """A head of 18 and a thread of 10 with 5 of wall: 19 apart on a circle of 160: 2 asin(19 / 320) = 6.808 degrees."""
    same = face("bell", *ring(CLEARANCE, 6, 160, 11, first=3))
    least = degrees(2 * asin(19 / 320))

    found = designed(gearbox=same, lean_deg=10.0, engine=face("block", *ring(THREAD, 6, 160, 10, thread="M10")))

    # 3 degrees apart as they stand; back to where they fall together it is 3 less what the clearance gives
    # wherever the two truly are, each read to 0.05
    together = 3 - degrees(2 * asin((0.5 - 0.1) / 320))
    assert abs(found.angle_deg) == pytest.approx(min(least - 3, together), abs=0.03)
    assert any("lever" in one for one in found.turns) and any("starter" in one for one in found.turns)


def test_a_gearbox_that_may_not_lean_enough_is_refused() -> None:
    same = face("bell", *ring(CLEARANCE, 6, 160, 11, first=3))

    found = refused(gearbox=same, lean_deg=2.0, pieces=1, engine=face("block", *ring(THREAD, 6, 160, 10, thread="M10")))

    assert "no angle within 2 degrees" in found.reasons[0].move


def test_a_shared_bolt_wants_room_for_the_miss_and_for_how_far_both_places_are_read() -> None:
    """M10 in 11: 0.5 mm either way (fixed fastener, ASME Y14.5 appendix B); 0.35 off and twice 0.05 fit, twice 0.1 do
    not."""
    near = (hole("b1", 160.35, 0, 11, CLEARANCE), hole("b2", -160, 0, 11, CLEARANCE))
    block = (hole("a1", 160, 0, 10, thread="M10"), hole("a2", 0, 160, 10, thread="M10"))

    sure = designed(engine=face("block", *block), gearbox=face("bell", *near))
    unsure = design_plate(PlateWanted(
        engine=face("block", *block, uncertainty=0.1), gearbox=face("bell", *near, uncertainty=0.1), pieces=1
    ))  # fmt: skip

    assert [one.id for one in sure.pieces[0].holes if one.side == "both"] == ["A-a1+b1"]
    assert any("miss each other by 0.350 mm, within 0.100 mm, and the holes give 0.500 mm" in one
               for one in sure.measure)  # fmt: skip
    assert isinstance(unsure, PlateRefused)
    assert "0.350 mm" in " ".join(one.what for one in unsure.reasons)


def test_dowel_holes_are_to_be_measured_closer_or_transferred() -> None:
    (said,) = (one for one in designed().measure if "dowels" in one)

    names = [one.id for one in designed().pieces[0].holes if one.use == "dowel"]
    assert names and all(name in said for name in names) and "transfer them" in said and "0.050 mm" in said


def test_threads_from_both_sides_pass_each_other_where_the_plate_is_thick_enough() -> None:
    """Both tapped M10: 10 + 3 x 1.5 = 14.5 deep from either side and 3 of metal between: 32 of 30 stocked: no.

    M8 in steel: 8 + 3 x 1.25 = 11.75; twice and 3 between is 26.5; a plate of 30 does.
    """
    engine = face("block", *ring(CLEARANCE, 4, 150, 9))
    close = face("bell", *ring(CLEARANCE, 4, 150, 9, first=4))
    wide = ThicknessWindow(28_000, 30_000, "low", "high")

    found = designed(engine=engine, gearbox=close, window=wide, pieces=1)

    assert found.thickness_um == 30_000 and {one.to_um - one.from_um for one in found.pieces[0].holes} == {11_750}
    assert refused(engine=engine, gearbox=close, pieces=1, window=ThicknessWindow(20_000, 20_000, "a", "b")).reasons


def test_a_hole_that_carries_nothing_makes_way() -> None:
    close = face("bell", *ring(CLEARANCE, 4, 160, 11, first=45), hole("x", 160, 12, 11, CLEARANCE, load=False))
    block = face("block", *ring(THREAD, 4, 160, 10, thread="M10"))

    assert designed(engine=block, gearbox=close).left_out == ("B-x",)


def test_two_pieces_where_one_has_no_room() -> None:
    close = face("bell", *ring(CLEARANCE, 6, 160, 11, first=5))
    block = face("block", *ring(THREAD, 6, 160, 10, thread="M10"))

    found = designed(engine=block, gearbox=close)

    first, second = found.pieces
    assert (first.thickness_um, second.thickness_um) == (15_000, 15_000)
    assert {one.side for one in first.holes} == {"engine", "joining"}
    assert {one.side for one in second.holes} == {"gearbox", "joining"}
    joining = [[(one.x_um, one.y_um) for one in piece.holes if one.side == "joining"] for piece in found.pieces]
    assert joining[0] == joining[1] and len(joining[0]) == 6 + 2
    assert found.order


def test_no_hand_reaches_between_two_pieces_where_both_parts_have_threads() -> None:
    block, bell = (face("f", *ring(THREAD, 6, 160, 10, first=first, thread="M10")) for first in (0, 5))

    assert any("no hand reaches" in one.move for one in refused(engine=block, gearbox=bell).reasons)


def test_the_opening_leaves_the_holes_their_edge() -> None:
    """Dowels of 12 on 130: edge 1.5 x 12 = 18: 2 x (130 - 18) = 224."""
    assert designed().pieces[0].bore_um == 224_000
    assert "leaves too little metal at A-d1, A-d2, B-d1, B-d2" in refused(bore_um=225_000).reasons[0].what


def test_a_register_is_bored_h7_and_a_spigot_turned_f7() -> None:
    """ISO 286-2: 125 H7 +0.040/0; 125 f7 -0.043/-0.083."""
    figures = {one.name: one.value for one in designed(register_um=125_000, spigot_um=125_000).figures}

    assert "(125.000 to 125.040)" in figures["plate: register"]
    assert "(124.917 to 124.957)" in figures["plate: spigot"]


def test_a_housing_of_one_size_takes_a_gearbox_of_the_next() -> None:
    """SAE J617: No. 3 register 409.58, circle 428.62; No. 4 361.95 and 381.0; 12 holes each."""
    engine, gearbox = (housing_face(housing_of(f"sae:{n}"), engine=n == 3) for n in (3, 4))

    found = designed(
        engine=engine, gearbox=gearbox, engine_thread="M10", gearbox_thread="M10", register_um=361_950,
        spigot_um=409_580,
    )  # fmt: skip

    assert len(found.pieces[0].holes) == 24
    assert not any("Nothing locates" in one for one in found.cautions)


def test_an_inch_thread_is_asked_for_never_guessed() -> None:
    engine = housing_face(housing_of("sae:3"), engine=True)

    with pytest.raises(InvalidInput) as told:
        design_plate(PlateWanted(engine=engine, gearbox=BELL))

    (problem,) = told.value.problems  # once, however many holes
    assert "inch screws are not drawn here" in problem.message


def test_oil_holes_are_told_of_and_never_made() -> None:
    found = designed(engine=face("block", *BLOCK.holes, hole("oil", 0, 90, 14, OTHER)))

    assert any("oil" in one for one in found.measure)
    assert all("oil" not in one.id for one in found.pieces[0].holes)


def test_places_read_too_loosely_get_the_coarse_hole_or_must_be_read_again() -> None:
    """M10: 11 gives (11 - 10) / 2 = 0.5, 12 gives 1.0; the plate itself takes 0.1."""

    def drilled(uncertainty: float) -> int:
        block = face("block", *BLOCK.holes, uncertainty=uncertainty)
        return next(one for one in designed(engine=block).pieces[0].holes if one.id == "A-t1").drill_um

    assert (drilled(0.4), drilled(0.41)) == (11_000, 12_000)
    assert any("A-t1 more closely" in one for one in designed(engine=face("b", *BLOCK.holes, uncertainty=1.0)).measure)


def test_a_tractors_plate_is_warned_of_and_looked_at_for_bending() -> None:
    """3 F L / (2 b t^2) of a strip on two supports: L 160 between neighbours of six on 160; F 3000, t 15."""
    found = designed(frame=True, force_n=Fraction(3000))

    assert any("part of the machine's frame" in one for one in found.cautions)
    assert found.bending is not None and found.bending.verdict in ("fails", "unknown")
    width = 160 * cos(pi / 12) + 15 - 112  # half way between two of the twelve discs of 15, less half the opening
    stress = 3 * 3000 * 160 / (2 * width * 15**2)
    assert float(found.bending.summary.partition(" MPa")[0]) == pytest.approx(stress, rel=0.02)


def test_the_outline_of_one_disc_and_of_two() -> None:
    """A disc of 10: pi x 100. Two of radius 10, 30 apart: pi x 100 + 30 x 20."""
    one, two = band([Disc(0, 0, 10_000)]), band([Disc(0, 0, 10_000), Disc(30_000, 0, 10_000)])

    assert area_mm2(one) == pytest.approx(pi * 100, rel=1e-6)
    assert area_mm2(two) == pytest.approx(pi * 100 + 600, rel=1e-5)


def test_the_weight_is_volume_by_density() -> None:
    """Two tapped holes 200 apart, edges 15 about them; a stadium about the axis disc; steel 7833 kg/m3 (handbook)."""
    plate = designed(
        engine=face("e", hole("e", 0, 100, 9, CLEARANCE)), gearbox=face("g", hole("g", 0, -100, 9, CLEARANCE)),
        bore_um=50_000,
    ).pieces[0]  # fmt: skip
    area = area_mm2(plate.outline) - pi / 4 * (50**2 + 2 * 6.75**2)

    assert plate.thickness_um == 10_000
    assert plate.grams == pytest.approx(area * 10 * 7833 / 1e6, abs=1)

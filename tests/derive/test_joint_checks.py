"""Each joint's check by the parts it joins: holds, fails, waits. Trade facts: common practice unless named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from graph.catalogue.model import BoltFace, MeasuredHole, Measurement
from graph.derive.around import deriver_of
from graph.derive.joints.registry import JOINT_CHECKS
from graph.fits.model import Verdict
from graph.lookups.findings import PairFinding
from graph.reading import CatalogueIndex
from graph.what_if.kinds import WHAT_IFS
from tests.demo.shop import catalogue
from tests.derive.shop import index, measured


def finding(joint: str, first: str, second: str, more: Sequence[Measurement] = ()) -> PairFinding:
    """What is found of a pair of which no note speaks."""
    return deriver_of(index(more=more)).pair(joint, first, second)


def flange(part: str, circle: float, turned: bool = False) -> BoltFace:
    """Four M8 on a circle: threads in one flange, clearance holes in the other, the second turned by 45 degrees."""
    r = circle / 2
    d = r / 2**0.5
    places = [(d, d), (-d, d), (-d, -d), (d, -d)] if turned else [(r, 0), (0, r), (-r, 0), (0, -r)]
    holes = tuple(
        MeasuredHole(
            id=f"h{n}", x=f"{x:.3f} mm", y=f"{y:.3f} mm", diameter="9 mm" if turned else "8 mm",
            use="clearance" if turned else "thread",
        )
        for n, (x, y) in enumerate(places)
    )  # fmt: skip
    return BoltFace(
        id=f"face-{part}", of=part, joint="prop-flange", datum="shaft axis", seen_from="rear" if turned else "front",
        uncertainty="0.05 mm", holes=holes, evidence="measured-on-these-parts",
    )  # fmt: skip


def flanges(one: float, other: float) -> PairFinding:
    faces = {face.id: face for face in (flange("flange-tansy", one), flange("prop-sorrel-short", other, turned=True))}
    facts = CatalogueIndex(replace(catalogue(), bolt_faces=faces))
    return deriver_of(facts).pair("prop-flange", "flange-tansy", "prop-sorrel-short")


def test_flanges_of_one_circle_meet_at_some_angle() -> None:
    found = flanges(75, 75)

    assert found.result is not None
    assert found.result.verdict is Verdict.HOLDS
    assert [edge.kind for edge in found.edges] == ["fits"]


def test_four_on_90_do_not_meet_four_on_75_and_the_miss_is_half_the_difference() -> None:
    found = flanges(90, 75)

    assert found.result is not None
    assert found.result.verdict is Verdict.FAILS
    assert [edge.kind for edge in found.edges] == ["does-not-fit"]


GEARS = [
    measured("gear-teeth", "shaft-tansy-25", "23 teeth"),
    measured("gear-module", "shaft-tansy-25", "2.5 mm", uncertainty="0.01 mm"),
    measured("gear-helix", "shaft-tansy-25", "0 deg", uncertainty="1 deg"),
    measured("gear-hand", "shaft-tansy-25", "none"),
    measured("gear-teeth", "layshaft-hollin", "38 teeth"),
    measured("gear-module", "layshaft-hollin", "2.5 mm", uncertainty="0.01 mm"),
    measured("gear-helix", "layshaft-hollin", "0 deg", uncertainty="1 deg"),
    measured("gear-hand", "layshaft-hollin", "none"),
]


@pytest.mark.parametrize(("centres", "verdict"), [("76.25 mm", Verdict.HOLDS), ("85.00 mm", Verdict.FAILS)])
def test_a_constant_mesh_pair_must_have_the_centre_distance_of_the_case(centres: str, verdict: Verdict) -> None:
    """a = m (z1 + z2) / 2 = 2.5 x 61 / 2 = 76.25 (ISO 21771 terms)."""
    distance = measured("centre-distance", "layshaft-hollin", centres, uncertainty="0.02 mm")

    found = finding("constant-mesh", "shaft-tansy-25", "layshaft-hollin", [*GEARS, distance])

    assert found.result is not None
    assert found.result.verdict is verdict


def test_gears_of_different_module_do_not_run_together() -> None:
    distance = measured("centre-distance", "layshaft-hollin", "76.25 mm", uncertainty="0.02 mm")
    coarse = measured("gear-module", "layshaft-hollin", "3 mm", uncertainty="0.01 mm")

    found = finding("constant-mesh", "shaft-tansy-25", "layshaft-hollin", [*GEARS, distance, coarse])

    assert found.result is not None
    assert "module 2.5 mm does not run with 3 mm" in found.result.summary


def test_without_the_centre_distance_a_mesh_is_unknown() -> None:
    found = finding("constant-mesh", "shaft-tansy-25", "layshaft-hollin", GEARS)

    assert found.unknown is not None
    assert [gap.quantity for gap in found.unknown.gaps] == ["centre-distance"]


def test_a_bush_with_half_a_thou_too_little_is_reamed() -> None:
    """0.001 to 0.003 in on the nose (clutch education page)."""
    tight = measured("pilot-inside", "bush-unlabelled", "16.995 mm", id="m-bush-inside", uncertainty="0.002 mm")

    found = finding("pilot-on-nose", "bush-unlabelled", "shaft-sedge", [tight])

    assert found.result is not None
    assert found.result.verdict is Verdict.HOLDS_WITH_WORK
    assert [edge.kind for edge in found.edges] == ["requires-machining"]
    assert found.edges[0].operations[0].startswith("ream to")
    assert found.edges[0].hours_hundredths == 30  # the price list's figure


def test_a_disc_larger_than_the_friction_face_does_not_fit_and_says_by_how_much() -> None:
    large = measured("disc-diameter", "disc-unlabelled", "240 mm", id="m-disc-diameter", uncertainty="0.5 mm")

    found = finding("disc-to-flywheel", "flywheel-ouzel", "disc-unlabelled", [large])

    (edge,) = found.edges
    assert (edge.kind, edge.miss_um) == ("does-not-fit", 9_000)  # 232 - 240, and half a millimetre either way


def test_a_reading_across_its_limit_is_unknown_and_to_be_taken_more_closely() -> None:
    near = measured("disc-diameter", "disc-unlabelled", "231.8 mm", id="m-disc-diameter", uncertainty="0.5 mm")

    found = finding("disc-to-flywheel", "flywheel-ouzel", "disc-unlabelled", [near])

    assert found.unknown is not None
    assert "more closely" in found.unknown.text
    assert found.edges == ()


@pytest.mark.parametrize("joint", JOINT_CHECKS)
def test_every_check_is_of_a_known_joint_and_known_quantities_of_the_parts_it_joins(joint: str) -> None:
    check, kinds = JOINT_CHECKS[joint], catalogue().joint_kinds[joint]

    for side, name in (*check.needs, *check.chain_needs):
        held = {
            kind
            for part in catalogue().position_kinds[kinds.between[side]].part_kinds
            for kind in index().kinds_of(part)
        }
        assert held & set(catalogue().quantities[name].part_kinds), (side, name)
    assert not check.faces or check.faces in catalogue().joint_kinds


def test_every_operation_that_a_check_can_ask_for_is_named_in_the_demo_price_list() -> None:
    priced = set(catalogue().operation_prices)

    assert {"turn-shoulder", "bore-housing", "fit-sleeve", "fit-shim", "make-plate", "redrill-hole"} <= priced


@pytest.mark.parametrize("joint", JOINT_CHECKS)
def test_every_check_says_its_source_and_how_it_is_tried_drawn_and_put_right(joint: str) -> None:
    check = JOINT_CHECKS[joint]

    assert check.joint == joint
    assert check.source
    assert check.faces or (check.needs and check.what_ifs)  # faces are tried over each other, on a page of their own
    assert all(name in WHAT_IFS for name in check.what_ifs)
    assert any(WHAT_IFS[name].draw for name in check.what_ifs) == (check.sketch is not None and not check.faces)
    assert set(check.usual_work) <= set(catalogue().operation_prices)
    if check.remedy:
        assert check.remedy.quantity in catalogue().quantities
        assert check.remedy.part_kind in ("", *catalogue().joint_kinds[joint].via_kinds)

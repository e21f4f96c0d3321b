"""What may meet what: one place decides it for rules, forms and the bench."""

from __future__ import annotations

import itertools

from graph.catalogue.kinds import can_mate, list_joints
from graph.catalogue.terms import JointKind
from tests.demo.shop import catalogue


def test_two_plates_may_stand_in_one_joint_so_the_form_offers_it() -> None:
    # A stack of two plates between block and housing (common practice where one is too thin to be stocked).
    assert "engine-face" in list_joints(catalogue(), "adapter-plate", "adapter-plate")


def test_a_form_offers_the_joints_that_the_rules_let_pass_and_no_others() -> None:
    known = catalogue()

    def ends(joint: JointKind) -> tuple[tuple[str, ...], ...]:
        held = [known.position_kinds[place].part_kinds for place in joint.between]
        return (*held, joint.via_kinds)

    for joint in known.joint_kinds.values():
        first, second, inside = ends(joint)
        meant = {
            *itertools.product(first, second),
            *itertools.product(first, inside),
            *itertools.product(inside, second),
        }
        for one, other in meant:
            assert joint.id in list_joints(known, one, other)
            assert joint.id in list_joints(known, other, one)
            assert can_mate(known, one, other, joint)

"""Which kind of part can hold a position, and which two can mate at a joint."""

from __future__ import annotations

from graph.catalogue.kinds import can_hold, can_mate, is_kind
from graph.catalogue.load import load_catalogue


def test_a_narrower_kind_can_stand_where_the_wider_one_does() -> None:
    kinds = load_catalogue([])

    assert is_kind(kinds, "extended-pilot-bush", "pilot-bearing")
    assert can_hold(kinds, "extended-pilot-bush", "at-pilot")
    assert not can_hold(kinds, "starter", "at-pilot")


def test_a_plate_can_stand_inside_the_engine_face_but_not_in_the_spline() -> None:
    kinds = load_catalogue([])

    assert can_mate(kinds, "adapter-plate", "bell-housing", kinds.joint_kinds["engine-face"])
    assert can_mate(kinds, "engine-block", "adapter-plate", kinds.joint_kinds["engine-face"])
    assert not can_mate(kinds, "adapter-plate", "input-shaft", kinds.joint_kinds["clutch-spline"])

"""Which kind of part is which, and what may stand where: the questions that rules, view and reading share."""

from __future__ import annotations

from graph.catalogue.model import Catalogue
from graph.catalogue.terms import JointKind


def with_broader(catalogue: Catalogue, kind: str) -> frozenset[str]:
    """The part kind with all its broader kinds; none for "". A circle of kinds is walked once."""
    found: dict[str, None] = {}
    while kind and kind not in found:
        found[kind] = None
        known = catalogue.part_kinds.get(kind)
        kind = known.broader if known else ""
    return frozenset(found)


def is_kind(catalogue: Catalogue, kind: str, wanted: str) -> bool:
    """Whether a part kind is the wanted one or stands under it (an extended pilot bush is a pilot bearing)."""
    return wanted in with_broader(catalogue, kind)


def can_hold(catalogue: Catalogue, kind: str, position_kind: str) -> bool:
    """Whether a part of that kind can stand at that position kind."""
    position = catalogue.position_kinds.get(position_kind)
    return position is not None and any(is_kind(catalogue, kind, wanted) for wanted in position.part_kinds)


def can_stand_in(catalogue: Catalogue, kind: str, joint: JointKind) -> bool:
    """Whether a part of that kind can stand inside the joint, as a plate, sleeve or ring does."""
    return any(is_kind(catalogue, kind, wanted) for wanted in joint.via_kinds)


def can_mate(catalogue: Catalogue, source_kind: str, target_kind: str, joint: JointKind) -> bool:
    """Whether parts of the two kinds can meet at the joint, in either order, intermediate parts included."""
    first, second = joint.between

    def side(kind: str, position: str) -> bool:
        return can_hold(catalogue, kind, position)

    inside = can_stand_in(catalogue, source_kind, joint), can_stand_in(catalogue, target_kind, joint)
    if inside == (True, True):
        return True
    for one, other in ((first, second), (second, first)):
        if (side(source_kind, one) or inside[0]) and (side(target_kind, other) or inside[1]):
            return True
    return False


def list_joints(catalogue: Catalogue, one_kind: str, other_kind: str) -> tuple[str, ...]:
    """The joint kinds at which parts of the two kinds can meet, in either order, by id."""
    joints = catalogue.joint_kinds
    return tuple(name for name in sorted(joints) if can_mate(catalogue, one_kind, other_kind, joints[name]))

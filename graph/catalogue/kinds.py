"""Which kind of part is which, and what may stand where: the questions that rules, view and reading share."""

from __future__ import annotations

from collections.abc import Mapping

from graph.catalogue.model import Catalogue
from graph.catalogue.terms import JointKind, PartKind


class BroaderKinds:
    """Part kinds with all that is broader, each worked out once."""

    def __init__(self, part_kinds: Mapping[str, PartKind]):
        self._part_kinds = part_kinds
        self._known: dict[str, frozenset[str]] = {}

    def of(self, kind: str) -> frozenset[str]:
        """The part kind with all its broader kinds; none for ""."""
        known = self._known.get(kind)
        if known is None:
            known = self._known[kind] = _with_broader(self._part_kinds, kind)
        return known

    def stands_inside(self, kind: str) -> bool:
        """Can parts of the kind, a plate, sleeve or the like, stand inside a joint?"""
        return any(one in self._part_kinds and self._part_kinds[one].intermediate for one in self.of(kind))


def _with_broader(part_kinds: Mapping[str, PartKind], kind: str) -> frozenset[str]:
    """A circle of kinds is walked once."""
    found: dict[str, None] = {}
    while kind and kind not in found:
        found[kind] = None
        known = part_kinds.get(kind)
        kind = known.broader if known else ""
    return frozenset(found)


def is_kind(catalogue: Catalogue, kind: str, wanted: str) -> bool:
    """Whether a part kind is the wanted one or stands under it (an extended pilot bush is a pilot bearing)."""
    return wanted in _with_broader(catalogue.part_kinds, kind)


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

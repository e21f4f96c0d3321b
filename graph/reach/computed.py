"""Which joints may close by arithmetic alone: between parts that have been measured, with no note about the pair.

A computed edge (graph.derive) needs what its check takes of both parts; the check of the alignment of a housing takes
the housing's face alone. So of a part it is asked only whether anything of it has been measured: that lets too many
through, never too few. Parts that are computed themselves (published bearings, plates, spacers) stand between parts
that are measured, or between parts that a note joins already.
"""

from __future__ import annotations

from graph.catalogue.terms import JointKind
from graph.derive.around import deriver_of
from graph.derive.joints.registry import JOINT_CHECKS
from graph.reading import CatalogueIndex


class Computed:
    """Over one index. Nothing is computed here."""

    def __init__(self, index: CatalogueIndex):
        known = index.catalogue
        any_measured = bool(known.measurements or known.bolt_faces)
        self.measured = frozenset(deriver_of(index).measured.parts) if any_measured else frozenset()

    def asks(self, joint: JointKind) -> tuple[int, ...] | None:
        """The ends (0, 1) of which a measured part is needed; None where this joint is never computed."""
        check = JOINT_CHECKS.get(joint.id)
        if check is None or not self.measured:
            return None
        if check.faces:
            return (0, 1) if check.faces == joint.id else (1,)
        return (0, 1)

    def needs_both(self, joint: JointKind, part: str) -> bool:
        """Is the part one that has not been measured, at a joint whose check takes something of both?"""
        return self.asks(joint) == (0, 1) and part not in self.measured

    def may_close(self, joint: JointKind, first: frozenset[str], second: frozenset[str]) -> bool:
        """May arithmetic close the joint between any of these parts, in the joint's order of positions?"""
        ends = self.asks(joint)
        return ends is not None and all(not self.measured.isdisjoint((first, second)[end]) for end in ends)

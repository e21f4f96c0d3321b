"""Which readings a joint's check takes and nobody has taken, to settle whether two parts close."""

from __future__ import annotations

from collections.abc import Callable

from graph.derive.around import deriver_of
from graph.derive.joints.registry import JOINT_CHECKS
from graph.lookups.index import CatalogueIndex

Reading = tuple[str, str]  # a part, and a quantity of it, or the joint kind at which its bolt face is meant


def missing_readings(index: CatalogueIndex) -> Callable[[str, str, str], tuple[Reading, ...]]:
    """A function of joint kind and two parts, in the joint's order: the readings missing, the first part's first.

    A part that the catalogue does not know lacks them all. None where the joint has no check.
    """
    measured, known = deriver_of(index).measured, index.catalogue.parts

    def missing(joint: str, first: str, second: str) -> tuple[Reading, ...]:
        check = JOINT_CHECKS.get(joint)
        if check is None:
            return ()
        parts = (first, second)
        wanted = [(parts[side], quantity) for side, quantity in (*check.needs, *check.chain_needs)]
        lacking = [(part, one) for part, one in wanted if part not in known or not measured.known(part, one)]
        if check.faces:
            lacking += [
                (part, joint) for part in parts if part not in known or not measured.has_face(part, check.faces)
            ]
        return tuple(dict.fromkeys(sorted(lacking, key=lambda reading: parts.index(reading[0]))))

    return missing

"""A conversion with some candidates taken out, and the links and rules that spoke of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from graph.conversion.document import Candidate, Conversion


def restricted(conversion: Conversion, keep: Callable[[str, Candidate], bool]) -> Conversion:
    """The conversion with only the candidates that `keep(position id, candidate)` is true of.

    A rule's `when` that has gone takes the rule along; a gone `needs_any` or `excludes` just cannot be met.
    """
    positions = tuple(
        replace(one, candidates=tuple(each for each in one.candidates if keep(one.id, each)))
        for one in conversion.positions
    )
    held = {each.id for one in positions for each in one.candidates}
    joints = tuple(
        replace(one, links=tuple(link for link in one.links if held.issuperset(link.parts)))
        for one in conversion.joints
    )
    left = held | {link.id for one in joints for link in one.links}
    rules = tuple(rule for rule in conversion.rules if rule.when in left)
    return replace(conversion, positions=positions, joints=joints, rules=rules)

"""Leave out what no route can use: candidates that cannot close all their joints, choices whose needs are unmet.

Arc consistency to a fixpoint. A joint that would take the last candidate of a position with it is put on record as
open and no longer prunes, so that the rest of the question stays readable and "no route" can be explained.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from graph.catalogue.terms import JointKind
from graph.reading.found import Neighbourhood
from graph.reading.links import Way
from graph.reading.model import CANNOT_CLOSE, NEED_UNMET, LeftOut
from graph.reading.needs import Needs
from graph.reading.sieve import Sieve


@dataclass(slots=True)
class Pruned:
    """What is left. `open`: per joint, why no pair closes it. `stuck`: last candidates whose needs are unmet."""

    ways: dict[str, list[Way]]
    open: dict[str, str] = field(default_factory=dict)
    stuck: set[tuple[str, str]] = field(default_factory=set)


def prune(sieve: Sieve, around: Neighbourhood, ways: Mapping[str, list[Way]], needs: Needs) -> Pruned:
    """Takes what cannot be used out of `around` and hands back the ways that are left."""
    left = Pruned({joint: list(found) for joint, found in ways.items()})
    while _drop_unmet(sieve, around, left, needs) | _drop_unclosed(sieve, around, left, ways):
        pass
    return left


def _drop_unclosed(sieve: Sieve, around: Neighbourhood, left: Pruned, ways: Mapping[str, list[Way]]) -> bool:
    changed = False
    for joint in around.joints:
        if joint.id in left.open:
            continue
        if any(not around.positions[position] for position in joint.between):
            empty = next(position for position in joint.between if not around.positions[position])
            left.open[joint.id] = f"no part is known for {_place(sieve, empty)}"
            continue
        if not left.ways[joint.id]:
            left.open[joint.id] = _why_open(sieve, joint, ruled_out=bool(ways[joint.id]))
            continue
        changed |= _drop_at(sieve, around, left, joint)
    return changed


def _drop_at(sieve: Sieve, around: Neighbourhood, left: Pruned, joint: JointKind) -> bool:
    one_end, other_end = (around.positions[position] for position in joint.between)
    ways = left.ways[joint.id]
    kept = [way for way in ways if way.ends[0] in one_end and way.ends[1] in other_end]
    left.ways[joint.id] = kept
    changed = len(kept) < len(ways)
    if not kept:
        return changed
    for side, (position, held) in enumerate(zip(joint.between, (one_end, other_end), strict=True)):
        closing = {way.ends[side] for way in kept}
        for part in [part for part in held if part not in closing]:
            del held[part]
            changed = True
            text = f"{sieve.label(part)}: no way to close {joint.label} with any part that is left"
            sieve.leave_out(LeftOut(part, "candidate", position, CANNOT_CLOSE, text, (), None))
    return changed


def _drop_unmet(sieve: Sieve, around: Neighbourhood, left: Pruned, needs: Needs) -> bool:
    met = needs.judge(around, left.ways)
    changed = False
    for joint, ways in left.ways.items():
        kept = [way for way in ways if not _unmet(sieve, met, (*way.via, *(e.id for e in way.edges)), way.id, joint)]
        if len(kept) < len(ways):
            left.ways[joint], changed = kept, True
    for position, held in around.positions.items():
        for part in list(held):
            sources = (part, *(edge.id for edge in held[part].edges))
            if _unmet(sieve, met, sources, part, position):
                if len(held) == 1:
                    left.stuck.add((position, part))
                else:
                    del held[part]
                    changed = True
    return changed


def _unmet(sieve: Sieve, met: Callable[[str], str], sources: tuple[str, ...], what: str, where: str) -> bool:
    for source in sources:
        why_not = met(source) if sieve.index.rules(source) else ""
        if why_not:
            sieve.leave_out(LeftOut(what, "choice", where, NEED_UNMET, why_not))
            return True
    return False


def _why_open(sieve: Sieve, joint: JointKind, ruled_out: bool) -> str:
    first, second = (_place(sieve, position) for position in joint.between)
    if ruled_out:
        return f"the parts for {first} and {second} that would mate cannot close another joint or lack what they need"
    return f"no part for {first} is known to mate with any for {second}"


def _place(sieve: Sieve, position: str) -> str:
    return sieve.index.catalogue.position_kinds[position].label

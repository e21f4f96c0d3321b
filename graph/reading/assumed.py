"""What is assumed where nothing is stated: parts in places of which nothing is known, and ways for pairs to mate.

Only so much is assumed: the pair's one end is found in an asked unit (or supposed there), and a part brought in from
outside wants but this one joint to be whole. What came out of one unit mates with itself and is not doubted. A
note about the pair, whatever it says, is never assumed away; what only the arithmetic rules out is assumed to mate
after the usual remedy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from graph.catalogue.model import DOES_NOT_FIT, Edge
from graph.catalogue.terms import Assembly, JointKind, PositionKind
from graph.derive.around import deriver_of
from graph.derive.joints.registry import JOINT_CHECKS
from graph.lookups.findings import COMPUTED
from graph.reading.found import Found, Neighbourhood
from graph.reading.links import FITS_LINK, MACHINED_LINK, Way
from graph.reading.model import ASSUMED_EMPTY, PART_NEEDED
from graph.reading.places import Gap
from graph.reading.prune import Pruned
from graph.reading.sieve import Sieve

Ways = Mapping[str, list[Way]]


def add_supposed(
    around: Neighbourhood, stated: Neighbourhood, left: Pruned, has_price: Callable[[PositionKind], bool]
) -> list[Gap]:
    """Puts what is supposed of each gap among the parts that can hold the place; hands back what is put off.

    `stated`, `left`: what is left where nothing is assumed. A part that is needed is supposed only where none of those
    stated will do. One whose kind has no price would beat every known part at a price of nothing: it is put off where
    there are known ones, until they prove to be of no use.
    """
    put_off = []
    open_at = places_open(around, left)
    for position, gap in around.gaps.items():
        if gap.how == PART_NEEDED and stated.positions[position] and position not in open_at:
            continue
        if gap.how == PART_NEEDED and around.positions[position] and not has_price(gap.position):
            put_off.append(gap)
        else:
            suppose(around, gap)
    return put_off


def suppose(around: Neighbourhood, gap: Gap) -> None:
    """Put what is supposed of the gap among the parts that can hold its place."""
    around.positions[gap.position.id][gap.name] = Found(gap.name, gap.how, unit=gap.unit, gap=gap)


def places_open(around: Neighbourhood, left: Pruned) -> set[str]:
    """The places at which something stays open."""
    places = {place for joint in around.joints if joint.id in left.open for place in joint.between}
    return places | {place for place, _ in left.stuck}


def assumed_ways(sieve: Sieve, assembly: Assembly, around: Neighbourhood, stated: Ways) -> dict[str, list[Way]]:
    """Per joint, the ways that are assumed besides those stated, in order of ids."""
    short = _short_of_one(around, stated)
    found: dict[str, list[Way]] = {}
    for joint in around.joints:
        known = {way.ends for way in stated[joint.id]}
        if assembly.has_joint(joint):
            ways = (way for pair in _pairs(around, joint, known, short) for way in _assume(sieve, joint, *pair))
            found[joint.id] = sorted(ways, key=lambda way: way.id)
    return found


def is_empty(found: Found) -> bool:
    """Is it the supposition that the place holds nothing?"""
    return found.how == ASSUMED_EMPTY


def can_be_put_right(joint: JointKind) -> bool:
    """Is there a part or a piece of work that usually makes two parts mate here?"""
    return bool(joint.remedy_kind or joint.remedy_operations or joint.remedy_cash_hundredths is not None)


def _pairs(
    around: Neighbourhood, joint: JointKind, known: set[tuple[str, str]], short: Mapping[tuple[str, str], str]
) -> Iterable[tuple[Found, Found]]:
    one_end, other_end = (around.positions[position] for position in joint.between)
    for first in one_end.values():
        for second in other_end.values():
            if (first.part, second.part) in known or first.part == second.part:
                continue
            if is_empty(first) or is_empty(second) or _may_be_assumed(joint, first, second, short):
                yield first, second


def _may_be_assumed(joint: JointKind, first: Found, second: Found, short: Mapping[tuple[str, str], str]) -> bool:
    if PART_NEEDED in (first.how, second.how):
        return True  # bought to suit the other
    if first.is_bought and second.is_bought:
        return False
    ends = zip(joint.between, (first, second), strict=True)
    return all(short.get((place, one.part)) == joint.id for place, one in ends if one.is_bought)


def _short_of_one(around: Neighbourhood, stated: Ways) -> dict[tuple[str, str], str]:
    """Per place and part brought in from outside, the one joint that nobody has stated a way to close for it.

    Parts that are short of none, or of more than one, are not there.
    """
    short: dict[tuple[str, str], list[str]] = {}
    for joint in around.joints:
        for side, place in enumerate(joint.between):
            closing = {way.ends[side] for way in stated[joint.id]}
            across = around.positions[joint.between[1 - side]].values()
            if any(is_empty(far) or far.how == PART_NEEDED for far in across):
                continue
            for part, found in around.positions[place].items():
                if found.is_bought and part not in closing:
                    short.setdefault((place, part), []).append(joint.id)
    return {key: joints[0] for key, joints in short.items() if len(joints) == 1}


def _assume(sieve: Sieve, joint: JointKind, first: Found, second: Found) -> Iterable[Way]:
    """The way between the two that is assumed, if any is to be."""
    ends = (first.part, second.part)
    name = f"{joint.id}/{'+'.join(ends)}"
    if is_empty(first) or is_empty(second):
        yield Way(f"{name} not there", joint.id, ends, FITS_LINK, (), assembled=True, assumed=True)
        return
    said = [one.edge for one in sieve.index.said_of(*ends, joint.id)] or _measured_against(sieve, joint, ends)
    if not said:
        yield Way(f"{name} not known", joint.id, ends, FITS_LINK, (), assumed=True)
    elif can_be_put_right(joint) and all(edge.kind == DOES_NOT_FIT and edge.id.startswith(COMPUTED) for edge in said):
        yield Way(f"{name} remedied", joint.id, ends, MACHINED_LINK, (), assumed=True, estimated=True)


def _measured_against(sieve: Sieve, joint: JointKind, ends: tuple[str, str]) -> list[Edge]:
    """The misfit that readings of both parts come to. Parts that merely could be got are not all compared beforehand,
    so it is asked for here, of the few that would be assumed to close."""
    known = sieve.index.catalogue.parts
    if joint.id not in JOINT_CHECKS or not all(end in known for end in ends):
        return []
    found = deriver_of(sieve.index).pair(joint.id, *ends)
    return [edge for edge in found.edges if edge.kind == DOES_NOT_FIT]

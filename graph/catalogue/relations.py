"""Where parts and edges are looked up: the one account that indexes in memory, in the file and laid over all follow."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from graph.catalogue.kinds import BroaderKinds
from graph.catalogue.model import (
    ADDS_FEATURE,
    DOES_NOT_FIT,
    EXCLUDES,
    FITS,
    NEEDS,
    ONE_ENDED,
    REQUIRES_MACHINING,
    SHIFTS,
    UNDIRECTED,
    UNIT_KINDS,
    Edge,
    Part,
)  # fmt: skip

MATING = frozenset({FITS, REQUIRES_MACHINING, DOES_NOT_FIT})
RELATION_OF = {SHIFTS: "side-effects", ADDS_FEATURE: "side-effects", NEEDS: "rules", EXCLUDES: "rules"}  # by source
PARTS_BY = ("variants", "of-kind", "units", "families")  # keyed by family, own kind, sort of unit; a family: by itself
EDGES_BY = ("ends", "mating", "mating-inside", *dict.fromkeys(RELATION_OF.values()))  # "ends": each kind, at either end


class PartKeys(NamedTuple):
    """What a part is looked up by. `abstract`: it is a family, no part that one can hold."""

    id: str
    kind: str
    family: str
    abstract: bool


def keys_of_part(part: Part) -> PartKeys:
    """What the part is looked up by."""
    return PartKeys(part.id, part.kind, part.variant_of, part.abstract)


def places_of_part(part: PartKeys, kinds: BroaderKinds) -> Iterator[tuple[str, str]]:
    """The look-ups that the part stands in: one of PARTS_BY each, and the key there."""
    yield "of-kind", part.kind
    if part.family:
        yield "variants", part.family
    if part.abstract:
        yield "families", part.id
    broader = kinds.of(part.kind)
    for unit in UNIT_KINDS:
        if unit in broader:
            yield "units", unit


def places_of_edge(
    kind: str, source: str, target: str, joint: str, stands_inside: Callable[[str], bool]
) -> Iterator[tuple[str, Any]]:
    """The look-ups that such an edge stands in: one of EDGES_BY each, and the key there.

    `stands_inside`: is the part a plate, sleeve or the like, that can stand inside a joint?
    """
    for end, sort in ends_of(kind, source, target):
        yield "ends", (end, *sort)
    if kind in RELATION_OF:
        yield RELATION_OF[kind], source
    if kind in MATING:
        for here, far in ((source, target), (target, source)):
            yield "mating", (here, joint)
            if stands_inside(far):
                yield "mating-inside", (here, joint)


def ends_of(kind: str, source: str, target: str) -> Iterator[tuple[str, tuple[str, bool]]]:
    """The ends of an edge, each with the sort (see END_SORTS) of which it is there."""
    undirected = kind in UNDIRECTED
    yield source, (kind, True)
    if kind not in ONE_ENDED and (not undirected or target != source):
        yield target, (kind, undirected)


def answers_in_one_note(mating: Edge, misfit: Edge) -> bool:
    """Does one note say that the two parts do not fit as they are, and that they do after machining? Then the one
    statement answers the other."""
    return mating.kind == REQUIRES_MACHINING and mating.note != "" and mating.note == misfit.note


STATE = "state of the part"  # beside what conditions ask: which states parts are in; no key of a condition reads so


def asked_of(thing: Part | Edge) -> Iterator[tuple[str, str, str]]:
    """What its conditions ask (key, operator, value); of a part in a stated condition also that."""
    yield from ((one.key, one.op, one.value) for one in thing.conditions)
    if isinstance(thing, Part) and (state := thing.found_condition or thing.condition) not in ("", "unknown"):
        yield STATE, "=", state

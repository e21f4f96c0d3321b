"""Where an edge is looked up: the one account that the index in memory and the compact file both follow."""

from __future__ import annotations

from collections.abc import Iterator

from graph.catalogue.model import (
    ADDS_FEATURE,
    CONTAINS,
    DOES_NOT_FIT,
    EXCLUDES,
    FITS,
    HAS_NONE,
    LAYS_OPEN,
    NEEDS,
    ONE_ENDED,
    REPLACES,
    REQUIRES_MACHINING,
    SHIFTS,
    UNDIRECTED,
    Edge,
    Part,
)  # fmt: skip

MATING = frozenset({FITS, REQUIRES_MACHINING, DOES_NOT_FIT})
BY_TARGET = frozenset({REPLACES, LAYS_OPEN})  # looked up from their far end
RELATION_OF = {
    CONTAINS: "contains", REPLACES: "replacing", SHIFTS: "side-effects", ADDS_FEATURE: "side-effects",
    NEEDS: "rules", EXCLUDES: "rules", LAYS_OPEN: "laid-open",
    HAS_NONE: "has-none",
}  # fmt: skip
RELATIONS = ("mating", "mating-inside", "replaced", "ends", *dict.fromkeys(RELATION_OF.values()))


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

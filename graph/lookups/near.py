"""Ids that look like a mistyped one, for error messages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Sized
from heapq import nsmallest
from itertools import islice

from rapidfuzz import fuzz, process

from graph.catalogue.compact.store import ThingTable
from graph.catalogue.layered import Layered
from graph.lookups.sequences import around

SHOWN = 3
ALIKE = 55.0  # out of 100; below, a hint confuses more than it helps
MOST_COMPARED = 20_000  # of more, only those that begin alike are compared


def near_matches(wanted: str, known: Iterable[str], shown: int = SHOWN) -> tuple[str, ...]:
    """At most `shown` of the known ids that look most like `wanted`, nearest first, ties by id.

    >>> near_matches("marl-6", ["marl-5", "marl-4l", "crank-k4"], shown=1)
    ('marl-5',)
    """
    folded, ids = wanted.casefold(), tuple(_some_of(known, wanted))
    scored = process.extract_iter(folded, ids, scorer=fuzz.WRatio, processor=str.casefold, score_cutoff=ALIKE)
    return tuple(name for _, name in nsmallest(shown, ((-score, name) for name, score, _ in scored)))


def _some_of(known: Iterable[str], wanted: str) -> Iterable[str]:
    """All of them, where they are not too many to look at; else some that stand beside it in order."""
    if not isinstance(known, Sized) or len(known) <= MOST_COMPARED:
        return known
    if isinstance(known, Layered):
        return dict.fromkeys([*known.above, *(one for one in _some_of(known.below, wanted) if one in known)])
    ids = known.ids if isinstance(known, ThingTable) else known
    return around(ids, wanted, MOST_COMPARED // 20) if isinstance(ids, Sequence) else islice(ids, MOST_COMPARED)

"""Ids that look like a mistyped one, for error messages."""

from __future__ import annotations

from collections.abc import Iterable
from heapq import nsmallest

from rapidfuzz import fuzz, process

SHOWN = 3
ALIKE = 55.0  # out of 100; below, a hint confuses more than it helps


def near_matches(wanted: str, known: Iterable[str], shown: int = SHOWN) -> tuple[str, ...]:
    """At most `shown` of the known ids that look most like `wanted`, nearest first, ties by id.

    >>> near_matches("marl-6", ["marl-5", "marl-4l", "crank-k4"], shown=1)
    ('marl-5',)
    """
    folded = wanted.casefold()
    scored = process.extract_iter(folded, tuple(known), scorer=fuzz.WRatio, processor=str.casefold, score_cutoff=ALIKE)
    return tuple(name for _, name in nsmallest(shown, ((-score, name) for name, score, _ in scored)))

"""Known ids that look like a mistyped one, for every message that says "did you mean". No I/O."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence, Sized
from heapq import nsmallest
from itertools import islice

from graph.catalogue.compact.store import ThingTable
from graph.catalogue.layered import Layered

SHOWN = 3
ALIKE = 55.0  # out of 100; below, a hint confuses more than it helps
MOST_COMPARED = 20_000  # of more, only those that begin alike are compared


def near_matches(wanted: str, known: Iterable[str], shown: int = SHOWN) -> tuple[str, ...]:
    """At most `shown` of the known ids that look most like `wanted`, nearest first, ties by id.

    >>> near_matches("marl-6", ["marl-5", "marl-4l", "crank-k4"], shown=1)
    ('marl-5',)
    """
    from rapidfuzz import fuzz, process  # only when something is wrong

    folded, ids = wanted.casefold(), tuple(_some_of(known, wanted))
    scored = process.extract_iter(folded, ids, scorer=fuzz.WRatio, processor=str.casefold, score_cutoff=ALIKE)
    # A whole word that is nearly it stands before a longer one that only holds it: hours before highHours for hour.
    whole = ((-score - fuzz.ratio(folded, name.casefold()), name) for name, score, _ in scored)
    return tuple(name for _, name in nsmallest(shown, whole))


def _some_of(known: Iterable[str], wanted: str) -> Iterable[str]:
    """All of them, where they are not too many to look at; else some that stand beside it in order."""
    if not isinstance(known, Sized) or len(known) <= MOST_COMPARED:
        return known
    if isinstance(known, Layered):
        return dict.fromkeys([*known.above, *(one for one in _some_of(known.below, wanted) if one in known)])
    ids = known.ids if isinstance(known, ThingTable) else known
    return around(ids, wanted, MOST_COMPARED // 20) if isinstance(ids, Sequence) else islice(ids, MOST_COMPARED)


def around(ids: Sequence[str], wanted: str, count: int) -> Iterator[str]:
    """At most `count` ids before and after the place where `wanted` would stand: those that begin like it."""
    place = bisect_left(ids, wanted)
    start = max(0, place - count)
    return islice((ids[one] for one in range(start, len(ids))), place - start + count)

"""What a mistyped word may mean: ids that look like it, for error messages; words that are one slip of the pen away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Sized
from dataclasses import dataclass
from heapq import nsmallest
from itertools import islice

from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from graph.catalogue.compact.store import ThingTable
from graph.catalogue.layered import Layered
from graph.lookups.sequences import around

SHOWN = 3
ALIKE = 55.0  # out of 100; below, a hint confuses more than it helps
MOST_COMPARED = 20_000  # of more, only those that begin alike are compared


SHORTEST_SURE, LONG = 5, 8  # letters: from here on one slip leaves a word itself; two do


@dataclass(frozen=True, slots=True)
class Slip:
    """A known word that may have been meant. `sure`: long enough, begun alike, and no further off than a slip."""

    word: str
    distance: int
    sure: bool


def slips_of(word: str, known: Iterable[str]) -> tuple[Slip, ...]:
    """The known words that are nearest to the word by letters left out, added, changed or swapped; ties by name.

    One slip, or two in a long word; words of three letters or with digits in them are never a slip of each other.

    >>> [(slip.word, slip.sure) for slip in slips_of("tanzy", ["tansy", "pipit"])]
    [('tansy', True)]
    >>> [(slip.word, slip.sure) for slip in slips_of("hedge", ["sedge"])]
    [('sedge', False)]
    """
    if len(word) < 4 or not word.isalpha():
        return ()
    most = 2 if len(word) >= LONG else 1
    near = [
        (OSA.distance(word, one), one)
        for one in known
        if len(one) >= 4 and one.isalpha() and OSA.distance(word, one, score_cutoff=most) <= most
    ]
    least = min((distance for distance, _ in near), default=0)
    sure = len(word) >= SHORTEST_SURE
    return tuple(
        Slip(one, distance, sure and one[0] == word[0]) for distance, one in sorted(set(near)) if distance == least
    )


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

"""Known words that are one slip of the pen away from a word as typed. Ids that look alike: `graph.catalogue.near`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rapidfuzz.distance import OSA

SHOWN = 3
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

"""Finding parts by words as people type them: a misspelt word finds the words that look like it.

Words are looked for in ids, labels and numbers. Where a word stands in no part, the known words nearest to it are
taken instead (edit similarity, at least two thirds alike) and the reader is told which.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from weakref import WeakKeyDictionary

from rapidfuzz import fuzz, process

from graph.answer.browse import list_parts
from graph.catalogue.model import Part
from graph.reading.index import CatalogueIndex

ALIKE = 66.0  # out of 100: two letters wrong in six still count
NEAR_WORDS = 6
LONGEST_QUERY = 200
MOST_WORDS = 8
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Found:
    """The parts found, best first. `read_as`: each misspelt word -> the known words that were taken for it."""

    parts: tuple[Part, ...]
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


_WORDS: WeakKeyDictionary[CatalogueIndex, tuple[str, ...]] = WeakKeyDictionary()


def find_parts(index: CatalogueIndex, text: str, kind: str = "") -> Found:
    """Parts whose id, label or number has all words of the text; misspelt words find those that look like them.

    `kind`: only parts of this kind or a narrower one; NotFound for a kind that the graph does not know. An empty
    text finds every part.
    """
    words = text[:LONGEST_QUERY].casefold().split()[:MOST_WORDS]
    exact = list_parts(index, kind=kind, text=" ".join(words))
    if exact or not words:
        return Found(exact)
    read_as = {word: near for word in words if (near := _near_words(index, word))}
    choices = [read_as.get(word, ()) for word in words]
    if not all(choices):
        return Found((), {word: near for word, near in read_as.items() if word not in near})
    found: dict[str, tuple[int, Part]] = {}
    for part in list_parts(index, kind=kind):
        inside = f"{part.id} {part.label} {part.number}".casefold()
        ranks = [next((rank for rank, near in enumerate(each) if near in inside), None) for each in choices]
        known = [rank for rank in ranks if rank is not None]
        if len(known) == len(ranks):
            found[part.id] = (sum(known), part)
    ordered = sorted(found.values(), key=lambda pair: (pair[0], pair[1].id))
    return Found(tuple(part for _, part in ordered), {w: near for w, near in read_as.items() if w not in near})


def _near_words(index: CatalogueIndex, word: str) -> tuple[str, ...]:
    """The word itself first where it is known, else the nearest known words."""
    scored = process.extract(word, _known_words(index), scorer=fuzz.ratio, score_cutoff=ALIKE, limit=NEAR_WORDS)
    near = [found for found, _, _ in scored]
    if any(word in part for part in near):
        near.insert(0, word)
    return tuple(dict.fromkeys(near))


def _known_words(index: CatalogueIndex) -> tuple[str, ...]:
    known = _WORDS.get(index)
    if known is None:
        words: set[str] = set()
        for part in index.catalogue.parts.values():
            words.update(_WORD.findall(f"{part.id} {part.label} {part.number}".casefold()))
        known = _WORDS[index] = tuple(sorted(words))
    return known

"""Finding parts by words as people type them: a misspelt word finds the words that look like it.

Words are looked for in ids, labels and numbers. Where a word stands in no part, the known words nearest to it are
taken instead (edit similarity, at least two thirds alike) and the reader is told which.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from rapidfuzz import fuzz, utils

from graph.answer.browse import check_kind, list_ids, parts_of
from graph.catalogue.model import Part
from graph.catalogue.texts import BETWEEN
from graph.lookups.index import CatalogueIndex
from graph.lookups.texts import PartTexts

LONGEST_QUERY = 200
MOST_WORDS = 8
MOST_SCORED = 1_000  # of more, in order of ids, the first are compared with the whole text
MOST_RANKED = 5_000  # nobody reads further; more words are the better way


@dataclass(frozen=True, slots=True)
class FoundParts:
    """The parts found, in order of ids (of misspelt words: likest first).

    `read_as`: each misspelt word -> the known words that were taken for it. `more`: there are more than are given.
    """

    parts: Sequence[Part]
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    more: bool = False


@dataclass(frozen=True, slots=True)
class PartHit:
    """A part that was found by words; `likeness` 100 is the name itself."""

    id: str
    label: str
    kind: str
    likeness: int


@dataclass(frozen=True, slots=True)
class _Ids:
    ids: Sequence[str]
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    more: bool = False


def find_parts(index: CatalogueIndex, text: str, kind: str = "") -> FoundParts:
    """Parts whose id, label or number has all words of the text; misspelt words find those that look like them.

    `kind`: only parts of this kind or a narrower one; NotFound for a kind that the graph does not know. An empty
    text finds every part.
    """
    check_kind(index, kind)
    found = _find_ids(index, text, kind)
    return FoundParts(parts_of(index, found.ids), found.read_as, found.more)


def rank_parts(index: CatalogueIndex, text: str, kind: str = "", limit: int = 20) -> list[PartHit]:
    """The parts that `find_parts` finds, those whose name is likest to the whole text first (rapidfuzz's WRatio)."""
    check_kind(index, kind)
    texts, wanted = index.listing.texts, utils.default_process(text)
    if not text.split():
        return []
    ids = _find_ids(index, text, kind).ids[:MOST_SCORED]
    ranked = sorted((-_likeness(texts.line(one), wanted), one) for one in ids)[:limit]
    best = parts_of(index, [one for _, one in ranked])
    return [
        PartHit(part.id, part.label, part.kind, round(-score)) for (score, _), part in zip(ranked, best, strict=True)
    ]


def _likeness(line: str, wanted: str) -> float:
    return max(fuzz.WRatio(utils.default_process(name), wanted) for name in line.split(BETWEEN))


def _find_ids(index: CatalogueIndex, text: str, kind: str) -> _Ids:
    texts, words = index.listing.texts, text[:LONGEST_QUERY].casefold().split()[:MOST_WORDS]
    exact = list_ids(index, [(word,) for word in words], kind)
    if exact or not words:
        return _Ids(exact)
    read_as = {word: near for word in words if (near := texts.near_words(word))}
    told = {word: near for word, near in read_as.items() if word not in near}
    if len(read_as) < len(set(words)):
        return _Ids((), told)
    choices = [read_as[word] for word in words]
    alike = list_ids(index, choices, kind)
    ranked = sorted(islice(alike, MOST_RANKED), key=lambda one: (_rank(texts, one, choices), one))
    return _Ids(ranked, told, len(alike) > MOST_RANKED)


def _rank(texts: PartTexts, part: str, choices: Sequence[Sequence[str]]) -> int:
    inside = texts.line(part)
    return sum(next(rank for rank, near in enumerate(each) if near in inside) for each in choices)

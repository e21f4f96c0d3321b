"""Finding parts by words as people type them: a misspelt word finds the words that look like it.

Words are looked for in ids, labels and numbers. Where a word stands in no part, the known words nearest to it are
taken instead (edit similarity, at least two thirds alike) and the reader is told which. All texts lie in one long
string, so that a search is a scan by the machine and not a loop over parts; a million parts take some tens of
milliseconds. The look-up is made at the first search of an index and kept as long as it lives.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import accumulate, islice
from weakref import WeakKeyDictionary, proxy

from rapidfuzz import fuzz, process

from graph.catalogue.model import Part
from graph.errors import NotFound
from graph.reading.index import CatalogueIndex
from graph.reading.near import near_matches

ALIKE = 66.0  # out of 100: two letters wrong in six still count
NEAR_WORDS = 6
LONGEST_QUERY = 200
MOST_WORDS = 8
MOST_FOUND = 5_000  # nobody reads further; more words are the better way
MOST_NUMBERS = 50_000  # with more words than this, only those without digits are compared for likeness
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Found:
    """The parts found, in order of ids (of misspelt words: likest first).

    `read_as`: each misspelt word -> the known words that were taken for it. `more`: there are more than are given.
    """

    parts: Sequence[Part]
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    more: bool = False


def find_parts(index: CatalogueIndex, text: str, kind: str = "") -> Found:
    """Parts whose id, label or number has all words of the text; misspelt words find those that look like them.

    `kind`: only parts of this kind or a narrower one; NotFound for a kind that the graph does not know. An empty
    text finds every part.
    """
    kinds = index.catalogue.part_kinds
    if kind and kind not in kinds:
        raise NotFound("part kind", kind, near_matches(kind, kinds))
    texts, words = _texts(index), text[:LONGEST_QUERY].casefold().split()[:MOST_WORDS]
    if not words:
        return Found(texts.of_kind(kind))
    exact = list(islice(texts.having([(word,) for word in words], kind), MOST_FOUND + 1))
    if exact:
        return Found(exact[:MOST_FOUND], more=len(exact) > MOST_FOUND)
    read_as = {word: near for word in words if (near := texts.near_words(word))}
    told = {word: near for word, near in read_as.items() if word not in near}
    if len(read_as) < len(set(words)):
        return Found((), told)
    choices = [read_as[word] for word in words]
    alike = list(islice(texts.having(choices, kind), MOST_FOUND + 1))
    ranked = sorted(alike[:MOST_FOUND], key=lambda part: (_rank(part, choices), part.id))
    return Found(ranked, told, len(alike) > MOST_FOUND)


def _rank(part: Part, choices: Sequence[tuple[str, ...]]) -> int:
    inside = _text_of(part)
    return sum(next(rank for rank, near in enumerate(each) if near in inside) for each in choices)


def _text_of(part: Part) -> str:
    return f"{part.id} {part.label} {part.number}".casefold().replace("\n", " ")


class _Texts:
    """The parts in order of ids, and their texts in one string, a line each."""

    def __init__(self, index: CatalogueIndex):
        self.index: CatalogueIndex = proxy(index)  # the index is the key: kept alive by its own value it would never go
        self.parts = tuple(part for _, part in sorted(index.catalogue.parts.items()))
        lines = [_text_of(part) for part in self.parts]
        self.all = "\n".join(lines)
        self.starts = [0, *accumulate(len(line) + 1 for line in lines)]

    def of_kind(self, kind: str) -> Sequence[Part]:
        """The parts of a kind and its narrower ones; all of them for none."""
        return self._by_kind[kind] if kind else self.parts

    @cached_property
    def _by_kind(self) -> Mapping[str, list[Part]]:
        found: dict[str, list[Part]] = defaultdict(list)
        for part in self.parts:
            for kind in self.index.kinds_of(part.kind):
                found[kind].append(part)
        return found

    def having(self, choices: Sequence[tuple[str, ...]], kind: str) -> Iterator[Part]:
        """Parts with one word of each choice, in order of ids. The choice with the longest words is scanned for."""
        scanned = max(choices, key=lambda words: min(map(len, words)))
        for number in self._lines_with(scanned):
            part = self.parts[number]
            if kind and kind not in self.index.kinds_of(part.kind):
                continue
            inside = self.all[self.starts[number] : self.starts[number + 1]]
            if all(any(word in inside for word in words) for words in choices):
                yield part

    def _lines_with(self, words: tuple[str, ...]) -> Iterator[int]:
        """The lines that have any of the words."""
        places = {word: self.all.find(word) for word in words}
        while places := {word: place for word, place in places.items() if place >= 0}:
            number = bisect_right(self.starts, min(places.values())) - 1
            yield number
            after = self.starts[number + 1]
            places = {word: p if p >= after else self.all.find(word, after) for word, p in places.items()}

    def near_words(self, word: str) -> tuple[str, ...]:
        """The word itself first where it stands in some part, else the nearest known words."""
        scored = process.extract(word, self._words, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=NEAR_WORDS)
        near = [found for found, _, _ in scored]
        return tuple(dict.fromkeys([word, *near] if word in self.all else near))

    @cached_property
    def _words(self) -> tuple[str, ...]:
        words = set(_WORD.findall(self.all))
        if len(words) > MOST_NUMBERS:
            words = {word for word in words if word.isalpha()}
        return tuple(sorted(words))


_TEXTS: WeakKeyDictionary[CatalogueIndex, _Texts] = WeakKeyDictionary()


def _texts(index: CatalogueIndex) -> _Texts:
    known = _TEXTS.get(index)
    if known is None:
        known = _TEXTS[index] = _Texts(index)
    return known

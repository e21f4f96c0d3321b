"""Parts by words: over an index's own texts, and with changed parts laid over those below."""

from __future__ import annotations

from abc import ABC, abstractmethod
from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

import numpy as np

from graph.catalogue.layered import Pieced
from graph.catalogue.model import Part
from graph.catalogue.texts import NEAR_WORDS, Choices, Mask, Texts, has_all, near_words, pack_texts, text_of, words_in
from graph.lookups.sequences import Each, patched

KindMask = Callable[[Collection[str]], Mask]


class PartTexts(ABC):
    """Finds the ids of parts by words. Words are casefolded; a part has a word that stands anywhere in its text."""

    compares_numbers: bool  # are words with digits compared for likeness? Not where there are very many

    @abstractmethod
    def find_ids(self, choices: Choices, kinds: Collection[str] = ()) -> Sequence[str]:
        """Parts with one word of each choice, of one of the kinds (of any, if none is named), in order of ids."""

    @abstractmethod
    def line(self, part: str) -> str:
        """The part's text; empty for no part."""

    @abstractmethod
    def has(self, word: str) -> bool:
        """Does the word stand in any part?"""

    @abstractmethod
    def scored_words(self, word: str) -> Sequence[tuple[str, float]]:
        """The known words most like it, likest first, with how much (100: the same)."""

    def near_words(self, word: str) -> tuple[str, ...]:
        """The word itself first where it stands in some part, then the nearest known words."""
        near = [found for found, _ in self.scored_words(word)]
        return tuple(dict.fromkeys([word, *near] if self.has(word) else near))


class PackedTexts(PartTexts):
    """Over packed texts. `ids`: of the parts, in order; `of_kinds`: which are of any of the kinds."""

    def __init__(self, texts: Texts, ids: Sequence[str], of_kinds: KindMask):
        self._texts, self._ids, self._of_kinds = texts, ids, of_kinds
        self.compares_numbers = texts.compares_numbers

    def find_ids(self, choices: Choices, kinds: Collection[str] = ()) -> Sequence[str]:
        numbers = self._texts.having(choices, self._of_kinds(kinds) if kinds else None)
        return Each(memoryview(np.ascontiguousarray(numbers, np.int64)), self._ids.__getitem__)  # type: ignore[arg-type]

    def line(self, part: str) -> str:
        number = bisect_left(self._ids, part)
        return self._texts.line(number) if number < len(self._ids) and self._ids[number] == part else ""

    def has(self, word: str) -> bool:
        return self._texts.has(word)

    def scored_words(self, word: str) -> Sequence[tuple[str, float]]:
        return near_words(word, self._texts.compared)


def plain_texts(parts: Mapping[str, Part]) -> PackedTexts:
    """The texts of parts in memory."""
    ids = sorted(parts)
    packed = pack_texts([text_of(parts[one]) for one in ids])
    kinds = np.array([parts[one].kind for one in ids])

    def of_kinds(wanted: Collection[str]) -> Mask:
        found: Mask = np.isin(kinds, list(wanted))
        return found

    return PackedTexts(Texts(packed.__getitem__), ids, of_kinds)


class LayeredTexts(PartTexts):
    """Those below without the parts that are other now, and these as they are. `changed` makes another one."""

    def __init__(self, below: PartTexts):
        self._below = below
        self.compares_numbers = below.compares_numbers
        self._own: Pieced[str, tuple[str, str]] = Pieced()  # kind and text of the changed parts; none for no part

    def changed(self, names: Iterable[str], parts: Iterable[Part]) -> LayeredTexts:
        """With the parts instead of what was known by the names."""
        made = LayeredTexts(self._below)
        texts = {part.id: (part.kind, text_of(part)) for part in parts}
        made._own = self._own.changed(dict.fromkeys(names, _NO_PART) | texts)
        return made

    def find_ids(self, choices: Choices, kinds: Collection[str] = ()) -> Sequence[str]:
        added = [
            part
            for part, (kind, line) in self._own.items()
            if kind and has_all(line, choices) and (not kinds or kind in kinds)
        ]
        return patched(self._below.find_ids(choices, kinds), self._own, added, str)

    def line(self, part: str) -> str:
        own = self._own.get(part)
        return own[1] if own is not None else self._below.line(part)

    def has(self, word: str) -> bool:
        return any(word in line for _, line in self._own.values()) or len(self.find_ids([[word]])) > 0

    def scored_words(self, word: str) -> Sequence[tuple[str, float]]:
        known = sorted(set(words_in(line for _, line in self._own.values())))
        own = near_words(word, [one for one in known if self.compares_numbers or one.isalpha()])
        best = dict([*own, *self._below.scored_words(word)])
        return sorted(best.items(), key=lambda found: (-found[1], found[0]))[:NEAR_WORDS]


_NO_PART = ("", "")

"""The texts of parts as one looks for them: what words stand where, as columns that are read where they lie.

A part's text is its id, label and number, casefolded, on one line. Its words are its runs of letters and digits; the
distinct words are few beside the texts, so a search scans the words and then unites the parts that have them.
"""

from __future__ import annotations

import re
from array import array
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
from rapidfuzz import fuzz, process

from graph.catalogue.model import Part

BETWEEN = "\x1f"  # between id and the rest: str.split takes it for a space, so no word looked for holds it
ALIKE = 66.0  # out of 100: two letters wrong in six still count
NEAR_WORDS = 6
MOST_NUMBERS = 50_000  # with more words than this, only those without digits are compared for likeness
MOST_COMPARED = 100_000  # and of those only the most frequent
MOST_READ = 5_000  # lines one by one; more are scanned all at once
SAMPLE = 1_000_000  # bytes enough to know which letters are rare
_WORD = re.compile(r"[^\W_]+")
Numbers = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]
Choices = Sequence[Sequence[str]]  # of each, one of the words


def text_of(part: Part) -> str:
    """The line that a search looks through.

    >>> text_of(Part(id="disc-240", label="Clutch disc", kind="clutch-disc")).split()
    ['disc-240', 'clutch', 'disc']
    """
    return f"{part.id}{BETWEEN}{part.label} {part.number}".casefold().replace("\n", " ")


def has_all(line: str, choices: Choices) -> bool:
    """Does the line have one word of each choice?"""
    return all(any(word in line for word in words) for words in choices)


def near_words(word: str, known: Sequence[str]) -> list[tuple[str, float]]:
    """The known words that look like the word, with how much, likest first."""
    scored = process.extract(word, known, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=NEAR_WORDS)
    return [(found, score) for found, score, _ in scored]


def words_in(lines: Iterable[str]) -> Iterator[str]:
    """The words of the lines, as often as they stand there."""
    for line in lines:
        yield from _WORD.findall(line)


def pack_texts(lines: Sequence[str]) -> dict[str, bytes]:
    """The sections for `Texts`: the lines in order of the parts' ids."""
    codes: dict[str, int] = {}
    words, places, often = array("q"), array("q"), Counter[str]()
    for number, line in enumerate(lines):
        for word in dict.fromkeys(_WORD.findall(line)):
            words.append(codes.setdefault(word, len(codes)))
            places.append(number)
            often[word] += 1
    order = sorted(codes)
    rank = np.empty(len(codes), np.int64)
    rank[[codes[word] for word in order]] = np.arange(len(order))
    by_word = rank[np.frombuffer(words, np.int64)] if len(words) else np.empty(0, np.int64)
    by = np.argsort(by_word, kind="stable")
    compared = list(order)
    if len(compared) > MOST_NUMBERS:
        compared = sorted(word for word in order if word.isalpha())
    if len(compared) > MOST_COMPARED:
        compared = sorted(sorted(compared, key=lambda word: (-often[word], word))[:MOST_COMPARED])
    return {
        **_lines("texts.lines", lines),
        **_lines("texts.words", order),
        "texts.parts": np.frombuffer(places, np.int64)[by].astype(np.int32).tobytes() if len(places) else b"",
        "texts.part-starts": np.searchsorted(by_word[by], np.arange(len(order) + 1)).astype(np.int64).tobytes(),
        "texts.compared": "\n".join(compared).encode(),
    }


def _lines(name: str, lines: Sequence[str]) -> dict[str, bytes]:
    encoded = [line.encode() for line in lines]
    lengths = np.fromiter((len(line) + 1 for line in encoded), np.int64, len(encoded))
    starts = np.concatenate([np.zeros(1, np.int64), np.cumsum(lengths)])
    return {name: b"".join(line + b"\n" for line in encoded), f"{name}-starts": starts.tobytes()}


class Texts:
    """The packed texts. `section` gives the bytes of each section."""

    def __init__(self, section: Callable[[str], Any]):
        self._section = section
        self._lines = section("texts.lines")
        self._starts = memoryview(section("texts.lines-starts")).cast("q")
        self._word_starts = memoryview(section("texts.words-starts")).cast("q")
        self._parts = np.frombuffer(section("texts.parts"), np.int32)
        self._part_starts = memoryview(section("texts.part-starts")).cast("q")

    def __len__(self) -> int:
        return len(self._starts) - 1

    @property
    def compares_numbers(self) -> bool:
        """Are words with digits among those compared for likeness?"""
        return len(self._word_starts) - 1 <= MOST_NUMBERS

    def line(self, number: int) -> str:
        """The text of the part with this number."""
        return str(self._lines[self._starts[number] : self._starts[number + 1] - 1], "utf-8")

    def having(self, choices: Choices, among: Mask | None = None) -> Numbers:
        """The numbers of the parts with one word of each choice, ascending. `among`: only these."""
        left = np.ones(len(self), np.bool_) if among is None else among
        for words in sorted(choices, key=lambda words: -min(map(len, words))):
            numbers = np.flatnonzero(left)
            if len(numbers) <= MOST_READ:
                left = np.zeros(len(self), np.bool_)
                left[[number for number in map(int, numbers) if has_all(self.line(number), [words])]] = True
            else:
                left = left & self._with_any(words)
        return np.flatnonzero(left)

    def _standing_in(self, word: str) -> Mask:
        """Those whose line has the word, by a scan of all lines."""
        text, wanted = np.frombuffer(self._lines, np.uint8), np.frombuffer(word.encode(), np.uint8)
        last = max(0, len(text) - len(wanted) + 1)
        often = np.bincount(text[:SAMPLE], minlength=256)
        order = sorted(range(len(wanted)), key=lambda place: int(often[wanted[place]]))
        hits = np.flatnonzero(text[order[0] : order[0] + last] == wanted[order[0]])
        for place in order[1:]:
            hits = hits[text[hits + place] == wanted[place]]
        having = np.zeros(len(self), np.bool_)
        having[np.searchsorted(np.frombuffer(self._starts, np.int64), hits, side="right") - 1] = True
        return having

    def has(self, word: str) -> bool:
        """Does the word stand in any part?"""
        return len(self.having([[word]])) > 0

    @cached_property
    def compared(self) -> tuple[str, ...]:
        """The words that a misspelt one is compared with."""
        return tuple(str(bytes(self._section("texts.compared")), "utf-8").split("\n"))

    def _with_any(self, words: Sequence[str]) -> Mask:
        found = np.zeros(len(self), np.bool_)
        for word in words:
            fragments = _WORD.findall(word)
            if fragments == [word]:
                self._put(word, found)
                continue
            having = np.ones(len(self), np.bool_)
            for fragment in fragments:
                inside = np.zeros(len(self), np.bool_)
                self._put(fragment, inside)
                having &= inside
            found |= self._verified(having, word)
        return found

    def _put(self, fragment: str, found: Mask) -> None:
        """Marks those that have this run of letters and digits inside one of their words."""
        for code in self._words_with(fragment.encode()):
            found[self._parts[self._part_starts[code] : self._part_starts[code + 1]]] = True

    def _verified(self, having: Mask, word: str) -> Mask:
        """Those whose line has the word as it stands, with what is between its letters and digits."""
        numbers = np.flatnonzero(having)
        if len(numbers) > MOST_READ:
            found: Mask = having & self._standing_in(word)
            return found
        kept = np.zeros(len(self), np.bool_)
        kept[[number for number in map(int, numbers) if word in self.line(number)]] = True
        return kept

    @cached_property
    def _words(self) -> bytes:
        return bytes(self._section("texts.words"))

    def _words_with(self, fragment: bytes) -> Iterator[int]:
        place = self._words.find(fragment)
        while place >= 0:
            code = bisect_right(self._word_starts, place) - 1
            yield code
            place = self._words.find(fragment, self._word_starts[code + 1])

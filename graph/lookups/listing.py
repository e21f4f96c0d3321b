"""All parts of a catalogue as one looks through them: in order of ids, by kind, by words; and what conditions ask.

A listing lies over the parts of an index that lies over none, and knows which of them are other now. Nothing here walks
over all parts for an answer, except over a catalogue in memory, once.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from graph.catalogue.layered import Pieced
from graph.catalogue.model import Catalogue, Edge, Part
from graph.catalogue.relations import asked_of
from graph.catalogue.texts import NEAR_WORDS, Choices, Mask, Texts, has_all, near_words, text_of, words_in
from graph.lookups.sequences import Each, patched

AskedKey = tuple[str, str, str]  # key, operator, value of a condition
Asked = Mapping[AskedKey, int]  # on how many parts and edges
Numbers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class ListedParts:
    """The parts of an index that lies over none, by number: the place in `ids`, which are in order.

    `numbers_of`: of the parts whose own kind it is, ascending. `pack`, `count`: the texts and what conditions ask,
    worked out when somebody first asks for them.
    """

    ids: Sequence[str]
    numbers_of: Callable[[str], Sequence[int]]
    pack: Callable[[], Texts]
    count: Callable[[], Asked]

    @cached_property
    def texts(self) -> Texts:
        """Their texts."""
        return self.pack()

    @cached_property
    def asked(self) -> Asked:
        """What the conditions of parts and edges ask, and how often."""
        return self.count()

    def of_kinds(self, kinds: Collection[str]) -> Sequence[str]:
        """The ids of the parts whose own kind is one of these, in order."""
        numbers = [self._numbers(kind) for kind in kinds]
        return self._with(numbers[0] if len(numbers) == 1 else np.sort(np.concatenate([_NONE, *numbers])))

    def find_ids(self, choices: Choices, kinds: Collection[str]) -> Sequence[str]:
        """The ids of the parts with one word of each choice; of one of the kinds, if any is named."""
        return self._with(self.texts.having(choices, self._mask(kinds) if kinds else None))

    def line(self, part: str) -> str:
        """The part's text; empty for no part."""
        number = bisect_left(self.ids, part)
        return self.texts.line(number) if number < len(self.ids) and self.ids[number] == part else ""

    def _mask(self, kinds: Collection[str]) -> Mask:
        found = np.zeros(len(self.ids), np.bool_)
        for kind in kinds:
            found[self._numbers(kind)] = True
        return found

    def _numbers(self, kind: str) -> Numbers:
        found = self.numbers_of(kind)
        return np.frombuffer(found, np.int64) if len(found) else _NONE  # type: ignore[call-overload,no-any-return]

    def _with(self, numbers: Numbers) -> Sequence[str]:
        return Each(memoryview(np.ascontiguousarray(numbers)), self.ids.__getitem__)  # type: ignore[arg-type]


class _Now(NamedTuple):
    """A part that is other now: its kind ("": there is none), its kind below ("": none there) and its text."""

    kind: str
    below: str
    line: str


class Listing:
    """The parts of one catalogue. `below`: those that it lies over; `changed` makes one in which some are other.

    Words are casefolded; a part has a word that stands anywhere in its text.
    """

    def __init__(self, below: ListedParts):
        self._below = below
        self._own: Pieced[str, _Now] = Pieced()
        self._more: Pieced[AskedKey, int] = Pieced()  # how much oftener than below each condition is asked

    def changed(self, old: Catalogue, new: Catalogue, names: Iterable[str]) -> Listing:
        """Of `new`; this is of `old`, and `names` are those of all parts and edges that are other. Holds neither."""
        own: dict[str, _Now] = {}
        more: Counter[AskedKey] = Counter()
        gone, come = list[str](), list[str]()
        for name in names:
            before, after = old.parts.get(name), new.parts.get(name)
            if before is not None or after is not None:
                own[name] = self._now(name, before, after)
            if (before is None) is not (after is None):
                (come if before is None else gone).append(name)
            more.subtract(_asked_by(before, old.edges.get(name)))
            more.update(_asked_by(after, new.edges.get(name)))
        made = Listing(self._below)
        made._own = self._own.changed(own) if own else self._own
        if any(more.values()):
            made._more = self._more.changed({key: self._more.get(key, 0) + count for key, count in more.items()})
        else:
            made._more = self._more
        if "ids" in vars(self):
            vars(made)["ids"] = patched(self.ids, gone, sorted(come), str) if gone or come else self.ids
        return made

    def _now(self, name: str, before: Part | None, after: Part | None) -> _Now:
        known = self._own.get(name)
        below = known.below if known is not None else before.kind if before is not None else ""
        return _Now("", below, "") if after is None else _Now(after.kind, below, text_of(after))

    @cached_property
    def ids(self) -> Sequence[str]:
        """The ids of all parts, in order."""
        return self._laid_over(self._below.ids, bool)

    def of_kinds(self, kinds: Collection[str]) -> Sequence[str]:
        """The ids of the parts whose own kind is one of these, in order."""
        return self._laid_over(self._below.of_kinds(kinds), frozenset(kinds).__contains__)

    def _laid_over(self, below: Sequence[str], listed: Callable[[str], bool]) -> Sequence[str]:
        """`listed`: does a part of the kind stand in the list? One that stands there as it did is let alone."""
        gone, come = list[str](), list[str]()
        for name, now in self._own.items():
            is_there = listed(now.kind)
            if is_there is not listed(now.below):
                (come if is_there else gone).append(name)
        return patched(below, gone, sorted(come), str) if gone or come else below

    def find_ids(self, choices: Choices, kinds: Collection[str] = ()) -> Sequence[str]:
        """Parts with one word of each choice, of one of the kinds (of any, if none is named), in order of ids."""
        found, own = self._below.find_ids(choices, kinds), self._own
        if not own:
            return found
        come = [
            name for name, now in own.items()
            if now.kind and has_all(now.line, choices) and (not kinds or now.kind in kinds)
        ]  # fmt: skip
        return patched(found, (name for name, now in own.items() if now.below), sorted(come), str)

    def line(self, part: str) -> str:
        """The part's text; empty for no part."""
        own = self._own.get(part)
        return own.line if own is not None else self._below.line(part)

    def has_word(self, word: str) -> bool:
        """Does the word stand in any part?"""
        return any(word in now.line for now in self._own.values()) or len(self.find_ids([[word]])) > 0

    def scored_words(self, word: str) -> Sequence[tuple[str, float]]:
        """The known words most like it, likest first, with how much (100: the same)."""
        texts = self._below.texts
        below = near_words(word, texts.compared)
        if not self._own:
            return below
        known = sorted(set(words_in(now.line for now in self._own.values())))
        own = near_words(word, [one for one in known if texts.compares_numbers or one.isalpha()])
        return sorted(dict([*own, *below]).items(), key=lambda found: (-found[1], found[0]))[:NEAR_WORDS]

    def near_words(self, word: str) -> tuple[str, ...]:
        """The word itself first where it stands in some part, then the nearest known words."""
        near = [found for found, _ in self.scored_words(word)]
        return tuple(dict.fromkeys([word, *near] if self.has_word(word) else near))

    @cached_property
    def asked(self) -> Asked:
        """What the conditions of parts and edges ask, and how often."""
        found = dict(self._below.asked)
        for key, count in self._more.items():
            found[key] = found.get(key, 0) + count
        return {key: count for key, count in found.items() if count} if self._more else self._below.asked


def _asked_by(*things: Part | Edge | None) -> Iterator[AskedKey]:
    return (one for thing in things if thing is not None for one in asked_of(thing))


_NONE = np.empty(0, np.int64)

"""All parts of a catalogue as one looks through them: in order of ids, by kind, by words; and what conditions ask.

Nothing here walks over all parts for an answer, except over a catalogue in memory, once.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property

from graph.catalogue.model import Catalogue, Condition, Edge, Part
from graph.reading.sequences import patched
from graph.reading.texts import LayeredTexts, PartTexts, plain_texts

Asked = Mapping[tuple[str, str, str], int]  # key, operator, value of a condition -> on how many parts and edges


class Listing(ABC):
    """The parts of one catalogue."""

    @cached_property
    @abstractmethod
    def ids(self) -> Sequence[str]:
        """The ids of all parts, in order."""

    @abstractmethod
    def of_kinds(self, kinds: Collection[str]) -> Sequence[str]:
        """The ids of the parts whose own kind is one of these, in order."""

    @cached_property
    @abstractmethod
    def texts(self) -> PartTexts:
        """Their texts."""

    @cached_property
    @abstractmethod
    def asked(self) -> Asked:
        """What the conditions of parts and edges ask, and how often."""


def asked_by(things: Iterable[Part | Edge]) -> Counter[tuple[str, str, str]]:
    """What their conditions ask, and how often."""
    return Counter((one.key, one.op, one.value) for thing in things for one in _conditions(thing))


def _conditions(thing: Part | Edge) -> Sequence[Condition]:
    return thing.conditions


class PlainListing(Listing):
    """Of a catalogue in memory. `of_kind`: the ids of the parts by their own kind, in order."""

    def __init__(self, catalogue: Catalogue, of_kind: Mapping[str, Sequence[str]]):
        self._parts, self._edges, self._of_kind = catalogue.parts, catalogue.edges, of_kind

    @cached_property
    def ids(self) -> Sequence[str]:
        return sorted(self._parts)

    def of_kinds(self, kinds: Collection[str]) -> Sequence[str]:
        return sorted(part for kind in kinds for part in self._of_kind.get(kind, ()))

    @cached_property
    def texts(self) -> PartTexts:
        return plain_texts(self._parts)

    @cached_property
    def asked(self) -> Asked:
        return asked_by((*self._parts.values(), *self._edges.values()))


class LayeredListing(Listing):
    """Of a catalogue that differs in a few things from one that is listed already."""

    def __init__(self, below: Listing, old: Catalogue, new: Catalogue, names: Collection[str]):
        """`names`: of all parts and edges that the two do not have alike."""
        self._below, self._names = below, frozenset(names)
        self._own = [new.parts[name] for name in sorted(self._names) if name in new.parts]
        self._edges = [new.edges[name] for name in self._names if name in new.edges]
        self._old = [table[name] for table in (old.parts, old.edges) for name in self._names if name in table]

    @cached_property
    def ids(self) -> Sequence[str]:
        return patched(self._below.ids, self._names, (part.id for part in self._own), str)

    def of_kinds(self, kinds: Collection[str]) -> Sequence[str]:
        own = (part.id for part in self._own if part.kind in kinds)
        return patched(self._below.of_kinds(kinds), self._names, own, str)

    @cached_property
    def texts(self) -> PartTexts:
        return LayeredTexts(self._below.texts, self._names, self._own)

    @cached_property
    def asked(self) -> Asked:
        now = asked_by((*self._own, *self._edges))
        if not now and not any(map(_conditions, self._old)):
            return self._below.asked
        found = Counter(self._below.asked)
        found.subtract(asked_by(self._old))  # type: ignore[arg-type]
        found.update(now)
        return +found

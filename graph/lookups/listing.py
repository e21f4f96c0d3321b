"""All parts of a catalogue as one looks through them: in order of ids, by kind, by words; and what conditions ask.

Nothing here walks over all parts for an answer, except over a catalogue in memory, once.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from graph.catalogue.layered import Pieced
from graph.catalogue.model import Catalogue, Edge, Part
from graph.catalogue.relations import asked_of
from graph.lookups.sequences import patched
from graph.lookups.texts import LayeredTexts, PartTexts, plain_texts

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
    return Counter(one for thing in things for one in asked_of(thing))


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
    """Of a catalogue that differs in a few things from one that is listed already.

    What the last listing has worked out is carried on; nothing of the last catalogue is held.
    """

    _below: Listing
    _own: Pieced[str, Part | None]  # what the changed parts are now; None for one that is no more
    _asking: Pieced[str, _Asking]

    def __init__(self, last: Listing, old: Catalogue, new: Catalogue, names: Iterable[str]):
        """`names`: of all parts and edges that the two do not have alike."""
        changed = list(names)
        parts = {name: new.parts.get(name) for name in changed if name in old.parts or name in new.parts}
        asking = {name: (_asked_of(old, name), _asked_of(new, name)) for name in changed}
        if isinstance(last, LayeredListing):
            self._below, own, known = last._below, last._own, last._asking
        else:
            self._below, own, known = last, Pieced[str, Part | None](), Pieced[str, _Asking]()
        self._own = own.changed(parts)
        self._asking = known.changed(
            {name: (known[name][0] if name in known else before, now)
             for name, (before, now) in asking.items() if before or now or name in known}
        )  # fmt: skip
        if isinstance(last, LayeredListing):
            self._carry_on(last, parts)

    def _carry_on(self, last: LayeredListing, parts: Mapping[str, Part | None]) -> None:
        known = vars(last)
        there = [part for part in parts.values() if part is not None]
        if "ids" in known:
            vars(self)["ids"] = patched(known["ids"], parts, (part.id for part in there), str)
        if "texts" in known:
            vars(self)["texts"] = known["texts"].changed(parts, there)

    @cached_property
    def ids(self) -> Sequence[str]:
        return patched(self._below.ids, self._own, (part.id for part in self._parts()), str)

    def of_kinds(self, kinds: Collection[str]) -> Sequence[str]:
        own = (part.id for part in self._parts() if part.kind in kinds)
        return patched(self._below.of_kinds(kinds), self._own, own, str)

    @cached_property
    def texts(self) -> PartTexts:
        return LayeredTexts(self._below.texts).changed(self._own, self._parts())

    @cached_property
    def asked(self) -> Asked:
        found: Counter[tuple[str, str, str]] | None = None
        for before, now in self._asking.values():
            if before != now:
                found = Counter(self._below.asked) if found is None else found
                found.subtract(before)
                found.update(now)
        return self._below.asked if found is None else +found

    def _parts(self) -> Iterator[Part]:
        return (part for part in self._own.values() if part is not None)


_Asking = tuple[Sequence[tuple[str, str, str]], Sequence[tuple[str, str, str]]]  # what is asked below, and what now


def _asked_of(catalogue: Catalogue, name: str) -> Sequence[tuple[str, str, str]]:
    things = (table.get(name) for table in (catalogue.parts, catalogue.edges))
    return tuple(one for thing in things if thing is not None for one in asked_of(thing))

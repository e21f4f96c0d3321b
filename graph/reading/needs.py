"""*Needs* and *excludes*: what a choice brings with it, what it rules out, and the loose parts that stand nowhere.

A needed part that holds no position and stands in no joint (longer bolts, a harness) gets a place of its own,
filled or left empty, so that several choices that need it pay for it once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from graph.catalogue.model import EXCLUDES, NEEDS, Edge
from graph.conversion.document import Rule
from graph.reading.found import Neighbourhood
from graph.reading.links import Way
from graph.reading.sieve import Sieve

EXTRA = "extra"  # the kind of the places for loose parts


class Needs:
    """The rules of one question's parts and edges."""

    def __init__(self, sieve: Sieve, around: Neighbourhood):
        self.sieve = sieve
        self._served = around.kinds_served(sieve.index)
        self._groups: dict[str, dict[str, tuple[Edge, ...]]] = {}

    def groups(self, source: str) -> Mapping[str, tuple[Edge, ...]]:
        """The needs of a part or edge: per group, edges of which any one will do."""
        known = self._groups.get(source)
        if known is None:
            found: dict[str, tuple[Edge, ...]] = {}
            for edge in self.sieve.index.rules(source):
                if edge.kind == NEEDS and self.sieve.admits_edge(edge):
                    key = edge.group or edge.id
                    found[key] = (*found.get(key, ()), edge)
            known = self._groups[source] = found
        return known

    def excluded(self, source: str) -> tuple[Edge, ...]:
        """What a part or edge rules out."""
        rules = self.sieve.index.rules(source)
        if not rules:
            return ()
        return tuple(edge for edge in rules if edge.kind == EXCLUDES and self.sieve.admits_edge(edge))

    def parts_meant(self, target: str) -> tuple[str, ...]:
        """The parts that a need names: the part itself, or the variants of a family."""
        return tuple(part for _, part in self.sieve.index.descent(target))

    def loose(self, target: str) -> tuple[str, ...]:
        """Those parts of a need that stand neither at a position nor inside a joint, and may be used."""
        kinds = self.sieve.index.kinds_of
        return tuple(
            part for part in self.parts_meant(target)
            if kinds(self.sieve.part(part).kind).isdisjoint(self._served) and self.sieve.admits_bought(part, EXTRA)
        )  # fmt: skip

    def judge(self, around: Neighbourhood, ways: Mapping[str, Sequence[Way]]) -> Callable[[str], str]:
        """A function that tells, for a part or edge, why what it needs is not to be had ("" where it is)."""
        to_be_had = {part for held in around.positions.values() for part in held}
        to_be_had |= {one for found in ways.values() for way in found for one in (*way.via, *_ids(way.edges))}
        told: dict[str, str] = {}
        return lambda source: self._told(source, to_be_had, told)  # names itself nowhere: no cycle holds the index

    def _told(self, source: str, to_be_had: set[str], told: dict[str, str]) -> str:
        if source not in told:
            told[source] = ""  # parts that need each other are had together
            told[source] = self._why_not(source, to_be_had, told)
        return told[source]

    def _why_not(self, source: str, to_be_had: set[str], told: dict[str, str]) -> str:
        for edge in self.excluded(source):
            if edge.target in self.sieve.unit_families:
                return f"{self.sieve.say(edge)}{_because(edge)}"
        for edges in self.groups(source).values():
            if not any(self._is_met(edge.target, to_be_had, told) for edge in edges):
                wanted = " or ".join(self.sieve.label(edge.target) for edge in edges)
                return f"{self.sieve.label(source)} needs {wanted}, which is not to be had here{_because(edges[0])}"
        return ""

    def _is_met(self, target: str, to_be_had: set[str], told: dict[str, str]) -> bool:
        if target in to_be_had or target in self.sieve.unit_families:
            return True
        meant = self.parts_meant(target)
        if not to_be_had.isdisjoint(meant):
            return True
        return any(not self._told(part, to_be_had, told) for part in self.loose(target))


class Providers:
    """Which choices of the finished document bring a part or use an edge."""

    def __init__(self, needs: Needs):
        self._needs = needs
        self._by_source: dict[str, list[str]] = {}
        self._sources: dict[str, tuple[str, ...]] = {}
        self._required: list[tuple[str, str]] = []
        self._loose: list[str] = []
        self._forbidden: list[str] = []

    def forbid(self, choice: str) -> None:
        """The choice stands in the document, but no route may pick it."""
        self._forbidden.append(choice)

    def add_loose(self, choice: str, part: str) -> None:
        """The choice is a part with a place of its own that may as well stay empty."""
        self.add(choice, (part,))
        self._loose.append(choice)

    def require(self, choice: str, part: str) -> None:
        """The choice stands on a part that has a place of its own."""
        self._required.append((choice, part))

    def add(self, choice: str, sources: Iterable[str]) -> None:
        """The choice brings these parts and uses these edges."""
        self._sources[choice] = tuple(sources)
        for source in self._sources[choice]:
            self._by_source.setdefault(source, []).append(choice)

    def of(self, target: str) -> tuple[str, ...]:
        """The choices that bring what a need or an exclusion names."""
        names = dict.fromkeys((target, *self._needs.parts_meant(target)))
        return tuple(dict.fromkeys(choice for name in names for choice in self._by_source.get(name, ())))

    def rules(self) -> Iterable[Rule]:
        """The rules among the choices, in the order in which they were added.

        A loose part that nothing asks for would make every route look like two, so it is picked only where needed.
        """
        asked_by: dict[str, list[str]] = {}
        for choice, any_of in self._wanted():
            for one in any_of:
                asked_by.setdefault(one, []).append(choice)
            yield _rule(choice, any_of)
        for choice, sources in self._sources.items():
            for source in sources:
                ruled_out = dict.fromkeys(one for edge in self._needs.excluded(source) for one in self.of(edge.target))
                others = tuple(one for one in ruled_out if one != choice)
                if others:
                    yield Rule(choice, excludes=others)
        for choice in self._forbidden:
            yield _rule(choice, ())
        for loose in self._loose:
            yield _rule(loose, tuple(dict.fromkeys(asked_by.get(loose, ()))))

    def _wanted(self) -> Iterable[tuple[str, tuple[str, ...]]]:
        """(choice, choices of which one must be picked with it); none to pick from: it can never be picked."""
        at_hand = self._needs.sieve.unit_families
        for choice, part in self._required:
            yield choice, tuple(one for one in self.of(part) if one != choice)
        for choice, sources in self._sources.items():
            for source in sources:
                for edges in self._needs.groups(source).values():
                    any_of = tuple(dict.fromkeys(one for edge in edges for one in self.of(edge.target)))
                    if choice not in any_of and not any(edge.target in at_hand for edge in edges):
                        yield choice, any_of


def _rule(choice: str, any_of: tuple[str, ...]) -> Rule:
    """One of `any_of` must be picked with the choice; with none to pick from, the choice itself never can be."""
    return Rule(choice, needs_any=any_of) if any_of else Rule(choice, excludes=(choice,))


def _because(edge: Edge) -> str:
    return f" ({edge.reason})" if edge.reason else ""


def _ids(edges: Iterable[Edge]) -> tuple[str, ...]:
    return tuple(edge.id for edge in edges)

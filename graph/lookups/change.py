"""What two catalogues that follow each other do not have alike, and which look-ups that touches.

Whoever keeps something with an index hands it on to the next one by this, without what was touched.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Protocol

from graph.catalogue.model import ADDS_FEATURE, EXCLUDES, NEEDS, SHIFTS, Catalogue, Edge, Part
from graph.catalogue.relations import MATING, PartKeys, keys_of_part
from graph.lookups.index import CatalogueIndex

MOST_TOUCHED = 20_000  # look-ups; a change that touches more of them starts with none kept
ONE_SIDED = frozenset({SHIFTS, ADDS_FEATURE, NEEDS, EXCLUDES})  # looked up from where they start


class TooMuchChanged(Exception):
    """A change touches so much that nothing is worth handing on."""


class HandedOn(Protocol):
    """Something kept with an index (`CatalogueIndex.kept`)."""

    def handed_on(self, change: Change) -> HandedOn | None:
        """The same for the index after the change, holding nothing of the one before; None to start anew."""


class Change:
    """From `before` to `after`, which have the same kinds. `parts`, `edges`: the ids that they do not have alike.

    `repriced`: of parts that differ at most in what they cost and where they are had; `moved`: of those that came, went
    or are of another kind or family.
    """

    def __init__(
        self, before: CatalogueIndex, after: CatalogueIndex, names: Iterable[str], repriced: Collection[str] = ()
    ):
        self.before, self.after, self.repriced = before, after, repriced
        old, new = before.catalogue, after.catalogue
        named = list(names)
        self.parts = [name for name in named if name in old.parts or name in new.parts]
        self.edges = [name for name in named if name in old.edges or name in new.edges]
        self.moved = [name for name in self.parts if stands(old.parts.get(name)) != stands(new.parts.get(name))]

    def versions(self, names: Iterable[str]) -> Iterator[tuple[CatalogueIndex, Edge]]:
        """Each of the edges as it was, with the index before, and as it is, with the index after."""
        for index in (self.before, self.after):
            for name in names:
                edge = index.catalogue.edges.get(name)
                if edge is not None:
                    yield index, edge

    def variants(self, name: str) -> set[str]:
        """The part or family with all below it, before and after; an edge's id stands for itself."""
        return below(self.before, name) | below(self.after, name)

    def stated(self) -> tuple[set[tuple[str, str]], set[str]]:
        """The parts and families of which other things are stated than before: some at a joint kind, some altogether.

        Raises TooMuch.
        """
        at_joint: set[tuple[str, str]] = set()
        whole: set[str] = set()
        for index, edge in self.versions(self.edges):
            if edge.kind in MATING:
                ends = below(index, edge.source) | below(index, edge.target)
                at_joint.update((part, edge.joint) for part in ends)
            elif edge.kind in ONE_SIDED:
                whole |= below(index, edge.source)
            _check(at_joint, whole)
        for index in (self.before, self.after):
            for part in self.moved:
                whole |= below(index, part)
                for joint, far in mates_of_families(index, part):
                    at_joint.update((one, joint) for one in below(index, far))
                    _check(at_joint, whole)
        return at_joint, whole

    def families(self) -> set[str]:
        """The families of those parts that came, went or changed family: what lies below them is other now."""
        return {one for index in (self.before, self.after) for part in self.moved for one in index.lineage(part)}


def stands(part: Part | None) -> PartKeys | None:
    """What the part is looked up by; None for no part."""
    return None if part is None else keys_of_part(part)


def below(index: CatalogueIndex, name: str) -> set[str]:
    """The part or family and every variant below it, families among them."""
    found, waiting = {name}, [name]
    while waiting:
        for one in index.variants_of(waiting.pop()):
            if one not in found:
                found.add(one)
                waiting.append(one)
    return found


def mates_of_families(index: CatalogueIndex, part: str) -> Iterator[tuple[str, str]]:
    """What is said to mate, or not to, with the part or a family of it, and at which joint kind."""
    for own in index.lineage(part):
        for joint in index.catalogue.joint_kinds:
            for edge in index.mating_at(own, joint):
                yield joint, edge.far_end(own)


def _check(*found: Collection[object]) -> None:
    if sum(map(len, found)) > MOST_TOUCHED:
        raise TooMuchChanged


def turned_inside(before: CatalogueIndex, after: Catalogue, names: Iterable[str]) -> Iterator[str]:
    """The edges of those of the parts that can stand inside a joint now and could not before, or the reverse."""
    for name in names:
        old, new = before.catalogue.parts.get(name), after.parts.get(name)
        if old is not None and new is not None and before.is_inside(old.kind) != before.is_inside(new.kind):
            for kind in MATING:
                yield from (edge.id for edge in before.edges_at(name, kind))

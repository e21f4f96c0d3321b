"""The catalogue, indexed once, so that a question reads only its own neighbourhood.

Everything is kept in order of ids, so no answer depends on the order in which facts were loaded. No I/O.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any, NamedTuple, TypeVar

from graph.catalogue.model import (
    CONTAINS,
    DOES_NOT_FIT,
    HAS_NONE,
    LAYS_OPEN,
    REPLACES,
    Catalogue,
    Edge,
    StatedFault,
)
from graph.catalogue.terms import TaskKind
from graph.lookups.findings import NOTHING, Derived
from graph.lookups.tables import LookupTables, RowsByKey, tables_of

# What was looked up is kept from question to question, up to this many entries a table: memory stays flat.
MOST_KEPT = 50_000
Key = TypeVar("Key")
Value = TypeVar("Value")


def keep(table: dict[Key, Value], key: Key, value: Value) -> Value:
    """Puts the value on the table and hands it back; a full table is cleared first."""
    if len(table) >= MOST_KEPT:
        table.clear()
    table[key] = value
    return value


class Statement(NamedTuple):
    """An edge that says something of two parts at a joint. `level`: generations above them at which it says so."""

    level: int
    edge: Edge


class PlaceState(StrEnum):
    """What is known of a unit at a position kind. Not known is not the same as none."""

    HOLDS = "holds"
    HAS_NONE = "has none"
    NOT_KNOWN = "not known"


class UnitPlace(NamedTuple):
    """A unit's place: its state, the edges that say so, and the unit or family of which they say it ("": nobody)."""

    state: PlaceState
    edges: tuple[Edge, ...] = ()
    said_of: str = ""


class CatalogueIndex:
    """Look-ups by id over one catalogue, which must not change afterwards.

    Build it once per catalogue (a few seconds for millions of edges); a reading then asks only for what it needs.
    """

    derived: Derived = NOTHING  # what was computed; see graph/derive/overlay.py

    def __init__(self, catalogue: Catalogue, tables: LookupTables | None = None):
        """`tables`: the catalogue's, where they are made already; else all of it is read once, from memory."""
        self.catalogue = catalogue
        self.tables = tables_of(catalogue) if tables is None else tables
        parts, edges, work = self.tables.parts, self.tables.edges, self.tables.work
        self._variants, self._units, self._families = parts["variants"], parts["units"], parts["families"]
        self._mating, self._mating_inside = edges["mating"], edges["mating-inside"]
        self._ends, self._side_effects, self._rules = edges["ends"], edges["side-effects"], edges["rules"]
        self._stand_ins, self._faults, self._inspections = work["stand-ins"], work["faults"], work["inspections"]
        self.listing = self.tables.listing
        self._priced: frozenset[str] | None = None
        self._lineages: dict[str, tuple[str, ...]] = {}
        self._descents: dict[str, tuple[tuple[int, str], ...]] = {}
        self._statements: dict[tuple[str, str], dict[str, tuple[Statement, ...]]] = {}
        self._statements_inside: dict[tuple[str, str], dict[str, tuple[Statement, ...]]] = {}
        self._counts: dict[tuple[str, str], int] = {}
        self._mates: dict[tuple[str, str], int] = {}
        self._effects_known: dict[str, tuple[Edge, ...]] = {}
        self._rules_known: dict[str, tuple[Edge, ...]] = {}
        self.kept: dict[str, Any] = {}  # what others keep with this index, see HandedOn in graph/lookups/change.py

    def anew(self, catalogue: Catalogue) -> CatalogueIndex:
        """An index of the same sort over another catalogue."""
        return CatalogueIndex(catalogue)

    def kinds_of(self, kind: str) -> frozenset[str]:
        """The part kind with all its broader kinds."""
        return self.tables.kinds.of(kind)

    def is_inside(self, kind: str) -> bool:
        """Can parts of the kind stand inside a joint?"""
        return self.tables.kinds.stands_inside(kind)

    def units(self, what: str) -> Sequence[str]:
        """The ids of all units of a sort: gearbox, engine or vehicle; in order, and read only where looked at."""
        return self._units.get(what, ())

    def kinds_under(self, kind: str) -> frozenset[str]:
        """The part kind with all narrower kinds."""
        return frozenset({kind, *(one for one in self.catalogue.part_kinds if kind in self.kinds_of(one))})

    def is_unit(self, part: str, what: str) -> bool:
        """Is it a known gearbox, engine or vehicle (`what`), or a family of them?"""
        known = self.catalogue.parts.get(part)
        return known is not None and what in self.kinds_of(known.kind)

    def parts_of_kind(self, kind: str) -> Sequence[str]:
        """The ids of all parts of the kind or of a narrower one, families among them; read only where looked at."""
        return self.listing.of_kinds(self.kinds_under(kind))

    def edges_at(self, end: str, kind: str, outward: bool = True) -> Sequence[Edge]:
        """The edges of the kind at just this part or feature, in order of ids. `outward`: those that start there.

        Undirected ones (see UNDIRECTED) are all outward.
        """
        return self._ends.get((end, kind, outward), ())

    def priced_kinds(self) -> frozenset[str]:
        """The kinds of which some part has a price, each as the part states it."""
        if self._priced is None:
            parts = self.catalogue.parts.values()
            self._priced = frozenset(p.kind for p in parts if p.cash_hundredths is not None and not p.abstract)
        return self._priced

    def variants_of(self, family: str) -> tuple[str, ...]:
        """The direct variants of a family."""
        return tuple(self._variants.get(family, ()))

    def lineage(self, part: str) -> tuple[str, ...]:
        """The part, then the family it is a variant of, and so on upwards."""
        known = self._lineages.get(part)
        if known is None:
            seen: list[str] = []
            at = part
            while at and at not in seen:
                seen.append(at)
                found = self.catalogue.parts.get(at)
                at = found.variant_of if found else ""
            known = keep(self._lineages, part, tuple(seen))
        return known

    def descent(self, part: str) -> tuple[tuple[int, str], ...]:
        """(generations below, part) for the part and its variants that are parts one can hold, not families."""
        known = self._descents.get(part)
        if known is None:
            found: dict[str, int] = {}
            level, generation = 0, [part]
            while generation:
                found.update((one, level) for one in generation)
                generation = [v for one in generation for v in self._variants.get(one, ()) if v not in found]
                level += 1
            known = tuple((level, one) for one, level in found.items() if self._can_be_held(one))
            keep(self._descents, part, known)
        return known

    def _can_be_held(self, part: str) -> bool:
        """Is it a part, and not a family?"""
        return part in self.catalogue.parts and not self._families.get(part, ())

    def count_statements(self, part: str, joint: str) -> int:
        """How many edges speak of the part, or of its families, at the joint kind (before families are unfolded)."""
        known = self._counts.get((part, joint))
        if known is None:
            known = sum(len(self._mating.get((one, joint), ())) for one in self.lineage(part))
            keep(self._counts, (part, joint), known)
        return known

    def count_inside(self, part: str, joint: str) -> int:
        """How many edges say of a plate, sleeve or the like that it can stand next to the part inside the joint."""
        return sum(len(self._mating_inside.get((one, joint), ())) for one in self.lineage(part))

    def mating_at(self, part: str, joint: str) -> Sequence[Edge]:
        """What is said of just this part at the joint kind, not of its families; in order of ids."""
        return self._mating.get((part, joint), ())

    def edges_between(self, one: str, other: str, joint: str) -> list[Edge]:
        """What is said of just these two at the joint kind, not of their families; in order of ids."""
        ones, others = self._mating.get((one, joint), ()), self._mating.get((other, joint), ())
        fewer, far = (ones, other) if len(ones) <= len(others) else (others, one)
        return [edge for edge in fewer if far in (edge.source, edge.target)]

    def has_more_mates(self, part: str, joint: str, than: int) -> bool:
        """Do more parts than so many mate with the part at the joint kind, or are said not to, families unfolded?"""
        known = self._mates.get((part, joint))
        if known is None:
            known = 0
            for own in self.lineage(part):
                for edge in self._mating.get((own, joint), ()):
                    known += len(self.descent(edge.far_end(own)))
                    if known > than:
                        return True
            keep(self._mates, (part, joint), known)
        return known > than

    def said_of(self, first: str, second: str, joint: str) -> tuple[Statement, ...]:
        """What is said of the two parts at a joint kind, of their families too; edges in order of ids.

        Reads only the edges of the one that has fewer: a standard bearing mates with thousands.
        """
        if self.count_statements(second, joint) < self.count_statements(first, joint):
            first, second = second, first
        far_ends = {family: down for down, family in enumerate(self.lineage(second))}
        found: dict[str, Statement] = {}
        for up, own in enumerate(self.lineage(first)):
            for edge in self._mating.get((own, joint), ()):
                down = far_ends.get(edge.far_end(own))
                said = found.get(edge.id)
                if down is not None and first != second and (said is None or up + down < said.level):
                    found[edge.id] = Statement(up + down, edge)
        return tuple(found[edge] for edge in sorted(found))

    def mates_with_any(self, part: str, joint: str, families: Container[str]) -> bool:
        """Is the part, or a family of it, said to mate at the joint kind with any of these parts or families?"""
        for own in self.lineage(part):
            for edge in self._mating.get((own, joint), ()):
                if edge.kind != DOES_NOT_FIT and edge.far_end(own) in families:
                    return True
        return False

    def pairs_said(self, joint: str, one_end: Iterable[str], other_end: Iterable[str]) -> set[tuple[str, str]]:
        """The pairs of parts, one from each end, of which anything is said at the joint kind."""
        ones, others = sorted(one_end), sorted(other_end)
        found = {(one, other) for one, other in self._pairs_from(ones, others, joint)}
        found.update((one, other) for other, one in self._pairs_from(others, ones, joint))
        return found

    def _pairs_from(self, ones: Sequence[str], others: Sequence[str], joint: str) -> Iterator[tuple[str, str]]:
        """Those pairs whose first part has no more edges than its partners; asked from both sides it finds all."""
        of_family: dict[str, list[str]] = defaultdict(list)
        most = 0
        for other in others:
            most = max(most, self.count_statements(other, joint))
            for family in self.lineage(other):
                of_family[family].append(other)
        for one in ones:
            if self.count_statements(one, joint) > most:
                continue
            for own in self.lineage(one):
                for edge in self._mating.get((own, joint), ()):
                    for other in of_family.get(edge.far_end(own), ()):
                        yield one, other

    def statements(self, part: str, joint: str) -> Mapping[str, tuple[Statement, ...]]:
        """What is said of the part at a joint kind, by the part that it is said to mate with, families unfolded."""
        known = self._statements.get((part, joint))
        if known is None:
            known = keep(self._statements, (part, joint), self._unfold(self._mating, part, joint))
        return known

    def statements_inside(self, part: str, joint: str) -> Mapping[str, tuple[Statement, ...]]:
        """The same, only of plates, sleeves and the like: what can stand next to the part inside the joint."""
        known = self._statements_inside.get((part, joint))
        if known is None:
            known = keep(self._statements_inside, (part, joint), self._unfold(self._mating_inside, part, joint))
        return known

    def _unfold(
        self, mating: RowsByKey[tuple[str, str], Edge], part: str, joint: str
    ) -> dict[str, tuple[Statement, ...]]:
        found: dict[str, dict[str, Statement]] = defaultdict(dict)
        for up, own in enumerate(self.lineage(part)):
            for edge in mating.get((own, joint), ()):
                for down, other in self.descent(edge.far_end(own)):
                    said = found[other].get(edge.id)
                    if other != part and (said is None or up + down < said.level):
                        found[other][edge.id] = Statement(up + down, edge)
        return {other: tuple(said[edge] for edge in sorted(said)) for other, said in sorted(found.items()) if said}

    def contains(self, unit: str) -> Mapping[str, tuple[Edge, ...]]:
        """Per position, the *contains* edges of the unit, or else of the nearest family that says anything of it.

        A position of which the nearest word is that the unit has none is not among them.
        """
        places = self.places(unit)
        return {position: place.edges for position, place in places.items() if place.state is PlaceState.HOLDS}

    def places(self, unit: str) -> Mapping[str, UnitPlace]:
        """Per position of which anything is said, what is known of it: a variant's own comes before its family's."""
        found: dict[str, UnitPlace] = {}
        for owner in self.lineage(unit):
            for state, kind in ((PlaceState.HOLDS, CONTAINS), (PlaceState.HAS_NONE, HAS_NONE)):
                here: dict[str, list[Edge]] = defaultdict(list)
                for edge in self.edges_at(owner, kind):
                    here[edge.position].append(edge)
                for position, edges in here.items():
                    found.setdefault(position, UnitPlace(state, tuple(edges), owner))
        return found

    def place(self, unit: str, position: str) -> UnitPlace:
        """What is known of the unit at a position kind."""
        return self.places(unit).get(position) or UnitPlace(PlaceState.NOT_KNOWN)

    def made_for(self, unit: str) -> tuple[str, ...]:
        """The assemblies that the unit states it was made for, or else the nearest family that states any."""
        parts = self.catalogue.parts
        stated = (parts[one].made_for for one in self.lineage(unit) if one in parts)
        return next(filter(None, stated), ())

    def replacing(self, part: str) -> tuple[Edge, ...]:
        """The *replaces* edges whose target is the part or a family of it."""
        return tuple(edge for one in self.lineage(part) for edge in self.edges_at(one, REPLACES, outward=False))

    def count_replacing(self, part: str) -> int:
        """How many *replaces* edges have the part or a family of it as their target."""
        return sum(len(self.edges_at(one, REPLACES, outward=False)) for one in self.lineage(part))

    def takes_place_of(self, part: str) -> tuple[Edge, ...]:
        """The *replaces* edges whose source is the part or a family of it."""
        return tuple(edge for one in self.lineage(part) for edge in self.edges_at(one, REPLACES))

    def side_effects(self, source: str) -> tuple[Edge, ...]:
        """*Shifts* and *adds feature* edges of a part or an edge; a variant's own speak over its family's."""
        known = self._effects_known.get(source)
        if known is None:
            found: dict[tuple[str, str], list[Edge]] = {}
            for one in self.lineage(source):
                here: dict[tuple[str, str], list[Edge]] = defaultdict(list)
                for edge in self._side_effects.get(one, ()):
                    here[edge.kind, edge.target].append(edge)
                for key, edges in here.items():
                    found.setdefault(key, edges)
            known = tuple(edge for key in sorted(found) for edge in found[key])
            keep(self._effects_known, source, known)
        return known

    def rules(self, source: str) -> tuple[Edge, ...]:
        """*Needs* and *excludes* edges of a part (and its families) or of an edge."""
        known = self._rules_known.get(source)
        if known is None:
            known = tuple(edge for one in self.lineage(source) for edge in self._rules.get(one, ()))
            keep(self._rules_known, source, known)
        return known

    def laid_open_by(self, fault: str) -> tuple[str, ...]:
        """The tasks that lay the fault open."""
        return tuple(sorted(edge.source for edge in self.edges_at(fault, LAYS_OPEN, outward=False)))

    def stand_ins(self, task: str) -> tuple[TaskKind, ...]:
        """The tasks that replace this one for some unit or family."""
        return tuple(self.catalogue.tasks[one] for one in self._stand_ins.get(task, ()))

    def inspections_of(self, fault: str) -> tuple[str, ...]:
        """The ids of the tests that settle the fault."""
        return tuple(self._inspections.get(fault, ()))

    def faults_at(self, position: str, of: str) -> tuple[StatedFault, ...]:
        """The faults known at a position of a part, unit or family (`of` = "": of any)."""
        return tuple(self.catalogue.faults[one] for one in self._faults.get((position, of), ()))

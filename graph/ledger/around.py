"""Statements with what stands around them: enough to judge a note, or to follow it, without reading all facts again.

The *ground* is what the fact files say, with the notes that speak of kinds, tasks or the shop: small, read once. The
*shelf* is every other note that stands, subject by subject, in the view's store. `gather` fetches from both what the
shapes and rules need for the subjects that a change touches: these subjects whole, those that refer to them where
their class, kind or evidence changes, their families, and what they refer to.

The store changes literals (2.50 becomes 2.5), so what is judged is read from the ledger's text; the store only says
where to look.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import Any

import pyoxigraph as ox

from graph.catalogue.compact.opened import OWN_FIELDS, StoredFacts, list_tables
from graph.catalogue.compact.store import CompactFile
from graph.catalogue.described import EDGE_CLASSES
from graph.catalogue.house import KINDS_FOLDER, fact_shapes, read_vocabulary
from graph.catalogue.load import build_sound, read_facts
from graph.catalogue.model import Catalogue
from graph.catalogue.names import KIND, LABEL, LAY, PROV, TYPE, XSD, local_id
from graph.catalogue.restate import SINGLE_TABLES
from graph.catalogue.shapes import NodeShape, list_violations
from graph.catalogue.statements import Statements, Value, list_fact_files, node_key
from graph.errors import InvalidFacts
from graph.ledger.identity import find_note_id

# What single notes speak of. A statement of any other class (kinds, tasks, prices of work, the shop) moves the ground.
_SINGLE = ("Part", "Fault", "Inspection", "Measurement", "BoltFace", "Hole", "Condition", "Note")
SINGLE = frozenset({*EDGE_CLASSES, *(LAY + name for name in _SINGLE)})
OF_A_PLACE = frozenset({LAY + "Contains", LAY + "HasNone"})  # say what a unit has at a position
PRICED = ("operation_prices", "standard_prices")
TRAITS = (TYPE, LAY + "kind", LAY + "evidence")  # what others are judged by when they refer to a subject
_TYPE, _LABEL = ox.NamedNode(TYPE), ox.NamedNode(LABEL)
Said = Callable[[str], Iterable[ox.Triple]]  # what a note's graph says, exactly
Stated = tuple[str, Sequence[ox.Quad | ox.Triple]]


def origin_of(graph: str) -> str:
    """The words by which problems name a note: `note ` and its id."""
    return f"note {find_note_id(graph) or graph}"


@dataclass(frozen=True)
class LedgerGround:
    """What single notes stand on. `notes`: the graphs among them; `movers`: subjects whose change moves it."""

    statements: Statements
    catalogue: Catalogue
    terms: frozenset[str]
    shapes: tuple[NodeShape, ...]
    notes: frozenset[str]
    movers: frozenset[str]

    @cached_property
    def referrers(self) -> dict[str, set[str]]:
        """Who refers to a subject."""
        found: dict[str, set[str]] = {}
        for subject, properties in self.statements.values.items():
            for values in properties.values():
                for value in values:
                    if isinstance(value, ox.NamedNode):
                        found.setdefault(value.value, set()).add(subject)
        return found

    def is_moved_by(self, quads: Iterable[ox.Quad | ox.Triple]) -> bool:
        """Whether statements speak of more than parts, edges, measurements and faces."""
        return any(
            quad.subject.value in self.movers or (quad.predicate == _TYPE and _moves(quad.object))  # type: ignore[union-attr]
            for quad in quads
        )


def _moves(class_: object) -> bool:
    return isinstance(class_, ox.NamedNode) and class_.value.startswith(LAY) and class_.value not in SINGLE


def signature_of(paths: Sequence[Path]) -> tuple[tuple[str, int, int], ...]:
    """Tells whether any fact file has changed since."""
    files = ((file, file.stat()) for file in list_fact_files([KINDS_FOLDER, *paths]))
    return tuple((str(file), about.st_mtime_ns, about.st_size) for file, about in files)


def read_ground(
    paths: Sequence[Path], base: str, store: ox.Store, said: Said, left_out: Collection[str] = ()
) -> LedgerGround:  # fmt: skip
    """The ground as the files and the store's notes have it now, without the graphs that are `left_out`.

    Raises InvalidFacts for a file that does not parse.
    """
    facts, terms, problems = read_facts(paths, shop_base=base)
    if problems:
        raise InvalidFacts(problems)
    settled, movers = _take_in_movers(facts, terms, store, said, left_out)
    shapes = fact_shapes()
    catalogue, _ = build_sound(facts, {violation.subject for violation in list_violations(facts, shapes)})
    return LedgerGround(facts, catalogue, terms, shapes, settled, movers)


def _take_in_movers(
    facts: Statements, terms: frozenset[str], store: ox.Store, said: Said, left_out: Collection[str]
) -> tuple[frozenset[str], frozenset[str]]:
    """Adds the notes that speak of kinds, tasks or the shop. Their graphs, and the subjects that move the ground."""
    classes = [ox.NamedNode(term) for term in sorted(terms - SINGLE)]
    graphs = {quad.graph_name.value for name in classes for quad in store.quads_for_pattern(None, _TYPE, name, None)}  # type: ignore[union-attr]
    settled: set[str] = set()
    graphs.difference_update(left_out)
    while True:  # a note of the ground may name kinds that further notes speak of
        for graph in sorted(graphs - settled, key=origin_of):
            facts.add(said(graph), origin_of(graph))
        settled |= graphs
        movers = {s for name, subjects in facts.by_class.items() if _moves(ox.NamedNode(name)) for s in subjects}
        named = [ox.NamedNode(mover) for mover in movers if not mover.startswith("_:")]
        graphs |= {q.graph_name.value for node in named for q in store.quads_for_pattern(node, None, None, None)}  # type: ignore[union-attr]
        graphs.difference_update(left_out)
        if graphs <= settled:
            break
    return frozenset(settled), frozenset(movers)


def read_stored_ground(file: CompactFile, store: ox.Store, said: Said, left_out: Collection[str] = ()) -> LedgerGround:
    """The same over facts that are kept in a file."""
    facts, terms = StoredFacts.over(file), read_vocabulary()[0]
    settled, movers = _take_in_movers(facts, terms, store, said, left_out)
    shapes = fact_shapes()
    small, _ = build_sound(facts, {violation.subject for violation in list_violations(facts, shapes)})
    known = facts.catalogue
    moved: dict[str, Any] = {name: getattr(small, name) for name in (*list_tables(), *OWN_FIELDS)}
    moved |= {name: getattr(known, name) for name in SINGLE_TABLES}
    moved |= {name: {**getattr(known, name), **getattr(small, name)} for name in PRICED}
    return LedgerGround(facts, replace(known, **moved) if settled else known, terms, shapes, settled, movers)


@dataclass(frozen=True)
class Shelf:
    """The notes that stand, by subject, without the ground's. `hidden`: subjects that no answer may rest on;
    `left_out`: graphs that do not hold together with the rest."""

    store: ox.Store
    ground: LedgerGround
    about: str  # the view's own graph
    said: Said
    hidden: Collection[str] = ()
    left_out: Collection[str] = ()

    @cached_property
    def is_empty(self) -> bool:
        """Whether no note stands at all: then nothing need be looked up."""
        return all(quad.graph_name.value == self.about for quad in islice(self._all(), 8))  # type: ignore[union-attr]

    def quads(self, subject: str, exactly: bool) -> list[ox.Quad]:
        """What the notes say of a subject; with its literals `exactly` as written, or as the store has them."""
        if self.is_empty or subject in self.hidden or subject.startswith("_:"):
            return []
        found = (
            self._person(subject)
            if _is_person(subject)
            else self.store.quads_for_pattern(ox.NamedNode(subject), None, None, None)
        )
        kept = [quad for quad in found if self._counts(quad)]
        if not exactly or all(_is_plain(quad.object) for quad in kept):
            return kept
        node = ox.NamedNode(subject)
        graphs = dict.fromkeys(quad.graph_name for quad in kept)
        return [
            ox.Quad(node, one.predicate, one.object, graph)
            for graph in graphs
            for one in self.said(graph.value)  # type: ignore[union-attr]
            if one.subject == node
        ]

    def _person(self, subject: str) -> Iterator[ox.Quad]:
        """Every note by them says the same of them: a few are enough."""
        for predicate in (_TYPE, _LABEL):
            yield from islice(self.store.quads_for_pattern(ox.NamedNode(subject), predicate, None, None), 4)

    def subjects_in(self, graph: str) -> set[str]:
        """Whom a note speaks of."""
        found = self.store.quads_for_pattern(None, None, None, ox.NamedNode(graph))
        return {node_key(quad.subject) for quad in found}

    def referrers(self, subject: str) -> set[str]:
        """Who refers to a subject."""
        found = set(self.ground.referrers.get(subject, ()))
        if not self.is_empty and not subject.startswith("_:"):
            quads = self.store.quads_for_pattern(None, None, ox.NamedNode(subject), None)
            found |= {node_key(quad.subject) for quad in quads if self._counts(quad)}
        return found - set(self.hidden)

    def of_class(self, name: str) -> Iterator[str]:
        """Every subject of a class."""
        for quad in self.store.quads_for_pattern(None, _TYPE, ox.NamedNode(name), None):
            yield node_key(quad.subject)

    def _all(self) -> Iterator[ox.Quad]:
        return iter(self.store.quads_for_pattern(None, None, None, None))

    def _counts(self, quad: ox.Quad) -> bool:
        graph = quad.graph_name.value  # type: ignore[union-attr]
        return graph != self.about and graph not in self.ground.notes and graph not in self.left_out


def _is_plain(value: object) -> bool:
    """Whether a store keeps it as it is."""
    return not isinstance(value, ox.Literal) or (value.datatype.value == XSD + "string" and not value.language)


def _is_person(subject: str) -> bool:
    return "/people/" in subject


@dataclass(slots=True)
class GatheredAround(Statements):
    """The subjects that were gathered, whole; anything else is looked up in the ground. `affected`: those to judge."""

    ground: Statements = field(default_factory=Statements)
    of_class: Callable[[str], Iterable[str]] = lambda name: ()
    affected: set[str] = field(default_factory=set)
    shown: dict[str, set[str]] = field(default_factory=dict)  # place -> the subjects that it stands for
    looked_at: frozenset[str] = frozenset()  # every subject of which it was asked what notes say, found or not

    def get(self, subject: str, prop: str) -> Sequence[Value]:
        own = self.values.get(subject)
        return own.get(prop, ()) if own is not None else self.ground.get(subject, prop)

    def list_known(self, wanted: str) -> Iterator[str]:
        for name in sorted(self.subclasses.get(wanted, frozenset((wanted,)))):
            yield from self.by_class.get(name, ())
            yield from self.ground.by_class.get(name, ())
            yield from self.of_class(name)

    def place(self, subject: str, prop: str = "") -> str:
        path = Statements.place(self, subject, prop)
        self.shown.setdefault(path, set()).add(subject)
        return path

    def take_from_ground(self, subject: str) -> None:
        """Copies what the ground says of the subject."""
        said = self.ground.about(subject)
        if not said:
            return
        self.values[subject] = {prop: list(values) for prop, values in said.items()}
        self.files.update({(subject, prop): self.ground.file_of(subject, prop) for prop in said})
        if declared := self.ground.declared_in(subject):
            self.declared[subject] = list(declared)
        for value in said.get(TYPE, ()):
            self.by_class.setdefault(node_key(value), []).append(subject)


def gather(
    ground: LedgerGround, shelf: Shelf, touched: Collection[str], drafts: Sequence[Stated], gone: Collection[str]
) -> GatheredAround:
    """What has to be looked at when `drafts` are added and the graphs `gone` taken away. `touched`: their subjects."""
    base = ground.statements
    around = GatheredAround(
        subclasses=base.subclasses, shop_base=base.shop_base, texts=base.texts, lines=base.lines, ground=base,
        of_class=shelf.of_class,
    )  # fmt: skip
    return _Gatherer(shelf, around, frozenset(gone)).gathered(touched, drafts)


class _Gatherer:
    def __init__(self, shelf: Shelf, around: GatheredAround, gone: frozenset[str]):
        self.shelf, self.around, self.gone = shelf, around, gone
        self.base = around.ground
        self.before: dict[str, frozenset[object]] = {}

    def gathered(self, touched: Collection[str], drafts: Sequence[Stated]) -> GatheredAround:
        around = self.around
        for shop in self.base.list_of_class(LAY + "Shop"):
            around.take_from_ground(shop)
        self._load_namesakes(touched)
        for subject in touched:
            self._load(subject)
        for origin, quads in drafts:
            around.add(quads, origin)
        around.affected = set(touched)
        for subject in touched:
            if not _is_person(subject) and self.before.get(subject, frozenset()) != self._traits_now(subject):
                around.affected |= self.shelf.referrers(subject)
        for subject in list(around.affected):
            self._load(subject)
        self._load_same_place(touched)
        self._load_families()
        self._load_named()
        around.looked_at = frozenset(self.before)
        return around

    def _load(self, subject: str, exactly: bool = True) -> bool:
        """Takes a subject in, once; whether anything is said of it."""
        if subject in self.before:
            return subject in self.around.values
        if self.shelf.is_empty and not self.base.about(subject):
            self.before[subject] = frozenset()
            return False
        self.around.take_from_ground(subject)
        quads = self.shelf.quads(subject, exactly)
        said = [value for prop in TRAITS for value in self.base.get(subject, prop)]
        traits = [quad.object for quad in quads if quad.predicate.value in TRAITS]
        self.before[subject] = frozenset((*said, *traits))
        for quad in quads:
            graph = quad.graph_name.value  # type: ignore[union-attr]
            if graph not in self.gone:
                self.around.add((quad,), origin_of(graph))
        return subject in self.around.values

    def _traits_now(self, subject: str) -> frozenset[object]:
        said = self.around.values.get(subject, {})
        return frozenset(value for prop in TRAITS for value in said.get(prop, ()))

    def _load_namesakes(self, touched: Collection[str]) -> None:
        """Whoever else has the id of a touched subject: ids are told apart by their IRIs' ends."""
        base = self.around.shop_base
        for subject in touched:
            short = local_id(subject, base)
            if short != subject:
                for other in (base + short, KIND + short, LAY + short):
                    if other != subject and other not in touched:
                        self._load(other)

    def _load_families(self) -> None:
        """A family is judged with its variants: a ring of families may close anywhere."""
        waiting = list(self.around.affected)
        while waiting:
            for value in self.around.get(waiting.pop(), LAY + "variantOf"):
                key = node_key(value)
                if key not in self.around.affected and self._load(key):
                    self.around.affected.add(key)
                    waiting.append(key)

    def _load_same_place(self, touched: Collection[str]) -> None:
        """What else is said of a unit's place: a unit that has none there holds no part there."""
        for subject in touched:
            if self._classes(subject).isdisjoint(OF_A_PLACE):
                continue
            places = self.around.get(subject, LAY + "position")
            for unit in map(node_key, self.around.get(subject, LAY + "source")):
                for other in sorted(self.shelf.referrers(unit) | self._stored_at(unit)):
                    if other in self.around.affected or not self._load(other, exactly=False):
                        continue
                    same = set(places).intersection(self.around.get(other, LAY + "position"))
                    if same and not self._classes(other).isdisjoint(OF_A_PLACE):
                        self.around.affected.add(other)

    def _classes(self, subject: str) -> set[str]:
        return {node_key(value) for value in self.around.get(subject, TYPE)}

    def _stored_at(self, unit: str) -> set[str]:
        return set(self.base.stating_places_of(unit)) if isinstance(self.base, StoredFacts) else set()

    def _load_named(self) -> None:
        """What the subjects refer to, with its class and kind. Kinds themselves stay in the ground."""
        for subject in list(self.around.affected):
            for values in list(self.around.values.get(subject, {}).values()):
                for value in values:
                    if isinstance(value, ox.NamedNode) and not value.value.startswith((LAY, KIND, PROV)):
                        self._load(value.value, exactly=False)

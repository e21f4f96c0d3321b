"""What stands in a workshop, thing by thing, and by which names it is known: a workbook is made of it and held to it.

A thing is said by fact files (source `FILES`), by notes of the ledger (source: the note's id), or by several.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from graph.catalogue.house import read_kinds, read_vocabulary
from graph.catalogue.names import KIND, LABEL, LAY, PREF_LABEL, TYPE, local_id
from graph.catalogue.statements import Statements, list_fact_files, read_statements
from graph.errors import InvalidFacts
from graph.ledger.notebook import Notebook
from graph.ledger.record import Entry
from graph.ledger.statements import triples_of
from graph.workbook.values import IRI, Said, Unsaid, Value, things_in

FILES = ""
NUMBER_OF_PART = LAY + "number"
Finds = Callable[[str], Iterable[str]]  # the IRIs of parts of a name, in facts that are too many to be read


@dataclass(slots=True)
class Thing:
    """One thing: what each source says of it."""

    iri: str
    by_source: dict[str, Said] = field(default_factory=dict)

    @property
    def said(self) -> dict[str, tuple[Value, ...]]:
        """What all sources say."""
        found: dict[str, tuple[Value, ...]] = {}
        for about in self.by_source.values():
            for prop, values in about.items():
                found[prop] = tuple(dict.fromkeys((*found.get(prop, ()), *values)))
        return found

    @property
    def notes(self) -> list[str]:
        """The ids of the notes that speak of it, oldest first."""
        return [source for source in self.by_source if source != FILES]


def classes_of(said: Said) -> tuple[str, ...]:
    """The IRIs of its classes."""
    return tuple(value.parts[0] for value in said.get(TYPE, ()) if value.kind == IRI)


def label_of(said: Said) -> str:
    """Its name in words; empty where it has none."""
    return next((values[0].parts[0] for prop in (LABEL, PREF_LABEL) if (values := said.get(prop))), "")


def plain(name: str) -> str:
    """A name as it is compared."""
    return " ".join(name.casefold().split())


@dataclass(slots=True)
class Known:
    """Everything that stands. `house`: the trade's own kinds; `things`: what the shop's files and notes say.

    `entries`: the notes that stand, by id. `finds`: see Finds.
    """

    base: str
    house: Mapping[str, Said]
    things: dict[str, Thing]
    entries: Mapping[str, Entry]
    finds: Finds = lambda name: ()
    _named: dict[str, list[str]] = field(default_factory=dict)
    _numbered: dict[str, list[str]] = field(default_factory=dict)
    _new: dict[str, Said] = field(default_factory=dict)
    _said: dict[str, Said] = field(default_factory=dict)
    _below: dict[tuple[str, ...], frozenset[str]] = field(default_factory=dict)
    _alias: dict[str, str] = field(default_factory=dict)
    _classes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    _offered: dict[tuple[str, ...], list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, said in self.house.items():
            self._note_names(name, said)
        for name, thing in self.things.items():
            self._note_names(name, thing.said)

    def add_new(self, name: str, said: Said, alias: str = "") -> None:
        """A thing of the workbook itself, which other rows may name, also by its `alias`."""
        self._new[name] = said
        self._classes.pop(name, None)
        self._offered.clear()
        self._note_names(name, said)
        if alias:
            self._alias[alias] = name

    def said_of(self, name: str) -> Said:
        """What the shop, or else the house, says of a thing."""
        if name not in self._said:
            self._said[name] = self.things[name].said if name in self.things else self.house.get(name, {})
        return self._said[name]

    def named(self, name: str, classes: tuple[str, ...]) -> list[str]:
        """The IRIs of the things of exactly this name."""
        return [one for one in self._named.get(plain(name), ()) if self.is_any_of(one, classes)]

    def names(self, classes: tuple[str, ...]) -> list[str]:
        """How all things of the classes are named in cells, in order."""
        if classes not in self._offered:
            there = (name for name in {**self.house, **self.things} if self.classes(name))
            named = (self.name_of(name) for name in there if self.is_any_of(name, classes))
            self._offered[classes] = sorted(named, key=str.casefold)
        return self._offered[classes]

    def _note_names(self, name: str, said: Said) -> None:
        for table, values in ((self._named, [label_of(said)]),
                              (self._numbered, [v.parts[0] for v in said.get(NUMBER_OF_PART, ())])):  # fmt: skip
            for value in values:
                held = table.setdefault(plain(value), [])
                if value and name not in held:
                    held.append(name)

    def classes(self, name: str) -> tuple[str, ...]:
        """The classes of a thing by its IRI, new ones included."""
        if name not in self._classes:
            said = (self.said_of(name), self.house.get(name, {}), self._new.get(name, {}))
            self._classes[name] = tuple(found for one in said for found in classes_of(one))
        return self._classes[name]

    def label(self, name: str) -> str:
        """The name of a thing by its IRI, new ones included; its id where it has none."""
        said = (self.said_of(name), self.house.get(name, {}), self._new.get(name, {}))
        return next(filter(None, map(label_of, said)), self.id_of(name))

    def is_new(self, name: str) -> bool:
        """Whether a thing, by its IRI, came with the workbook that is being read."""
        return name in self._new

    def is_any_of(self, name: str, wanted: Iterable[str]) -> bool:
        """Whether it is of one of the classes, or one under them; of any where none is named."""
        key = tuple(wanted)
        if key not in self._below:
            below = read_vocabulary()[1]
            self._below[key] = frozenset(found for each in key for found in below.get(each, frozenset((each,))))
        return not key or not self._below[key].isdisjoint(self.classes(name))

    def name_of(self, iri: str) -> str:
        """How a cell names a thing: by its name, or where that is not enough by its id."""
        label = label_of(self.said_of(iri)) or label_of(self.house.get(iri, {}))
        return label if label and self._named.get(plain(label)) == [iri] and "|" not in label else self.id_of(iri)

    def id_of(self, iri: str) -> str:
        """The id of a thing."""
        return local_id(iri, self.base)

    def find(self, said: str, classes: tuple[str, ...]) -> str:
        """The IRI of the one thing that a name, part number or id means. Raises Unsaid."""
        for table in (self._named, self._numbered):
            found = [name for name in table.get(plain(said), ()) if self.is_any_of(name, classes)]
            if len(found) == 1:
                return found[0]
            if found:
                ids = ", ".join(self.id_of(name) for name in found[:5])
                raise Unsaid(f"{len(found)} are named {said[:80]!r}: write the id of the one meant, of {ids}")
        for name in (*self.by_id(said), *([self._alias[said]] if said in self._alias else [])):
            if self.classes(name) and self.is_any_of(name, classes):
                return name
        beyond = list(self.finds(said)) if not classes or LAY + "Part" in classes else []
        if len(beyond) == 1:
            return beyond[0]
        raise Unsaid(f"nothing is named {said[:80]!r}{self._hint(said, classes)}")

    def by_id(self, name: str) -> list[str]:
        """The IRIs that an id may stand for."""
        return [name] if "://" in name else [self.base + name, KIND + name, LAY + name]

    def _hint(self, said: str, classes: tuple[str, ...]) -> str:
        from graph.catalogue.near import near_matches

        fitting = [label for label, names in self._named.items() if any(self.is_any_of(n, classes) for n in names)]
        near = near_matches(plain(said), fitting)
        return f"; did you mean {' or '.join(repr(one) for one in near)}?" if near else ""


def read_known(notebook: Notebook, finds: Finds = lambda name: ()) -> Known:
    """What stands now. `finds`: for facts that are kept packed, which are not read here. Raises InvalidFacts."""
    base = notebook.ledger.base
    kinds, problems = read_kinds(base)
    out = {one.iri for one in notebook.left_out}
    sources: list[tuple[str, Statements]] = []
    if not notebook.is_packed:
        facts, more = read_statements(list_fact_files(notebook.facts), Statements(shop_base=base))
        problems += more
        sources.append((FILES, facts))
    if problems:
        raise InvalidFacts(problems)
    entries: dict[str, Entry] = {}
    for entry in notebook.ledger.iter_current():
        entries[entry.note_id] = entry
        if entry.iri not in out:
            stated = Statements(shop_base=base)
            stated.add(triples_of(entry.statements), entry.iri)
            sources.append((entry.note_id, stated))
    things: dict[str, Thing] = {}
    for source, stated in sources:
        for name, said in things_in(stated).items():
            things.setdefault(name, Thing(name)).by_source[source] = said
    return Known(base, things_in(kinds), things, entries, finds)

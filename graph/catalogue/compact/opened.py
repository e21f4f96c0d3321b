"""An opened compact file as a catalogue, and as the statements that its kinds, its shop and its things make."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any
from weakref import WeakKeyDictionary

from pyoxigraph import Quad, RdfFormat, Triple, parse, serialize

from graph.catalogue.compact.pack import LARGE, kind_of_table
from graph.catalogue.compact.records import codec_of
from graph.catalogue.compact.store import CompactFile, Relation, ThingTable, keys_of_file
from graph.catalogue.house import read_vocabulary
from graph.catalogue.model import CONTAINS, HAS_NONE, Catalogue
from graph.catalogue.names import local_id
from graph.catalogue.restate import SINGLE_TABLES, restate
from graph.catalogue.statements import Statements, Value, node_key

OWN_FIELDS = ("workshop", "currency", "rate_hundredths", "day_hours")  # of the shop; all else are tables
OF_THE_RECORD = ("fitting_hours", "common_causes")  # laid over the facts by whoever has a record of cost; never packed
SHARED = "shared"  # the section of statements about kinds and the shop
_MOST_KEPT = 20_000
_opened: WeakKeyDictionary[CompactFile, Catalogue] = WeakKeyDictionary()  # one catalogue a file: tables compare as one


def list_tables() -> list[str]:
    """The names of the catalogue's tables."""
    return [name for name in Catalogue.__dataclass_fields__ if name not in (*OWN_FIELDS, *OF_THE_RECORD)]


def catalogue_of(file: CompactFile) -> Catalogue:
    """The catalogue in the file, the same one every time. Its large tables are read thing by thing, when asked for."""
    known = _opened.get(file)
    if known is None:
        known = _opened[file] = _read(file)
    return known


def _read(file: CompactFile) -> Catalogue:
    small, shop = file.head["small"], file.head["shop"]
    tables: dict[str, Any] = {name: ThingTable(file, name, codec_of(kind_of_table(name))) for name in LARGE}
    for name in list_tables():
        if name not in LARGE:
            codec = codec_of(kind_of_table(name))
            tables[name] = {key: codec.from_plain(dict(plain)) for key, plain in sorted(small.get(name, {}).items())}
    return Catalogue(
        workshop=shop.get("workshop", ""),  # files of earlier versions do not hold it
        currency=shop["currency"], rate_hundredths=shop["rate_hundredths"], day_hours=Fraction(shop["day_hours"]),
        **tables,
    )  # fmt: skip


def written(quads: Sequence[Quad | Triple]) -> bytes:
    """Statements as the file keeps them: N-Triples (RDF 1.1)."""
    triples = [Triple(quad.subject, quad.predicate, quad.object) for quad in quads]
    return bytes(serialize(triples, format=RdfFormat.N_TRIPLES) or b"")


def shared_statements(file: CompactFile) -> list[Quad]:
    """What the file was told of kinds and of the shop."""
    return list(parse(bytes(file.data(SHARED)), format=RdfFormat.N_TRIPLES))


@dataclass(slots=True)
class StoredFacts(Statements):
    """Statements as any others, with those of the file's things besides, made when somebody asks for them.

    `values` and all that is listed by class hold only what was added: kinds, the shop, notes about them.
    """

    file: CompactFile | None = None
    catalogue: Catalogue = field(default_factory=Catalogue)
    _restated: dict[str, dict[str, list[Value]]] = field(default_factory=dict)

    @classmethod
    def over(cls, file: CompactFile) -> StoredFacts:
        """The statements of the file."""
        subclasses = read_vocabulary()[1]
        found = cls(file=file, catalogue=catalogue_of(file), subclasses=subclasses, shop_base=file.head["base"])
        Statements.add(found, shared_statements(file), "kinds and shop")
        return found

    def add(self, quads: Iterable[Quad | Triple], file: str) -> None:
        """Takes in statements; of a subject that the file speaks of, with what the file says."""
        stated = list(quads)
        for subject in dict.fromkeys(node_key(quad.subject) for quad in stated):
            if subject not in self.values and self._from_file(subject):
                Statements.add(self, self._said_of(subject), "the facts")
        Statements.add(self, stated, file)

    def about(self, subject: str) -> Mapping[str, Sequence[Value]]:
        own = self.values.get(subject)
        return own if own is not None else self._from_file(subject)

    def file_of(self, subject: str, prop: str) -> str:
        return self.files.get((subject, prop)) or "the facts"

    def declared_in(self, subject: str) -> Sequence[str]:
        return self.declared.get(subject) or (("the facts",) if self._from_file(subject) else ())

    def iri_of(self, id_: str) -> str:
        """The IRI of a thing, from its id."""
        assert self.file is not None
        known: str | None = self.file.head["iris"].get(id_)
        return known or (id_ if "://" in id_ else f"{self.shop_base}{id_}")

    def stating_places_of(self, unit: str) -> list[str]:
        """The edges of the file that say what the unit, named by its IRI, contains or has none of."""
        assert self.file is not None
        parts, edges = self.catalogue.parts, self.catalogue.edges
        assert isinstance(parts, ThingTable)
        assert isinstance(edges, ThingTable)
        ends, id_ = Relation(self.file, "ends", keys_of_file(self.file, parts, edges)), local_id(unit, self.shop_base)
        found = (ends.get((id_, kind, True)) for kind in (CONTAINS, HAS_NONE))
        return [self.iri_of(edges.ids[edge]) for stated in found for edge in stated]

    def _from_file(self, subject: str) -> Mapping[str, Sequence[Value]]:
        known = self._restated.get(subject)
        if known is not None:
            return known
        if len(self._restated) >= _MOST_KEPT:
            self._restated.clear()
        owner = _owner(subject)
        made = Statements()
        made.add(self._said_of(owner), "")
        self._restated.update(made.values)
        return self._restated.setdefault(subject, {})

    def _said_of(self, subject: str) -> list[Triple]:
        id_ = local_id(subject, self.shop_base)
        if self.iri_of(id_) != subject:
            return []
        for table in SINGLE_TABLES:
            thing = getattr(self.catalogue, table).get(id_)
            if thing is not None:
                return restate(thing, self.iri_of, evidence_of_note=self._evidence)
        return []

    def _evidence(self, note: str) -> str:
        known = self.catalogue.notes.get(note)
        return known.evidence if known else ""


def _owner(subject: str) -> str:
    """The subject that a blank node of a restated thing hangs on; any other subject is its own."""
    if not subject.startswith("_:") or "of" not in subject:
        return subject
    try:
        return bytes.fromhex(subject.rpartition("of")[2]).decode()
    except ValueError:
        return subject

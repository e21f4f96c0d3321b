"""A part's page as RDF: the part, every statement about it, its measurements and faces, and the notes behind them.

The same facts that the page shows, in the words of the vocabulary, so that another program (or another shop) can take
them in: what is written here loads as facts again. Turtle and JSON-LD are two spellings of these triples.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache

import pyoxigraph as ox

from api.pages.measured_view import owned
from graph.answer.browse import edges_of_part
from graph.catalogue.build import EDGE_CLASSES
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import SHIFTS, BoltFace, Condition, Edge, Measurement, Note, Part
from graph.catalogue.names import KIND, LABEL, LAY, PROV, RDF, RDFS, XSD
from graph.exact import HUNDREDTHS, MICROMETRES
from graph.ledger.identity import agent_iri
from graph.lookups.index import CatalogueIndex

FORMATS = {"text/turtle": ox.RdfFormat.TURTLE, "application/ld+json": ox.RdfFormat.JSON_LD}
TYPE = ox.NamedNode(RDF + "type")
_CLASS_OF = {kind: name for name, kind in EDGE_CLASSES.items()}
_DATE = re.compile(r"\d{4}-\d\d-\d\d")

Object = ox.NamedNode | ox.BlankNode | ox.Literal


@cache
def _house_ids() -> frozenset[str]:
    """The ids that the house's own kinds define; every other id is the shop's."""
    known = load_catalogue([])
    tables = (
        known.part_kinds, known.position_kinds, known.joint_kinds, known.chain_kinds, known.tasks, known.features,
        known.evidence_levels, known.part_conditions, known.quantities, known.assemblies,
    )  # fmt: skip
    return frozenset(name for table in tables for name in table)


def serialized(index: CatalogueIndex, part: Part, base: str, media_type: str) -> bytes:
    """The page's facts in one of FORMATS. `base`: the shop's base IRI."""
    prefixes = {"lay": LAY, "kind": KIND, "shop": base, "rdf": RDF, "rdfs": RDFS, "prov": PROV, "xsd": XSD}
    triples = sorted(triples_of_part(index, part, base), key=str)
    made = ox.serialize(triples, format=FORMATS[media_type], prefixes=prefixes)
    assert made is not None
    return made


def triples_of_part(index: CatalogueIndex, part: Part, base: str) -> set[ox.Triple]:
    """Everything about the part that its page shows; families are named, not described."""
    writer, known = _Writer(base), index.catalogue
    edges = edges_of_part(index, part.id)
    measured = [owned(index, owner) for owner in index.lineage(part.id)]
    measurements = [fact for facts, _ in measured for fact in facts]
    faces = [face for _, found_faces in measured for face in found_faces]
    found = set(writer.part(part))
    for edge in edges:
        found.update(writer.edge(edge))
    for fact in measurements:
        found.update(writer.measurement(fact))
    for face in faces:
        found.update(writer.face(face))
    cited = {part.note, *(edge.note for edge in edges), *(fact.note for fact in measurements)}
    cited.update(face.note for face in faces)
    for name in sorted(cited & set(known.notes)):
        found.update(writer.note(known.notes[name]))
    return found


class _Writer:
    """Writes the things of the catalogue as triples."""

    def __init__(self, base: str):
        self.base = base

    def iri(self, name: str) -> ox.NamedNode:
        """The IRI behind an id: whole already, one of the house's kinds, or the shop's."""
        if "://" in name:
            return ox.NamedNode(name)
        return ox.NamedNode((KIND if name in _house_ids() else self.base) + name)

    def part(self, part: Part) -> Iterator[ox.Triple]:
        subject = self.iri(part.id)
        yield ox.Triple(subject, TYPE, ox.NamedNode(LAY + "Part"))
        yield ox.Triple(subject, ox.NamedNode(LABEL), ox.Literal(part.label, language="en"))
        yield from self._refs(subject, "kind", [part.kind])
        yield from self._refs(subject, "variantOf", [part.variant_of])
        yield from self._refs(subject, "partCondition", [part.condition] if part.condition != "unknown" else [])
        yield from self._refs(subject, "note", [part.note])
        yield from self._refs(subject, "madeFor", part.made_for)
        yield from self._texts(subject, ("number", part.number), ("currency", part.currency))
        yield from self._texts(subject, *(("toConfirm", text) for text in part.to_confirm))
        if part.cash_hundredths is not None:
            yield self._decimal(subject, "cash", Fraction(part.cash_hundredths, HUNDREDTHS))
        yield from self._work(subject, 0, part.hours_hundredths, part.days, part.tasks)
        yield from self._flags(subject, ("inStock", part.in_stock), ("abstract", part.abstract))
        yield from self._conditions(subject, part.conditions)

    def edge(self, edge: Edge) -> Iterator[ox.Triple]:
        subject = self.iri(edge.id)
        yield ox.Triple(subject, TYPE, ox.NamedNode(_CLASS_OF[edge.kind]))
        names = {"source": edge.source, "target": edge.target, "joint": edge.joint, "position": edge.position,
                 "note": edge.note, "evidence": edge.evidence}  # fmt: skip
        for name, value in names.items():
            yield from self._refs(subject, name, [value])
        yield from self._refs(subject, "overrules", edge.overrules)
        yield from self._texts(subject, ("group", edge.group), ("reason", edge.reason), ("caution", edge.caution))
        yield from self._texts(subject, *(("toConfirm", text) for text in edge.to_confirm))
        if edge.kind == SHIFTS:
            yield self._decimal(subject, "shiftMm", Fraction(edge.shift_um, MICROMETRES))
        if edge.uncertainty_um is not None:
            yield self._decimal(subject, "uncertaintyMm", Fraction(edge.uncertainty_um, MICROMETRES))
        if edge.miss_um is not None:
            yield self._decimal(subject, "missMm", Fraction(edge.miss_um, MICROMETRES))
        yield from self._work(subject, edge.cash_hundredths, edge.hours_hundredths, edge.days, edge.tasks)
        yield from self._flags(subject, ("irreversible", edge.irreversible))
        yield from self._conditions(subject, edge.conditions)
        if edge.operations:
            yield from self._list(subject, "operations", edge.operations)

    def measurement(self, fact: Measurement) -> Iterator[ox.Triple]:
        subject = self.iri(fact.id)
        yield ox.Triple(subject, TYPE, ox.NamedNode(LAY + "Measurement"))
        refs = {"quantity": fact.quantity, "measuredOn": fact.of, "evidence": fact.evidence, "note": fact.note}
        for name, value in refs.items():
            yield from self._refs(subject, name, [value])
        yield from self._texts(
            subject, ("reading", fact.reading), ("uncertainty", fact.uncertainty), ("datum", fact.datum),
            ("tool", fact.tool), ("temperature", fact.temperature), ("subject", fact.subject),
        )  # fmt: skip

    def face(self, face: BoltFace) -> Iterator[ox.Triple]:
        subject = self.iri(face.id)
        yield ox.Triple(subject, TYPE, ox.NamedNode(LAY + "BoltFace"))
        refs = {"measuredOn": face.of, "joint": face.joint, "evidence": face.evidence, "note": face.note}
        for name, value in refs.items():
            yield from self._refs(subject, name, [value])
        texts = (("datum", face.datum), ("seenFrom", face.seen_from), ("uncertainty", face.uncertainty))
        yield from self._texts(subject, *texts)
        for hole in face.holes:
            node = ox.NamedNode(f"{subject.value}/holes/{len(hole.id)}-{hole.id.encode().hex()}")
            yield ox.Triple(subject, ox.NamedNode(LAY + "hole"), node)
            yield ox.Triple(node, TYPE, ox.NamedNode(LAY + "Hole"))
            yield from self._texts(
                node, ("holeName", hole.id), ("x", hole.x), ("y", hole.y), ("diameter", hole.diameter),
                ("use", hole.use), ("thread", hole.thread), ("edgeDistance", hole.edge_distance),
            )  # fmt: skip

    def note(self, note: Note) -> Iterator[ox.Triple]:
        subject = self.iri(note.id)
        yield ox.Triple(subject, TYPE, ox.NamedNode(LAY + "Note"))
        yield from self._texts(subject, ("text", note.text), ("method", note.method), ("job", note.job))
        yield from self._refs(subject, "evidence", [note.evidence])
        if note.author:
            agent = ox.NamedNode(agent_iri(self.base, note.author))
            yield ox.Triple(subject, ox.NamedNode(PROV + "wasAttributedTo"), agent)
            yield ox.Triple(agent, TYPE, ox.NamedNode(PROV + "Agent"))
            yield ox.Triple(agent, ox.NamedNode(LABEL), ox.Literal(note.author))
        if note.made_on:
            kind = "date" if _DATE.fullmatch(note.made_on) else "dateTime"
            made = ox.Literal(note.made_on, datatype=ox.NamedNode(XSD + kind))
            yield ox.Triple(subject, ox.NamedNode(PROV + "generatedAtTime"), made)

    def _refs(self, subject: ox.NamedNode, name: str, ids: Iterable[str]) -> Iterator[ox.Triple]:
        yield from (ox.Triple(subject, ox.NamedNode(LAY + name), self.iri(one)) for one in ids if one)

    def _texts(self, subject: ox.NamedNode, *values: tuple[str, str]) -> Iterator[ox.Triple]:
        yield from (ox.Triple(subject, ox.NamedNode(LAY + name), ox.Literal(text)) for name, text in values if text)

    def _flags(self, subject: ox.NamedNode, *values: tuple[str, bool]) -> Iterator[ox.Triple]:
        for name, value in values:
            if value:
                true = ox.Literal("true", datatype=ox.NamedNode(XSD + "boolean"))
                yield ox.Triple(subject, ox.NamedNode(LAY + name), true)

    def _decimal(self, subject: ox.NamedNode, name: str, value: Fraction) -> ox.Triple:
        text = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"
        literal = ox.Literal(text, datatype=ox.NamedNode(XSD + "decimal"))
        return ox.Triple(subject, ox.NamedNode(LAY + name), literal)

    def _work(
        self, subject: ox.NamedNode, cash: int, hours: int, days: Fraction, tasks: Iterable[str]
    ) -> Iterator[ox.Triple]:
        amounts = {"cash": Fraction(cash, HUNDREDTHS), "hours": Fraction(hours, HUNDREDTHS), "days": days}
        yield from (self._decimal(subject, name, value) for name, value in amounts.items() if value)
        yield from self._refs(subject, "task", tasks)

    def _conditions(self, subject: ox.NamedNode, conditions: Iterable[Condition]) -> Iterator[ox.Triple]:
        for number, condition in enumerate(conditions, start=1):
            node = ox.NamedNode(f"{subject.value}/conditions/{number}")
            yield ox.Triple(subject, ox.NamedNode(LAY + "condition"), node)
            yield ox.Triple(node, TYPE, ox.NamedNode(LAY + "Condition"))
            yield from self._texts(
                node, ("key", condition.key), ("operator", condition.op), ("value", condition.value),
                ("text", condition.text),
            )  # fmt: skip

    def _list(self, subject: ox.NamedNode, name: str, items: tuple[str, ...]) -> Iterator[ox.Triple]:
        """An RDF list; every node gets a name under its subject, because this shop has no blank nodes."""
        nodes = [ox.NamedNode(f"{subject.value}/{name}/{number}") for number in range(1, len(items) + 1)]
        yield ox.Triple(subject, ox.NamedNode(LAY + name), nodes[0])
        for node, item, rest in zip(nodes, items, [*nodes[1:], ox.NamedNode(RDF + "nil")], strict=True):
            yield ox.Triple(node, ox.NamedNode(RDF + "first"), ox.Literal(item))
            yield ox.Triple(node, ox.NamedNode(RDF + "rest"), rest)

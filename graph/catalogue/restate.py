"""From the catalogue back to statements: what a thing that was read says of itself, as triples.

The way back of graph/catalogue/build.py, for the classes that notes speak of besides fact files. It lets a note be
judged beside facts that are kept as things and not as statements. A value that stood in many spellings (2.50, 2.5)
comes back in one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any
from urllib.parse import quote

from pyoxigraph import BlankNode, Literal, NamedNode, Triple

from graph.catalogue.build import EDGE_CLASSES
from graph.catalogue.model import (
    SHIFTS,
    BoltFace,
    Condition,
    Edge,
    MeasuredHole,
    Measurement,
    Note,
    Part,
    StatedFault,
    StatedInspection,
)
from graph.catalogue.names import DEFINITION, LABEL, LAY, PROV, SOURCE, TYPE, XSD
from graph.catalogue.statements import LIST_FIRST, LIST_NIL, LIST_REST
from graph.exact import HUNDREDTHS, MICROMETRES

Iri = Callable[[str], str]  # a thing's id -> its IRI
Node = NamedNode | BlankNode
# The node for what hangs on a subject: the subject, CONDITIONS, OPERATIONS or HOLES, which one, its key.
NameInner = Callable[[Node, str, int, str], Node]
CONDITIONS, OPERATIONS, HOLES = INNER = ("conditions", "operations", "holes")
CLASS_OF_EDGE = {kind: name for name, kind in EDGE_CLASSES.items()}
# The tables of what can be said again: what single notes speak of, other than kinds, tasks and the shop.
SINGLE_TABLES = ("notes", "parts", "edges", "faults", "inspections", "measurements", "bolt_faces")


def blank(subject: Node, what: str, number: int, _key: str) -> BlankNode:
    """The blank node for what hangs on a subject, the same one every time."""
    return BlankNode(f"b{INNER.index(what)}n{number}of{subject.value.encode().hex()}")


def restate(
    thing: Any, iri: Iri, *, evidence_of_note: Callable[[str], str] = lambda note: "", name_inner: NameInner = blank
) -> list[Triple]:
    """The statements of a thing of one of SINGLE_TABLES, what hangs on it (by default as blank nodes) among them.

    `evidence_of_note`: what the note with this id is known by; an edge with the same evidence has it from its note.
    """
    words = _Words(NamedNode(iri(thing.id)), iri, name_inner)
    _WRITERS[type(thing)](words, thing)
    if isinstance(thing, Edge | Measurement | BoltFace) and thing.evidence != evidence_of_note(thing.note):
        words.ref("evidence", thing.evidence)
    return words.said


class _Words:
    """Collects what is said of one subject; leaves out what is empty, as the builder reads it."""

    def __init__(self, subject: Node, iri: Iri, name_inner: NameInner, said: list[Triple] | None = None):
        self.subject, self.iri, self.name_inner = subject, iri, name_inner
        self.said: list[Triple] = [] if said is None else said

    def say(self, name: str, value: Node | Literal) -> None:
        self.said.append(Triple(self.subject, NamedNode(name if ":" in name else LAY + name), value))

    def is_a(self, class_: str) -> None:
        self.say(TYPE, NamedNode(class_ if ":" in class_ else LAY + class_))

    def text(self, name: str, value: str) -> None:
        if value:
            self.say(name, Literal(value))

    def texts(self, name: str, values: Sequence[str]) -> None:
        for value in values:
            self.text(name, value)

    def ref(self, name: str, id_: str) -> None:
        if id_:
            self.say(name, NamedNode(self.iri(id_)))

    def refs(self, name: str, ids: Sequence[str]) -> None:
        for id_ in ids:
            self.ref(name, id_)

    def flag(self, name: str, value: bool) -> None:
        self.say(name, Literal(value))

    def number(self, name: str, value: int | Fraction | None, scale: int = 1) -> None:
        if value:
            self.number_stated(name, value, scale)

    def number_stated(self, name: str, value: int | Fraction | None, scale: int = 1) -> None:
        """A number that says something even where it is 0."""
        if value is not None:
            exact = Fraction(value, scale)
            text = f"{Decimal(exact.numerator) / Decimal(exact.denominator):f}"
            self.say(name, Literal(text, datatype=NamedNode(XSD + "decimal")))

    def of(self, subject: Node) -> _Words:
        """What is said of another subject, beside the rest."""
        return _Words(subject, self.iri, self.name_inner, self.said)

    def inner(self, name: str, what: str, number: int, key: str = "") -> _Words:
        """What is said of a node that hangs on the subject, the `number`th of its sort."""
        node = self.name_inner(self.subject, what, number, key)
        self.say(name, node)
        return self.of(node)

    def conditions(self, conditions: Sequence[Condition]) -> None:
        for number, condition in enumerate(conditions):
            inner = self.inner("condition", CONDITIONS, number)
            inner.is_a("Condition")
            inner.text("key", condition.key)
            inner.text("operator", condition.op)
            inner.text("value", condition.value)
            inner.text("text", condition.text)

    def operations(self, operations: Sequence[str]) -> None:
        at, name = self, LAY + "operations"
        for number, operation in enumerate(operations):
            at = self.inner(name, OPERATIONS, number) if at is self else self.of(self._next(at, number))
            at.text(LIST_FIRST, operation)
        if operations:
            at.say(LIST_REST, NamedNode(LIST_NIL))

    def _next(self, at: _Words, number: int) -> Node:
        node = self.name_inner(self.subject, OPERATIONS, number, "")
        at.say(LIST_REST, node)
        return node


def _part(words: _Words, part: Part) -> None:
    words.is_a("Part")
    words.text(LABEL, part.label)
    words.ref("kind", part.kind)
    words.ref("variantOf", part.variant_of)
    words.text("number", part.number)
    words.ref("partCondition", "" if part.condition == "unknown" else part.condition)
    words.number_stated("cash", part.cash_hundredths, HUNDREDTHS)
    words.number_stated("partExchange", part.part_exchange_hundredths, HUNDREDTHS)
    words.text("currency", part.currency)
    words.number("days", part.days)
    words.number_stated("hours", part.hours_hundredths, HUNDREDTHS)
    words.refs("task", part.tasks)
    words.conditions(part.conditions)
    words.texts("toConfirm", part.to_confirm)
    words.texts("checkWhenFitted", part.check_when_fitted)
    words.ref("note", part.note)
    words.refs("madeFor", part.made_for)
    for name, value in (("inStock", part.in_stock), ("abstract", part.abstract)):
        if value:
            words.flag(name, value)


def _edge(words: _Words, edge: Edge) -> None:
    words.is_a(CLASS_OF_EDGE[edge.kind])
    words.ref("source", edge.source)
    words.ref("target", edge.target)
    words.ref("joint", edge.joint)
    words.ref("position", edge.position)
    words.text("group", edge.group)
    if edge.kind == SHIFTS:
        words.number_stated("shiftMm", edge.shift_um, MICROMETRES)
    words.number_stated("uncertaintyMm", edge.uncertainty_um, MICROMETRES)
    words.number_stated("cash", edge.cash_hundredths, HUNDREDTHS)
    words.number_stated("hours", edge.hours_hundredths, HUNDREDTHS)
    words.number_stated("lowHours", edge.low_hours_hundredths, HUNDREDTHS)
    words.number_stated("highHours", edge.high_hours_hundredths, HUNDREDTHS)
    words.number("days", edge.days)
    words.refs("task", edge.tasks)
    words.operations(edge.operations)
    if edge.irreversible:
        words.flag("irreversible", True)
    words.conditions(edge.conditions)
    words.texts("toConfirm", edge.to_confirm)
    words.texts("checkWhenFitted", edge.check_when_fitted)
    words.text("reason", edge.reason)
    words.number_stated("missMm", edge.miss_um, MICROMETRES)
    words.refs("overrules", edge.overrules)
    words.text("caution", edge.caution)
    words.ref("note", edge.note)


def _note(words: _Words, note: Note) -> None:
    words.is_a("Note")
    words.text("text", note.text)
    words.ref("evidence", note.evidence)
    if note.author:
        agent = NamedNode(words.iri(f"people/{quote(note.author, safe='')}"))
        words.say(PROV + "wasAttributedTo", agent)
        about = words.of(agent)
        about.is_a(PROV + "Agent")
        about.text(LABEL, note.author)
    if note.made_on:
        words.say(
            PROV + "generatedAtTime", Literal(note.made_on, datatype=NamedNode(XSD + _kind_of_date(note.made_on)))
        )
    words.text("method", note.method)
    words.text("job", note.job)


def _kind_of_date(text: str) -> str:
    return "dateTime" if "T" in text else "date"


def _fault(words: _Words, fault: StatedFault) -> None:
    words.is_a("Fault")
    words.text(LABEL, fault.label)
    words.text(DEFINITION, fault.definition)
    words.ref("position", fault.position)
    words.ref("of", fault.of)
    words.number_stated("odds", fault.odds)
    words.number_stated("cash", fault.cash_hundredths, HUNDREDTHS)
    words.number_stated("hours", fault.hours_hundredths, HUNDREDTHS)
    words.flag("shows", fault.shows)
    words.text(SOURCE, fault.source)


def _inspection(words: _Words, inspection: StatedInspection) -> None:
    words.is_a("Inspection")
    words.text(LABEL, inspection.label)
    words.text(DEFINITION, inspection.definition)
    words.number_stated("cash", inspection.cash_hundredths, HUNDREDTHS)
    words.number_stated("hours", inspection.hours_hundredths, HUNDREDTHS)
    words.refs("settles", inspection.settles)
    words.text("caution", inspection.caution)


def _measurement(words: _Words, fact: Measurement) -> None:
    words.is_a("Measurement")
    words.ref("quantity", fact.quantity)
    words.ref("measuredOn", fact.of)
    for name in ("reading", "uncertainty", "datum", "tool", "temperature", "subject"):
        words.text(name, getattr(fact, name))
    words.ref("note", fact.note)


def _bolt_face(words: _Words, face: BoltFace) -> None:
    words.is_a("BoltFace")
    words.ref("measuredOn", face.of)
    words.ref("joint", face.joint)
    for name in ("datum", "uncertainty"):
        words.text(name, getattr(face, name))
    words.text("seenFrom", face.seen_from)
    for number, hole in enumerate(face.holes):
        _hole(words.inner("hole", HOLES, number, f"{len(hole.id)}-{hole.id.encode().hex()}"), hole)
    words.ref("note", face.note)


def _hole(words: _Words, hole: MeasuredHole) -> None:
    words.is_a("Hole")
    words.text("holeName", hole.id)
    for name in ("x", "y", "diameter", "use", "thread"):
        words.text(name, getattr(hole, name))
    words.text("edgeDistance", hole.edge_distance)


_WRITERS: dict[type, Callable[[_Words, Any], None]] = {
    Part: _part, Edge: _edge, Note: _note, StatedFault: _fault, StatedInspection: _inspection,
    Measurement: _measurement, BoltFace: _bolt_face,
}  # fmt: skip

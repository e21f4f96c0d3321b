"""From the catalogue back to statements: what a thing that was read says of itself, as triples.

The way back of graph/catalogue/build.py, by the same description of each class (described.py). It lets a note be
judged beside facts that are kept as things and not as statements. A value that stood in many spellings (2.50, 2.5)
comes back in one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any
from urllib.parse import quote

from pyoxigraph import BlankNode, Literal, NamedNode, Triple

from graph.catalogue.described import CLASS_NAMES, EDGE_CLASSES, SCALES, SaidField, said_fields
from graph.catalogue.model import Edge
from graph.catalogue.names import LABEL, LAY, PROV, TYPE, XSD
from graph.catalogue.statements import LIST_FIRST, LIST_NIL, LIST_REST

Iri = Callable[[str], str]  # a thing's id -> its IRI
Node = NamedNode | BlankNode
# The node for what hangs on a subject: the subject, one of INNER, which one, its key.
NameInner = Callable[[Node, str, int, str], Node]
INNER = ("conditions", "operations", "holes")
_SAID_OF_NOTHING = frozenset((*SCALES, "flag"))  # sorts of which 0 or "no" says something
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
    words.thing(thing, evidence_of_note)
    return words.said


class _Words:
    """Collects what is said of one subject; leaves out what is empty, or true of whatever says nothing of it."""

    def __init__(self, subject: Node, iri: Iri, name_inner: NameInner, said: list[Triple] | None = None):
        self.subject, self.iri, self.name_inner = subject, iri, name_inner
        self.said: list[Triple] = [] if said is None else said

    def thing(self, thing: Any, evidence_of_note: Callable[[str], str] = lambda note: "") -> None:
        """Its class, and what each of its fields says."""
        kind: type = type(thing)
        self.say(TYPE, NamedNode(CLASS_OF_EDGE[thing.kind] if kind is Edge else LAY + CLASS_NAMES[kind]))
        for said in said_fields(kind):
            value = getattr(thing, said.name)
            if not value and (value is None or said.sort not in _SAID_OF_NOTHING):
                continue
            if said.only_of and thing.kind != said.only_of:
                continue
            if said.sort != "evidence" or value != evidence_of_note(thing.note):
                _WRITERS[said.sort](self, said, value)

    def say(self, name: str, value: Node | Literal) -> None:
        self.said.append(Triple(self.subject, NamedNode(name), value))

    def text(self, name: str, value: str) -> None:
        self.say(name, Literal(value))

    def ref(self, name: str, id_: str) -> None:
        self.say(name, NamedNode(self.iri(id_)))

    def of(self, subject: Node) -> _Words:
        """What is said of another subject, beside the rest."""
        return _Words(subject, self.iri, self.name_inner, self.said)

    def inner(self, name: str, what: str, number: int, key: str = "") -> _Words:
        """What is said of a node that hangs on the subject, the `number`th of its sort."""
        node = self.name_inner(self.subject, what, number, key)
        self.say(name, node)
        return self.of(node)


def _texts(words: _Words, said: SaidField, values: Sequence[str]) -> None:
    for value in values:
        words.text(said.said_as, value)


def _ref(words: _Words, said: SaidField, id_: str) -> None:
    if id_ != said.default:
        words.ref(said.said_as, id_)


def _refs(words: _Words, said: SaidField, ids: Sequence[str]) -> None:
    for id_ in ids:
        words.ref(said.said_as, id_)


def _flag(words: _Words, said: SaidField, value: bool) -> None:
    if value != said.default:
        words.say(said.said_as, Literal(value))


def _amount(words: _Words, said: SaidField, value: int) -> None:
    """One that says something even where it is 0."""
    _number(words, said, Fraction(value, SCALES[said.sort]))


def _exact(words: _Words, said: SaidField, value: Fraction) -> None:
    if said.always or value != said.default:
        _number(words, said, value)


def _number(words: _Words, said: SaidField, value: Fraction) -> None:
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"
    words.say(said.said_as, Literal(text, datatype=NamedNode(XSD + "decimal")))


def _each(words: _Words, said: SaidField, things: Sequence[Any]) -> None:
    """Things that hang on the subject; one that has a name is keyed by it."""
    for number, thing in enumerate(things):
        key = f"{len(thing.id)}-{thing.id.encode().hex()}" if hasattr(thing, "id") else ""
        words.inner(said.said_as, said.name, number, key).thing(thing)


def _listed(words: _Words, said: SaidField, values: Sequence[str]) -> None:
    """An RDF list of the texts."""
    at = words
    for number, value in enumerate(values):
        node = words.name_inner(words.subject, said.name, number, "")
        at.say(LIST_REST if number else said.said_as, node)
        at = words.of(node)
        at.text(LIST_FIRST, value)
    at.say(LIST_REST, NamedNode(LIST_NIL))


def _person(words: _Words, said: SaidField, name: str) -> None:
    agent = NamedNode(words.iri(f"people/{quote(name, safe='')}"))
    words.say(said.said_as, agent)
    about = words.of(agent)
    about.say(TYPE, NamedNode(PROV + "Agent"))
    about.text(LABEL, name)


def _date(words: _Words, said: SaidField, value: str) -> None:
    words.say(said.said_as, Literal(value, datatype=NamedNode(XSD + ("dateTime" if "T" in value else "date"))))


_WRITERS: Mapping[str, Callable[[_Words, SaidField, Any], None]] = {
    "text": lambda words, said, value: words.text(said.said_as, value),
    "texts": _texts,
    "ref": _ref,
    "evidence": _ref,
    "refs": _refs,
    "flag": _flag,
    "hundredths": _amount,
    "um": _amount,
    "exact": _exact,
    "each": _each,
    "listed": _listed,
    "person": _person,
    "date": _date,
    "edge_class": lambda words, said, value: None,  # said as the class
}

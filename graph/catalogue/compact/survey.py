"""First pass over facts that are too many to hold: who is declared where, and what others must know of them.

Kept of each part: its kind and family; of each note: its evidence; of each agent: its label; of all else that is
named: its class. Statements about kinds and about the shop are kept whole, for every chunk is read with them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from pyoxigraph import BlankNode, Literal, NamedNode, Quad, Triple

from graph.catalogue.described import EDGE_CLASSES
from graph.catalogue.names import KIND, LABEL, LAY, PROV, TYPE
from graph.errors import Problem

Chunk = tuple[str, Iterable[Quad | Triple]]  # where it stands, and what it states
PART, NOTE, AGENT = LAY + "Part", LAY + "Note", PROV + "Agent"
HAS_NONE, SOURCE_OF, POSITION = LAY + "HasNone", LAY + "source", LAY + "position"
KIND_OF, FAMILY_OF, EVIDENCE = LAY + "kind", LAY + "variantOf", LAY + "evidence"
SHARED_CLASSES = frozenset(
    LAY + name
    for name in (
        "Shop", "PartKind", "PositionKind", "JointKind", "ChainKind", "Task", "Feature", "EvidenceLevel",
        "PartCondition", "Quantity", "Assembly",
    )
)  # fmt: skip


@dataclass(slots=True)
class KnownOfThing:
    """What other chunks may ask of a thing. `kind`: a part's kind, a note's evidence, an agent's label."""

    of_class: str
    kind: str = ""
    family: str = ""


@dataclass(slots=True)
class Survey:
    """What the first pass found."""

    things: dict[str, KnownOfThing] = field(default_factory=dict)
    edges: dict[str, str] = field(default_factory=dict)  # IRI -> class
    has_none: dict[tuple[str, str], str] = field(default_factory=dict)  # unit, position -> IRI of the edge
    shared: list[Quad | Triple] = field(default_factory=list)
    shared_subjects: set[str] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)
    statements: int = 0
    _files: dict[str, str] = field(default_factory=dict)  # of the few that are no parts, notes or edges

    def add(self, chunk: Chunk) -> None:
        """Takes in one chunk. A thing must be stated whole in one chunk; kinds and the shop may be added to."""
        origin, quads = chunk
        for subject, about in runs(quads):
            self.statements += len(about)
            self._add_thing(subject, about, origin)

    def _add_thing(self, subject: str, about: list[Quad | Triple], origin: str) -> None:
        classes = [
            q.object.value
            for q in about
            if q.predicate.value == TYPE and q.subject == about[0].subject and isinstance(q.object, NamedNode)
        ]
        lay = next((name for name in classes if name in EDGE_CLASSES or name.startswith(LAY)), "")
        if subject.startswith(KIND) or lay in SHARED_CLASSES:
            self.shared.extend(about)
            self.shared_subjects.add(subject)
            return
        of_class = lay or next(iter(classes), "")
        if subject in self.things or subject in self.edges:
            message = "stated in two places; in facts read in bulk, state all of a thing together, in one file"
            self.problems.append(Problem(f"{origin}, {subject}", message))
        elif of_class in EDGE_CLASSES:
            self.edges[subject] = of_class
            if of_class == HAS_NONE:
                self.has_none.update((place, subject) for place in _places(about))
        else:
            self.things[subject] = _known(of_class, about)


def _known(of_class: str, about: list[Quad | Triple]) -> KnownOfThing:
    wanted = {PART: KIND_OF, NOTE: EVIDENCE, AGENT: LABEL}.get(of_class)
    known = KnownOfThing(of_class)
    for quad in about:
        if quad.predicate.value == wanted:
            known.kind = quad.object.value  # type: ignore[union-attr]
        elif quad.predicate.value == FAMILY_OF and of_class == PART:
            known.family = quad.object.value  # type: ignore[union-attr]
    return known


def _places(about: list[Quad | Triple]) -> Iterator[tuple[str, str]]:
    """The unit and the position kind that an edge speaks of."""
    said = {quad.predicate.value: quad.object.value for quad in about if isinstance(quad.object, NamedNode)}
    if SOURCE_OF in said and POSITION in said:
        yield said[SOURCE_OF], said[POSITION]


def runs(quads: Iterable[Quad | Triple]) -> Iterator[tuple[str, list[Quad | Triple]]]:
    """The statements by named subject, with those of the blank nodes that stand among them."""
    subject = ""
    about: list[Quad | Triple] = []
    for quad in quads:
        if isinstance(quad.subject, NamedNode) and quad.subject.value != subject:
            if about:
                yield subject, about
            subject, about = quad.subject.value, []
        about.append(quad)
    if about:
        yield subject, about


def stand_in(subject: str, known: KnownOfThing) -> Iterator[Triple]:
    """Statements enough for others to refer to the thing; none of them is read as its own."""
    node = NamedNode(subject)
    yield Triple(node, NamedNode(TYPE), NamedNode(known.of_class))
    if known.of_class == PART:
        yield Triple(node, NamedNode(LABEL), Literal("-"))
        yield Triple(node, NamedNode(KIND_OF), NamedNode(known.kind))
        if known.family:
            yield Triple(node, NamedNode(FAMILY_OF), NamedNode(known.family))
    elif known.of_class == NOTE and known.kind:
        yield Triple(node, NamedNode(EVIDENCE), NamedNode(known.kind))
    elif known.of_class == AGENT and known.kind:
        yield Triple(node, NamedNode(LABEL), Literal(known.kind))


def named_in(quads: Iterable[Quad | Triple]) -> set[str]:
    """Every IRI that the statements speak of as an object."""
    return {q.object.value for q in quads if isinstance(q.object, NamedNode) and not isinstance(q.object, BlankNode)}

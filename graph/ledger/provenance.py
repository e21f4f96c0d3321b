"""Who says so, as RDF: the PROV-O statements that stand in a note's graph beside what it states.

`quads_of` makes the whole named graph of a line; `read_graph` takes such a graph apart again, so an export
in any RDF syntax can be merged by another shop with its provenance intact.
Source: W3C PROV-O, sections 3.1 to 3.3; DCMI terms for the document.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from urllib.parse import unquote, urlsplit

import pyoxigraph as ox

from graph.errors import InvalidFacts, Problem
from graph.ledger.drafts import moment
from graph.ledger.identity import KINDS, VOCABULARY, agent_iri, find_note_id, revision_iri
from graph.ledger.record import NOTE, RETRACT, REVISE, Draft, Entry
from graph.ledger.statements import canonical, triples_of

PROV = "http://www.w3.org/ns/prov#"
RDF_TYPE = ox.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type")
RDFS_LABEL = ox.NamedNode("http://www.w3.org/2000/01/rdf-schema#label")
SOURCE_TEXT = ox.NamedNode("http://purl.org/dc/terms/source")
XSD = "http://www.w3.org/2001/XMLSchema#"
_TIME, _INTEGER, _BOOLEAN = (ox.NamedNode(XSD + name) for name in ("dateTime", "integer", "boolean"))


def _lay(name: str) -> ox.NamedNode:
    return ox.NamedNode(VOCABULARY + name)


def _prov(name: str) -> ox.NamedNode:
    return ox.NamedNode(PROV + name)


NOTE_CLASS, TEXT, EVIDENCE, METHOD, JOB = map(_lay, ("Note", "text", "evidence", "method", "job"))
REVISION, SHAREABLE, SETTLES, RECORDED_AT = map(_lay, ("revision", "shareable", "settlesDispute", "recordedAt"))
LINE_HASH, ON_NOTE, EDGE_SOURCE, KIND, MEASURED_ON = map(_lay, ("lineHash", "note", "source", "kind", "measuredOn"))
AUTHOR, MADE_AT, REVISES, DOCUMENT = map(
    _prov, ("wasAttributedTo", "generatedAtTime", "wasRevisionOf", "hadPrimarySource")
)
AGENT = _prov("Agent")
TAKEN_BACK = _prov("invalidatedAtTime")


def quads_of(entry: Entry) -> set[ox.Quad]:
    """The named graph of a note: its statements, who says so, and which edges and parts rest on it."""
    graph = ox.NamedNode(entry.iri)
    stated = triples_of(entry.statements)
    triples = {*stated, *_told(entry, graph), *_kept(entry, graph), *_rests_on(stated, graph)}
    return {ox.Quad(triple.subject, triple.predicate, triple.object, graph) for triple in triples}


def quad_lines(entry: Entry) -> set[str]:
    """The same as lines of N-Quads, made from the ledger's text without parsing it: for loading in bulk.

    Canonical N-Triples have no space inside a subject or a predicate (RDF 1.1 N-Triples, section 4).
    """
    note = ox.NamedNode(entry.iri)
    stated = [line.removesuffix(" .") for line in entry.statements.splitlines()]
    told = (str(triple) for triple in (*_told(entry, note), *_kept(entry, note)))
    parts = [line.split(" ", 2) for line in stated]
    noted = (f"{subject} {ON_NOTE} {note}" for subject in _resting((subject, verb) for subject, verb, _ in parts))
    return {f"{line} {note} .\n" for line in (*stated, *told, *noted)}


def facts_of(entry: Entry, told: bool = True) -> list[ox.Triple]:
    """What the catalogue takes from a note: statements, what rests on it, and (where `told`) who says so and how."""
    note = ox.NamedNode(entry.iri)
    stated = triples_of(entry.statements)
    words = _told(entry, note) if told else (ox.Triple(note, RDF_TYPE, NOTE_CLASS),)
    return [*stated, *words, *_rests_on(stated, note)]


def _told(entry: Entry, note: ox.NamedNode) -> Iterator[ox.Triple]:
    """Who says so, when, and how it is known."""
    yield ox.Triple(note, RDF_TYPE, NOTE_CLASS)
    yield ox.Triple(note, MADE_AT, _time(entry.made_at or entry.recorded_at))
    for predicate, text in ((TEXT, entry.text), (METHOD, entry.method), (JOB, entry.job)):
        if text:
            yield ox.Triple(note, predicate, ox.Literal(text))
    if entry.evidence:
        yield ox.Triple(note, EVIDENCE, ox.NamedNode(KINDS + entry.evidence))
    if entry.author:
        agent = ox.NamedNode(agent_iri(_base_of(entry), entry.author))
        yield ox.Triple(note, AUTHOR, agent)
        yield ox.Triple(agent, RDF_TYPE, AGENT)
        yield ox.Triple(agent, RDFS_LABEL, ox.Literal(entry.author))


def _kept(entry: Entry, note: ox.NamedNode) -> Iterator[ox.Triple]:
    """How the ledger keeps it, and what it names."""
    yield ox.Triple(note, REVISION, ox.Literal(str(entry.revision), datatype=_INTEGER))
    yield ox.Triple(note, SHAREABLE, ox.Literal("true" if entry.shareable else "false", datatype=_BOOLEAN))
    yield ox.Triple(note, RECORDED_AT, _time(entry.recorded_at))
    yield ox.Triple(note, LINE_HASH, ox.Literal(entry.hash))
    if entry.retracted:
        yield ox.Triple(note, TAKEN_BACK, _time(entry.recorded_at))
    if entry.document:
        is_iri = urlsplit(entry.document).scheme in ("http", "https", "urn", "doi") and " " not in entry.document
        yield _document(note, entry.document, is_iri)
    if entry.revises:
        yield ox.Triple(note, REVISES, ox.NamedNode(entry.revises))
    for iri in entry.settles:
        yield ox.Triple(note, SETTLES, ox.NamedNode(iri))


def _time(moment: str) -> ox.Literal:
    """In XSD's canonical form (no closing zeros), which stores keep as it is."""
    return ox.Literal(moment.removesuffix("Z").rstrip("0").removesuffix(".") + "Z", datatype=_TIME)


def _document(note: ox.NamedNode, document: str, is_iri: bool) -> ox.Triple:
    try:
        return ox.Triple(note, DOCUMENT, ox.NamedNode(document)) if is_iri else _titled(note, document)
    except ValueError:  # looked like an IRI and is none: kept as the text that it is
        return _titled(note, document)


def _titled(note: ox.NamedNode, document: str) -> ox.Triple:
    return ox.Triple(note, SOURCE_TEXT, ox.Literal(document))


def _base_of(entry: Entry) -> str:
    return entry.iri.partition("notes/" + entry.note_id)[0]


def _rests_on(stated: Iterable[ox.Triple], note: ox.NamedNode) -> Iterator[ox.Triple]:
    """`lay:note` for every edge, part and measurement that the note defines and that names no note itself."""
    named = {str(triple.subject): triple.subject for triple in stated}
    for subject in _resting((str(triple.subject), str(triple.predicate)) for triple in stated):
        yield ox.Triple(named[subject], ON_NOTE, note)


_DEFINING = {str(predicate) for predicate in (EDGE_SOURCE, KIND, MEASURED_ON)}
_TYPE_TEXT, _NOTE_TEXT = str(RDF_TYPE), str(ON_NOTE)


def _resting(stated: Iterable[tuple[str, str]]) -> set[str]:
    typed, defined, noted = set(), set(), set()
    for subject, predicate in stated:
        if predicate == _TYPE_TEXT:
            typed.add(subject)
        elif predicate in _DEFINING:
            defined.add(subject)
        elif predicate == _NOTE_TEXT:
            noted.add(subject)
    return typed & defined - noted


def read_graph(iri: str, quads: Iterable[ox.Quad]) -> tuple[str, int, str, Draft]:
    """Takes a note's graph apart: its note id, revision, action and what was said.

    Raises InvalidFacts for a graph that is no note's, or that says its provenance twice.
    """
    note, note_id = ox.NamedNode(iri), find_note_id(iri)
    if note_id is None or iri.rpartition("/")[2] != note_id:
        raise InvalidFacts([Problem(f"graph <{iri}>", "its name is not a note's IRI")])
    triples = [quad.triple for quad in quads]
    about: dict[ox.NamedNode, list[str]] = {}
    for triple in triples:
        if triple.subject == note:
            about.setdefault(triple.predicate, []).append(triple.object.value)  # type: ignore[union-attr]
    agents = set(about.get(AUTHOR, ()))
    stated = [t for t in triples if t.subject != note and not _is_ours(t, note, agents)]
    return _described(iri, note_id, about, canonical(stated), _label_of(triples, agents))


def _is_ours(triple: ox.Triple, note: ox.NamedNode, agents: set[str]) -> bool:
    if triple.predicate == ON_NOTE and triple.object == note:
        return True
    return isinstance(triple.subject, ox.NamedNode) and triple.subject.value in agents


def _label_of(triples: Iterable[ox.Triple], agents: set[str]) -> str:
    for triple in triples:
        if (
            triple.predicate == RDFS_LABEL
            and isinstance(triple.subject, ox.NamedNode)
            and triple.subject.value in agents
        ):
            return triple.object.value  # type: ignore[union-attr]
    return ""


def _moment(iri: str, text: str) -> str:
    try:
        return moment(text)
    except ValueError:
        raise InvalidFacts([Problem(f"graph <{iri}>", f"expected a time, found {text!r}")]) from None


def _described(
    iri: str, note_id: str, about: dict[ox.NamedNode, list[str]], statements: str, author: str
) -> tuple[str, int, str, Draft]:
    def one(predicate: ox.NamedNode) -> str:
        values = about.get(predicate, [""])
        if len(values) > 1:
            raise InvalidFacts([Problem(f"graph <{iri}>", f"says {predicate.value} {len(values)} times")])
        return values[0]

    revision = one(REVISION)
    if not revision.isdigit() or not 1 <= int(revision) < 2**31:
        raise InvalidFacts([Problem(f"graph <{iri}>", f"expected a revision number, found {revision!r}")])
    agent = one(AUTHOR)
    draft = Draft(
        text=one(TEXT), statements=statements, author=author or unquote(agent.rpartition("/")[2]),
        evidence=one(EVIDENCE).removeprefix(KINDS), method=one(METHOD), job=one(JOB),
        document=one(DOCUMENT) or one(SOURCE_TEXT), made_at=_moment(iri, one(MADE_AT)),
        settles=tuple(sorted(about.get(SETTLES, ()))), shareable=one(SHAREABLE) in ("true", "1"),
    )  # fmt: skip
    earlier = one(REVISES)
    if earlier and earlier != revision_iri(iri, int(revision) - 1):
        raise InvalidFacts([Problem(f"graph <{iri}>", f"revises <{earlier}>, which is not the revision before it")])
    action = RETRACT if TAKEN_BACK in about else REVISE if int(revision) > 1 else NOTE
    return note_id, int(revision), action, draft

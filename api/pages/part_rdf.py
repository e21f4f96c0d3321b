"""A part's page as RDF: the part, every statement about it, its measurements and faces, and the notes behind them.

The same facts that the page shows, in the words of the vocabulary, so that another program (or another shop) can take
them in: what is written here loads as facts again. Turtle and JSON-LD are two spellings of these triples.
"""

from __future__ import annotations

from functools import cache

import pyoxigraph as ox

from api.pages.measured_view import owned
from graph.answer.browse import edges_of_part
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Part
from graph.catalogue.names import KIND, LABEL, LAY, PROV, RDF, RDFS, XSD
from graph.catalogue.restate import Node, restate
from graph.lookups.index import CatalogueIndex

FORMATS = {"text/turtle": ox.RdfFormat.TURTLE, "application/ld+json": ox.RdfFormat.JSON_LD}


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
    known = index.catalogue
    edges = edges_of_part(index, part.id)
    measured = [owned(index, owner) for owner in index.lineage(part.id)]
    measurements = [fact for facts, _ in measured for fact in facts]
    faces = [face for _, found_faces in measured for face in found_faces]
    cited = {part.note, *(edge.note for edge in edges), *(fact.note for fact in measurements)}
    cited.update(face.note for face in faces)
    notes = [known.notes[name] for name in sorted(cited & set(known.notes))]
    found: set[ox.Triple] = set()
    for thing in (part, *edges, *measurements, *faces, *notes):
        found.update(restate(thing, lambda name: _iri(base, name), name_inner=_named))
    own = ox.NamedNode(_iri(base, part.id))
    return {_in_english(one) if one.subject == own else one for one in found}


def _iri(base: str, name: str) -> str:
    """The IRI behind an id: whole already, one of the house's kinds, or the shop's."""
    if "://" in name:
        return name
    return (KIND if name in _house_ids() else base) + name


def _named(subject: Node, what: str, number: int, key: str) -> ox.NamedNode:
    """A name under its subject, because this shop has no blank nodes."""
    return ox.NamedNode(f"{subject.value}/{what}/{key or number + 1}")


def _in_english(said: ox.Triple) -> ox.Triple:
    """The same, a label with its language, as fact files have it."""
    if said.predicate.value != LABEL or not isinstance(said.object, ox.Literal):
        return said
    return ox.Triple(said.subject, said.predicate, ox.Literal(said.object.value, language="en"))

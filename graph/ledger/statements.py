"""Statements of a note: parsed from any RDF syntax, named where blank, kept as sorted N-Triples.

The ledger keeps this text and hashes it; it never reads statements back from an RDF store, because stores
change literals (2.50 becomes 2.5). Limits keep one note small enough for one atomic update.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

import pyoxigraph as ox

from graph.errors import InvalidFacts, Problem
from graph.ledger.identity import find_note_id

MAX_STATEMENTS = 2_000
MAX_BYTES = 1_000_000
FORMATS = {
    "turtle": ox.RdfFormat.TURTLE,
    "trig": ox.RdfFormat.TRIG,
    "n-triples": ox.RdfFormat.N_TRIPLES,
    "n-quads": ox.RdfFormat.N_QUADS,
    "json-ld": ox.RdfFormat.JSON_LD,
    "rdf-xml": ox.RdfFormat.RDF_XML,
}
_LINE = re.compile(r"line (\d+)")


def parse(data: bytes | str, rdf_format: ox.RdfFormat, base: str, where: str = "statements") -> list[ox.Quad]:
    """All quads of a document. Raises InvalidFacts with the line where the syntax breaks."""
    return list(iter_quads(data, rdf_format, base, where))


def iter_quads(data: bytes | str, rdf_format: ox.RdfFormat, base: str, where: str) -> Iterator[ox.Quad]:
    """The quads of a document, one by one, for large ones. Raises InvalidFacts like `parse`, when it gets there."""
    try:
        yield from ox.parse(data, format=rdf_format, base_iri=base, rename_blank_nodes=True)
    except (SyntaxError, ValueError) as error:
        line = _LINE.search(str(error))
        place = f"{where} line {error.lineno or (line and line[1]) or '?'}" if isinstance(error, SyntaxError) else where
        raise InvalidFacts([Problem(place, f"not readable as {rdf_format.name}: {error}")]) from None


def named(quads: Iterable[ox.Quad], prefix: str) -> list[ox.Triple]:
    """The triples with every blank node named `prefix` + a number, in order of first appearance."""
    names: dict[ox.BlankNode, ox.NamedNode] = {}

    def name(term: object) -> object:
        if isinstance(term, ox.BlankNode):
            return names.setdefault(term, ox.NamedNode(f"{prefix}{len(names) + 1}"))
        if isinstance(term, ox.Triple):
            raise InvalidFacts(
                [
                    Problem(
                        "statements",
                        "a statement about a statement is not kept; name the edge",
                    )
                ]
            )
        return term

    return [ox.Triple(name(q.subject), q.predicate, name(q.object)) for q in quads]  # type: ignore[arg-type]


def canonical(triples: Iterable[ox.Triple]) -> str:
    """Sorted N-Triples, one line each, no line twice.

    Raises InvalidFacts for too many statements, or statements about a note itself (the ledger makes those).
    """
    distinct = set(triples)
    if len(distinct) > MAX_STATEMENTS:
        raise InvalidFacts(
            [
                Problem(
                    "statements",
                    f"{len(distinct):,} in one note; at most {MAX_STATEMENTS:,} are kept",
                )
            ]
        )
    for triple in distinct:
        subject = triple.subject
        if isinstance(subject, ox.NamedNode) and "/notes/" in subject.value and _is_note(subject.value):
            raise InvalidFacts(
                [
                    Problem(
                        "statements",
                        f"who says what is kept by the ledger; leave out <{subject.value}>",
                    )
                ]
            )
    text = "".join(sorted(f"{triple} .\n" for triple in distinct))
    if len(text.encode()) > MAX_BYTES:
        raise InvalidFacts(
            [
                Problem(
                    "statements",
                    f"{len(text.encode()):,} bytes in one note; at most {MAX_BYTES:,}",
                )
            ]
        )
    return text


def _is_note(iri: str) -> bool:
    return bool(find_note_id(iri)) and "/nodes/" not in iri


def read_statements(data: bytes | str, rdf_format: ox.RdfFormat, base: str, iri: str) -> str:
    """The canonical statements of one note from a document in any syntax. Named graphs in it are refused."""
    quads = parse(data, rdf_format, base)
    if any(not isinstance(quad.graph_name, ox.DefaultGraph) for quad in quads):
        raise InvalidFacts(
            [
                Problem(
                    "statements",
                    "one note is one graph; import a file with named graphs instead",
                )
            ]
        )
    return canonical(named(quads, f"{iri}/nodes/"))


def triples_of(statements: str) -> list[ox.Triple]:
    """The triples that the canonical text holds."""
    return [quad.triple for quad in ox.parse(statements, format=ox.RdfFormat.N_TRIPLES)]

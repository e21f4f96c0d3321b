"""Statements of a note: parsed from any RDF syntax, named where blank, kept as sorted N-Triples.

The ledger keeps this text and hashes it; it never reads statements back from an RDF store, because stores
change literals (2.50 becomes 2.5). Limits keep one note small enough for one atomic update.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import IO

import pyoxigraph as ox

from graph.errors import InvalidFacts, Problem
from graph.ledger.identity import find_note_id
from graph.plain_text import fault_of_text

MAX_STATEMENTS = 2_000
MAX_BYTES = 1_000_000
MAX_FAULTS = 20
MAX_SAID = 300  # characters of a parser's message, which may repeat the text that it read
FORMATS = {
    "turtle": ox.RdfFormat.TURTLE,
    "trig": ox.RdfFormat.TRIG,
    "n-triples": ox.RdfFormat.N_TRIPLES,
    "n-quads": ox.RdfFormat.N_QUADS,
    "json-ld": ox.RdfFormat.JSON_LD,
    "rdf-xml": ox.RdfFormat.RDF_XML,
}
_LINE = re.compile(r"line (\d+)")


def iter_quads(data: bytes | str | IO[bytes], rdf_format: ox.RdfFormat, base: str, where: str) -> Iterator[ox.Quad]:
    """The quads of a document, one by one. Raises InvalidFacts with the line where the syntax breaks, once it is there.

    What strangers wrote is handed to this in a child process, or when it is small (see rdf_files.py).
    """
    try:
        yield from ox.parse(data, format=rdf_format, base_iri=base, rename_blank_nodes=True)
    except (SyntaxError, ValueError) as error:
        line = _LINE.search(str(error))
        place = f"{where} line {error.lineno or (line and line[1]) or '?'}" if isinstance(error, SyntaxError) else where
        said = str(error)
        if "LoadDocumentCallback" in said:
            said = "it names a context elsewhere, and nothing is fetched: write the context into the document"
        raise InvalidFacts([Problem(place, f"not readable as {rdf_format.name}: {said[:MAX_SAID]}")]) from None


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

    Raises InvalidFacts for too many statements, statements about a note itself (the ledger makes those), and texts
    with characters that exports cannot hold.
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
    if faults := [fault for triple in distinct if (fault := _fault_of(triple))]:
        raise InvalidFacts(sorted(faults, key=str)[:MAX_FAULTS])
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


def _fault_of(triple: ox.Triple) -> Problem | None:
    """Where and why a value may not be kept: written as an escape, Turtle takes any character."""
    for term in (triple.object, triple.subject, triple.predicate):
        fault = fault_of_text(getattr(term, "value", ""))
        if fault:
            subject, verb = (getattr(each, "value", str(each)) for each in (triple.subject, triple.predicate))
            return Problem(f"statements, <{subject}> <{verb}>", fault)
    return None


def _is_note(iri: str) -> bool:
    return bool(find_note_id(iri)) and "/nodes/" not in iri


def statements_of(quads: Iterable[ox.Quad], iri: str) -> str:
    """The canonical statements of the note `iri` from its quads. Named graphs in them are refused."""
    found = list(quads)
    if any(not isinstance(quad.graph_name, ox.DefaultGraph) for quad in found):
        raise InvalidFacts(
            [
                Problem(
                    "statements",
                    "one note is one graph; import a file with named graphs instead",
                )
            ]
        )
    return canonical(named(found, f"{iri}/nodes/"))


def triples_of(statements: str) -> list[ox.Triple]:
    """The triples that the canonical text holds."""
    return [quad.triple for quad in ox.parse(statements, format=ox.RdfFormat.N_TRIPLES)]

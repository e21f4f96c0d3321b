"""Foreign RDF as what the ledger can take, read in a child process: one note's statements, a file's things, a merge.

These are tasks of `graph.guarded.reader`: they get an open file, and what they yield is plain JSON. The parent does not
parse what strangers wrote, but for a short and flat text, which no parser can blow up (`is_small`).
"""

from __future__ import annotations

import mmap
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import IO, Any

import pyoxigraph as ox

from graph.errors import InvalidFacts, LimitExceeded, Problem
from graph.guarded import scan
from graph.ledger.identity import new_id, note_iri
from graph.ledger.provenance import read_graph
from graph.ledger.statements import canonical, iter_quads, named, statements_of

MAX_PROBLEMS = 100
SMALL_BYTES, SMALL_DEPTH = 16_000, 16
_GRAMMARS = {
    ox.RdfFormat.TURTLE: scan.TURTLE, ox.RdfFormat.TRIG: scan.TURTLE, ox.RdfFormat.N3: scan.TURTLE,
    ox.RdfFormat.JSON_LD: scan.JSON, ox.RdfFormat.RDF_XML: scan.XML,
}  # fmt: skip


def format_of(name: str, of_datasets: bool = False) -> ox.RdfFormat:
    """The syntax by a file name's ending. Raises InvalidFacts; `of_datasets`: also for one without named graphs."""
    found = ox.RdfFormat.from_extension(Path(name).suffix.lstrip(".").lower())
    if of_datasets and (found is None or not found.supports_datasets):
        raise InvalidFacts([Problem("name", f"expected a name that ends in .trig, .nq or .jsonld, found {name!r}")])
    if found is None:
        raise InvalidFacts([Problem(name, "expected .ttl .nt .jsonld .rdf .trig .nq .csv .tsv or .xlsx")])
    return found


def is_small(data: bytes, rdf_format: ox.RdfFormat, where: str) -> bool:
    """Whether a text is so short and flat that reading it is a matter of milliseconds. Raises InvalidFacts like it."""
    if len(data) > SMALL_BYTES:
        return False
    return scan.depth_of(data, _GRAMMARS.get(rdf_format, scan.TURTLE), where) <= SMALL_DEPTH


@contextmanager
def _scanned(file: IO[bytes], rdf_format: ox.RdfFormat, where: str) -> Iterator[IO[bytes]]:
    """The file, when the scan found nothing wrong with it; ready to be read from its beginning."""
    grammar = _GRAMMARS.get(rdf_format)
    if grammar and file.seek(0, 2):
        with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            scan.depth_of(data, grammar, where)
    file.seek(0)
    yield file


def _quads(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[ox.Quad]:
    form = ox.RdfFormat.from_media_type(given["media_type"])
    assert form is not None
    with _scanned(file, form, given["name"]) as scanned:
        yield from iter_quads(scanned, form, given["base"], given["name"])


def note_statements(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[str]:
    """One item: the canonical statements of the note `iri`. Given: media_type, base, iri."""
    yield statements_of(_quads(file, given), given["iri"])


def thing_groups(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """For each thing described: where it stands, the id of its note, its statements. Given: media_type, base, items."""
    name, base = given["name"], given["base"]
    groups = _by_root(_quads(file, given))
    if len(groups) > given["items"]:
        raise LimitExceeded(f"{name}: describes {len(groups):,} things, at most {given['items']:,} are taken; split it")
    for root, quads in groups.items():
        note_id = new_id()
        try:
            statements = canonical(named(quads, f"{note_iri(base, note_id)}/nodes/"))
        except InvalidFacts as error:
            raise InvalidFacts(Problem(f"{name}, {root}", one.message) for one in error.problems) from None
        yield f"{name}, {root}", note_id, statements


def _by_root(quads: Iterator[ox.Quad]) -> dict[object, list[ox.Quad]]:
    by_subject: dict[object, list[ox.Quad]] = {}
    owner: dict[object, object] = {}
    for quad in quads:
        by_subject.setdefault(quad.subject, []).append(quad)
        if isinstance(quad.object, ox.BlankNode):
            owner.setdefault(quad.object, quad.subject)
    roots: dict[object, object] = {}
    groups: dict[object, list[ox.Quad]] = {}
    for subject, own in by_subject.items():
        groups.setdefault(_root(subject, owner, roots), []).extend(own)
    return groups


def _root(node: object, owner: Mapping[object, object], roots: dict[object, object]) -> object:
    """The named thing that a blank node hangs on; itself where it hangs on nothing; one of them where it is a ring.

    `roots`: those found so far; every node on the way is added, so that a long chain is walked once.
    """
    way: dict[object, None] = {}
    while isinstance(node, ox.BlankNode) and node in owner and node not in way and node not in roots:
        way[node] = None
        node = owner[node]
    root = roots.get(node, node)
    roots.update(dict.fromkeys(way, root))
    return root


def arrivals(file: IO[bytes], given: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """For each named graph: iri, note_id, revision, action, draft. Given: media_type, base, items."""
    yield from list_arrivals(_quads(file, given), given["items"])


def list_arrivals(quads: Iterator[ox.Quad], most: int) -> list[dict[str, Any]]:
    """What `arrivals` yields, by name. Raises InvalidFacts naming every graph at fault."""
    groups: dict[ox.NamedNode | ox.BlankNode | ox.DefaultGraph, list[ox.Quad]] = {}
    for quad in quads:
        groups.setdefault(quad.graph_name, []).append(quad)
    if len(groups) > most:
        raise LimitExceeded(f"{len(groups):,} notes, at most {most:,} are taken at once; split the file")
    found: list[dict[str, Any]] = []
    problems: list[Problem] = []
    for name in sorted(groups, key=str):
        group = groups.pop(name)  # so that no statement is held twice
        try:
            if not isinstance(name, ox.NamedNode):
                raise InvalidFacts(
                    [Problem("default graph", "every note has a named graph; this one holds loose statements")]
                )
            note_id, revision, action, draft = read_graph(name.value, group)
            one = {"iri": name.value, "note_id": note_id, "revision": revision, "action": action}
            found.append({**one, "draft": asdict(draft)})
        except InvalidFacts as error:
            problems.extend(error.problems)
    if problems:
        raise InvalidFacts(problems[:MAX_PROBLEMS])
    return found

"""/graph: all notes as RDF, in the syntax the client asks for; one note's graph by `?graph=`.

Reading follows the SPARQL 1.1 Graph Store HTTP Protocol (W3C 2013), section 5.2: indirect naming by `graph` and
`default`. Writing goes through /notes, which keeps who says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO, Annotated

import pyoxigraph as ox
from fastapi import APIRouter, Header, Query, Request, Response
from starlette.exceptions import HTTPException

from api import problems
from api.files import FileAnswer
from api.negotiation import chosen
from api.notebook import UsesNotebook, described
from api.roles import needs
from graph.errors import NotFound
from graph.guarded.reader import temporary_file
from graph.ledger.exchange import export_quads
from graph.ledger.identity import find_note_id
from graph.ledger.notebook import Notebook
from graph.ledger.provenance import PROV, quads_of
from graph.plain_text import XmlFile

router = APIRouter(tags=["graph"])

DATASETS = {
    "application/trig": "application/trig",
    "application/n-quads": "application/n-quads",
    "application/ld+json": "application/ld+json",
    "application/json": "application/ld+json",
}
TRIPLES = {
    "text/turtle": "text/turtle",
    "application/x-turtle": "text/turtle",
    "application/n-triples": "application/n-triples",
    "application/rdf+xml": "application/rdf+xml",
}
_SENT = tuple(dict.fromkeys([*DATASETS.values(), *TRIPLES.values()]))


@needs("read")
@router.get(
    "/graph", summary="Export the graph", response_model=None,
    responses=problems.responses(described(_SENT, "The graph"), 401, 404, 406, 422, 503)
    | {304: {"description": "Nothing has changed since the ETag"}},
)  # fmt: skip
def get_graph(
    request: Request,
    notebook: UsesNotebook,
    shareable: Annotated[bool, Query(description="only what may leave the shop")] = False,
    graph: Annotated[str, Query(max_length=500, description="IRI of one note: its graph alone")] = "",
    default: Annotated[str | None, Query(max_length=0, description="the union of all graphs")] = None,
    if_none_match: Annotated[str, Header(max_length=200)] = "",
) -> Response:
    """TriG, N-Quads and JSON-LD keep every note in its named graph; Turtle, N-Triples and RDF/XML hold their union."""
    offers = (
        TRIPLES | {"application/ld+json": "application/ld+json"} if graph or default is not None else DATASETS | TRIPLES
    )
    media_type = chosen(request.headers.get("accept", ""), offers)
    head = notebook.ledger.head()
    etag = f'"{head.position}-{head.hash[:16]}-{int(shareable)}-{media_type.partition("/")[2]}"'
    if if_none_match == etag:
        return Response(status_code=304, headers={"ETag": etag})
    quads = _note_graph(notebook, graph) if graph else export_quads(notebook.ledger, shareable_only=shareable)
    file = _written(quads, media_type, union=bool(graph) or default is not None)
    return FileAnswer(file, media_type, headers={"ETag": etag, "Vary": "Accept"})


def _note_graph(notebook: Notebook, iri: str) -> Iterator[ox.Quad]:
    note_id = find_note_id(iri)
    if note_id is None:
        raise NotFound("graph", iri)
    entry = notebook.ledger.get_note(note_id)
    if entry.iri != iri or entry.retracted:
        raise NotFound("graph", iri)
    return iter(quads_of(entry))


def _written(quads: Iterator[ox.Quad], media_type: str, union: bool) -> IO[bytes]:
    form = ox.RdfFormat.from_media_type(media_type)
    if form is None:
        raise HTTPException(406, f"no {media_type} here")
    file = temporary_file()
    try:
        if form == ox.RdfFormat.RDF_XML:
            out = XmlFile(file)
            ox.serialize((quad.triple for quad in quads), out, form, prefixes=PREFIXES)  # type: ignore[arg-type]
            out.end()
        elif union or not form.supports_datasets:
            ox.serialize((quad.triple for quad in quads), file, form, prefixes=PREFIXES)
        else:
            ox.serialize(quads, file, form, prefixes=PREFIXES)
    except BaseException:
        file.close()
        raise
    return file


PREFIXES = {"lay": "https://layshaft.example/vocabulary#", "kind": "https://layshaft.example/kinds/", "prov": PROV}

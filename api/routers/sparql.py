"""/sparql: the SPARQL 1.1 Protocol, read-only, for any standard client.

Sources: W3C SPARQL 1.1 Protocol (2013), sections 2.1 (query operation), 2.1.4 (dataset), 2.1.6 (status codes);
SPARQL 1.1 Service Description, sections 2 and 3.
"""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import parse_qsl

import anyio.to_thread
import pyoxigraph as ox
from fastapi import APIRouter, Query, Request, Response
from starlette.exceptions import HTTPException

from api import problems
from api.addresses import ReadNames, reads
from api.files import FileAnswer, Turns
from api.negotiation import chosen
from api.notebook import UsesNotebook, described
from api.roles import needs
from graph.errors import InvalidInput
from graph.ledger.notebook import Notebook
from graph.ledger.query import AskedQuery
from graph.ledger.sparql_guard import query_form

router = APIRouter(tags=["graph"])

TABLES = {
    "application/sparql-results+json": "application/sparql-results+json",
    "application/json": "application/sparql-results+json",
    "application/sparql-results+xml": "application/sparql-results+xml",
    "application/xml": "application/sparql-results+xml",
    "text/csv": "text/csv",
    "text/tab-separated-values": "text/tab-separated-values",
}
GRAPHS = {
    "text/turtle": "text/turtle",
    "application/x-turtle": "text/turtle",
    "application/n-triples": "application/n-triples",
    "application/ld+json": "application/ld+json",
    "application/json": "application/ld+json",
    "application/rdf+xml": "application/rdf+xml",
    "application/n-quads": "application/n-quads",
    "application/trig": "application/trig",
}
_SENT = tuple(dict.fromkeys([*TABLES.values(), *GRAPHS.values()]))
_ANSWERS: dict[int | str, dict[str, Any]] = problems.responses(
    described(_SENT, "The result, or the service description"), 400, 401, 403, 406, 413, 415, 422, 429, 503
)
Text = Annotated[str | None, Query(max_length=100_000, description="the query; without one: the service description")]
SD = "http://www.w3.org/ns/sparql-service-description#"
FORMATS = "http://www.w3.org/ns/formats/"


@reads(ReadNames(whatever=True))
@needs("read")
@router.get("/sparql", summary="Ask the graph in SPARQL", response_model=None, responses=_ANSWERS)
async def get_sparql(
    request: Request, notebook: UsesNotebook, query: Text = None,
    default_graph_uri: Annotated[list[str] | None, Query(alias="default-graph-uri", max_length=100)] = None,
    named_graph_uri: Annotated[list[str] | None, Query(alias="named-graph-uri", max_length=100)] = None,
) -> Response:  # fmt: skip
    """SELECT, ASK, CONSTRUCT and DESCRIBE over all notes. Plain patterns see the union of all named graphs.

    No SERVICE, no FROM, no update; a query is stopped at its limits of time, memory and result size.
    """
    if query is None:
        return _service_description(request)
    return await _answer(request, notebook, request.query_params.multi_items())


@reads(ReadNames(whatever=True))
@needs("read")
@router.post(
    "/sparql", summary="Ask the graph in SPARQL (long queries)", response_model=None, responses=_ANSWERS,
    openapi_extra={"requestBody": {"required": True, "content": {
        "application/sparql-query": {"schema": {"type": "string"}, "example": "SELECT * { ?s ?p ?o } LIMIT 10"},
        "application/x-www-form-urlencoded": {"schema": {
            "type": "object", "required": ["query"], "properties": {"query": {"type": "string"}}}},
    }}},
)  # fmt: skip
async def post_sparql(request: Request, notebook: UsesNotebook) -> Response:
    """The same, with the query as the body or as the form field `query`."""
    media_type = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    try:
        body = (await request.body()).decode()
    except UnicodeDecodeError:
        raise HTTPException(400, "the body is not UTF-8") from None
    if media_type == "application/sparql-query":
        return await _answer(request, notebook, [*request.query_params.multi_items(), ("query", body)])
    if media_type == "application/x-www-form-urlencoded":
        return await _answer(request, notebook, parse_qsl(body, keep_blank_values=True))
    if media_type == "application/sparql-update":
        raise HTTPException(403, "this door only reads; add a note instead")
    raise HTTPException(415, "expected application/sparql-query or application/x-www-form-urlencoded")


async def _answer(request: Request, notebook: Notebook, parameters: list[tuple[str, str]]) -> Response:
    given: dict[str, list[str]] = {}
    for name, value in parameters:
        given.setdefault(name, []).append(value)
    if "update" in given:
        raise HTTPException(403, "this door only reads; add a note instead")
    if len(given.get("query", ())) != 1:
        raise HTTPException(400, f"expected exactly one query, found {len(given.get('query', ()))}")
    text = given["query"][0]
    graphs = [_checked(given.get(f"{which}-graph-uri", [])) for which in ("default", "named")]
    try:
        form = await anyio.to_thread.run_sync(query_form, text)
        media_type = chosen(request.headers.get("accept", ""), TABLES if form in ("SELECT", "ASK") else GRAPHS)
        asked = AskedQuery(text, media_type, *graphs)
        result = await _turns(request, notebook).run(lambda: notebook.queries.run(asked))
    except InvalidInput as error:
        return problems.problem(request.url.path, 400, str(error), problems=error.problems)
    return FileAnswer(result, media_type)


def _turns(request: Request, notebook: Notebook) -> Turns:
    limits, state = notebook.queries.limits, request.app.state
    if not hasattr(state, "sparql_turns"):
        state.sparql_turns = Turns(limits.at_once, limits.wait_s, "queries")
    turns: Turns = state.sparql_turns
    return turns


def _checked(iris: list[str]) -> list[str]:
    for iri in iris:
        try:
            ox.NamedNode(iri)
        except ValueError:
            raise HTTPException(400, f"not an IRI: {iri!r}") from None
    return iris


def _service_description(request: Request) -> Response:
    media_type = chosen(request.headers.get("accept", ""), GRAPHS)
    form = ox.RdfFormat.from_media_type(media_type)
    assert form is not None
    body = ox.serialize(_description(str(request.url).partition("?")[0]), format=form, prefixes={"sd": SD})
    return Response(body, media_type=media_type)


def _description(endpoint: str) -> list[ox.Triple]:
    service, dataset, default = ox.NamedNode(endpoint), ox.BlankNode("dataset"), ox.BlankNode("default")
    a = ox.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type")

    def sd(name: str) -> ox.NamedNode:
        return ox.NamedNode(SD + name)

    formats = ("SPARQL_Results_JSON", "SPARQL_Results_XML", "SPARQL_Results_CSV", "SPARQL_Results_TSV", "Turtle",
               "N-Triples", "JSON-LD", "RDF_XML", "N-Quads", "TriG")  # fmt: skip
    return [
        ox.Triple(service, a, sd("Service")),
        ox.Triple(service, sd("endpoint"), service),
        ox.Triple(service, sd("supportedLanguage"), sd("SPARQL11Query")),
        ox.Triple(service, sd("feature"), sd("UnionDefaultGraph")),
        *(ox.Triple(service, sd("resultFormat"), ox.NamedNode(FORMATS + name)) for name in formats),
        ox.Triple(service, sd("defaultDataset"), dataset),
        ox.Triple(dataset, a, sd("Dataset")),
        ox.Triple(dataset, sd("defaultGraph"), default),
        ox.Triple(default, a, sd("Graph")),
    ]

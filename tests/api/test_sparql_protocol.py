"""/sparql and /graph, checked with clients that nobody here wrote: SPARQLWrapper, rdflib's SPARQLStore, oxigraph."""

from __future__ import annotations

import csv
import io
import socket
import subprocess
import sys
import threading
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from pathlib import Path

import httpx
import pyoxigraph as ox
import pytest
import rdflib
from rdflib.compare import isomorphic
from rdflib.plugins.stores.sparqlstore import SPARQLStore
from SPARQLWrapper import CSV, JSON, POST, TURTLE, XML, SPARQLWrapper

from graph.ledger.exchange import export_quads
from graph.ledger.notebook import Notebook
from tests.api.notebooks import SAID, notebook_app, served

SELECT = 'SELECT ?note { ?note <https://layshaft.example/vocabulary#text> "Disc slides on the shaft." }'
CONSTRUCT = "CONSTRUCT { ?s ?p ?o } WHERE { GRAPH ?g { ?s ?p ?o } FILTER(?g != <https://shop.example/ledger>) }"


@pytest.fixture(scope="module")
def served_notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Notebook]]:
    with notebook_app(tmp_path_factory.mktemp("notebook")) as (app, notebook), served(app) as address:
        for _ in range(3):
            notebook.ledger.append(SAID)
        yield address, notebook


@pytest.fixture
def sparql(served_notebook: tuple[str, Notebook]) -> str:
    return f"{served_notebook[0]}/sparql"


@pytest.fixture
def expected(served_notebook: tuple[str, Notebook]) -> rdflib.Graph:
    graph = rdflib.Graph()
    for quad in export_quads(served_notebook[1].ledger):
        graph.parse(data=f"{quad.triple} .", format="nt")
    for quad in export_quads(served_notebook[1].ledger, shareable_only=False):
        graph.parse(data=f"{quad.triple} .", format="nt")
    return graph


@pytest.mark.parametrize("method", ["GET", POST])
def test_sparqlwrapper_reads_rows_in_every_result_format(sparql: str, method: str) -> None:
    client = SPARQLWrapper(sparql)
    client.setQuery(SELECT)
    client.setMethod(method)

    client.setReturnFormat(JSON)
    rows = [row["note"]["value"] for row in client.queryAndConvert()["results"]["bindings"]]  # type: ignore[index, call-overload]
    client.setReturnFormat(XML)
    in_xml = [node.firstChild.data for node in client.queryAndConvert().getElementsByTagName("uri")]  # type: ignore[union-attr]
    client.setReturnFormat(CSV)
    in_csv = list(csv.reader(io.StringIO(client.queryAndConvert().decode())))  # type: ignore[union-attr]

    assert len(rows) == 3
    assert sorted(rows) == sorted(in_xml) == sorted(line[0] for line in in_csv[1:])


def test_sparqlwrapper_constructs_a_graph(sparql: str, expected: rdflib.Graph) -> None:
    client = SPARQLWrapper(sparql)
    client.setQuery(CONSTRUCT)
    client.setReturnFormat(TURTLE)

    graph = rdflib.Graph().parse(data=client.queryAndConvert(), format="turtle")  # type: ignore[arg-type]

    assert isomorphic(graph, expected)


def test_rdflibs_store_reads_through_the_protocol(sparql: str, expected: rdflib.Graph) -> None:
    graph = rdflib.Graph(SPARQLStore(sparql))

    texts = set(graph.objects(predicate=rdflib.URIRef("https://layshaft.example/vocabulary#text")))

    assert texts == {rdflib.Literal("Disc slides on the shaft.")}
    assert (None, rdflib.RDF.type, rdflib.URIRef("https://layshaft.example/vocabulary#Note")) in graph


def test_an_oxigraph_server_federates_from_us(sparql: str, tmp_path: Path) -> None:
    program = Path(sys.executable).parent / "oxigraph"
    if not program.exists():
        pytest.skip("the oxigraph server is not installed (test extra)")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{probe.getsockname()[1]}"
    process = subprocess.Popen([program, "serve", "-l", tmp_path, "-b", address], stderr=subprocess.DEVNULL)
    try:
        query = f"SELECT ?note {{ SERVICE <{sparql}> {{ {SELECT.partition('{')[2]} }}"
        answer = _when_up(f"http://{address}/query", query)
    finally:
        process.kill()
        process.wait()

    assert len(answer["results"]["bindings"]) == 3


def _when_up(url: str, query: str) -> dict[str, dict[str, list[object]]]:
    for _ in range(100):
        try:
            answer = httpx.get(url, params={"query": query}, headers={"Accept": "application/sparql-results+json"})
            break
        except httpx.ConnectError:
            time.sleep(0.05)
    found: dict[str, dict[str, list[object]]] = answer.json()
    return found


@pytest.mark.parametrize(
    "send",
    [
        lambda url, q: httpx.get(url, params={"query": q}),
        lambda url, q: httpx.post(url, data={"query": q}),
        lambda url, q: httpx.post(url, content=q, headers={"Content-Type": "application/sparql-query"}),
    ],
)  # W3C SPARQL 1.1 Protocol, table 2.1: the three ways to send a query
def test_all_three_ways_to_send_a_query_answer(sparql: str, send: object) -> None:
    answer = send(sparql, "ASK { ?s ?p ?o }")  # type: ignore[operator]

    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/sparql-results+json")
    assert answer.json() == {"head": {}, "boolean": True}


def test_xml_results_are_in_the_w3c_namespace(sparql: str) -> None:
    answer = httpx.get(sparql, params={"query": SELECT}, headers={"Accept": "application/sparql-results+xml"})

    assert ElementTree.fromstring(answer.content).tag == "{http://www.w3.org/2005/sparql-results#}sparql"


@pytest.mark.parametrize(
    ("media_type", "syntax"),
    [("text/turtle", "turtle"), ("application/n-triples", "nt"), ("application/ld+json", "json-ld"),
     ("application/rdf+xml", "xml")],
)  # fmt: skip
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")  # rdflib's own JSON-LD parser uses it
def test_a_construct_is_parsed_by_rdflib_in_every_syntax(
    sparql: str, media_type: str, syntax: str, expected: rdflib.Graph
) -> None:
    answer = httpx.get(sparql, params={"query": CONSTRUCT}, headers={"Accept": media_type})

    assert answer.headers["content-type"].startswith(media_type)
    assert isomorphic(rdflib.Graph().parse(data=answer.text, format=syntax), expected)


def test_no_query_asks_for_the_service_description(sparql: str) -> None:
    graph = rdflib.Graph().parse(data=httpx.get(sparql).text, format="turtle")

    sd = rdflib.Namespace("http://www.w3.org/ns/sparql-service-description#")
    assert (rdflib.URIRef(sparql), sd.supportedLanguage, sd.SPARQL11Query) in graph
    assert (rdflib.URIRef(sparql), sd.endpoint, rdflib.URIRef(sparql)) in graph


def test_the_default_graph_can_be_named_by_the_request(sparql: str, served_notebook: tuple[str, Notebook]) -> None:
    note = next(served_notebook[1].ledger.iter_current())
    query = "SELECT DISTINCT ?s { ?s <https://layshaft.example/vocabulary#text> ?t }"

    answer = httpx.get(sparql, params={"query": query, "default-graph-uri": note.iri})

    assert [row["s"]["value"] for row in answer.json()["results"]["bindings"]] == [note.iri]


@pytest.mark.parametrize(
    ("parameters", "status"),
    [
        ({"query": "SELECT"}, 400),
        ({"query": ["ASK {}", "ASK {}"]}, 400),
        ({"query": "SELECT * { SERVICE <http://127.0.0.1:1/> { ?s ?p ?o } }"}, 400),
        ({"query": "SELECT * FROM <http://127.0.0.1:1/> { ?s ?p ?o }"}, 400),
        ({"query": "LOAD <http://127.0.0.1:1/>"}, 400),
        ({"query": "ASK {}", "default-graph-uri": "not an iri"}, 400),
        ({"query": "ASK {}", "update": "DROP ALL"}, 403),
    ],
)
def test_what_cannot_be_answered_is_a_problem(sparql: str, parameters: dict[str, str | list[str]], status: int) -> None:
    answer = httpx.get(sparql, params=parameters)

    assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")


def test_an_update_is_refused(sparql: str) -> None:
    for media_type in ("application/sparql-update", "text/plain"):
        answer = httpx.post(sparql, content="DROP ALL", headers={"Content-Type": media_type})
        assert answer.status_code in (403, 415)


def test_an_unknown_media_type_names_the_known_ones(sparql: str) -> None:
    answer = httpx.get(sparql, params={"query": "ASK {}"}, headers={"Accept": "image/png"})

    assert answer.status_code == 406
    assert "application/sparql-results+json" in answer.json()["detail"]


def test_a_runaway_query_is_refused_and_others_are_answered_meanwhile(sparql: str) -> None:
    with httpx.Client() as client:
        product = " . ".join(f"?s{number} ?p{number} ?o{number}" for number in range(7))
        runaway = f"SELECT (COUNT(*) AS ?n) {{ {product} }}"

        answer = client.get(sparql, params={"query": runaway}, timeout=30)
        after = client.get(sparql, params={"query": "ASK {}"})

    assert (answer.status_code, after.status_code) == (422, 200)
    assert "stopped after 1.5 s" in answer.json()["detail"]


def test_a_crowd_of_runaway_queries_leaves_room_for_others(served_notebook: tuple[str, Notebook]) -> None:
    address, _ = served_notebook
    product = " . ".join(f"?s{number} ?p{number} ?o{number}" for number in range(7))
    runaway = {"query": f"SELECT (COUNT(*) AS ?n) {{ {product} }}"}
    answers: list[int] = []

    def ask() -> None:
        answers.append(httpx.get(f"{address}/sparql", params=runaway, timeout=60).status_code)

    crowd = [threading.Thread(target=ask) for _ in range(6)]
    for one in crowd:
        one.start()
    others = [httpx.get(f"{address}/notes", timeout=20).status_code for _ in range(20)]
    finished_before = len(answers)
    for one in crowd:
        one.join()

    assert others == [200] * 20
    assert finished_before < 6  # the others did not have to wait for the crowd
    assert answers == [422] * 6


def test_a_result_beyond_the_limit_is_a_422_problem_not_half_a_table(sparql: str) -> None:
    answer = httpx.get(sparql, params={"query": "SELECT * { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i } LIMIT 9000"}, timeout=30)

    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")


@pytest.mark.parametrize("media_type", ["application/trig", "application/n-quads", "application/ld+json"])
def test_the_exported_data_set_is_the_same_under_rdfc_1_0(
    served_notebook: tuple[str, Notebook], media_type: str
) -> None:
    # W3C RDF Dataset Canonicalization (RDFC-1.0), done by pyoxigraph on what another parse gave back.
    address, notebook = served_notebook
    text = httpx.get(f"{address}/graph", headers={"Accept": media_type}).content

    got = ox.Dataset(ox.parse(text, format=ox.RdfFormat.from_media_type(media_type)))
    want = ox.Dataset(export_quads(notebook.ledger, shareable_only=False))
    for dataset in (got, want):
        dataset.canonicalize(ox.CanonicalizationAlgorithm.RDFC_1_0)

    assert got == want


def test_an_export_that_has_not_changed_is_not_sent_again(served_notebook: tuple[str, Notebook]) -> None:
    url = f"{served_notebook[0]}/graph"
    etag = httpx.get(url).headers["etag"]

    assert httpx.get(url, headers={"If-None-Match": etag}).status_code == 304


def test_one_notes_graph_is_read_by_its_name(served_notebook: tuple[str, Notebook]) -> None:
    address, notebook = served_notebook
    note = next(notebook.ledger.iter_current())

    answer = httpx.get(f"{address}/graph", params={"graph": note.iri}, headers={"Accept": "text/turtle"})

    graph = rdflib.Graph().parse(data=answer.text, format="turtle")
    assert (rdflib.URIRef(note.iri), rdflib.RDF.type, None) in graph
    assert httpx.get(f"{address}/graph", params={"graph": "https://shop.example/none"}).status_code == 404

"""What we write is read by programs that nobody here wrote: Debian's rapper (Raptor) and a Virtuoso server."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import httpx
import pyoxigraph as ox
import pytest
import rdflib

from graph.ledger.book import Ledger
from graph.ledger.exchange import export_quads
from graph.ledger.publish import publish
from tests.ledger.test_notes_travel_between_shops import SHARED
from tests.ledger.virtuoso import virtuoso


@pytest.mark.parametrize(
    ("syntax", "name"),
    [(ox.RdfFormat.TURTLE, "turtle"), (ox.RdfFormat.N_TRIPLES, "ntriples"), (ox.RdfFormat.RDF_XML, "rdfxml")],
)
def test_rapper_reads_the_same_graph(ledger: Ledger, tmp_path: Path, syntax: ox.RdfFormat, name: str) -> None:
    if shutil.which("rapper") is None:
        pytest.skip("rapper is not installed (Debian: apt-get install raptor2-utils)")
    ledger.append(replace(SHARED, text='Quotes " and \\ and ümläut,\ntwo lines.'))
    triples = {quad.triple for quad in export_quads(ledger)}
    file = tmp_path / "graph"
    ox.serialize(triples, str(file), syntax)

    done = subprocess.run(["rapper", "-q", "-i", name, "-o", "ntriples", file], check=True, capture_output=True)

    assert {quad.triple for quad in ox.parse(done.stdout, format=ox.RdfFormat.N_TRIPLES)} == triples


def test_what_is_published_to_virtuoso_is_read_back_the_same(ledger: Ledger, tmp_path: Path) -> None:
    ledger.append(SHARED)
    login = httpx.DigestAuth("dba", "dba")

    with virtuoso(tmp_path) as address:
        endpoint = f"{address}/sparql-graph-crud-auth"
        sent = publish(ledger, endpoint, "https://shop.example/shared", httpx.Client(auth=login, timeout=60))
        answer = httpx.get(f"{address}/sparql-graph-crud-auth", params={"graph": "https://shop.example/shared"},
                           headers={"Accept": "text/plain"}, auth=login, timeout=60)  # fmt: skip

    expected = rdflib.Graph()
    for quad in export_quads(ledger):
        expected.parse(data=f"{quad.triple} .", format="nt")
    assert sent == len(expected)
    assert _values(rdflib.Graph().parse(data=answer.text, format="nt")) == _values(expected)


def _values(graph: rdflib.Graph) -> set[tuple[object, object, object]]:
    """By value: the server writes true as 1 and 2.50 as 2.5. There are no blank nodes, so equal sets are isomorphic."""
    return {(s, p, o.toPython() if isinstance(o, rdflib.Literal) else o) for s, p, o in graph}

"""Readers may ask anything in SPARQL; what they may not do is call out, change data, or eat the machine."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from graph.errors import InvalidQuestion
from graph.ledger.book import Ledger
from graph.ledger.identity import new_id
from graph.ledger.query import AskedQuery, QueryLimits, QueryRunner, QueryTimeout, QueryTooBig
from graph.ledger.record import Draft
from graph.ledger.sparql_guard import query_form
from graph.ledger.view import open_view

JSON = "application/sparql-results+json"
CROSS_PRODUCT = "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i . ?j ?k ?l }"
SORTED_PRODUCT = "SELECT * { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i } ORDER BY ?i ?f ?c"


@pytest.fixture
def runner(ledger: Ledger, tmp_path: Path) -> Iterator[QueryRunner]:
    ledger.append_all([(new_id(), Draft(text=f"note {number}", author="bench")) for number in range(300)])
    view = open_view(ledger, tmp_path / "views")
    made = QueryRunner(view, QueryLimits(time_s=1.5, memory_bytes=400 << 20, result_bytes=100_000))
    yield made
    made.close()
    view.close()


def ask(runner: QueryRunner, text: str, media_type: str = JSON) -> str:
    with runner.run(AskedQuery(text, media_type)) as result:
        return result.read().decode()


def test_a_reader_sees_what_was_just_written(runner: QueryRunner) -> None:
    query = 'SELECT ?note { ?note ?p "just now" }'
    note = runner.view.ledger.append(Draft(text="just now"))

    found = json.loads(ask(runner, query))["results"]["bindings"]

    assert [row["note"]["value"] for row in found] == [note.iri]


def test_a_runaway_query_is_stopped_and_the_next_one_answers(runner: QueryRunner) -> None:
    began = time.monotonic()

    with pytest.raises(QueryTimeout, match=r"1.5 s"):
        ask(runner, CROSS_PRODUCT)

    assert time.monotonic() - began < 30  # without the limit this query takes months
    assert json.loads(ask(runner, "ASK { ?s ?p ?o }"))["boolean"] is True


def test_a_query_that_hoards_memory_is_stopped(ledger: Ledger, runner: QueryRunner) -> None:
    patient = QueryRunner(runner.view, QueryLimits(time_s=60, memory_bytes=400 << 20))

    with pytest.raises(QueryTooBig, match="400 MiB"):
        ask(patient, SORTED_PRODUCT)

    assert json.loads(ask(patient, "ASK { ?s ?p ?o }"))["boolean"] is True
    patient.close()


def test_a_result_beyond_the_limit_is_refused_not_cut(runner: QueryRunner) -> None:
    with pytest.raises(QueryTooBig, match="add a LIMIT"):
        ask(runner, "SELECT * { ?a ?b ?c . ?d ?e ?f } LIMIT 100000")


def test_a_syntax_error_is_the_askers_to_mend(runner: QueryRunner) -> None:
    with pytest.raises(InvalidQuestion):
        ask(runner, "SELECT ?x WHERE { ?x ?y }")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("SELECT * { SERVICE <http://127.0.0.1:1/> { ?s ?p ?o } }", "SERVICE"),
        ("SELECT * {service silent?x{ ?s ?p ?o }}", "SERVICE"),
        ("SELECT * { ?s ?p ?o FILTER(?o<3)SERVICE<http://h/>{?s ?p ?o} }", "SERVICE"),
        ("SELECT * { FILTER EXISTS{SERVICE <http://h/> {}} }", "SERVICE"),
        ("SELECT * { \\u0053ERVICE <http://h/> { } }", "SERVICE"),
        ("PREFIX a: <http://h/> SELECT * { ?s a:b\\#c ?o . SERVICE a:x {} }", "SERVICE"),
        ('SELECT * { ?s ?p "\\"" . SERVICE <http://h/> {} }', "SERVICE"),
        ("SELECT * { ?s ?p '''it's''' . SERVICE <http://h/> {} }", "SERVICE"),
        ("SELECT * # a comment\r{ SERVICE <http://h/> {} }", "SERVICE"),
        ("SELECT * FROM <http://h/> { ?s ?p ?o }", "FROM"),
        ("SELECT * FROM NAMED <http://h/> { ?s ?p ?o }", "FROM"),
        ("LOAD <http://h/>", "LOAD"),
        ("INSERT DATA { <a:a> <a:b> <a:c> }", "INSERT"),
        ("DELETE WHERE { ?s ?p ?o }", "DELETE"),
        ("DROP ALL", "DROP"),
    ],
)
def test_what_would_call_out_or_change_data_is_refused(text: str, word: str) -> None:
    with pytest.raises(InvalidQuestion, match=word):
        query_form(text)


@pytest.mark.parametrize(
    "text",
    [
        'SELECT * { ?service ?from "SERVICE <x> DELETE" }',
        "PREFIX from: <http://h/service> SELECT * { ?s from:load from:drop }",
        "# SERVICE in a comment\nSELECT * { ?s <http://h/#SERVICE> ?o }",
        "SELECT * { ?s ?p '''a 'quoted' FROM''' }",
        "BASE <http://h/> ASK { <service> ?p 'INSERT'@en }",
        "SELECT (1 AS ?x) { FILTER(?a < 3 && ?b > 4) }",
    ],
)
def test_the_same_words_as_names_or_texts_are_harmless(text: str) -> None:
    assert query_form(text) in ("SELECT", "ASK")


def test_no_outbound_call_is_made_even_by_accident(runner: QueryRunner) -> None:
    import socket

    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(0.2)
        with pytest.raises(InvalidQuestion):
            ask(runner, f"SELECT * {{ SERVICE <http://127.0.0.1:{listener.getsockname()[1]}/> {{ ?s ?p ?o }} }}")

        with pytest.raises(TimeoutError):
            listener.accept()

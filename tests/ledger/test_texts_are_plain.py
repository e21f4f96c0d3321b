"""What no export and no database can hold is refused with its place, alike everywhere; what is there already is read.

Which characters those are: XML 1.0 (W3C, fifth edition), section 2.2, production 2.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pyoxigraph as ox
import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from api.service import opened_service
from api.settings import Settings
from graph.costing.price_export import prices_as_xlsx
from graph.costing.prices import Price
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.record import Draft
from graph.plain_text import REPLACEMENT, XmlFile, fault_of_text, for_xml

pytestmark = pytest.mark.takes_turns(2)

WHO = {"author": "counter", "evidence": "measured-on-these-parts"}
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
DISC = 'shop:disc a lay:Part ; rdfs:label "%s" ; lay:kind kind:clutch-disc .'


@pytest.fixture
def client(any_url: str, tmp_path: Path) -> Iterator[TestClient]:
    with opened_service(tmp_path, Settings(), any_url) as (app, _):
        yield TestClient(app, base_url="http://127.0.0.1:8000")


def problems_of(answer: Any) -> list[tuple[str, str]]:
    assert answer.status_code == 422, answer.text
    return [(one["path"], one["message"]) for one in answer.json()["problems"]]


def is_named(path: str, said: str, code_point: str) -> bool:
    return bool(path) and f"(U+{code_point}, at character " in said


def test_every_body_of_json_is_looked_through_whatever_the_operation(client: TestClient) -> None:
    operations = [
        (method, path)
        for path, methods in client.get("/openapi.json").json()["paths"].items()
        for method, said in methods.items()
        if "application/json" in said.get("requestBody", {}).get("content", {})
    ]
    assert len(operations) > 20
    for method, path in operations:
        body = {"words": ["plain", {"text": "16.05\x00 mm"}]}
        answer = client.request(method, path.replace("{", "").replace("}", ""), json=body)
        ((place, said),) = problems_of(answer)
        assert (place, said[:37]) == ("words[1].text", "holds a control character (U+0000, at"), path


@pytest.mark.parametrize("character", ["\x01", "\x0c", "\x7f", "\ufffe", "\uffff"])
def test_a_note_is_refused_with_place_and_code_point(client: TestClient, character: str) -> None:
    code = f"{ord(character):04X}"
    turtle = PREFIXES + DISC % f"disc\\u{code}"
    for field in ("text", "author", "method", "job", "document"):
        body = WHO | {"text": "said", field: f"a{character}b"}
        ((path, said),) = problems_of(client.post("/notes", json=body))
        assert (path, said[:33]) == (field, f"holds a control character (U+{code}")

    ((path, said),) = problems_of(client.post("/notes", json=WHO | {"text": "said", "statements": turtle}))
    assert path == "statements, <https://shop.example/disc> <http://www.w3.org/2000/01/rdf-schema#label>"
    assert is_named(path, said, code)
    wrong = WHO | {"text": "said", "settles": ["https://shop.example/x", f"x{character}"]}
    assert problems_of(client.post("/notes", json=wrong))[0][0] == "settles[1]"
    assert client.get("/ledger").json()["position"] == 0


def sheet(*rows: tuple[str, ...]) -> bytes:
    """A workbook: being XML, it can hold no more of them than DEL."""
    book, out = Workbook(), io.BytesIO()
    first = book.worksheets[0]
    for row in rows:
        first.append(row)
    book.save(out)
    return out.getvalue()


def table(*rows: tuple[str, ...]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


ROWS = (("id", "label", "kind"), ("disc", "disc\x01", "clutch-disc"))
JSON_LD = """{"@id": "https://shop.example/disc", "@type": "https://layshaft.example/vocabulary#Part",
"http://www.w3.org/2000/01/rdf-schema#label": "disc\\u0000"}"""
FILES = {
    "a.ttl": ((PREFIXES + DISC % "disc\\u0000").encode(), "a.ttl, <https://shop.example/disc>", "0000"),
    "a.nt": (b'<https://shop.example/disc> <http://a.x/b> "\\uFFFE" .', "a.nt, <https://shop.example/disc>", "FFFE"),
    "a.jsonld": (JSON_LD.encode(), "a.jsonld, <https://shop.example/disc>", "0000"),
    "a.csv": (table(*ROWS), "a.csv row 2 column 'label'", "0001"),
    "a.xlsx": (sheet(ROWS[0], ("disc", "disc\x7f", "clutch-disc")), "a.xlsx row 2 column 'label'", "007F"),
}  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_refused_with_place_and_code_point(client: TestClient, name: str) -> None:
    content, place, code = FILES[name]

    answer = client.post("/imports", params=WHO | {"name": name}, content=content)

    ((path, said),) = problems_of(answer)
    assert path == place
    assert is_named(path, said, code)


def test_words_of_an_import_names_of_files_and_price_lists_are_held_to_the_same(client: TestClient) -> None:
    good = (PREFIXES + DISC % "disc").encode()
    answer = client.post("/imports", params=WHO | {"name": "a.ttl", "text": "a\x01"}, content=good)
    assert is_named(*problems_of(answer)[0], "0001")

    picture = b"\x89PNG\r\n\x1a\n" + b"\0" * 30  # no picture either: the name is looked at before
    answer = client.post("/attachments", params={"name": "a\x02.png"}, content=picture)
    assert is_named(*problems_of(answer)[0], "0002")

    list_of_prices = table(
        ("part", "price", "currency", "condition", "date"), ("disc-240\x03", "12.00", "GBP", "new", "2026-06-01")
    )
    files = {"file": ("a.csv", list_of_prices, "text/csv")}
    answer = client.post("/prices/import", data={"author": "counter"}, files=files)
    assert is_named(*problems_of(answer)[0], "0003")
    assert client.get("/ledger").json()["position"] == 0


@pytest.mark.parametrize("ended", [False, True])
def test_another_shops_notes_are_held_to_the_same(client: TestClient, ended: bool) -> None:
    iri = "https://other.example/notes/0190c1a0-0000-7000-8000-000000000001"
    end = f'<{iri}> <http://www.w3.org/ns/prov#invalidatedAtTime> "2024-05-01T00:00:00Z" .' if ended else ""
    trig = f"""{PREFIXES} <{iri}> {{ <{iri}> a lay:Note ; lay:text "a\\u0000" ; lay:revision 1 ;
        <http://www.w3.org/ns/prov#generatedAtTime> "2024-05-01T00:00:00Z" . {end} }}"""

    answer = client.post("/merges", params={"name": "a.trig"}, content=trig.encode())

    assert (f"graph <{iri}> text", "0000") in [(path, said[29:33]) for path, said in problems_of(answer)]


# What an earlier version let in


@pytest.fixture
def old_client(tmp_path: Path) -> Iterator[TestClient]:
    """A ledger with such characters in a note's words and in a literal, as SQLite keeps them."""
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    ledger = Ledger(engine)
    ledger.check_words = lambda drafts: None  # type: ignore[method-assign]
    said = '<https://shop.example/disc> <http://www.w3.org/2000/01/rdf-schema#comment> "5\\u000016\\uFFFE" .\n'
    ledger.append(Draft(text="16\x00.05\x0c\ufffe", statements=said, author=WHO["author"], evidence=WHO["evidence"]))
    engine.dispose()
    with opened_service(tmp_path, Settings()) as (app, _):
        yield TestClient(app, base_url="http://127.0.0.1:8000")


@pytest.mark.parametrize("accept", ["application/trig", "application/n-quads", "application/ld+json", "text/turtle",
                                    "application/n-triples", "application/rdf+xml"])  # fmt: skip
def test_every_export_of_what_is_there_already_can_be_read(old_client: TestClient, accept: str) -> None:
    answer = old_client.get("/graph", headers={"accept": accept})

    form = ox.RdfFormat.from_media_type(accept)
    assert form is not None
    texts = {quad.object.value for quad in ox.parse(answer.content, format=form)}
    kept = {"16\x00.05\x0c\ufffe", "5\x0016\ufffe"}
    assert texts >= ({for_xml(text) for text in kept} if accept == "application/rdf+xml" else kept)
    if accept == "application/rdf+xml":
        ElementTree.fromstring(answer.content)  # Expat, which holds to the standard


@pytest.mark.parametrize("accept", ["application/sparql-results+xml", "application/rdf+xml"])
def test_answers_to_queries_are_xml_that_can_be_read(old_client: TestClient, accept: str) -> None:
    form = "SELECT *" if "results" in accept else "CONSTRUCT { ?s <http://a.example/b> ?o }"

    answer = old_client.get("/sparql", params={"query": f"{form} {{ ?s ?p ?o }}"}, headers={"accept": accept})

    assert f"16{REPLACEMENT}.05{REPLACEMENT}{REPLACEMENT}" in "".join(ElementTree.fromstring(answer.content).itertext())


def test_the_ledger_is_sound_with_them_and_pages_show_them(old_client: TestClient) -> None:
    assert old_client.get("/ledger/verification").json()["sound"] is True
    assert old_client.get("/notebook").status_code == 200
    assert old_client.get("/notes").json()["notes"][0]["text"] == "16\x00.05\x0c\ufffe"


def test_a_price_list_goes_out_as_a_workbook_whatever_its_suppliers_are_called() -> None:
    kept = Price(
        part="disc",
        cash_hundredths=100,
        currency="GBP",
        condition="new",
        dated=date(2026, 6, 1),
        supplier="A\x00B\ufffe",
    )

    rows = list(load_workbook(io.BytesIO(prices_as_xlsx([kept]))).worksheets[0].values)

    assert rows[1][5] == f"A{REPLACEMENT}B{REPLACEMENT}"


@given(st.text(st.characters(codec="utf-8") | st.sampled_from("\x00\x1f\x7f\ufffd\ufffe\uffff\uffbf"), max_size=60),
       st.lists(st.integers(1, 7), max_size=30))  # fmt: skip
def test_xml_written_in_any_pieces_is_the_text_as_xml_holds_it(text: str, sizes: list[int]) -> None:
    file = io.BytesIO()
    out, data = XmlFile(file), text.encode()
    for size in sizes:
        out.write(data[:size])
        data = data[size:]
    out.write(data)
    out.end()

    assert file.getvalue().decode() == for_xml(text)
    assert fault_of_text(for_xml(text).replace("\x7f", "")) == ""

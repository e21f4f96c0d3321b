"""Every word that is used as a label has a meaning in plain words, and every entry of the glossary is used."""

from __future__ import annotations

import re
from pathlib import Path

import pyoxigraph as ox
from fastapi.testclient import TestClient

from api.app import create_app
from graph.answer.glossary import list_words, own_words
from graph.answer.status import STATUSES
from graph.catalogue.house import FACTS_FOLDER, KINDS_FOLDER, SHAPES_FOLDER, VOCABULARY_FOLDER
from graph.catalogue.load import load_catalogue

ROOT = Path(__file__).parents[2]
LABELS = (
    "http://www.w3.org/2000/01/rdf-schema#label", "http://www.w3.org/2004/02/skos/core#prefLabel",
    "http://www.w3.org/ns/shacl#name",
)  # fmt: skip
MEANINGS = (
    "http://www.w3.org/2004/02/skos/core#definition", "http://www.w3.org/2000/01/rdf-schema#comment",
    "http://www.w3.org/ns/shacl#description",
)  # fmt: skip
SCHEMES = "http://www.w3.org/2004/02/skos/core#ConceptScheme"
SOURCE = re.compile(
    r"word of the trade|this service|(?:ISO|DIN|SAE) [A-Z]?\d+(?:-\d+)?(?:, (?:ISO|DIN|SAE) \d+)*|RFC \d+"
)


def undefined(graph: ox.Store) -> list[str]:
    """Labels of things that say no meaning and have no entry; the names of whole lists need none."""
    known = {one.word.casefold() for one in own_words()}
    lists = {quad.subject for quad in graph.quads_for_pattern(None, None, ox.NamedNode(SCHEMES), None)}
    labels = {quad.subject: quad.object.value for quad in graph if quad.predicate.value in LABELS}
    told = {quad.subject for quad in graph if quad.predicate.value in MEANINGS}
    return [label for subject, label in labels.items()
            if subject not in told and subject not in lists and label.casefold() not in known]  # fmt: skip


def test_every_label_of_vocabulary_shapes_and_kinds_is_defined() -> None:
    graph = ox.Store()
    for folder in (VOCABULARY_FOLDER, SHAPES_FOLDER, KINDS_FOLDER):
        for file in sorted(folder.glob("*.ttl")):
            graph.load(file.read_bytes(), ox.RdfFormat.TURTLE, base_iri="urn:facts:")

    assert undefined(graph) == []


def test_a_label_without_a_meaning_is_found() -> None:
    graph = ox.Store()
    graph.load(b'<urn:a> <http://www.w3.org/2004/02/skos/core#prefLabel> "wobbler" .', ox.RdfFormat.TURTLE)

    assert undefined(graph) == ["wobbler"]


def test_each_entry_says_its_meaning_and_source_once_and_in_order() -> None:
    words = [one.word for one in own_words()]

    assert words == sorted(set(words))
    for one in own_words():
        assert len(one.meaning.split()) >= 4 and one.meaning.endswith("."), one.word
        assert SOURCE.fullmatch(one.source), one.source
        assert not re.search(r"\w_\w", one.word + one.meaning), one.word


def test_each_entry_is_a_word_that_readers_meet() -> None:
    shown = [*(ROOT / "api").rglob("*.html"), *(ROOT / "api/pages").glob("*.py"), *(ROOT / "graph").rglob("*.py"),
             *KINDS_FOLDER.glob("*.ttl"), ROOT / "README.md"]  # fmt: skip
    text = " ".join(" ".join(file.read_text(encoding="utf-8").casefold().split()) for file in shown)

    assert [one.word for one in own_words() if one.word.casefold() not in text] == []


ABBREVIATION = re.compile(r"(?<![\w<&/.-])[A-Z]{2,5}(?![\w-])")
NOT_PUT_IN_WORDS = {"GET", "POST", "EUR"}  # of an address, and the currency code of ISO 4217


def read_by_people(template: str) -> str:
    """What a template says itself: without tags, code, comments, and what is filled in."""
    return re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}|<code>.*?</code>|<[^>]*>", " ", template, flags=re.S)


def test_every_abbreviation_on_a_screen_is_explained() -> None:
    known = {one.word for one in own_words()} | {"QR"}  # as a QR code
    shown = {
        found
        for file in (ROOT / "api/templates").glob("*.html")
        for found in ABBREVIATION.findall(read_by_people(file.read_text(encoding="utf-8")))
    }

    assert shown - known - NOT_PUT_IN_WORDS == set()
    assert {"RSS", "TIR"} <= known  # said by workings: graph/fits


def test_every_status_of_an_answer_is_explained() -> None:
    known = {one.word for one in own_words()}

    assert [status for status in STATUSES if status not in known] == []


def test_the_glossary_is_a_page_and_an_answer_of_the_api() -> None:
    with TestClient(create_app(load_catalogue([FACTS_FOLDER / "demo"])), base_url="http://127.0.0.1") as client:
        found = client.get("/glossary", params={"text": "Core Deposit"}).json()["words"]
        page = client.get("/words", params={"text": "<run-out>"}).text
        every = client.get("/words").text

    assert found[0]["word"] == "core deposit" and found[0]["source"] == "word of the trade"
    assert "&lt;run-out&gt;" in page
    assert "run-out" in every and "A flat plate with two bolt patterns between block and bell housing." in every
    assert 'href="/words"' in every


def test_a_word_is_looked_for_in_words_first_and_then_in_meanings() -> None:
    found = [one.word for one in list_words(load_catalogue([FACTS_FOLDER / "demo"]), "shoulder")]

    assert found.index("shoulder") < found.index("register")

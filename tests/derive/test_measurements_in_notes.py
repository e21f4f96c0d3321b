"""A measurement told in a note is a fact like any other: it comes in with the note and goes out with its reading."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pyoxigraph as ox
import pytest

from graph.answer.show import measurements_as_json
from graph.catalogue.load import load_catalogue
from graph.derive.around import deriver_of
from graph.errors import InvalidFacts
from graph.ledger.foreign import read_statements
from graph.ledger.identity import new_id, note_iri
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft
from graph.reading import CatalogueIndex
from tests.demo.shop import DEMO

BASE = "https://shop.example/"
TOLD = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:shaft a lay:Part ; rdfs:label "shaft" ; lay:kind kind:input-shaft .
shop:m1 a lay:Measurement ; lay:quantity kind:nose-diameter ; lay:measuredOn shop:shaft ;
    lay:reading "{reading}" ; lay:uncertainty "0.2 thou" ; lay:tool "micrometer" .
"""


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    opened = open_notebook(tmp_path)
    yield opened
    opened.close()


def tell(notebook: Notebook, turtle: str) -> None:
    note = new_id()
    text = read_statements(turtle, ox.RdfFormat.TURTLE, BASE, note_iri(BASE, note))
    notebook.ledger.append(
        Draft(text="with the micrometer", statements=text, author="bench 2", evidence="measured-on-these-parts"),
        note_id=note,
    )


def test_a_measurement_told_in_a_note_is_known_with_the_notes_evidence(notebook: Notebook) -> None:
    tell(notebook, TOLD.format(reading="0.6690 in"))

    facts = CatalogueIndex(notebook.catalogue())
    length = deriver_of(facts).measured.length("shaft", "nose-diameter")

    assert length is not None
    assert (length.as_read, length.evidence_rank) == ("0.6690 in", 1)
    (out,) = measurements_as_json(facts, "shaft")["measurements"]
    assert (out["reading"], out["evidence"]) == ("0.6690 in", "measured-on-these-parts")


def test_a_reading_without_a_unit_is_refused_with_the_note(notebook: Notebook) -> None:
    with pytest.raises(InvalidFacts, match="has no unit"):
        tell(notebook, TOLD.format(reading="0.6690"))

    assert notebook.ledger.head().position == 0


def test_facts_and_their_measurements_are_loaded_whole() -> None:
    facts = load_catalogue([DEMO])

    assert {fact.quantity for fact in facts.measurements.values()} <= set(facts.quantities)
    assert {fact.of for fact in facts.measurements.values()} <= set(facts.parts)

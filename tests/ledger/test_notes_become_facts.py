"""A note's statements are held to the same shapes as a fact file, and then stand in the catalogue."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pyoxigraph as ox
import pytest

from graph.errors import InvalidFacts
from graph.ledger.foreign import read_statements
from graph.ledger.identity import new_id, note_iri
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft

PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
DISC = """shop:disc-240 a lay:Part ; rdfs:label "disc 240" ; lay:kind kind:clutch-disc ;
    lay:cash {cash} ; lay:currency "GBP" ."""
SHAFT = """shop:shaft a lay:Part ; rdfs:label "shaft" ; lay:kind kind:input-shaft ;
    lay:cash 160.00 ; lay:currency "GBP" ."""
BUSH = """shop:bush-16 a lay:Part ; rdfs:label "bush" ; lay:kind kind:pilot-bush ;
    lay:cash 4.00 ; lay:currency "GBP" ."""
EDGE = "lay:source shop:disc-240 ; lay:target shop:shaft ; lay:joint kind:clutch-spline"
SHOP = 'shop:us a lay:Shop ; rdfs:label "us" ; lay:currency "GBP" ; lay:rate 60.00 .'


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    opened = open_notebook(tmp_path)
    yield opened
    opened.close()


def draft(turtle: str, note_id: str) -> Draft:
    text = read_statements(
        PREFIXES + turtle, ox.RdfFormat.TURTLE, "https://shop.example/", note_iri("https://shop.example/", note_id)
    )
    return Draft(text="from the shelf", statements=text, author="counter", evidence="measured-on-these-parts")


def add(notebook: Notebook, turtle: str) -> str:
    note_id = new_id()
    notebook.ledger.append(draft(turtle, note_id), note_id=note_id)
    return note_id


def test_a_part_told_in_a_note_is_in_the_catalogue_with_its_note(notebook: Notebook) -> None:
    note_id = add(notebook, SHOP + DISC.format(cash="45.00"))

    part = notebook.catalogue().parts["disc-240"]

    assert part.cash_hundredths == 4500
    note = notebook.catalogue().notes[part.note]
    assert (note.text, note.evidence) == ("from the shelf", "measured-on-these-parts")
    assert note_id in note.id


def test_the_catalogue_is_read_again_only_when_the_ledger_moved(notebook: Notebook) -> None:
    add(notebook, SHOP + DISC.format(cash="45.00"))
    first = notebook.catalogue()
    assert notebook.catalogue() is first

    add(notebook, BUSH)

    assert set(notebook.catalogue().parts) == {"disc-240", "bush-16"}


def test_a_price_below_nothing_is_refused_in_a_mechanics_words(notebook: Notebook) -> None:
    with pytest.raises(InvalidFacts, match=r"write 45\.00"):
        add(notebook, SHOP + DISC.format(cash="-1.00"))

    assert notebook.ledger.head().position == 0


def test_a_note_names_who_and_how(notebook: Notebook) -> None:
    with pytest.raises(InvalidFacts) as caught:
        notebook.ledger.append(Draft(text="it fits"))

    assert {problem.path for problem in caught.value.problems} == {"author", "evidence"}


def test_a_revision_is_judged_in_place_of_what_it_revises(notebook: Notebook) -> None:
    note_id = add(notebook, SHOP + DISC.format(cash="45.00"))

    notebook.ledger.revise(note_id, 1, draft(SHOP + DISC.format(cash="47.50"), note_id))

    assert notebook.catalogue().parts["disc-240"].cash_hundredths == 4750


def test_a_note_that_others_rest_on_is_not_taken_back_under_them(notebook: Notebook) -> None:
    add(notebook, SHOP)
    family = add(
        notebook, 'shop:discs a lay:Part ; rdfs:label "discs" ; lay:kind kind:clutch-disc ; lay:abstract true .'
    )
    add(notebook, DISC.format(cash="45.00").replace("lay:cash", "lay:variantOf shop:discs ; lay:cash"))

    with pytest.raises(InvalidFacts, match="discs"):
        notebook.ledger.retract(family, 1, Draft(text="not needed"))


def test_an_edge_set_aside_by_a_settling_note_leaves_the_catalogue(notebook: Notebook) -> None:
    add(notebook, SHOP + DISC.format(cash="45.00"))
    add(notebook, SHAFT)
    yes = add(notebook, f"shop:e1 a lay:Fits ; {EDGE} .")
    add(notebook, f'shop:e2 a lay:DoesNotFit ; {EDGE} ; lay:reason "loose" .')
    assert set(notebook.catalogue().edges) == {"e1", "e2"}

    said = notebook.ledger.get_note(yes)
    overruled = Draft(text="Tried both again.", author="bench", evidence="measured-on-these-parts", settles=(said.iri,))
    notebook.ledger.append(overruled)

    assert set(notebook.catalogue().edges) == {"e2"}

"""Notes of what units were made for, have none of, and of kinds of job: judged like files, all of a note or nothing.

Common practice for all cases: one fitter notes that a box came without its input shaft, another lists what was in it.
"""

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
from graph.lookups.compact import open_index

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

BASE = "https://shop.example/"
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
"""
FACTS = (
    PREFIXES
    + """
shop:box a lay:Part ; rdfs:label "box" ; lay:kind kind:gearbox .
shop:shaft a lay:Part ; rdfs:label "shaft" ; lay:kind kind:input-shaft .
shop:in a lay:Contains ; lay:source shop:box ; lay:target shop:shaft ; lay:position kind:at-input-shaft .
shop:no-pilot a lay:HasNone ; lay:source shop:box ; lay:position kind:at-pilot ; lay:evidence kind:hearsay .
"""
)
NONE = "shop:none a lay:HasNone ; lay:source shop:box ; lay:position kind:at-input-shaft ."
HOLDS = (
    'shop:bush a lay:Part ; rdfs:label "bush" ; lay:kind kind:pilot-bush .',
    "shop:has a lay:Contains ; lay:source shop:box ; lay:target shop:bush ; lay:position kind:at-pilot .",
)
BARGE = (
    'shop:barge a lay:Assembly ; skos:prefLabel "barge drive" ; skos:definition "Of barges." ;'
    " lay:mustHave kind:at-block, kind:at-crank ."
)


@pytest.fixture(params=["read", "kept in a file"])
def notebook(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Notebook]:
    """Beside facts that are read at the start, and beside those in a packed file."""
    facts = tmp_path / "facts.ttl"
    facts.write_text(FACTS)
    if request.param == "read":
        opened = open_notebook(tmp_path / "data", facts=[facts])
    else:
        opened = open_notebook(tmp_path / "data", stored=lambda base: open_index([facts], tmp_path / "catalogue").file)
    yield opened
    opened.close()


def add(notebook: Notebook, *statements: str) -> str:
    note_id = new_id()
    text = read_statements(PREFIXES + "\n".join(statements), ox.RdfFormat.TURTLE, BASE, note_iri(BASE, note_id))
    draft = Draft(text="said", statements=text, author="bench", evidence="measured-on-these-parts")
    notebook.ledger.append(draft, note_id=note_id)
    return note_id


def count(notebook: Notebook) -> int:
    return sum(1 for _ in notebook.ledger.iter_current())


def refusals(notebook: Notebook, *statements: str) -> list[str]:
    """What is wrong with a note; nothing of it is taken in."""
    before = count(notebook), notebook.catalogue()
    with pytest.raises(InvalidFacts) as refusal:
        add(notebook, *statements)
    assert count(notebook) == before[0]
    assert notebook.catalogue().edges.keys() == before[1].edges.keys()
    assert dict(notebook.catalogue().assemblies) == dict(before[1].assemblies)
    return [str(problem) for problem in refusal.value.problems]


def test_a_place_that_a_file_fills_cannot_be_noted_as_empty(notebook: Notebook) -> None:
    told = refusals(notebook, NONE)

    assert any(
        "lay:position: box cannot have a part and none at at-input-shaft; in says otherwise" in one for one in told
    )


def test_a_place_that_a_file_says_is_empty_cannot_be_noted_as_filled(notebook: Notebook) -> None:
    told = refusals(notebook, *HOLDS)

    assert any("box cannot have a part and none at at-pilot; has says otherwise" in one for one in told)


def test_one_note_against_another_is_refused_until_the_first_is_taken_back(notebook: Notebook) -> None:
    first = add(notebook, "shop:no-tail a lay:HasNone ; lay:source shop:box ; lay:position kind:at-tail-housing .")
    tail = (
        'shop:tail a lay:Part ; rdfs:label "tail" ; lay:kind kind:tail-housing .',
        "shop:e-tail a lay:Contains ; lay:source shop:box ; lay:target shop:tail ; lay:position kind:at-tail-housing .",
    )
    assert any("at-tail-housing" in one for one in refusals(notebook, *tail))

    notebook.ledger.retract(first, 1, Draft(text="mistaken"))
    add(notebook, *tail)

    assert notebook.catalogue().edges["e-tail"].target == "tail"


def test_an_assembly_is_noted_in_the_words_of_the_files(notebook: Notebook) -> None:
    add(notebook, BARGE)
    add(notebook, "shop:box lay:madeFor shop:barge .")

    known = notebook.catalogue()
    assert known.assemblies["barge"].must_have == ("at-block", "at-crank")
    assert known.parts["box"].made_for == ("barge",)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        (BARGE.replace("at-crank", "at-cranc"), "lay:mustHave: name with lay:mustHave each position kind"),
        (BARGE.replace(" .", " ; lay:mayHave kind:at-crank ."), "lay:mayHave: at-crank is a must-have and a may-have"),
        ('kind:transaxle a lay:Assembly ; skos:prefLabel "mine" ; skos:definition "x" ; lay:mustHave kind:at-block .',
         "skos:prefLabel: give it exactly one skos:prefLabel"),
        ("shop:box lay:madeFor kind:transaxel .", "lay:madeFor: madeFor must name an assembly"),
        ("kind:engine-face lay:oddsAcross 1.5 .", "lay:oddsAcross: oddsAcross is one number from 0 to 1"),
        ("kind:engine-face lay:remedyHours -1 .", "lay:remedyHours: remedyHours is one number of hours of 0 or more"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_path(notebook: Notebook, statement: str, said: str) -> None:
    assert any(said in one for one in refusals(notebook, statement))

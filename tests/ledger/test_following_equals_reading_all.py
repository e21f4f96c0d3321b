"""A note judged with its surroundings gets the verdict of reading everything; so does the catalogue that follows."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import pyoxigraph as ox
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from graph.catalogue.load import load_catalogue
from graph.errors import InvalidFacts
from graph.ledger.exchange import export_quads, merge
from graph.ledger.facts import standing_notes
from graph.ledger.foreign import read_statements
from graph.ledger.identity import new_id, note_iri
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.provenance import facts_of, quad_lines, quads_of
from graph.ledger.record import Draft

BASE = "https://shop.example/"
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> . @prefix dcterms: <http://purl.org/dc/terms/> .
"""
EDGE = "lay:source shop:disc ; lay:target shop:shaft ; lay:joint kind:clutch-spline"
SAID = (
    'shop:disc a lay:Part ; rdfs:label "disc" ; lay:kind kind:clutch-disc .',
    'shop:disc a lay:Part ; rdfs:label "disc" ; lay:kind kind:clutch-disc ; lay:variantOf shop:discs .',
    'shop:disc a lay:Part ; rdfs:label "disc" ; lay:kind kind:flywheel .',  # then the edges join wrong parts
    'shop:discs a lay:Part ; rdfs:label "discs" ; lay:kind kind:clutch-disc ; lay:abstract true .',
    'shop:discs a lay:Part ; rdfs:label "discs" ; lay:kind kind:clutch-disc ; lay:variantOf shop:disc .',  # a ring
    'shop:shaft a lay:Part ; rdfs:label "shaft" ; lay:kind kind:input-shaft ; lay:cash 160.00 .',
    'shop:shaft a lay:Part ; rdfs:label "shaft" ; lay:kind kind:input-shaft .',
    'shop:shaft lay:cash -1.00 .',
    "shop:shaft lay:number \"S 23\" .",
    f"shop:e1 a lay:Fits ; {EDGE} .",
    f'shop:e2 a lay:DoesNotFit ; {EDGE} ; lay:reason "loose" .',
    f"shop:e1 a lay:RequiresMachining ; {EDGE} .",
    "shop:s1 a lay:Shifts ; lay:source shop:e1 ; lay:target kind:pilot-overlap ; lay:shiftMm 2.50 .",
    "shop:e3 a lay:Fits ; lay:source shop:disk ; lay:target shop:shaft ; lay:joint kind:clutch-spline .",  # misspelt
    'shop:us a lay:Shop ; rdfs:label "us" ; lay:currency "GBP" ; lay:rate 60.00 .',
    "shop:c1 a lay:Fits ; " + EDGE + ' ; lay:condition [ a lay:Condition ; lay:key "torque_nm" ; lay:operator "<=" ;'
    ' lay:value "300" ; lay:text "up to 300 Nm" ] .',
    'kind:input-shaft a lay:Part ; rdfs:label "x" ; lay:kind kind:input-shaft .',
    "",
)  # fmt: skip
LEVELS = ("measured-on-these-parts", "word-of-the-trade")
ACTION = st.tuples(
    st.sampled_from(("add", "add", "add", "revise", "retract", "settle")),
    st.integers(0, 5),
    st.lists(st.sampled_from(SAID), min_size=1, max_size=2, unique=True),
    st.sampled_from(LEVELS),
)


def draft(said: list[str], level: str, note_id: str) -> Draft:
    text = read_statements(PREFIXES + "\n".join(said), ox.RdfFormat.TURTLE, BASE, note_iri(BASE, note_id))
    return Draft(text="said", statements=text, author="bench", evidence=level)


def gists(stated: list[tuple[str, list[ox.Triple]]]) -> set[tuple[str, str]]:
    try:
        load_catalogue([], shop_base=BASE, stated=stated)
    except InvalidFacts as error:
        return {(p.path, p.message.partition("; did you mean")[0].partition(", or did you")[0]) for p in error.problems}
    return set()


def would_be_wrong(notebook: Notebook, added: list[tuple[str, Draft]], removed: str) -> set[tuple[str, str]]:
    """The faults that a change brings in, found the slow way: by reading everything before and after."""
    check = notebook.ledger.check
    standing = [(entry.note_id, (f"note {entry.note_id}", facts_of(entry))) for entry in notebook.ledger.iter_current()]
    new = [(f"note {key}", facts_of(check._as_entry(key, one))) for key, one in added]  # type: ignore[union-attr]
    after = [stated for note_id, stated in standing if note_id != removed]
    return gists([*after, *new]) - gists([stated for _, stated in standing])


def attempt(notebook: Notebook, action: tuple[str, int, list[str], str]) -> None:
    """Does one thing to the notebook if it may be done, and compares the verdict with the slow way's."""
    what, number, said, level = action
    ledger = notebook.ledger
    notes = list(ledger.iter_current())
    if what == "add" or not notes:
        key = new_id()
        added, removed = [(key, draft(said, level, key))], ""
    else:
        chosen = notes[number % len(notes)]
        if what == "settle":
            ledger.append(Draft(text="settled", author="bench", evidence=LEVELS[0], settles=(chosen.iri,)))
            return
        removed = chosen.note_id
        added = [(removed, draft(said, level, removed))] if what == "revise" else []
    expected = would_be_wrong(notebook, added, removed)
    try:
        if not removed:
            ledger.append(added[0][1], note_id=added[0][0])
        elif added:
            ledger.revise(removed, ledger.get_note(removed).revision, added[0][1])
        else:
            ledger.retract(removed, ledger.get_note(removed).revision, Draft(text="mistaken"))
    except InvalidFacts as error:
        found = {(p.path, p.message.partition("; did you mean")[0].partition(", or did")[0]) for p in error.problems}
        assert found == {(path, message.partition(", or did")[0]) for path, message in expected}
    else:
        assert not expected


@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ACTION, min_size=4, max_size=12))
def test_verdicts_and_catalogue_are_those_of_reading_everything(actions: list[tuple[str, int, list[str], str]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        notebook = open_notebook(Path(folder))
        try:
            for action in actions:
                attempt(notebook, action)
                followed = notebook.catalogue()
                if not notebook.catalogue_fault:
                    out = {one.iri for one in notebook.left_out}
                    standing = standing_notes(notebook.ledger, notebook.hidden())
                    stated = [note.stated for note in standing if note.iri not in out]
                    assert followed == load_catalogue([], shop_base=BASE, stated=stated)
        finally:
            notebook.close()


def test_a_line_is_the_same_as_text_and_as_quads(tmp_path: Path) -> None:
    notebook = open_notebook(tmp_path)
    for said in SAID[:1] + SAID[6:7] + SAID[14:15] + SAID[9:10] + SAID[15:16]:
        key = new_id()
        words = replace(
            draft([said], LEVELS[0], key), method='by "eye" \\ hand', document="https://a.example/é ü", job="7\t8"
        )
        notebook.ledger.append(words, note_id=key)

    for entry in notebook.ledger.iter_current():
        text = "".join(quad_lines(entry))
        assert set(ox.parse(text, format=ox.RdfFormat.N_QUADS)) == quads_of(entry)
    notebook.view.catch_up()
    followed = notebook.view.standing().quads
    assert (
        notebook.view.rebuild().quads
        == followed
        == sum(len(quads_of(entry)) for entry in notebook.ledger.iter_current())
    )
    notebook.close()


def test_a_merged_note_may_rest_on_another_note_of_its_shop(tmp_path: Path) -> None:
    theirs, ours = open_notebook(tmp_path / "a", base="https://other.example/"), open_notebook(tmp_path / "b")
    first, second = new_id(), new_id()
    iri = note_iri("https://other.example/", first)
    theirs.ledger.append(
        Draft(text="tried", author="a", evidence=LEVELS[0], shareable=True, made_at="2024-05-01"), note_id=first
    )
    part = f'<https://other.example/d> a lay:Part ; rdfs:label "d" ; lay:kind kind:clutch-disc ; lay:note <{iri}> .'
    text = read_statements(PREFIXES + part, ox.RdfFormat.TURTLE, BASE, note_iri(BASE, second))
    theirs.ledger.append(
        Draft(text="so", statements=text, author="a", evidence=LEVELS[0], shareable=True), note_id=second
    )

    for _ in range(2):
        merge(ours.ledger, list(export_quads(theirs.ledger)))

    assert ours.catalogue().parts["https://other.example/d"].note == iri
    theirs.close()
    ours.close()


def test_a_misspelt_name_is_hinted_at_from_all_that_is_known(tmp_path: Path) -> None:
    notebook = open_notebook(tmp_path)
    for said in (SAID[0], SAID[6]):
        key = new_id()
        notebook.ledger.append(draft([said], LEVELS[0], key), note_id=key)

    key = new_id()
    with pytest.raises(InvalidFacts, match="did you mean shop:disc"):
        notebook.ledger.append(draft([SAID[13]], LEVELS[0], key), note_id=key)
    notebook.close()


def test_somebody_who_wrote_many_notes_keeps_their_name(tmp_path: Path) -> None:
    notebook = open_notebook(tmp_path)
    for number in range(12):
        said = f'shop:disc-{number} a lay:Part ; rdfs:label "disc" ; lay:kind kind:clutch-disc .'
        key = new_id()
        notebook.ledger.append(draft([said], LEVELS[0], key), note_id=key)
        notebook.catalogue()

    assert notebook.catalogue_fault == ""
    assert len(notebook.catalogue().parts) == 12
    assert {note.author for note in notebook.catalogue().notes.values()} == {"bench"}
    notebook.close()

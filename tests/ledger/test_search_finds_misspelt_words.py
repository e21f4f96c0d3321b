"""Search: notes by their words; begun, misspelt, with and without accents."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from graph.ledger.book import Ledger
from graph.ledger.record import Draft
from graph.ledger.search import SearchIndex

DISC = Draft(text="The clutch disc slides on the spline.", author="bench", job="17", evidence="hearsay")
BUSH = Draft(text="Pilot bush turned to 16.02 mm.", author="Müller", job="18")


@pytest.fixture
def index(any_ledger: Ledger, tmp_path: Path) -> Iterator[SearchIndex]:
    any_ledger.append(DISC)
    any_ledger.append(BUSH)
    made = SearchIndex(any_ledger, tmp_path)
    yield made
    made.close()


@pytest.mark.parametrize("text", ["clutch disc", "clut dis", "SPLINE", "cluch disk", "disc slides", "spilne"])
def test_a_note_is_found_by_whole_begun_and_misspelt_words(index: SearchIndex, text: str) -> None:
    assert [hit.excerpt.replace("[", "").replace("]", "") for hit in index.find_notes(text)] == [DISC.text]


def test_the_words_that_were_hit_are_marked(index: SearchIndex) -> None:
    assert index.find_notes("pilot")[0].excerpt == "[Pilot] bush turned to 16.02 mm."


def test_an_author_is_found_without_the_dots(index: SearchIndex) -> None:
    assert [hit.author for hit in index.find_notes("muller")] == ["Müller"]


def test_filters_narrow_the_hits(index: SearchIndex) -> None:
    assert index.find_notes("disc", {"job": "18"}) == []
    assert len(index.find_notes("disc", {"job": "17", "author": "bench"})) == 1


def test_a_revised_or_retracted_note_is_found_by_what_stands(index: SearchIndex) -> None:
    note = next(note for note in index.ledger.list_notes() if note.text == DISC.text)
    index.ledger.revise(note.note_id, 1, replace(DISC, text="It binds."))

    assert index.find_notes("slides") == []
    assert len(index.find_notes("binds")) == 1

    index.ledger.retract(note.note_id, 2, Draft(text="no"))
    assert index.find_notes("binds") == []


@pytest.mark.parametrize("text", ['"', "AND OR NOT", "a* NEAR(b", "); DROP TABLE notes; --", "…", "x" * 5000])
def test_no_text_breaks_the_search(index: SearchIndex, text: str) -> None:
    index.find_notes(text)

    assert len(index.find_notes("disc")) == 1


def test_an_index_of_another_ledger_is_made_again(index: SearchIndex, tmp_path: Path) -> None:
    from graph.ledger.database import open_database, sqlite_url

    folder = tmp_path / "other"
    folder.mkdir()
    index.find_notes("disc")
    (folder / "search.db").write_bytes((tmp_path / "search.db").read_bytes())
    engine = open_database(sqlite_url(folder / "ledger.db"))
    other = SearchIndex(Ledger(engine), folder)

    assert other.find_notes("disc") == []
    other.close()
    engine.dispose()

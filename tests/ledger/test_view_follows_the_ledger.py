"""The graph is a view: equal to a rebuild at any time, mended when damaged, dropped without loss."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pyoxigraph as ox
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from graph.ledger import view as views
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.identity import DEFAULT_BASE
from graph.ledger.provenance import quads_of, read_graph
from graph.ledger.record import Draft
from graph.ledger.view import View, open_view

FITS = (
    "<https://shop.example/edge-1> <http://www.w3.org/1999/02/22-rdf-syntax-ns#type> "
    "<https://layshaft.example/vocabulary#Fits> .\n"
    "<https://shop.example/edge-1> <https://layshaft.example/vocabulary#source> <https://shop.example/disc> .\n"
    "<https://shop.example/edge-1> <https://layshaft.example/vocabulary#target> <https://shop.example/shaft> .\n"
)
NOTE = Draft(text="Disc slides on the shaft by hand.", statements=FITS, author="J. B.", evidence="E1")


@pytest.fixture
def view(any_ledger: Ledger, tmp_path: Path) -> Iterator[View]:
    opened = open_view(any_ledger, tmp_path / "views")
    yield opened
    opened.close()


def graph_of(view: View) -> set[ox.Quad]:
    return {quad for quad in view.store if quad.graph_name != ox.NamedNode(f"{DEFAULT_BASE}ledger")}


def test_a_reader_sees_its_own_writes(view: View) -> None:
    note = view.ledger.append(NOTE)

    view.catch_up()

    assert graph_of(view) == quads_of(note)


def test_a_revision_takes_the_place_of_the_one_before(view: View) -> None:
    note = view.ledger.append(NOTE)
    view.catch_up()

    revised = view.ledger.revise(note.note_id, 1, replace(NOTE, text="It binds at the last 3 mm."))
    view.catch_up()

    assert graph_of(view) == quads_of(revised)


def test_a_note_taken_back_leaves_the_graph(view: View) -> None:
    note = view.ledger.append(NOTE)
    view.catch_up()

    view.ledger.retract(note.note_id, 1, Draft(text="other disc"))
    view.catch_up()

    assert graph_of(view) == set()


def test_an_edge_in_a_note_rests_on_that_note(view: View) -> None:
    note = view.ledger.append(NOTE)
    view.catch_up()

    answer = view.store.query(
        "PREFIX lay: <https://layshaft.example/vocabulary#> PREFIX prov: <http://www.w3.org/ns/prov#> "
        "SELECT ?note ?who WHERE { ?edge a lay:Fits ; lay:note ?note . ?note prov:wasAttributedTo ?who }",
        use_default_graph_as_union=True,
    )

    assert [(row["note"].value, row["who"].value) for row in answer] == [  # type: ignore[union-attr]
        (note.iri, "https://shop.example/people/J.%20B.")
    ]


def test_two_processes_follow_one_ledger_in_folders_of_their_own(any_ledger: Ledger, tmp_path: Path) -> None:
    first, second = open_view(any_ledger, tmp_path / "views"), open_view(any_ledger, tmp_path / "views")
    any_ledger.append(NOTE)

    first.catch_up()
    second.catch_up()

    assert first.folder != second.folder
    assert set(first.store) == set(second.store)
    first.close()
    second.close()


def test_a_folder_that_was_left_is_taken_up_where_it_stood(ledger: Ledger, tmp_path: Path) -> None:
    ledger.append(NOTE)
    open_view(ledger, tmp_path / "views").close()
    ledger.append(NOTE)

    again = open_view(ledger, tmp_path / "views")

    assert (again.rebuilt_because, again.standing().position) == ("", 2)
    again.close()


def test_a_dropped_view_comes_back_whole(ledger: Ledger, tmp_path: Path) -> None:
    note = ledger.append(NOTE)
    open_view(ledger, tmp_path / "views").close()
    shutil.rmtree(tmp_path / "views")

    again = open_view(ledger, tmp_path / "views")

    assert graph_of(again) == quads_of(note)
    again.close()


def test_a_store_that_silently_lost_a_quad_is_counted_and_made_again(ledger: Ledger, tmp_path: Path) -> None:
    note = ledger.append(NOTE)
    view = open_view(ledger, tmp_path / "views")
    view.store.remove(next(iter(quads_of(note))))
    view.close()

    again = open_view(ledger, tmp_path / "views")

    assert "quads where" in again.rebuilt_because
    assert graph_of(again) == quads_of(note)
    again.close()


def test_a_store_with_a_ruined_file_is_made_again(ledger: Ledger, tmp_path: Path) -> None:
    note = ledger.append(NOTE)
    view = open_view(ledger, tmp_path / "views")
    path = view.path
    view.close()
    for file in path.glob("MANIFEST*"):
        file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])

    again = open_view(ledger, tmp_path / "views")

    assert graph_of(again) == quads_of(note)
    again.close()


def test_a_view_of_a_ledger_that_was_restored_to_an_older_state_is_made_again(tmp_path: Path) -> None:
    def opened(name: str) -> Ledger:
        return Ledger(open_database(sqlite_url(tmp_path / name)))

    longer, other = opened("a.db"), opened("b.db")
    for _ in range(3):
        longer.append(NOTE)
    note = other.append(NOTE)
    open_view(longer, tmp_path / "views").close()

    again = open_view(other, tmp_path / "views")

    assert "ledger ends at 1" in again.rebuilt_because
    assert graph_of(again) == quads_of(note)
    again.close()


def test_a_snapshot_does_not_move_while_the_view_goes_on(view: View) -> None:
    view.ledger.append(NOTE)

    with view.snapshot() as path:
        view.ledger.append(NOTE)
        view.catch_up()
        held = len(ox.Store.read_only(str(path)))

    with view.snapshot() as path:
        assert len(ox.Store.read_only(str(path))) > held


STEPS = st.lists(st.tuples(st.sampled_from(["note", "revise", "retract"]), st.integers(0, 5)), max_size=12)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_following_step_by_step_equals_a_rebuild(ledger: Ledger, tmp_path: Path, steps: list[tuple[str, int]]) -> None:
    view = open_view(ledger, tmp_path / "views")
    for action, which in steps:
        standing = list(ledger.iter_current())
        if action == "note" or not standing:
            ledger.append(replace(NOTE, text=f"note {which}"))
        elif action == "revise":
            target = standing[which % len(standing)]
            ledger.revise(target.note_id, target.revision, Draft(text="again", shareable=True))
        else:
            target = standing[which % len(standing)]
            ledger.retract(target.note_id, target.revision, Draft(text="no"))
        view.catch_up()
    followed, counted = graph_of(view), view.standing()

    assert counted.quads == len(graph_of(view))
    assert view.rebuild().quads == counted.quads
    assert graph_of(view) == followed
    view.close()


def test_a_notes_graph_can_be_taken_apart_again(ledger: Ledger) -> None:
    draft = replace(NOTE, method="by hand", job="2024-17", document="https://drawings.example/17", shareable=True,
                    made_at="2024-05-01")  # fmt: skip
    note = ledger.append(draft)

    note_id, revision, action, read = read_graph(note.iri, quads_of(note))

    assert (note_id, revision, action) == (note.note_id, 1, "note")
    assert read == replace(draft, made_at=note.made_at)


def test_what_the_store_holds_in_memory_goes_to_the_disk_after_some_lines(
    view: View, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(views, "FLUSH_LINES", 3)
    before = {file.name for file in view.path.glob("*.sst")}

    for number in range(7):
        view.ledger.append(replace(NOTE, text=f"Disc {number} slides."))
        view.catch_up()
    view._await_flush()

    assert {file.name for file in view.path.glob("*.sst")} - before
    followed = graph_of(view)
    view.rebuild()  # in the middle of a flush or not
    assert graph_of(view) == followed


def test_a_flush_that_fails_is_made_good_by_opening_the_store_again(
    view: View, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Full:
        def flush(self) -> None:
            raise OSError("the disk does not answer")

    note = view.ledger.append(NOTE)
    view.catch_up()

    view._flush(Full())  # type: ignore[arg-type]
    assert view._ailing
    view.catch_up()

    assert not view._ailing
    assert graph_of(view) == quads_of(note)

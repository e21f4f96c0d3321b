"""Facts are judged against what stands when they are written; and notes that contradict after all take no others along.

Common practice for all cases: two people note the same new part at once, and a shop edits its fact files.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pyoxigraph as ox
import pytest
from fastapi.testclient import TestClient

from api.__main__ import main as start
from api.service import opened_service
from api.settings import Settings
from graph.cli.main import main
from graph.cli.question import DEMO_QUESTION
from graph.errors import InvalidFacts
from graph.ledger.book import Drafts, DraftVerdict, Ledger, Retry, RevisionConflict
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.exchange import export_quads, merge
from graph.ledger.foreign import read_statements
from graph.ledger.identity import new_id, note_iri
from graph.ledger.imports import ImportedAs, import_source
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft, Entry

pytestmark = pytest.mark.takes_turns(2)

BASE = "https://shop.example/"
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
DISC = 'shop:disc a lay:Part ; rdfs:label "disc" ; lay:kind kind:clutch-disc .'
SHAFT = 'shop:shaft a lay:Part ; rdfs:label "shaft" ; lay:kind kind:input-shaft .'
FITS = "shop:e1 a lay:Fits ; lay:source shop:disc ; lay:target shop:shaft ; lay:joint kind:clutch-spline ."
WORDS = Draft(text="said", author="bench", evidence="measured-on-these-parts")


def said(note_id: str, *statements: str) -> Draft:
    turtle = PREFIXES + "\n".join(statements)
    text = read_statements(turtle, ox.RdfFormat.TURTLE, BASE, note_iri(BASE, note_id))
    return Draft(text="said", statements=text, author="bench", evidence="measured-on-these-parts")


def add(notebook: Notebook, *statements: str, retry: Retry | None = None) -> Entry:
    note_id = new_id()
    return notebook.ledger.append(said(note_id, *statements), note_id=note_id, retry=retry)


@contextmanager
def two_services(url: str, folder: Path, facts: Sequence[Path] = ()) -> Iterator[tuple[Notebook, Notebook]]:
    here, there = (open_notebook(folder / name, url, facts=facts) for name in ("here", "there"))
    try:
        yield here, there
    finally:
        here.close()
        there.close()


def overtaken(ledger: Ledger, by: Callable[[], object]) -> None:
    """Between judging and writing, once, somebody else does something."""
    check, waiting = ledger.check, [by]
    assert check is not None

    def slow(added: Drafts, removed: Sequence[str]) -> DraftVerdict | None:
        verdict = check(added, removed)
        if waiting:
            waiting.pop()()
        return verdict

    ledger.check = slow


def test_of_two_notes_for_one_new_part_the_second_is_refused(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as (here, there):
        overtaken(here.ledger, lambda: add(there, DISC))

        with pytest.raises(InvalidFacts, match="stated twice"):
            add(here, DISC)

        for notebook in (here, there):
            assert list(notebook.catalogue().parts) == ["disc"]
            assert (notebook.left_out, notebook.catalogue_fault) == ((), "")


def test_a_part_is_not_taken_back_from_under_an_edge_that_came_meanwhile(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as (here, there):
        disc = add(here, DISC)
        add(here, SHAFT)
        overtaken(here.ledger, lambda: add(there, FITS))

        with pytest.raises(InvalidFacts, match="nothing is known by the id"):
            here.ledger.retract(disc.note_id, 1, Draft(text="mistaken"))

        assert "e1" in here.catalogue().edges


def test_an_edge_does_not_come_in_on_a_part_that_went_meanwhile(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as (here, there):
        disc = add(here, DISC)
        add(here, SHAFT)
        overtaken(here.ledger, lambda: there.ledger.retract(disc.note_id, 1, Draft(text="mistaken")))

        with pytest.raises(InvalidFacts, match="nothing is known by the id"):
            add(here, FITS)


def test_a_revision_is_judged_against_what_others_have_revised(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as (here, there):
        first, second = add(here, DISC), add(here, SHAFT)
        overtaken(here.ledger, lambda: there.ledger.revise(first.note_id, 1, said(first.note_id, DISC, FITS)))

        with pytest.raises(InvalidFacts, match="stated twice"):
            here.ledger.revise(second.note_id, 1, said(second.note_id, SHAFT, FITS))


def test_whoever_loses_a_race_for_a_revision_gets_both_texts(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as (here, there):
        note = add(here, DISC)
        overtaken(here.ledger, lambda: there.ledger.revise(note.note_id, 1, said(note.note_id, DISC, SHAFT)))

        with pytest.raises(RevisionConflict):
            here.ledger.revise(note.note_id, 1, said(note.note_id, SHAFT))


def test_an_import_is_judged_against_what_came_while_it_was_read(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as (here, there):
        overtaken(here.ledger, lambda: add(there, DISC))

        with pytest.raises(InvalidFacts, match="stated twice"):
            import_source(here.ledger, "new.ttl", (PREFIXES + SHAFT + DISC).encode(), ImportedAs(WORDS))

        assert list(here.catalogue().parts) == ["disc"]


def test_a_merge_is_judged_against_what_came_meanwhile(any_url: str, tmp_path: Path) -> None:
    theirs = open_notebook(tmp_path / "other", base="https://other.example/")
    note_id = new_id()
    theirs.ledger.append(said(note_id, DISC), note_id=note_id)
    with two_services(any_url, tmp_path) as (here, there):
        overtaken(here.ledger, lambda: add(there, DISC))

        with pytest.raises(InvalidFacts, match="stated twice"):
            merge(here.ledger, list(export_quads(theirs.ledger, shareable_only=False)))
    theirs.close()


def test_a_note_on_something_else_is_not_judged_again(tmp_path: Path) -> None:
    with two_services(sqlite_url(tmp_path / "ledger.db"), tmp_path) as (here, there):
        judged: list[int] = []
        overtaken(here.ledger, lambda: add(there, DISC))
        counted = here.ledger.check
        assert counted is not None

        def judge(added: Drafts, removed: Sequence[str]) -> DraftVerdict | None:
            judged.append(1)
            return counted(added, removed)

        here.ledger.check = judge

        add(here, SHAFT)

        assert judged == [1]
        assert sorted(here.catalogue().parts) == ["disc", "shaft"]


def test_many_threads_on_two_services_with_one_part_leave_one_note(any_url: str, tmp_path: Path) -> None:
    with two_services(any_url, tmp_path) as services:
        outcomes: list[str] = []

        def write(notebook: Notebook) -> None:
            try:
                add(notebook, DISC)
                outcomes.append("kept")
            except InvalidFacts:
                outcomes.append("refused")

        threads = [threading.Thread(target=write, args=(one,)) for one in services * 3]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

        assert sorted(outcomes) == ["kept"] + ["refused"] * 5
        assert [list(one.catalogue().parts) for one in services] == [["disc"], ["disc"]]


def test_a_request_sent_again_gets_its_first_answer_though_its_part_is_there_now(any_url: str, tmp_path: Path) -> None:
    retry = Retry("key", "what was asked")
    with two_services(any_url, tmp_path) as (here, there):
        first = add(here, DISC, retry=retry)

        assert add(here, DISC, retry=retry) == first
        assert add(there, DISC, retry=retry) == first
    with two_services(any_url, tmp_path) as (here, _):
        assert add(here, DISC, retry=retry) == first


def test_a_request_sent_twice_at_once_writes_once(any_url: str, tmp_path: Path) -> None:
    retry, firsts = Retry("key", "what was asked"), []
    with two_services(any_url, tmp_path) as (here, there):
        overtaken(here.ledger, lambda: firsts.append(add(there, DISC, retry=retry)))

        assert add(here, DISC, retry=retry) == firsts[0]


# What contradicts after all


def write_past_the_judge(url: str, *drafts: tuple[str, Draft]) -> None:
    """As an earlier version wrote, that judged before it took the lock."""
    engine = open_database(url)
    Ledger(engine).append_all(drafts)
    engine.dispose()


def test_of_two_notes_that_contradict_the_first_counts_and_the_other_is_named(any_url: str, tmp_path: Path) -> None:
    first, second = new_id(), new_id()
    write_past_the_judge(any_url, (first, said(first, DISC)), (second, said(second, DISC)))

    with two_services(any_url, tmp_path) as (here, there):
        after = add(here, SHAFT)
        for notebook in (here, there):
            known = notebook.catalogue()
            assert sorted(known.parts) == ["disc", "shaft"]
            assert known.notes.keys() == {f"notes/{first}", f"notes/{after.note_id}"}
            assert [one.note for one in notebook.left_out] == [second]
            assert "stated twice" in notebook.left_out[0].reason
        assert add(there, FITS).position == here.ledger.head().position
        assert "e1" in here.catalogue().edges


def test_what_rests_on_a_note_that_is_left_out_is_left_out_as_well(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "ledger.db")
    ids = [new_id() for _ in range(4)]
    drafts = zip(ids, ((DISC,), (DISC, SHAFT), (FITS,), ('shop:other a lay:Part ; rdfs:label "o" ; lay:kind '
                                                         "kind:input-shaft .",)), strict=True)  # fmt: skip
    write_past_the_judge(url, *((note_id, said(note_id, *what)) for note_id, what in drafts))

    with two_services(url, tmp_path) as (here, there):
        for notebook in (here, there):
            assert sorted(notebook.catalogue().parts) == ["disc", "other"]
            assert [one.note for one in notebook.left_out] == ids[1:3]


def test_taking_one_of_them_back_lets_the_other_in(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "ledger.db")
    first, second = new_id(), new_id()
    write_past_the_judge(url, (first, said(first, DISC)), (second, said(second, DISC, SHAFT)))

    with two_services(url, tmp_path) as (here, there):
        assert [len(one.left_out) for one in (here, there) if one.catalogue()] == [1, 1]
        here.ledger.retract(first, 1, Draft(text="said twice"))

        for notebook in (there, here):
            assert sorted(notebook.catalogue().parts) == ["disc", "shaft"]
            assert notebook.left_out == ()


def test_a_facts_file_that_now_says_what_a_note_says_leaves_that_note_out(tmp_path: Path) -> None:
    facts = tmp_path / "facts"
    facts.mkdir()
    url = sqlite_url(tmp_path / "ledger.db")
    with two_services(url, tmp_path, [facts]) as (here, _):
        note = add(here, DISC)
        other = add(here, SHAFT)
        here.catalogue()
    (facts / "own.ttl").write_text(PREFIXES + DISC)

    with two_services(url, tmp_path, [facts]) as (here, _):
        assert sorted(here.catalogue().parts) == ["disc", "shaft"]
        assert [one.note for one in here.left_out] == [note.note_id]
        assert f"notes/{other.note_id}" in here.catalogue().notes
        (facts / "own.ttl").unlink()
        add(here, FITS)  # which is when the files are looked at
        assert "e1" in here.catalogue().edges
        assert here.left_out == ()


def test_two_notes_of_one_shop_each_leave_the_rest_of_the_kinds_alone(tmp_path: Path) -> None:
    url = sqlite_url(tmp_path / "ledger.db")
    ids = [new_id() for _ in range(3)]
    shop = 'shop:{0} a lay:Shop ; rdfs:label "{0}" ; lay:currency "GBP" ; lay:rate 60.00 .'
    notes = ((shop.format("us"),), (shop.format("them"),), (DISC,))
    write_past_the_judge(url, *((one, said(one, *what)) for one, what in zip(ids, notes, strict=True)))

    with two_services(url, tmp_path) as (here, _):
        assert list(here.catalogue().parts) == ["disc"]
        assert here.catalogue().currency == "GBP"
        assert [one.note for one in here.left_out] == [ids[1]]


# Where it is told


@pytest.fixture
def folder_with_a_pair(tmp_path: Path) -> tuple[Path, str]:
    """A data folder whose ledger holds two notes for one part; and the second one's id."""
    first, second = new_id(), new_id()
    url = sqlite_url(tmp_path / "ledger.db")
    write_past_the_judge(url, (first, said(first, DISC)), (second, said(second, DISC)))
    return tmp_path, second


def test_every_page_and_every_answer_says_what_is_left_out(folder_with_a_pair: tuple[Path, str]) -> None:
    folder, second = folder_with_a_pair
    with opened_service(folder, Settings()) as (app, _):
        client = TestClient(app, base_url="http://127.0.0.1:8000")
        for page in ("/", "/ask", "/browse", "/notebook", f"/notebook/{second}"):
            answer = client.get(page, headers={"accept": "text/html"})
            assert f'<a href="/notebook/{second}">' in answer.text, page
            assert "stated twice" in answer.text
            assert answer.headers["notes-left-out"] == "1"
        question = {"gearbox": DEMO_QUESTION.gearbox, "engine": DEMO_QUESTION.engine}
        told = [
            client.get("/readyz").json()["left_out"],
            client.get("/ledger").json()["left_out"],
            client.get("/ledger/verification").json()["left_out"],
            client.post("/routes", json=question).json()["notes_left_out"],
        ]
        assert [[one["note"] for one in each] for each in told] == [[second]] * 4
        assert client.get("/parts").headers["notes-left-out"] == "1"

        client.post(f"/notes/{second}/retraction", json={"text": "said twice"}, headers={"If-Match": '"1"'})

        answer = client.get("/ask", headers={"accept": "text/html"})
        assert "stated twice" not in answer.text
        assert "notes-left-out" not in answer.headers
        assert client.get("/readyz").json()["left_out"] == []


def test_verify_names_what_is_left_out_and_changes_nothing(
    folder_with_a_pair: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, second = folder_with_a_pair
    before = (folder / "ledger.db").read_bytes()

    assert main(["verify", "--data", str(folder)]) == 0

    said_of_it = capsys.readouterr()
    assert "2 lines" in said_of_it.out
    assert "1 notes contradict facts or other notes and are left out" in said_of_it.out
    assert f"note {second} is left out: " in said_of_it.err
    assert (folder / "ledger.db").read_bytes() == before


def test_the_start_says_what_is_left_out(
    folder_with_a_pair: tuple[Path, str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, second = folder_with_a_pair
    monkeypatch.setattr(signal, "signal", lambda number, handler: None)  # how a process is told to end is not ours here

    assert start(["--data", str(folder), "--no-serve"]) == 0

    assert f"Note {second} is left out, for it does not hold together with the rest: " in capsys.readouterr().out

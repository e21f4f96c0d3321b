"""Writing a note by the form, finding it again, changing it, taking it back, settling a dispute, files in and out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from graph.ledger.notebook import Notebook
from tests.pages.note_app import hidden, paged_app, send

KNOWN = {"author": "bench 1", "evidence": "measured-on-these-parts"}
HOSTILE = "<script>alert(1)</script> \u202eabc \"q\" 'q' & " + "ü" * 10_000


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Notebook]]:
    with paged_app(tmp_path_factory.mktemp("notes")) as (made, notebook), TestClient(made) as client:
        yield client, notebook


@pytest.fixture(scope="module")
def client(app: tuple[TestClient, Notebook]) -> TestClient:
    return app[0]


def written(client: TestClient, **fields: str) -> str:
    """The address of a note that was written by the form."""
    answer = send(client, "/notebook/new", "/notebook", **KNOWN | fields)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("?")[0]


def test_a_note_is_written_in_words_and_the_graph_knows_it_at_once(app: tuple[TestClient, Notebook]) -> None:
    """A fits B at ... after ...; took ... h; measured; job 214."""
    client, notebook = app

    address = written(
        client, a="elm disc", relation="requires-machining", b="birch input shaft", work="bush the hub\nream to size",
        hours="2.5", cash="18.50", job="214",
    )  # fmt: skip

    page = client.get(address).text
    assert "Elm disc fits after machining Birch input shaft at clutch spline (bush the hub; ream to size)." in page
    edge = next(e for e in notebook.catalogue().edges.values() if e.kind == "requires-machining")
    assert (edge.source, edge.target, edge.joint) == ("disc-30", "shaft-short", "clutch-spline")
    assert edge.operations == ("bush the hub", "ream to size")
    assert (edge.hours_hundredths, edge.cash_hundredths, edge.evidence) == (250, 1850, "measured-on-these-parts")
    assert "fits after machining" in client.get("/part/disc-30").text


def test_the_note_is_found_by_its_words_by_its_part_and_by_its_job(client: TestClient) -> None:
    address = written(client, relation="remark", text="Alder pilot bush rattles when hot.", job="317")
    other = written(client, a="disc-30", relation="replaces", b="disc-20", text="Odd, but it was done.")

    assert address in client.get("/notebook?words=rattles").text
    assert address in client.get("/notebook?job=317").text
    assert address not in client.get("/notebook?job=318").text
    assert other in client.get("/notebook?part=disc-30").text
    assert address not in client.get("/notebook?part=disc-30").text


def test_a_misspelt_search_finds_the_note_with_words_that_look_alike(client: TestClient) -> None:
    address = written(client, relation="remark", text="Crossmember moved back by two holes.")

    page = client.get("/notebook?words=crosmember").text

    assert address in page
    assert "No note has exactly these words." in page


def test_words_that_fit_several_parts_come_back_as_a_choice(client: TestClient) -> None:
    answer = send(client, "/notebook/new", "/notebook", **KNOWN, a="disc", b="shaft-short", text="kept as typed")

    assert answer.status_code == 422
    assert {"disc-20", "disc-other", "disc-30"} <= set(re.findall(r'<option value="([\w-]+)">', answer.text))
    assert "which part is meant?" in answer.text
    assert "kept as typed" in answer.text


def test_every_fault_is_told_at_once_and_what_was_typed_stays(client: TestClient) -> None:
    answer = send(
        client, "/notebook/new", "/notebook", a="nothing like it qqqq", hours="two", cash="1.234", text="typed"
    )

    assert answer.status_code == 422
    for field in ("a", "b", "hours", "cash", "author", "evidence"):
        assert f'<a class="target" href="#{field}">' in answer.text
        assert f'id="{field}-fault"' in answer.text
    assert answer.text.count(" autofocus") == 1
    assert ">typed</textarea>" in answer.text


def test_what_the_facts_refuse_is_told_at_its_field_in_words(client: TestClient) -> None:
    answer = send(client, "/notebook/new", "/notebook", **KNOWN, a="ring-2", relation="replaces", b="bush-20")

    assert answer.status_code == 422
    assert "synchro-ring (ring-2) cannot stand where pilot-bush (bush-20) stands" in answer.text
    assert 'id="a-fault"' in answer.text
    assert "nodes/1" not in answer.text


def test_a_form_sent_twice_writes_once(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    fields = hidden(client.get("/notebook/new").text) | KNOWN | {"relation": "remark", "text": "said once"}

    first = client.post("/notebook", data=fields, follow_redirects=False)
    before = notebook.ledger.head().position
    second = client.post("/notebook", data=fields, follow_redirects=False)
    changed = client.post("/notebook", data=fields | {"text": "said otherwise"}, follow_redirects=False)

    assert first.headers["location"] == second.headers["location"]
    assert notebook.ledger.head().position == before
    assert changed.status_code == 422
    assert "already written from this form" in changed.text


def test_a_form_of_another_site_is_refused(client: TestClient) -> None:
    fields = hidden(client.get("/notebook/new").text) | KNOWN | {"relation": "remark", "text": "forged"}

    forged = client.post("/notebook", data=fields | {"form_token": "guessed"})
    bare = client.post("/notebook", data=KNOWN | {"relation": "remark", "text": "forged"})

    assert forged.status_code == bare.status_code == 403
    assert "No notes" in client.get("/notebook?words=forged").text


def test_hostile_text_in_every_field_shows_as_text(client: TestClient) -> None:
    address = written(
        client, a="disc-other", relation="does-not-fit", b="shaft-long", joint="clutch-spline", text=HOSTILE,
        reason=HOSTILE[:400], method=HOSTILE[:400], job=HOSTILE[:400],
    )  # fmt: skip

    for place in (address, "/notebook", "/part/disc-other", "/notebook?words=alert"):
        page = client.get(place).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


def test_a_note_keeps_its_history_when_it_is_revised_and_taken_back(client: TestClient) -> None:
    address = written(client, relation="remark", text="first words")

    revised = send(client, address, f"{address}/revise", **KNOWN, text="better words")
    taken = send(client, address, f"{address}/retract", why="it was another box", author="bench 1", revision="2")

    assert revised.status_code == taken.status_code == 303
    page = client.get(address).text
    for words in ("first words", "better words", "it was another box", "Revision 3: taken back"):
        assert words in page
    assert address not in client.get("/notebook?words=better").text
    assert address in client.get("/notebook?retracted=yes").text


def test_the_loser_of_a_race_sees_both_texts_and_may_send_again(client: TestClient) -> None:
    address = written(client, relation="remark", text="common ground")
    stale = hidden(client.get(address).text)
    client.post(f"{address}/revise", data=stale | KNOWN | {"text": "hers"})

    lost = client.post(f"{address}/revise", data=stale | KNOWN | {"text": "his"})

    assert lost.status_code == 409
    assert "hers" in lost.text and ">his</textarea>" in lost.text
    again = client.post(f"{address}/revise", data=hidden(lost.text) | KNOWN | {"text": "both"}, follow_redirects=False)
    assert again.status_code == 303


def test_a_dispute_shows_both_sides_and_is_settled_by_a_note_that_says_why(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    yes = written(client, a="bush-long", relation="fits", b="shaft-long", joint="pilot-on-nose", text="It went on.",
                  evidence="hearsay")  # fmt: skip
    no = written(
        client, a="bush-long", relation="does-not-fit", b="shaft-long", joint="pilot-on-nose", text="0.3 mm too tight."
    )
    page = client.get("/notebook/disputes").text
    assert page.index("0.3 mm too tight.") < page.index("It went on.")  # the better evidence first

    about = re.search(r'name="about" value="([^"]*bush-long[^"]*)"', page)
    assert about
    right = notebook.ledger.get_note(no.rpartition("/")[2]).iri
    answer = send(
        client, "/notebook/disputes", "/notebook/disputes", about=about[1], right=right, text="Miked it again, 17.3.",
        **KNOWN,
    )  # fmt: skip

    assert answer.status_code == 303, answer.text
    settled = client.get("/notebook/disputes").text
    assert "(set aside)" in settled
    assert client.get(yes).status_code == 200
    assert not [
        e
        for e in notebook.catalogue().edges.values()
        if (e.source, e.target, e.kind) == ("bush-long", "shaft-long", "fits")
    ]


def test_a_file_is_checked_first_and_written_only_when_told(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    turtle = (
        b"@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> . "
        b"@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> . "
        b'shop:plate-new a lay:Part ; rdfs:label "Plate out of a box" ; lay:kind kind:adapter-plate ; lay:cash 12.5 ; '
        b'lay:currency "XTS" .'
    )
    fields = hidden(client.get("/notebook/files").text) | KNOWN | {"as": "facts"}

    def sent(**more: str) -> str:
        files = {"file": ("plate.ttl", turtle, "text/turtle")}
        answer: Response = client.post("/notebook/files", data=fields | more, files=files)
        return answer.text

    assert "1 notes with 5 statements would be written; nothing was." in sent()
    assert "plate-new" not in notebook.catalogue().parts
    assert "1 notes with 5 statements were written." in sent(write="yes")
    assert notebook.catalogue().parts["plate-new"].cash_hundredths == 1250


def test_what_one_shop_exports_another_merges_with_its_author(app: tuple[TestClient, Notebook], tmp_path: Path) -> None:
    client, _ = app
    written(client, relation="remark", text="for all the world", shareable="yes", author="the old hand")
    file = client.get("/notebook/export?as=trig").content
    assert b"for all the world" in file and b"first words" not in file

    import dataclasses

    from graph.ledger.notebook import open_notebook

    there = open_notebook(tmp_path, base="https://other.example/")
    from graph.ledger.exchange import merge_source

    merged = merge_source(there.ledger, "notes.trig", file)
    entry = there.ledger.list_notes()[0]
    there.close()
    assert (merged.new, merged.newer, merged.known) == (1, 0, 0)
    assert (entry.author, entry.text) == ("the old hand", "for all the world")
    assert dataclasses.asdict(entry)["shareable"]


def test_a_thousand_notes_are_listed_by_the_page(tmp_path: Path) -> None:
    from graph.ledger.identity import new_id
    from graph.ledger.record import Draft

    with paged_app(tmp_path) as (made, notebook), TestClient(made) as client:
        said = [(new_id(), Draft(text=f"note number {n}", author="a", evidence="hearsay")) for n in range(1000)]
        notebook.ledger.append_all(said)

        first = client.get("/notebook").text
        older = re.search(r'href="([^"]*before=\d+[^"]*)"', first)

        assert "note number 999" in first and "note number 949" not in first
        assert older
        assert "note number 949" in client.get(older[1].replace("&amp;", "&")).text

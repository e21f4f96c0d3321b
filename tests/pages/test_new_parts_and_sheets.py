"""From a workshop without a part to an answer, by pages alone: parts, units, what is in them, what joins them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from graph.ledger.notebook import Notebook
from tests.pages.note_app import hidden, paged_app, send

KNOWN = {"author": "bench 1", "evidence": "measured-on-these-parts"}
NOTHING_YET = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix shop: <https://shop.example/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:works a lay:Shop ; rdfs:label "Rushy Lane (invented)" ; lay:currency "EUR" ; lay:rate 58.00 ; lay:dayHours 8 ."""


@pytest.fixture
def app(tmp_path: Path) -> Iterator[tuple[TestClient, Notebook]]:
    (tmp_path / "shop.ttl").write_text(NOTHING_YET, encoding="utf-8")
    with paged_app(tmp_path / "data", tmp_path / "shop.ttl") as (made, notebook), TestClient(made) as client:
        yield client, notebook


def added(client: TestClient, **fields: str) -> str:
    """Where the form of a new part leads."""
    answer = send(client, "/new-part", "/new-part", **KNOWN | fields)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def sheet(client: TestClient, unit: str, **places: str) -> Response:
    """The sheet of a unit sent with these places; `bell_housing="Reed bell"`, and `new=` names of new parts."""
    page = client.get(unit).text
    fields = hidden(page) | standing(page) | KNOWN
    for place, words in places.items():
        name = f"at.at-{place.replace('_', '-')}"
        fields[name] = words.removeprefix("new: ")
        if words.startswith("new: "):
            fields[f"{name}/new"] = "yes"
    return client.post(unit, data=fields, follow_redirects=False)


def standing(page: str) -> dict[str, str]:
    """What the places of a sheet hold as it is shown."""
    return {
        name: unescape(value)
        for name, value in re.findall(r'<input id="at[^"]*" name="(at[^"]*)" value="([^"]*)"', page)
    }


def test_a_workshop_without_a_part_gets_to_an_answer_without_an_id_or_a_line_of_turtle(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    first = client.get("/").text
    assert 'href="/new-part?kind=gearbox"' in first and "Turtle in the folder" not in first

    gearbox = added(client, name="Reed 5, late", kind="gearbox", number="R5-L")
    engine = added(client, name="Knot 1.8", kind="engine")
    assert (gearbox, engine) == ("/unit/reed-5-late", "/unit/knot-1-8")
    assert sheet(client, gearbox, bell_housing="new: Reed bell", input_shaft="new: Reed shaft").status_code == 303
    assert sheet(client, engine, block="new: Knot block", clutch_disc="new: Knot disc").status_code == 303
    for a, b in (("Knot block", "Reed bell"), ("Knot disc", "Reed shaft")):
        joined = send(client, "/notebook/new", "/notebook", **KNOWN, a=a, relation="fits", b=b)
        assert joined.status_code == 303, joined.text

    answer = client.get("/compare?gearbox=reed-5-late&engine=knot-1-8").text
    assert "Reed 5, late to Knot 1.8" in unescape(answer)
    known = notebook.catalogue()
    assert {"reed-bell", "reed-shaft", "knot-block", "knot-disc"} <= set(known.parts)
    assert known.parts["reed-5-late"].number == "R5-L"


def test_a_place_written_again_is_a_revision_and_the_whole_sheet_goes_in_one_click(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    added(client, name="Other bell", kind="bell-housing", price="80,50", condition="used-tested")
    sheet(client, unit, bell_housing="new: Reed bell")

    changed = sheet(client, unit, bell_housing="other bell", lever="new: Reed lever")

    assert changed.status_code == 303, changed.text
    inside = {edge.position: edge.target for edge in notebook.catalogue().edges.values()}
    assert inside == {"at-bell-housing": "other-bell", "at-lever": "reed-lever"}
    assert notebook.catalogue().parts["other-bell"].cash_hundredths == 8050
    page = client.get(unit).text
    note = re.search(r'action="/notebook/([0-9a-f-]{36})/retract"', page)
    assert note and notebook.ledger.get_note(note[1]).revision == 2
    back = page[page.index("Take the whole sheet back") :]
    client.post(f"/notebook/{note[1]}/retract", data=hidden(back), follow_redirects=False)
    assert not notebook.catalogue().edges
    assert standing(client.get(unit).text)["at.at-bell-housing"] == ""


def test_that_a_unit_has_none_at_a_place_is_said_and_kept_and_other_jobs_places_stay(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, bell_housing="new: Reed bell")
    page = client.get(unit).text

    said = client.post(unit, data=hidden(page) | KNOWN | {"at.at-lever": "", "at.at-lever/none": "yes"},
                       follow_redirects=False)  # fmt: skip
    both = client.post(unit, data=hidden(client.get(unit).text) | KNOWN | {"at.at-bell-housing": "Reed bell",
                       "at.at-bell-housing/none": "yes"}, follow_redirects=False)  # fmt: skip

    assert said.status_code == 303, said.text
    found = {(edge.kind, edge.position, edge.target) for edge in notebook.catalogue().edges.values()}
    assert found == {("contains", "at-bell-housing", "reed-bell"), ("has-none", "at-lever", "")}
    assert both.status_code == 422 and "leave one of them" in both.text


def test_who_writes_a_sheet_second_sees_what_the_first_has_written(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    stale = client.get(unit).text
    sheet(client, unit, bell_housing="new: First bell")

    mine = hidden(stale) | standing(stale) | KNOWN | {"at.at-lever": "My lever", "at.at-lever/new": "yes"}
    lost = client.post(unit, data=mine, follow_redirects=False)

    assert lost.status_code == 409
    assert "Now stands there" in lost.text and "First bell" in lost.text
    assert 'value="My lever"' in lost.text
    assert [edge.target for edge in notebook.catalogue().edges.values()] == ["first-bell"]


def test_what_cannot_be_is_told_at_its_place_and_nothing_typed_is_gone(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    before = notebook.ledger.head().position
    page = client.get(unit).text
    typed = {
        "at.at-lever": "no such lever", "at.at-bell-housing": "Bell", "at.at-bell-housing/new": "yes",
        "at.at-bell-housing/price": "1,500", "at.at-input-shaft/number": "77", "at.at-flywheel": "in the wrong unit",
    }  # fmt: skip

    answer = client.post(unit, data=hidden(page) | KNOWN | typed, follow_redirects=False)

    assert answer.status_code == 422
    assert notebook.ledger.head().position == before
    for field in ("at.at-lever", "at.at-bell-housing/price", "at.at-input-shaft"):
        assert f'id="{field}-fault"' in answer.text
    for value in ("no such lever", "1,500", "77", "in the wrong unit"):
        assert value in answer.text


def test_two_parts_of_one_name_are_two_only_when_told(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    added(client, name="Reed lever", kind="gear-lever")

    asked = send(client, "/new-part", "/new-part", **KNOWN, name="Reed lever", kind="gear-lever")
    twice = added(client, name="Reed lever", kind="gear-lever", another="yes")

    assert asked.status_code == 422 and 'id="another"' in asked.text
    assert twice == "/part/reed-lever-2"


def test_a_new_part_sent_twice_is_added_once(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    fields = hidden(client.get("/new-part").text) | KNOWN | {"name": "Reed fork", "kind": "gear-lever"}

    first = client.post("/new-part", data=fields, follow_redirects=False)
    second = client.post("/new-part", data=fields | {"another": ""}, follow_redirects=False)

    assert first.headers["location"] == "/part/reed-fork"
    assert len([part for part in notebook.catalogue().parts if part.startswith("reed-fork")]) == 1
    assert second.status_code in (303, 422)


def test_a_form_of_another_site_adds_nothing(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app

    assert client.post("/new-part", data=KNOWN | {"name": "Forged", "kind": "gear-lever"}).status_code == 403


def test_a_gearbox_is_only_like_a_gearbox(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    added(client, name="Reed 5", kind="gearbox")
    added(client, name="Reed 1.9", kind="engine")
    client.get("/browse")

    engine = send(client, "/new-part", "/new-part", **KNOWN, name="Reed 6", kind="gearbox", like="Reed 1.9")
    named = send(client, "/new-part", "/new-part", **KNOWN, name="Reed 6", kind="gearbox", like="reed-1-9")
    added(client, name="Reed 6", kind="gearbox", like="reed")  # two have the word, one is a gearbox

    for refused in (engine, named):
        assert refused.status_code == 422
        fault = re.search(r'id="like-fault"[^>]*>(.*?)</p>', refused.text, re.DOTALL)
        assert fault and "Reed 1.9 is of another kind (engine); name one of this kind: gearbox" in unescape(fault[1])
    assert notebook.catalogue().parts["reed-6"].variant_of == "reed-5"

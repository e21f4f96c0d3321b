"""What is typed on a unit's sheet is kept, or refused beside its field."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.pages.back import answer_in
from graph.ledger.notebook import Notebook
from tests.pages.note_app import hidden, paged_app
from tests.pages.test_new_parts_and_sheets import KNOWN, NOTHING_YET, added, held, sheet, stale_sheet, standing


@pytest.fixture
def app(tmp_path: Path) -> Iterator[tuple[TestClient, Notebook]]:
    (tmp_path / "shop.ttl").write_text(NOTHING_YET, encoding="utf-8")
    with paged_app(tmp_path / "data", tmp_path / "shop.ttl") as (made, notebook), TestClient(made) as client:
        yield client, notebook


def fault(page: str, field: str) -> str:
    """What a page says beside a field."""
    found = re.search(rf'id="{re.escape(field)}-fault"[^>]*>(.*?)</p>', page, re.DOTALL)
    return unescape(found[1]) if found else ""


def test_the_condition_of_a_part_that_replaces_another_is_kept_and_two_conditions_clash(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    added(client, name="Reed lever", kind="gear-lever", condition="used-tested")
    added(client, name="Other lever", kind="gear-lever")
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="Reed lever")
    worn, damaged = (
        stale_sheet(client, unit) | {"at.at-lever": "Other lever", "at.at-lever/condition": condition}
        for condition in ("worn-out", "damaged")
    )

    sent = client.post(unit, data=worn, follow_redirects=False)
    again = client.post(unit, data=worn, follow_redirects=False)  # the answer was lost on its way
    other = client.post(unit, data=damaged, follow_redirects=False)

    assert (sent.status_code, again.status_code, other.status_code) == (303, 303, 409), again.text
    lever = notebook.catalogue().parts[held(notebook, "reed-5")["at-lever"]]
    assert (lever.condition, lever.variant_of) == ("worn-out", "other-lever")


def test_a_condition_shown_for_the_part_before_is_asked_again_for_the_one_that_replaces_it(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    added(client, name="Reed lever", kind="gear-lever", condition="used-tested")
    added(client, name="Other lever", kind="gear-lever")
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="Reed lever")
    assert 'name="at.at-lever/condition_for" value="Reed lever"' in client.get(unit).text
    typed = stale_sheet(client, unit) | {"at.at-lever": "Other lever", "at.at-lever/condition": "used-tested"}

    asked = client.post(unit, data=typed | {"at.at-lever/condition_for": "Reed lever"}, follow_redirects=False)
    assert asked.status_code == 422 and "was shown for Reed lever" in fault(asked.text, "at.at-lever/condition")
    assert 'name="at.at-lever/condition_for" value="Other lever"' in asked.text
    meant = client.post(unit, data=typed | {"at.at-lever/condition_for": "Other lever"}, follow_redirects=False)

    assert meant.status_code == 303, meant.text
    assert notebook.catalogue().parts[held(notebook, "reed-5")["at-lever"]].condition == "used-tested"


def test_a_price_and_a_number_typed_for_a_part_that_is_known_are_refused_where_they_were_typed(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    added(client, name="Other lever", kind="gear-lever", price="80,50")
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="new: Reed lever")
    before = notebook.ledger.head().position

    for words in ("Reed lever", "Other lever"):
        typed = stale_sheet(client, unit) | {"at.at-lever": words}
        more = typed | {"at.at-lever/number": "77", "at.at-lever/price": "12.50"}
        answer = client.post(unit, data=more, follow_redirects=False)
        no_price = client.post(unit, data=typed | {"at.at-lever/price": "x"}, follow_redirects=False)

        assert answer.status_code == no_price.status_code == 422
        assert f"{words} is known already" in fault(answer.text, "at.at-lever/number")
        assert "kept under Shop, Prices" in fault(answer.text, "at.at-lever/price")
        assert fault(no_price.text, "at.at-lever/price")
    assert notebook.ledger.head().position == before
    same = stale_sheet(client, unit) | {"at.at-lever": "Other lever", "at.at-lever/price": "80.50"}
    assert client.post(unit, data=same, follow_redirects=False).status_code == 303


def test_what_a_unit_was_made_for_keeps_who_said_so_while_other_places_are_written(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    made = stale_sheet(client, unit) | {"author": "KM", "made_for": "clutch-and-propshaft"}
    assert client.post(unit, data=made, follow_redirects=False).status_code == 303
    hearsay = {"author": "CC", "evidence": "hearsay", "at.at-lever/new": "yes"}

    for name in ("Reed lever", "Other lever"):
        later = stale_sheet(client, unit) | hearsay | {"at.at-lever": name, "made_for": "clutch-and-propshaft"}
        assert client.post(unit, data=later, follow_redirects=False).status_code == 303

    assert notebook.catalogue().parts["reed-5"].made_for == ("clutch-and-propshaft",)
    page = client.get(unit).text
    turns = unescape(page[page.index("Who wrote what") :])
    assert "clutch and propshaft (CC" not in turns and turns.count("made for:") == 1
    changed = stale_sheet(client, unit) | {"author": "CC", "made_for": ""}
    assert client.post(unit, data=changed, follow_redirects=False).status_code == 303
    page = unescape(client.get(unit).text)
    assert "clutch and propshaft (KM, measured on these parts) → not known" in page
    note = unescape(client.get(f"/notebook/{hidden(client.get(unit).text)['note']}?revision=2").text)
    assert "reification" not in note and "rdf-syntax" not in note


def test_one_designation_stands_at_a_place_and_a_standard_one_comes_before_words(
    app: tuple[TestClient, Notebook],
) -> None:
    """6308: 40 x 90 x 23 mm, 6309: 45 x 100 x 25 mm (ISO 15); housings by SAE J617, clutch sizes by SAE J620."""
    client, notebook = app
    added(client, name="Whimbrel SAE 3", kind="engine")
    added(client, name="Block Whimbrel SAE 3", kind="engine-block")
    added(client, name="Bearing 6309, spare", kind="input-bearing", number="6309")
    unit = added(client, name="Reed 5", kind="gearbox")

    two = sheet(client, unit, input_bearing="6308 6309")
    wrong = sheet(client, unit, bell_housing="Whimbrel")
    assert two.status_code == wrong.status_code == 422
    assert "more than one bearing number" in fault(two.text, "at.at-input-bearing")
    assert "which is what belongs here" in fault(wrong.text, "at.at-bell-housing")

    assert sheet(client, unit, bell_housing="SAE 3", input_bearing="45.0 x 100 x 25").status_code == 303
    known = notebook.catalogue()
    assert known.parts[held(notebook, "reed-5")["at-bell-housing"]].number == "SAE J617 3"
    assert held(notebook, "reed-5")["at-input-bearing"] == "bearing-6309-spare"
    assert sheet(client, unit, input_bearing="6309-2RS C3").status_code == 303
    sealed = notebook.catalogue().parts[held(notebook, "reed-5")["at-input-bearing"]]
    assert (sealed.number, sealed.variant_of) == ("6309", "bearing-6309-spare") and "6309-2RS C3" in sealed.label
    engine = added(client, name="Knot 1.8", kind="engine")
    assert sheet(client, engine, flywheel="SAE 11,5").status_code == 303
    assert notebook.catalogue().parts[held(notebook, "knot-1-8")["at-flywheel"]].number == "SAE J620 11.5"


def test_the_way_back_to_the_answer_is_still_there_when_the_sheet_is_written(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    unit = added(client, name="Reed 5", kind="gearbox")
    page = client.get(unit, params={"back": "/route?gearbox=a&engine=b"}).text
    typed = {"at.at-lever": "Reed lever", "at.at-lever/new": "yes"}

    saved = client.post(unit, data=hidden(page) | standing(page) | KNOWN | typed, follow_redirects=False)

    shown = unescape(client.get(saved.headers["location"]).text)
    assert 'href="/route?gearbox=a&engine=b">Back to the answer' in shown and "Written down." in shown


def test_no_way_back_leads_to_another_host(app: tuple[TestClient, Notebook]) -> None:
    """An address that begins with two slashes names a host (RFC 3986, 4.2); browsers read a backslash as a slash."""
    client, _ = app
    for address in ("///route", "//elsewhere.example/route", "////elsewhere.example/route",
                    "/\\elsewhere.example/route", "\\\\elsewhere.example/route", "/%2f/../route\\"):  # fmt: skip
        assert answer_in(address) == ""
        assert "Back to the answer" not in client.get("/browse", params={"back": address}).text


def test_a_refused_sheet_keeps_the_places_of_its_kind_of_job_and_so_does_the_written_one(
    app: tuple[TestClient, Notebook],
) -> None:
    client, _ = app
    unit = added(client, name="Reed 5", kind="gearbox")
    shown = client.get(f"{unit}?job=converter-and-flexplate").text
    fields = hidden(shown) | standing(shown) | KNOWN

    refused = client.post(unit, data=fields | {"at.at-torque-converter": "no such", "author": ""})
    few, every = (set(standing(page)) for page in (refused.text, client.get(unit).text))
    written = client.post(unit, data=fields | {"at.at-bell-housing/none": "yes"}, follow_redirects=False)

    assert refused.status_code == 422 and few == set(standing(shown)) and few < every
    assert "job=converter-and-flexplate" in written.headers["location"]


def test_a_field_that_is_sent_twice_with_different_words_is_named_and_nothing_is_written(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    before = notebook.ledger.head().position
    fields = hidden(client.get(unit).text) | KNOWN | {"at.at-bell-housing": ["Reed bell", "Other bell"]}

    answer = client.post(unit, data=fields)

    assert answer.status_code == 422 and "at.at-bell-housing" in answer.text
    assert "was sent several times" in answer.text and notebook.ledger.head().position == before

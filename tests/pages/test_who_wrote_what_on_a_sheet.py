"""Whose word each place of a unit's sheet is, whatever it was changed by: the page, the API, a workbook, an undo."""

from __future__ import annotations

import io
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from openpyxl import load_workbook

from graph.ledger.notebook import Notebook
from tests.pages.note_app import hidden, paged_app
from tests.pages.test_new_parts_and_sheets import NOTHING_YET, added, held, sheet

PUT = "/units/reed-5/sheet"


@pytest.fixture
def app(tmp_path: Path) -> Iterator[tuple[TestClient, Notebook]]:
    (tmp_path / "shop.ttl").write_text(NOTHING_YET, encoding="utf-8")
    with paged_app(tmp_path / "data", tmp_path / "shop.ttl") as (made, notebook), TestClient(made) as client:
        yield client, notebook


def exported(client: TestClient, **cells: tuple[str, str, Any]) -> bytes:
    """The workbook of what was noted, with cells changed: `sheet=(name of the row, header, value)`."""
    book = load_workbook(io.BytesIO(client.get("/workbook").content))
    for title, (name, header, value) in cells.items():
        page = book[title.replace("_", " ")]
        headers = [cell.value for cell in page[1]]
        row = next(row for row in page.iter_rows(min_row=2) if name in [cell.value for cell in row])
        row[headers.index(header)].value = value
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def by_place(client: TestClient) -> dict[str, tuple[str, str]]:
    """Who says what is at each place that holds something, and how it is known."""
    places = client.get(PUT).json()["places"]
    return {one["position"]: (one["author"], one["evidence"]) for one in places if one["part"]}


def test_a_workbook_changes_whose_word_its_own_rows_are_and_no_others(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="new: Reed lever", tail_housing="new: Reed tail")
    added(client, name="Other lever", kind="gear-lever")
    book = exported(client, What_is_in_what=("Reed lever", "part", "Other lever"), Parts=("Reed tail", "cash", 35))

    who = {"author": "office", "evidence": "word-of-the-trade", "name": "march.xlsx"}
    taken = client.post("/workbook", params=who, content=book)

    assert taken.status_code == 201, taken.text
    assert held(notebook, "reed-5") == {"at-lever": "other-lever", "at-tail-housing": "reed-tail"}
    assert by_place(client) == {"at-lever": ("office", "word-of-the-trade"),
                                "at-tail-housing": ("bench 1", "measured-on-these-parts")}  # fmt: skip
    turns = unescape(client.get(unit).text.partition("Who wrote what")[2])
    newest = turns.partition("Back to this")[0]
    assert "<strong><bdi>office</bdi></strong>" in newest and "march.xlsx taken in" in newest
    assert "Reed lever (bench 1, measured on these parts) → Other lever (office, word of the trade)" in newest
    assert "Reed tail, cash: not stated → 35" in newest

    batch = taken.json()["batch"]["id"]
    assert client.post(f"/workbook/batches/{batch}/back", params={"author": "foreman"}).status_code == 200

    assert by_place(client)["at-lever"] == ("bench 1", "measured-on-these-parts")
    turns = client.get(f"{PUT}/history").json()["turns"]
    assert [(one["revision"], one["who"], one["way"]) for one in turns] == [
        (3, "foreman", "march.xlsx taken back"), (2, "office", "march.xlsx taken in"), (1, "bench 1", ""),
    ]  # fmt: skip
    newest = unescape(client.get(unit).text.partition("Who wrote what")[2]).partition("Back to this")[0]
    assert "<strong><bdi>foreman</bdi></strong>" in newest and "march.xlsx taken back" in newest


def test_what_a_workbook_adds_beside_the_sheet_stands_in_its_history(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="new: Reed lever")
    added(client, name="Reed tail", kind="tail-housing")
    book = load_workbook(io.BytesIO(client.get("/workbook/template").content))
    page = book["What is in what"]
    said = {"what": "contains", "unit": "Reed 5", "position": "tail housing", "part": "Reed tail"}
    page.append([said.get(str(cell.value)) for cell in page[1]])
    file = io.BytesIO()
    book.save(file)

    taken = client.post("/workbook", params={"author": "office", "evidence": "word-of-the-trade", "name": "april.xlsx"},
                        content=file.getvalue())  # fmt: skip

    assert taken.status_code == 201, taken.text
    turns = unescape(client.get(unit).text.partition("Who wrote what")[2])
    assert "beside this sheet" in turns and "april.xlsx taken in" in turns
    assert "tail housing: not known → Reed tail (office, word of the trade)" in turns


def test_a_sheet_put_again_with_its_key_writes_once_and_answers_alike(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    body = {"places": {"at-lever": {"part": "Reed lever", "new": True, "kind": "gear-lever"}}, "author": "bench 1",
            "evidence": "measured-on-these-parts"}  # fmt: skip
    key = {"Idempotency-Key": "phone 7"}

    first = client.put(PUT, json=body, headers=key)
    sheet(client, unit, tail_housing="new: Reed tail")  # somebody else, before the answer is asked for again
    again = client.put(PUT, json=body, headers=key)
    other = client.put(PUT, json=body | {"author": "bench 2"}, headers=key)
    second = {"places": {"at-lever": {"none": True}}, "author": "bench 1", "evidence": "measured-on-these-parts"}
    sent = {"If-Match": '"2"', "Idempotency-Key": "phone 8"}
    changed, resent = client.put(PUT, json=second, headers=sent), client.put(PUT, json=second, headers=sent)

    assert first.status_code == again.status_code == 200, first.text + again.text
    assert again.json()["revision"] == first.json()["revision"] == 1
    assert other.status_code == 409 and "another request" in other.text
    assert changed.json()["revision"] == resent.json()["revision"] == 3
    assert held(notebook, "reed-5") == {"at-lever": "", "at-tail-housing": "reed-tail"}
    assert len(notebook.ledger.get_history(first.json()["note"])) == 3


def test_a_place_taken_over_by_an_undo_stays_whose_word_it_was(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="new: Reed lever")
    sheet(client, unit, lever="new: Other lever")
    page = client.get(unit).text
    fields = hidden(page[page.index("Who wrote what") :]) | {"to": "1", "undo_author": "foreman"}

    assert client.post("/unit-sheet/back", data=fields, follow_redirects=False).status_code == 303
    assert sheet(client, unit, tail_housing="new: Reed tail").status_code == 303

    assert by_place(client)["at-lever"] == ("bench 1", "measured-on-these-parts")

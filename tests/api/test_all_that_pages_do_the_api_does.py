"""Everything that a page changes, the API changes too; and the own workshop, new parts and unit sheets as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from api.roles import list_operations
from api.service import opened_service
from api.settings import Settings

# What a page sends -> what a program sends for the same; a page that only signs a browser in has its own kind of API.
TWINS = {
    "/bench/face": "POST /faces/photo",
    "/bench/face/by-hand": "POST /faces/by-hand",
    "/bench/face/by-hand/keep": "POST /faces",
    "/bench/face/keep": "POST /faces",
    "/bench/measurements": "POST /notes",
    "/job-book/{job}/as-built": "POST /jobs/{job}/as-built",
    "/job-book/{job}/closing": "POST /jobs/{job}/closing",
    "/job-book/{job}/entry-back": "POST /jobs/{job}/entries/{entry}/retraction",
    "/job-book/{job}/finding": "POST /jobs/{job}/findings",
    "/job-book/{job}/follow-up": "POST /jobs/{job}/follow-ups",
    "/job-book/{job}/halt": "POST /jobs/{job}/halts",
    "/job-book/{job}/hours": "POST /jobs/{job}/hours",
    "/job-book/{job}/measurement": "POST /jobs/{job}/measurements",
    "/job-book/{job}/remark": "POST /jobs/{job}/remarks",
    "/job-book/{job}/reopening": "POST /jobs/{job}/reopening",
    "/new-job": "POST /jobs",
    "/new-part": "POST /parts",
    "/notebook": "POST /notes",
    "/notebook/disputes": "POST /notes",
    "/notebook/files": "POST /imports",
    "/notebook/{id}/retract": "POST /notes/{note_id}/retraction",
    "/notebook/{id}/revise": "PUT /notes/{note_id}",
    "/people": "POST /tokens",
    "/people/end": "DELETE /tokens/{token_id}",
    "/reach/stock/new": "POST /reach/stock",
    "/reach/stock/{job}/stop": "DELETE /reach/stock/{job}",
    "/shop/{what}/back": "POST /batches/{batch}/retraction",
    "/shop/{what}/page": "POST /shop/rates",  # with /shop/stock, /shop/sublets and /prices/import
    "/sign-in": "POST /session",
    "/sign-in/phone": "POST /session",
    "/sign-out": "DELETE /session",
    "/unit-sheet/back": "PUT /notes/{note_id}",
    "/unit/{id}": "PUT /units/{unit_id}/sheet",
    "/workbook/back": "POST /workbook/batches/{batch_id}/back",
    "/workbook/page": "POST /workbook/preview",
    "/workbook/take": "POST /workbook",
    "/workshop/start": "POST /workshop",
}
OWN = {"name": "Rushy Lane (invented)", "currency": "EUR", "rate": "58,50", "day_hours": "7.5"}
WHO = {"evidence": "measured-on-these-parts", "author": "bench 2"}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """An own workshop, started by a program."""
    data: Path = tmp_path_factory.mktemp("data")
    with opened_service(data, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as asked:
        asked.app = app
        wrong = asked.post("/workshop", json=OWN | {"currency": "XX", "rate": "much"})
        assert wrong.status_code == 422 and {one["path"] for one in wrong.json()["problems"]} == {"currency", "rate"}
        assert asked.get("/workshop").json() == {"own": False, "can_start": True}
        assert asked.post("/workshop", json=OWN).status_code == 201
        yield asked


def test_every_change_that_a_page_makes_has_its_twin_in_the_api(client: TestClient) -> None:
    operations = list_operations(client.app)  # type: ignore[arg-type]
    pages = {one.path for one in operations if one.is_page and one.method not in ("GET", "HEAD")}
    offered = {f"{one.method} {one.path}" for one in operations if not one.is_page}

    assert pages - TWINS.keys() == set(), "a new page action needs its twin: name it in TWINS"
    assert {twin for page, twin in TWINS.items() if page in pages} - offered == set()


def test_a_workshop_is_started_once(client: TestClient) -> None:
    assert client.get("/workshop").json() == {"own": True, "can_start": False}
    assert client.post("/workshop", json=OWN).status_code == 409


def test_a_part_is_added_once_and_gets_its_id_from_its_name(client: TestClient) -> None:
    body = WHO | {"name": "Linnet 4", "kind": "gearbox"}

    added = client.post("/parts", json=body, headers={"Idempotency-Key": "a"})
    again = client.post("/parts", json=body, headers={"Idempotency-Key": "a"})
    twin = client.post("/parts", json=body)

    assert added.status_code == 201 and added.json()["id"] == "linnet-4", added.text
    assert client.get(added.headers["location"]).json()["part"]["label"] == "Linnet 4"
    assert twin.status_code == 422 and twin.json()["problems"][0]["path"] == "name"
    assert again.status_code == 201 and again.json() == added.json()
    assert client.post("/parts", json=WHO | {"name": "X", "kind": "boat"}).json()["problems"][0]["path"] == "kind"


def test_a_unit_sheet_is_written_and_what_two_wrote_is_merged_or_told_with_both(client: TestClient) -> None:
    client.post("/parts", json=WHO | {"name": "Wren 13", "kind": "engine"})
    block = {"part": "Wren block", "new": True, "kind": "engine-block", "price": "210,50"}
    sheet = WHO | {"places": {"at-block": block, "at-pilot": {"none": True}}}

    first = client.put("/units/wren-13/sheet", json=sheet)
    unnamed = client.put("/units/wren-13/sheet", json=sheet)
    changed = {"places": {"at-pilot": {"part": ""}}} | WHO
    second = client.put("/units/wren-13/sheet", json=changed, headers={"If-Match": first.headers["etag"]})
    late = client.put("/units/wren-13/sheet", json=changed, headers={"If-Match": first.headers["etag"]})
    mine = {"places": {"at-pilot": {"part": "Wren pilot", "new": True, "kind": "pilot-bearing"}}} | WHO
    theirs = {"places": {"at-pilot": {"none": True, "evidence": "hearsay", "author": "owner"}}} | WHO
    third = client.put("/units/wren-13/sheet", json=theirs, headers={"If-Match": second.headers["etag"]})
    clash = client.put("/units/wren-13/sheet", json=mine, headers={"If-Match": second.headers["etag"]})
    assert clash.status_code == 409, clash.text
    again = client.put("/units/wren-13/sheet", json=mine, headers={"If-Match": clash.json()["version"]})
    wrong = client.put("/units/wren-13/sheet", headers={"If-Match": again.headers["etag"]},
                       json=WHO | {"places": {"at-block": {"part": "no such part"}}})  # fmt: skip

    def at(answer: Response, position: str) -> dict[str, object]:
        return next(place for place in answer.json()["places"] if place["position"] == position)

    assert first.status_code == 200 and first.headers["etag"] == '"1"', first.text
    assert at(first, "at-block")["part"] == "wren-block" and at(first, "at-pilot")["none"] is True
    assert client.get("/parts/wren-block").json()["part"]["cash"] == 210.5
    assert unnamed.status_code == 428
    assert at(second, "at-block")["part"] == "wren-block" and at(second, "at-pilot")["none"] is False
    assert late.status_code == 200 and late.headers["etag"] == '"2"'  # it says what stands already
    told = clash.json()
    assert (clash.status_code, told["title"], told["version"]) == (409, "Someone else was faster", '"3"')
    (place,) = told["places"]
    words = [place[state]["words"] for state in ("read", "yours", "theirs")]
    assert place["position"] == "at-pilot" and place["theirs"]["none"] is True
    mine_in_words = "Wren pilot (bench 2, measured on these parts)"
    assert words == ["not known", mine_in_words, "it has none (owner, hearsay)"]
    assert at(third, "at-pilot")["author"] == "owner"
    assert again.status_code == 200 and at(again, "at-pilot")["part_label"] == "Wren pilot"
    assert wrong.status_code == 422 and wrong.json()["problems"][0]["path"] == "places.at-block"
    assert client.get("/units/wren-block/sheet").status_code == 404

"""Files over HTTP: imports, previews, merges, photos; and the search over what came in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.api.notebooks import notebook_app, served
from tests.api.pictures import png, points_of
from tests.ledger.test_files_become_notes import TABLE, TURTLE

WHO = {"author": "counter", "evidence": "measured-on-these-parts"}
PNG = png((3, 2))


@pytest.fixture
def client(tmp_path: Path) -> Iterator[httpx.Client]:
    with notebook_app(tmp_path) as (app, _), served(app) as address, httpx.Client(base_url=address) as made:
        yield made


def test_a_file_is_checked_then_imported_then_found(client: httpx.Client) -> None:
    dry = client.post("/imports", params=WHO | {"name": "shelf.ttl", "dry_run": "true"}, content=TURTLE)
    assert (dry.status_code, dry.json()) == (200, {"notes": 2, "statements": 15, "dry_run": True})
    assert client.get("/ledger").json()["position"] == 0

    assert client.post("/imports", params=WHO | {"name": "shelf.ttl"}, content=TURTLE).status_code == 201

    assert client.get("/search", params={"q": "disk 240"}).json()["parts"][0]["id"] == "disc-240"
    assert len(client.get("/search", params={"q": "shelf"}).json()["notes"]) == 2


def test_a_tables_fault_names_row_and_column(client: httpx.Client) -> None:
    client.post("/imports", params=WHO | {"name": "shelf.ttl"}, content=TURTLE)

    answer = client.post(
        "/imports", params=WHO | {"name": "bushes.csv"}, content=TABLE.replace("5.25", "five").encode()
    )

    assert answer.status_code == 422
    assert answer.json()["problems"][0]["path"] == "bushes.csv row 3 column 'cash'"


def test_a_preview_says_what_the_columns_mean(client: httpx.Client) -> None:
    parameters = {"name": "bushes.csv", "column": "price=cash"}

    answer = client.post("/imports/preview", params=parameters, content=TABLE.replace("cash", "price").encode())

    assert "price -> cash (decimal): 4.50, 5.25" in answer.json()


def test_an_export_merges_back_as_known(client: httpx.Client) -> None:
    client.post("/imports", params=WHO | {"name": "shelf.ttl", "shareable": "true"}, content=TURTLE)
    export = client.get("/graph", params={"shareable": "true"}, headers={"Accept": "application/n-quads"}).content

    answer = client.post("/merges", params={"name": "export.nq"}, content=export)

    assert answer.json() == {"new": 0, "newer": 0, "known": 2, "dry_run": False}


def test_a_photo_is_kept_once_and_read_back(client: httpx.Client) -> None:
    first, second = (client.post("/attachments", params={"name": "bore.png"}, content=PNG) for _ in range(2))

    assert first.status_code == 201
    assert first.json() == second.json()
    answer = client.get(first.headers["location"])
    assert points_of(answer.content) == points_of(PNG) and answer.headers["content-type"] == "image/png"


@pytest.mark.parametrize(
    ("content", "stated"), [(b"<script>alert(1)</script>", "image/png"), (PNG, "application/pdf"), (b"", "image/png")]
)
def test_what_is_not_a_picture_or_paper_is_refused(client: httpx.Client, content: bytes, stated: str) -> None:
    answer = client.post("/attachments", content=content, headers={"Content-Type": stated})

    assert answer.status_code == 422

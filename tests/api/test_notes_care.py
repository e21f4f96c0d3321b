"""Long imports with their progress, larger bodies for imports only, and the endpoints of whoever looks after it all."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from api.app import create_app
from api.security import Gate
from api.settings import Settings
from api.with_notes import install
from graph.catalogue.load import load_catalogue
from graph.ledger.book import Ledger
from graph.ledger.care import restore
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.tokens import Tokens
from tests.api.notebooks import SAID, served
from tests.ledger.test_files_become_notes import TURTLE

WHO = {"author": "counter", "evidence": "measured-on-these-parts"}
LATER = {"Prefer": "respond-async"}


@pytest.fixture
def made(tmp_path: Path) -> Iterator[tuple[FastAPI, Notebook]]:
    notebook = open_notebook(tmp_path / "data")
    app = create_app(load_catalogue([]), Settings(most_body_bytes=2_000, most_import_bytes=60_000))
    install(app, notebook)
    yield app, notebook
    notebook.close()


@pytest.fixture
def client(made: tuple[FastAPI, Notebook]) -> Iterator[httpx.Client]:
    with served(made[0]) as address, httpx.Client(base_url=address) as opened:
        yield opened


def ended(client: httpx.Client, location: str) -> dict[str, object]:
    """What the import came to, asked again and again."""
    for _ in range(500):
        found = client.get(location).json()
        if found["state"] in ("done", "failed"):
            return dict(found)
        time.sleep(0.02)
    raise AssertionError("the import did not end")


def test_a_long_import_answers_at_once_and_tells_how_far_it_is(client: httpx.Client) -> None:
    started = client.post("/imports", params=WHO | {"name": "shelf.ttl"}, content=TURTLE, headers=LATER)

    assert (started.status_code, started.headers["preference-applied"]) == (202, "respond-async")
    found = ended(client, started.headers["location"])
    assert found["result"] == {"notes": 2, "statements": 15, "dry_run": False}
    assert found["said"] == "done"
    assert client.get("/ledger").json()["position"] == 2


def test_a_long_import_that_fails_names_every_fault_and_writes_nothing(client: httpx.Client) -> None:
    wrong = TURTLE.replace(b"lay:Part", b"lay:Prat")

    started = client.post("/imports", params=WHO | {"name": "shelf.ttl"}, content=wrong, headers=LATER)

    found = ended(client, started.headers["location"])
    assert found["state"] == "failed"
    assert any("lay:Part" in one["message"] for one in found["problems"])  # type: ignore[attr-defined]
    assert client.get("/ledger").json()["position"] == 0
    assert client.get("/imports/unknown").status_code == 404


def test_imports_may_be_larger_than_other_bodies_but_not_without_end(client: httpx.Client) -> None:
    padded = TURTLE + b"# " + b"x" * 10_000

    assert client.post("/imports", params=WHO | {"name": "shelf.ttl"}, content=padded).status_code == 201
    note = {"text": "x" * 10_000, "author": "bench", "evidence": "measured-on-these-parts"}
    assert client.post("/notes", json=note).status_code == 413
    refused = client.post("/imports", params=WHO | {"name": "shelf.ttl"}, content="#" * 70_000)
    assert refused.status_code == 413
    assert "LAYSHAFT_MOST_IMPORT_BYTES" in refused.json()["detail"]


def test_tokens_are_made_listed_and_ended_over_http(made: tuple[FastAPI, Notebook]) -> None:
    app, notebook = made
    tokens = Tokens(notebook.ledger.engine)
    may = {role: {"Authorization": f"Bearer {tokens.add(role, role)[1]}"} for role in ("note", "manage")}
    app.add_middleware(Gate, tokens=tokens, required=True)
    with served(app) as address, httpx.Client(base_url=address) as client:
        assert client.get("/tokens", headers=may["note"]).status_code == 403
        new = client.post("/tokens", json={"name": "tablet", "role": "read"}, headers=may["manage"]).json()
        mine = {"Authorization": f"Bearer {new['token']}"}
        assert client.get("/notes", headers=mine).status_code == 200

        listed = client.get("/tokens", headers=may["manage"]).json()
        assert [one["name"] for one in listed] == ["note", "manage", "tablet"]
        assert not any("token" in one for one in listed)

        assert client.delete(f"/tokens/{new['id']}", headers=may["manage"]).status_code == 204
        assert client.get("/notes", headers=mine).status_code == 401


def test_verification_and_backup_come_over_http(
    made: tuple[FastAPI, Notebook], client: httpx.Client, tmp_path: Path
) -> None:
    made[1].ledger.append(SAID)

    sound = client.get("/ledger/verification").json()
    taken = client.get("/ledger/backup")

    assert (sound["sound"], sound["lines"]) == (True, 1)
    assert taken.headers["layshaft-checkpoint"] == sound["checkpoint"]
    (tmp_path / "taken.db").write_bytes(taken.content)
    url = sqlite_url(tmp_path / "again.db")
    restore(tmp_path / "taken.db", url)
    again = Ledger(open_database(url))
    assert [entry.text for entry in again.iter_current()] == [SAID.text]
    again.engine.dispose()
    cut = client.get("/ledger/verification", params={"since": f"9:{'0' * 64}"}).json()
    assert not cut["sound"]

"""The demo, and an own workshop that is started by a page: one address, two ledgers, nothing mixed."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from graph.cli.workshop import NewWorkshop, home_of, start_workshop
from graph.errors import Conflict
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.tokens import Tokens
from tests.pages.note_app import send

OWN = {"name": "Rushy Lane (invented)", "currency": "EUR", "rate": "58,50", "day_hours": "7.5"}


def test_an_own_workshop_is_started_by_a_page_and_the_demo_stays_one_click_away(tmp_path: Path) -> None:
    with opened_service(tmp_path, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as client:
        assert 'href="/workshop/start"' in client.get("/").text
        note = {"text": "written while looking around", "evidence": "hearsay", "author": "bench"}
        answer = client.post("/notes", json=note)
        assert answer.status_code == 201, answer.text
        noted = answer.headers["location"]
        wrong = send(client, "/workshop/start", "/workshop/start", **OWN | {"currency": "XX", "rate": ""})
        assert wrong.status_code == 422
        assert 'id="currency-fault"' in wrong.text and 'value="Rushy Lane (invented)"' in wrong.text

        started = send(client, "/workshop/start", "/workshop/start", **OWN)

        assert started.status_code == 303, started.text
        first = client.get("/").text
        assert "What to do first" in first and 'href="/new-part?kind=engine"' in first
        assert client.get("/parts/hollin-5").status_code == client.get(noted).status_code == 404
        assert client.post("/notes", json=note | {"text": "mine"}).status_code == 201

        shown = client.get("/workshop/demo").text  # follows the redirect, with the cookie
        assert "You are looking at the demo workshop" in shown
        assert client.get("/parts/hollin-5").status_code == client.get(noted).status_code == 200
        assert ">mine<" not in client.get("/notebook").text
        client.get("/workshop/mine")
        assert client.get("/parts/hollin-5").status_code == 404
        assert client.get("/workshop/start").status_code == 409

    with opened_service(tmp_path, Settings()) as (app, shop):
        assert home_of(tmp_path) == tmp_path / "workshop"
        known = shop.index.catalogue
        assert (known.currency, known.rate_hundredths, float(known.day_hours)) == ("EUR", 5850, 7.5)
        client = TestClient(app, base_url="http://127.0.0.1", cookies={"workshop": "demo"})
        assert client.get("/parts/hollin-5").status_code == client.get(noted).status_code == 200


def test_who_may_come_in_may_come_in_to_the_new_workshop_and_it_is_started_once(tmp_path: Path) -> None:
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    _, secret = Tokens(engine).add("desk", "manage")

    home = start_workshop(tmp_path, NewWorkshop('A "quoted" name\\', "EUR", "60"), engine)

    there = open_database(sqlite_url(home / "ledger.db"))
    found = Tokens(there).find(secret)
    assert found is not None and found.role == "manage"
    with pytest.raises(Conflict, match="already"):
        start_workshop(tmp_path, NewWorkshop("Another", "EUR", "60"))
    assert sorted(path.name for path in tmp_path.iterdir() if path.is_dir()) == ["workshop"]
    engine.dispose()
    there.dispose()

"""A phone signs in with a code that the desk shows: once, within minutes, in the role that was chosen, until ended."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from graph.ledger.database import open_database, sqlite_url
from graph.ledger.sessions import CODE_S, Sessions
from graph.ledger.tokens import Tokens
from tests.pages.note_app import hidden, paged_app, send


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[TestClient]:
    with paged_app(tmp_path) as (app, _), TestClient(app, base_url="http://127.0.0.1:8000") as client:
        yield client


def test_a_phone_signs_in_once_with_the_code_that_the_desk_shows(desk: TestClient) -> None:
    shown = send(desk, "/people", "/people", name="bench 2", role="note", at="http://192.0.2.7:8000")

    assert shown.status_code == 200 and "<svg" in shown.text and "no-store" in shown.headers["cache-control"]
    found = re.search(r"http://192\.0\.2\.7:8000(/sign-in/phone\?code=([\w-]+))<", shown.text)
    assert found is not None
    where, code = found[1], found[2]
    for _ in range(2):  # looking at the address, as a preview does, uses nothing up
        assert desk.get(where).status_code == 200
    form = hidden(desk.get(where).text)
    assert form["code"] == code

    signed_in = desk.post("/sign-in/phone", data=form, follow_redirects=False)
    again = desk.post("/sign-in/phone", data=form, follow_redirects=False)

    assert (signed_in.status_code, signed_in.headers["location"]) == (303, "/")
    assert "layshaft_session=" in signed_in.headers["set-cookie"]
    assert again.status_code == 401 and "used already" in again.text
    assert code not in desk.get("/people").text


def test_a_code_is_worth_nothing_later_nor_as_a_session_nor_once_its_token_has_ended(tmp_path: Path) -> None:
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    tokens, sessions = Tokens(engine), Sessions(engine)
    token, _ = tokens.add("bench 2", "note")

    assert sessions.take(sessions.offer(token, 1_000), 1_001 + CODE_S) is None
    code = sessions.offer(token, 1_000)
    assert sessions.find(code, 1_001) is None
    cookie = sessions.take(code, 1_000 + CODE_S)
    assert cookie is not None and sessions.find(cookie, 2_000) == token
    assert sessions.take(code, 1_001) is None
    ended = sessions.offer(token, 1_000)
    tokens.revoke(token.id)
    assert sessions.take(ended, 1_001) is None and sessions.find(cookie, 2_000) is None
    engine.dispose()


def test_who_is_let_in_is_listed_and_ended_and_what_cannot_be_is_told_at_its_field(desk: TestClient) -> None:
    wrong = send(desk, "/people", "/people", name="bench 2", role="note", at="javascript:alert(1)")
    nobody = send(desk, "/people", "/people", name=" ", role="note", at="http://192.0.2.7")
    assert wrong.status_code == nobody.status_code == 422
    assert 'id="at-fault"' in wrong.text and 'value="bench 2"' in wrong.text and 'id="name-fault"' in nobody.text
    assert "Nobody yet" in desk.get("/people").text

    send(desk, "/people", "/people", name="bench 2", role="read", at="http://192.0.2.7")
    page = desk.get("/people").text
    ended = re.search(r'name="id" value="([^"]+)"', page)
    assert ended is not None
    assert send(desk, "/people", "/people/end", id=ended[1]).status_code == 303
    assert ", ended " in desk.get("/people").text

"""A browser signs out: its cookie is worth nothing from then on, whoever else has it."""

from __future__ import annotations

from pathlib import Path

import httpx
import pytest

from api.security import Gate
from api.sessions import COOKIE
from graph.ledger.tokens import Tokens
from tests.api.notebooks import notebook_app, served


@pytest.mark.parametrize(("method", "path"), [("DELETE", "/session"), ("POST", "/sign-out")])
def test_after_signing_out_the_cookie_is_worth_nothing(tmp_path: Path, method: str, path: str) -> None:
    with notebook_app(tmp_path) as (app, notebook):
        tokens = Tokens(notebook.ledger.engine)
        app.add_middleware(Gate, tokens=tokens, required=True)
        with served(app) as address, httpx.Client(base_url=address) as client:
            client.post("/session", json={"token": tokens.add("desk", "read")[1]})
            stolen = {COOKIE: client.cookies[COOKIE]}
            assert client.get("/notes").status_code == 200

            assert client.request(method, path, headers={"Origin": address}).status_code in (204, 303)

            assert COOKIE not in client.cookies
            assert httpx.get(f"{address}/notes", cookies=stolen).status_code == 401


def test_a_header_for_csrf_that_is_no_ascii_is_refused_not_stumbled_over(tmp_path: Path) -> None:
    with notebook_app(tmp_path) as (app, notebook):
        tokens = Tokens(notebook.ledger.engine)
        app.add_middleware(Gate, tokens=tokens, required=True)
        with served(app) as address, httpx.Client(base_url=address) as client:
            client.post("/session", json={"token": tokens.add("desk", "note")[1]})

            refused = client.post("/notes", json={"text": "x"}, headers=[(b"X-CSRF-Token", b"\xe9")])

    assert refused.status_code == 401

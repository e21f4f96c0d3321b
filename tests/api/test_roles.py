"""Who may do what: every operation of the service says which role it needs, and is tried with each role.

The table is drawn from the routes of the app itself, so an operation that nobody thought of is in it. What is right:
RFC 9110, 15.5.2 (401: who are you?) and 15.5.4 (403: you may not); the roles as the README tells them.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from httpx import Response

from api import pages, routers
from api.roles import OPEN, Operation, list_operations, needs
from api.service import opened_service
from api.settings import Settings
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.tokens import ROLES, Tokens
from tests.rotating import todays

ID = "00000000-0000-7000-8000-000000000000"

# What may be sent by whoever may only read: questions whose body is too long for an address. They keep nothing.
ASKED_BY_POST = {
    "/ask",
    "/complaints", "/conversions", "/faces/by-hand", "/fit-checks/{kind}", "/identify",
    "/made-parts/{kind}.{form}", "/measure-next", "/papers/{kind}.{form}", "/patterns/overlay", "/patterns/which",
    "/plates/design.{form}", "/redrilling/design.{form}",
    "/reach", "/reach/stock", "/reach/stock/new", "/reach/stock/{job}", "/reach/stock/{job}/stop", "/routes",
    "/routes/cost", "/routes/section.svg", "/routes/spread.svg", "/solve", "/sparql", "/used-boxes", "/while-it-is-out",
}  # fmt: skip
SIGNING_IN_AND_OUT = {
    ("POST", "/session"),
    ("DELETE", "/session"),
    ("POST", "/sign-in"),
    ("POST", "/sign-out"),
    ("POST", "/sign-in/phone"),
}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[FastAPI, dict[str, str]]]:
    """The whole service as others reach it, and a token of each role."""
    data = tmp_path_factory.mktemp("roles")
    engine = open_database(sqlite_url(data / "ledger.db"))
    Ledger(engine)
    secrets = {role: Tokens(engine).add(f"tablet that may {role}", role)[1] for role in ROLES}
    engine.dispose()
    with opened_service(Path(data), Settings(), host="0.0.0.0") as (app, _):
        yield app, secrets


def test_no_router_and_no_page_is_forgotten(service: tuple[FastAPI, dict[str, str]]) -> None:
    """A module of api/routers or api/pages that has a `router` is served; `import_module` finds those nobody lists."""
    names = [
        found.name for package in (routers, pages) for found in iter_modules(package.__path__, f"{package.__name__}.")
    ]
    mine = [route for name in names for route in getattr(import_module(name), "router", APIRouter()).routes]
    served = {(one.method, one.path) for one in list_operations(service[0])}

    routes = [route for route in mine if isinstance(route, APIRoute)]
    stated = {(method, route.path_format) for route in routes for method in route.methods or ()}
    assert len(stated) > 100
    assert stated <= served


def test_every_operation_states_its_role(service: tuple[FastAPI, dict[str, str]]) -> None:
    unstated = [f"{one.method} {one.path}" for one in list_operations(service[0]) if not one.role]

    assert unstated == []


def test_an_operation_without_a_stated_role_is_found_and_kept_shut() -> None:
    app = FastAPI(openapi_url=None)
    app.get("/forgotten")(lambda: None)
    app.get("/said")(needs("read")(lambda: None))

    assert list_operations(app) == [Operation("GET", "/forgotten", ""), Operation("GET", "/said", "read")]
    assert list_operations(app)[0].needed == "manage"


def test_what_changes_something_needs_more_than_reading(service: tuple[FastAPI, dict[str, str]]) -> None:
    changing = [one for one in list_operations(service[0]) if one.method not in ("GET", "HEAD", "*")]

    too_low = {(one.method, one.path) for one in changing if one.role in (OPEN, "read")}

    assert {found for found in too_low if found[1] not in ASKED_BY_POST} == SIGNING_IN_AND_OUT


@pytest.mark.parametrize("role", todays(["", *ROLES], 2))
def test_every_operation_is_refused_below_its_role_and_only_there(
    service: tuple[FastAPI, dict[str, str]], role: str
) -> None:
    app, secrets = service
    headers = {"Authorization": f"Bearer {secrets[role]}"} if role else {}
    may = (OPEN, *ROLES)[: (OPEN, *ROLES).index(role or OPEN) + 1]

    wrong = []
    with TestClient(app, base_url="http://shop.example", raise_server_exceptions=False) as client:
        for one in list_operations(app):
            status = _tried(client, one, headers, secrets["read"])
            refused = status in (401, 403)
            if refused == (one.role in may) or (refused and status != (403 if role else 401)):
                wrong.append((one.method, one.path, one.role, status))

    assert wrong == []


def _tried(client: TestClient, operation: Operation, headers: dict[str, str], good_token: str) -> int:
    """The status of the operation asked for with nothing of use in it (but what a page's form has anyway)."""
    path = operation.path
    while "{" in path:
        before, _, rest = path.partition("{")
        path = before + ID + rest.partition("}")[2]
    method = "GET" if operation.method == "*" else operation.method
    form = {"form_token": "double", "token": good_token} if operation.is_page else None
    client.cookies.clear()
    client.cookies.set("form", "double")
    data = form if method == "POST" else None
    answer: Response = client.request(method, path, headers=headers, follow_redirects=False, data=data)
    return answer.status_code


def test_the_description_says_each_role(service: tuple[FastAPI, dict[str, str]]) -> None:
    """OpenAPI 3.1, Security Requirement Object: the list may name the roles that are required."""
    app = service[0]
    described = app.openapi()

    stated = {(one.method, one.path): one.role for one in list_operations(app)}
    for path, operations in described["paths"].items():
        for method, operation in operations.items():
            role = stated[method.upper(), path]
            wanted = [] if role == OPEN else [{"token": [role]}, {"session": [role]}]
            assert operation["security"] == wanted, (method, path)
            assert role == OPEN or {"401", "403"} <= set(operation["responses"]), (method, path)
    assert set(described["components"]["securitySchemes"]) == {"token", "session"}


def test_a_reader_s_browser_is_told_on_a_page_that_it_may_not_write(service: tuple[FastAPI, dict[str, str]]) -> None:
    app, secrets = service
    with TestClient(app, base_url="http://shop.example") as browser:
        told = browser.get("/notebook/new", headers={"Authorization": f"Bearer {secrets['read']}"})

    assert (told.status_code, told.headers["content-type"]) == (403, "text/html; charset=utf-8")
    assert "this needs note" in told.text and "ask whoever looks after the people" in told.text


def test_a_reader_is_shown_no_form_that_would_be_refused_and_is_told_whom_to_ask(
    service: tuple[FastAPI, dict[str, str]],
) -> None:
    app, secrets = service
    pages = ("/browse", "/part/tansy-5", "/notebook", "/bench/joint?a=tansy-5", "/shop/prices/page")
    with TestClient(app, base_url="http://shop.example") as browser:
        shown = {
            (role, path): browser.get(path, headers={"Authorization": f"Bearer {secrets[role]}"}).text
            for role in ("read", "manage")
            for path in pages
        }

    for path in pages:
        reader = shown["read", path]
        assert '<form method="post"' not in reader and "formaction=" not in reader, path
        assert 'href="/notebook/new' not in reader and 'href="/new-part' not in reader and 'href="/unit/' not in reader
    assert "ask whoever looks after the people of this workshop" in shown["read", "/shop/prices/page"]
    assert '<form method="post"' in shown["manage", "/shop/prices/page"]
    assert 'href="/unit/tansy-5"' in shown["manage", "/part/tansy-5"]


def test_a_cost_is_written_under_the_name_of_its_token(service: tuple[FastAPI, dict[str, str]]) -> None:
    app, secrets = service
    rate = {"kind": "bench", "per_hour": "61.00", "currency": "EUR"}
    may_read, may_note = ({"Authorization": f"Bearer {secrets[role]}"} for role in ("read", "note"))
    with TestClient(app, base_url="http://shop.example") as client:
        read = client.post("/shop/rates", json=rate | {"author": "owner"}, headers=may_read)
        listed = client.post(
            "/prices/import", data={"author": "owner"}, files={"file": ("p.csv", "")}, headers=may_read
        )
        noted = [client.post("/shop/rates", json=rate | said, headers=may_note) for said in ({}, {"author": "owner"})]

    assert (read.status_code, listed.status_code, *(each.status_code for each in noted)) == (403, 403, 200, 200)
    written = app.state.workshop.shop.notes.list_notes(kind="rate")
    assert [note.author for note in written] == ["tablet that may note", "owner (tablet that may note)"]


def test_a_note_without_an_author_is_said_by_its_token(service: tuple[FastAPI, dict[str, str]]) -> None:
    app, secrets = service
    note = {"text": "Disc slides on the shaft.", "evidence": "measured-on-these-parts"}
    with TestClient(app, base_url="http://shop.example") as client:
        kept = client.post("/notes", json=note, headers={"Authorization": f"Bearer {secrets['note']}"}).json()

    assert (kept["author"], kept["recorded_by"]) == ("tablet that may note", "tablet that may note")


def test_a_body_may_be_as_large_as_its_role_needs(service: tuple[FastAPI, dict[str, str]]) -> None:
    """A stated length is enough: what is too large is refused before it comes in (RFC 9110, 15.5.14)."""
    app, secrets = service
    asked = {
        "read": ("/routes", 2_000_000), "note": ("/notes", 4_000_000), "manage": ("/notes", 4_000_000),
    } | {"note import": ("/imports", 64 << 20), "manage import": ("/imports", 512 << 20)}  # fmt: skip
    with TestClient(app, base_url="http://shop.example") as client:
        for what, (path, most) in asked.items():
            role = what.split()[0]
            headers = {"Authorization": f"Bearer {secrets[role]}", "Content-Type": "text/plain"}

            within = client.post(path, content=b"x", headers=headers | {"Content-Length": str(most)})
            beyond = client.post(path, content=b"x", headers=headers | {"Content-Length": str(most + 1)})

            assert (within.status_code, beyond.status_code) in ((415, 413), (422, 413)), what
            assert f"with the role {role}" in beyond.json()["detail"]
        assert client.post("/session", content=b"x" * 200_000).status_code == 413


def test_the_sheet_of_a_unit_is_written_under_the_name_of_its_token(service: tuple[FastAPI, dict[str, str]]) -> None:
    app, tokens = service
    with TestClient(app, base_url="http://shop.example") as client:
        headers = {"Authorization": f"Bearer {tokens['note']}"}
        part = {"name": "Reed 5", "kind": "gearbox", "evidence": "measured-on-these-parts", "author": "fitter"}
        unit = client.post("/parts", json=part, headers=headers).json()["id"]
        said = {"part": "Reed lever", "new": True, "kind": "gear-lever"}
        body = {"evidence": part["evidence"], "author": "fitter", "places": {"at-lever": said}}

        kept = client.put(f"/units/{unit}/sheet", json=body, headers=headers)

    assert kept.status_code == 200, kept.text
    assert kept.json()["author"] == "fitter (tablet that may note)"
    assert {one["author"] for one in kept.json()["places"] if one["part"]} == {"fitter (tablet that may note)"}

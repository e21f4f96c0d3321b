"""Every error has one shape: RFC 9457 problem details. This file pins it.

Source: RFC 9457, section 3 (members, media type) and 3.1.1 (`type` is an identifier).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import APIRouter
from fastapi.testclient import TestClient
from httpx import Response

from api.app import create_app
from graph.catalogue.load import load_catalogue
from graph.errors import Conflict, LimitExceeded, StoreProblem
from graph.lookups.index import CatalogueIndex

TYPES = "https://layshaft.example/problems/"


def problem(response: Response) -> dict[str, Any]:
    """The body, after the checks that hold for every error."""
    assert response.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = response.json()
    assert {"type", "title", "status", "detail", "instance"} <= set(body)
    assert set(body) <= {"type", "title", "status", "detail", "instance", "problems", "near"}
    assert body["status"] == response.status_code
    assert body["type"].startswith(TYPES)
    assert body["detail"]
    assert "Traceback" not in response.text
    return body


def test_an_unknown_address_is_not_found(client: TestClient) -> None:
    assert problem(client.get("/nowhere")) == {
        "type": TYPES + "not-found",
        "title": "Not found",
        "status": 404,
        "detail": "nothing stands at /nowhere",
        "instance": "/nowhere",
    }


def test_an_unknown_part_names_the_ids_that_look_like_it(client: TestClient) -> None:
    body = problem(client.get("/parts/disc-otter"))

    assert body["status"] == 404
    assert body["near"][0] == "disc-other"
    assert body["detail"].startswith("no part with the id 'disc-otter'; did you mean disc-other")


def test_an_unknown_gearbox_names_the_gearboxes_that_look_like_it(client: TestClient) -> None:
    body = problem(client.post("/routes", json={"gearbox": "birch-5", "engine": "alder-20"}))

    assert (body["status"], body["near"]) == (404, ["birch-4"])


def test_a_wrong_method_says_which_are_right(client: TestClient) -> None:
    response = client.get("/routes")

    assert problem(response)["status"] == 405
    assert response.headers["allow"] == "POST"


def test_faults_of_the_form_come_with_the_path_of_each_field(client: TestClient) -> None:
    body = problem(
        client.post("/routes", json={"gearbox": "birch-4", "avoid": ["a", 3], "objective": "speed", "colour": "red"})
    )

    assert body["status"] == 422
    assert [one["path"] for one in body["problems"]] == ["engine", "avoid[1]", "objective", "colour"]


def test_faults_of_sense_come_in_the_same_shape(client: TestClient) -> None:
    both = {"own": ["ring-2"], "avoid": ["ring-2"]}

    body = problem(client.post("/routes", json={"gearbox": "birch-4", "engine": "alder-20", **both}))

    assert [one["path"] for one in body["problems"]] == ["avoid"]


@pytest.mark.parametrize("path", ["/routes", "/conversions", "/solve"])
def test_text_that_is_not_json_is_refused_with_a_reason(client: TestClient, path: str) -> None:
    body = problem(client.post(path, content=b'{"gearbox": ', headers={"content-type": "application/json"}))

    assert body["status"] == 422
    assert body["problems"][0]["message"].startswith("not JSON: ")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-1", "1e400"])
def test_numbers_that_are_no_amounts_are_refused(client: TestClient, number: str) -> None:
    text = f'{{"gearbox": "birch-4", "engine": "alder-20", "rate": {number}}}'

    body = problem(client.post("/routes", content=text, headers={"content-type": "application/json"}))

    assert (body["status"], body["problems"][0]["path"]) == (422, "rate")


def test_a_document_with_faults_names_every_one(client: TestClient) -> None:
    document = {"tasks": [{"id": "a", "after": ["a"], "hours": -1}], "chains": [{"id": "c", "low": 2, "high": 1}]}

    body = problem(client.post("/solve", json=document))

    paths = [one["path"] for one in body["problems"]]
    assert "tasks[0].hours" in paths
    assert any(path.startswith("chains[0]") for path in paths)


def test_a_body_beyond_the_limit_is_refused(client: TestClient) -> None:
    body = problem(client.post("/solve", content=b" " * 100_001))

    assert body["status"] == 413
    assert "at most 100,000 bytes" in body["detail"]


def test_a_body_without_a_stated_length_is_refused_as_soon_as_it_passes_the_limit(client: TestClient) -> None:
    def endless() -> Iterator[bytes]:
        yield from (b" " * 1000 for _ in range(200))

    assert (
        problem(client.post("/solve", content=endless(), headers={"content-type": "application/json"}))["status"] == 413
    )


def test_a_page_larger_than_allowed_names_the_largest(client: TestClient) -> None:
    body = problem(client.get("/parts", params={"limit": 501}))

    assert body["problems"] == [{"path": "limit", "message": "expected at most 500 parts per page; found 501"}]


@pytest.mark.parametrize(
    ("error", "status", "word"),
    [
        (Conflict("revision 7 is no longer the newest"), 409, "conflict"),
        (StoreProblem("the disk is full"), 503, "unavailable"),
        (LimitExceeded("ran out of time after 20 s"), 422, "invalid-input"),
        (ZeroDivisionError("secret"), 500, "internal-error"),
    ],
)
def test_errors_of_the_core_and_of_nobody_keep_the_shape(
    index: CatalogueIndex, error: Exception, status: int, word: str
) -> None:
    router = APIRouter()

    @router.get("/fails")
    async def fails() -> None:
        raise error

    with TestClient(create_app(index, extra=[router]), raise_server_exceptions=False) as client:
        body = problem(client.get("/fails"))

    assert (body["status"], body["type"]) == (status, TYPES + word)
    assert "secret" not in body["detail"]


def test_every_documented_error_is_documented_as_problem_details(client: TestClient) -> None:
    described = client.get("/openapi.json").json()

    for path, methods in described["paths"].items():
        for operation in methods.values():
            for status, response in operation["responses"].items():
                if status.startswith(("4", "5")):
                    assert list(response["content"]) == ["application/problem+json"], (path, status)


def test_a_body_of_thousands_of_unknown_fields_is_answered_shortly() -> None:
    with TestClient(create_app(load_catalogue([]))) as client:
        answer = client.post("/routes", json={f"name{number}": 0 for number in range(900)})

    assert answer.status_code == 422
    assert len(answer.json()["problems"]) == 100
    assert answer.json()["detail"].endswith("more of the kind")
    assert len(answer.content) < 50_000


def test_a_document_of_nothing_but_a_name_is_solved_as_one_without_work() -> None:
    with TestClient(create_app(load_catalogue([]))) as client:
        answer = client.post("/solve", json={"gearbox": "tansy"})

    assert answer.status_code == 200

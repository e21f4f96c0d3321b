"""The whole service over one data folder, as scripts/start runs it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings

HERE = "http://127.0.0.1"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder = tmp_path_factory.mktemp("data")
    with opened_service(folder, Settings()) as (app, _), TestClient(app, base_url=HERE) as client:
        yield client


def test_the_demo_answers_and_the_notebook_is_open(service: TestClient) -> None:
    assert service.get("/healthz").json()["parts"] > 100
    assert service.get("/notes").status_code == 200
    assert service.post("/routes", json={"gearbox": "hollin-5", "engine": "ouzel-20"}).json()["status"] == "if it holds"


def test_the_description_is_complete(service: TestClient) -> None:
    response = service.get("/openapi.json")
    described = response.json()

    for name in re.findall(r'"#/components/schemas/([^"]+)"', response.text):
        assert name in described["components"]["schemas"], name
    operations = [operation for methods in described["paths"].values() for operation in methods.values()]
    assert all(operation["summary"] and operation["description"] for operation in operations)
    assert len({operation["operationId"] for operation in operations}) == len(operations)


def test_the_service_answers_as_this_machine_only(service: TestClient) -> None:
    response = service.get("/healthz", headers={"host": "elsewhere.example"})

    assert response.status_code == 403
    assert response.headers["content-type"] == "application/problem+json"


def test_a_folder_keeps_its_notes_from_one_run_to_the_next(tmp_path: Path) -> None:
    for _ in range(2):
        with opened_service(tmp_path, Settings()) as (app, shop), TestClient(app, base_url=HERE) as client:
            assert client.get("/healthz").json()["edges"] == len(shop.index.catalogue.edges)
    assert {path.name for path in tmp_path.iterdir()} >= {"ledger.db", "views"}


def test_what_a_job_taught_stands_in_the_ledger_as_well(tmp_path: Path) -> None:
    question = {"gearbox": "hollin-5", "engine": "ouzel-20"}
    with opened_service(tmp_path, Settings()) as (app, _), TestClient(app, base_url=HERE) as client:
        client.post("/jobs", json={"question": question, "title": "pick-up", "number": "J-1", "author": "bench 1"})
        step = next(one for one in client.get("/jobs/J-1").json()["steps"] if one["planned"])
        client.post("/jobs/J-1/hours", json={"step": step["number"], "hours": 2.5, "author": "bench 1"})
        closed = client.post("/jobs/J-1/closing", json={"outcome": "done", "author": "bench 1"})

        assert closed.status_code == 200
        (note,) = client.get("/notes", params={"job": "J-1"}).json()["notes"]
        first, *lines = note["text"].splitlines()
        assert first == "Job J-1 closed: done." and any(": 2.50 h, " in line for line in lines)
        ids = [line for line in lines if re.match(r"[a-z0-9]+(-[a-z0-9]+)+: ", line)]
        assert not ids, "people are told names, not ids"
        assert client.post("/routes", json=question).json()["status"] == "if it holds"

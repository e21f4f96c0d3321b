"""POST /reach and POST /reach/stock as a caller sees them, on the demo workshop."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from graph.catalogue.load import load_catalogue
from graph.reach.stocking import Opened, parts_that_open, rank_parts
from graph.reading import CatalogueIndex, Question

DEMO = Path(__file__).parents[2] / "facts" / "demo"


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app(load_catalogue([DEMO]), Settings(searches_at_once=1))) as client:
        yield client


def _lines(text: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in text.splitlines()]


def test_gearboxes_behind_an_engine_come_a_line_each_cheapest_first(client: TestClient) -> None:
    response = client.post("/reach", json={"engine": "ouzel-20", "limit": 3})

    *found, summary = _lines(response.text)
    assert response.headers["content-type"].startswith("application/x-ndjson")
    assert len(found) == 3 and summary["complete"]
    assert [one["expected"] for one in found] == sorted(one["expected"] for one in found)  # type: ignore[type-var]


def test_each_line_is_what_routes_says_of_that_pair(client: TestClient) -> None:
    *found, _ = _lines(client.post("/reach", json={"gearbox": "hollin-5", "objective": "total"}).text)
    assert found
    for one in found:
        asked = {"gearbox": "hollin-5", "engine": one["unit"], "objective": "total", "alternatives": 0}
        best = client.post("/routes", json=asked).json()["routes"][0]

        assert (one["total"], one["cash"], one["hours"]) == (best["total"], best["cash"], best["hours"])


def test_an_unknown_engine_is_a_problem_and_no_broken_stream(client: TestClient) -> None:
    response = client.post("/reach", json={"engine": "ouzel-21"})

    assert response.status_code == 404
    assert "ouzel-20" in response.json()["near"]


def test_the_parts_that_open_most_are_found_by_a_job(client: TestClient) -> None:
    index = CatalogueIndex(load_catalogue([DEMO]))
    boxes = [unit for unit in index.units("gearbox") if not index.catalogue.parts[unit].abstract]
    questions = [{"gearbox": box, "engine": "pipit-16", "objective": "total"} for box in boxes]

    started = client.post("/reach/stock", json={"questions": questions, "budget": 800})
    job = _finished(client, started.headers["location"])

    asked = (Question(gearbox=box, engine="pipit-16", objective="total") for box in boxes)
    by_hand = rank_parts(dict(enumerate(parts_that_open(index, one, budget=800) for one in asked)))
    assert started.status_code == 202
    assert job["state"] == "done", job
    assert [(one["part"], tuple(one["opens"])) for one in job["parts"]] == [(s.part, s.questions) for s in by_hand[:50]]


def _finished(client: TestClient, address: str) -> dict:  # type: ignore[type-arg]
    for _ in range(600):
        job = client.get(address).json()
        if job["state"] not in ("waiting", "running"):
            return job  # type: ignore[no-any-return]
        time.sleep(0.1)
    raise AssertionError(job)


def test_parts_are_ranked_by_how_many_questions_they_open() -> None:
    question = Question(gearbox="g", engine="e")
    opened = [Opened(question, False, ("disc", "plate")), Opened(question, True), Opened(question, False, ("plate",))]

    assert [(one.part, one.questions) for one in rank_parts(dict(enumerate(opened)))] == [("plate", (0, 2)), ("disc", (0,))]


def test_an_unknown_job_is_not_found(client: TestClient) -> None:
    assert client.get("/reach/stock/none").status_code == 404


def test_the_metrics_name_routes_by_template_and_count_what_was_asked(client: TestClient) -> None:
    before = client.get("/metrics").text
    client.get("/parts/disc-hollin-228")
    client.get("/parts/no-such-part")

    text = client.get("/metrics").text

    assert client.get("/metrics").headers["content-type"].startswith("text/plain; version=0.0.4")
    assert 'layshaft_requests_total{method="GET",route="/parts/{id}",status="404"}' in text, text
    assert "no-such-part" not in text
    assert "process_resident_memory_bytes" in before
    for line in text.splitlines():
        assert line.startswith("#") or float(line.rsplit(" ", 1)[1]) >= 0


def test_ready_means_there_is_something_to_ask_about(client: TestClient) -> None:
    assert client.get("/readyz").json() == {"status": "ready", "lacking": []}
    with TestClient(create_app(load_catalogue([]))) as empty:
        response = empty.get("/readyz")

        assert response.status_code == 503
        assert response.json()["lacking"] == ["gearbox", "engine"]

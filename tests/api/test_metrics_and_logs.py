"""What the service tells of itself: metrics, readiness, and a line of JSON for each request, without secrets."""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.metrics import JsonLines
from api.service import opened_service
from api.settings import Settings
from graph.ledger.database import sqlite_url

HERE = "http://127.0.0.1"
NOTE = {"text": "Bush turned to 21.", "author": "bench", "evidence": "measured-on-these-parts"}
QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20"}
# Prometheus, "Exposition formats", text format 0.0.4: a sample is a name, labels in braces, a value.
SAMPLE = re.compile(r'([a-zA-Z_:][\w:]*)(?:\{((?:[a-zA-Z_]\w*="(?:[^"\\\n]|\\["\\n])*",?)*)\})? (\S+)')


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with (
        opened_service(tmp_path_factory.mktemp("data"), Settings()) as (app, _),
        TestClient(app, base_url=HERE) as made,
    ):
        yield made


def samples(text: str) -> dict[str, float]:
    """Series to value; every line must be a comment of the two known kinds or a sample."""
    found = {}
    for line in text.splitlines():
        if line.startswith("#"):
            assert re.fullmatch(r"# (HELP [a-zA-Z_:][\w:]* .+|TYPE [a-zA-Z_:][\w:]* (counter|gauge|histogram))", line)
        else:
            match = SAMPLE.fullmatch(line)
            assert match, line
            found[line.rpartition(" ")[0]] = float(match[3])
    return found


def test_every_series_is_announced_once_and_stands_under_its_type(service: TestClient) -> None:
    service.post("/routes", json=QUESTION)
    text = service.get("/metrics").text

    kinds = re.findall(r"^# TYPE (\S+) (\S+)$", text, re.MULTILINE)
    names = [name for name, _ in kinds]
    assert len(names) == len(set(names))
    for series in samples(text):
        name = series.partition("{")[0]
        family = re.sub(r"_(bucket|sum|count)$", "", name) if name not in names else name
        assert family in names, series
    assert all(name.endswith("_total") for name, kind in kinds if kind == "counter")
    assert text.endswith("\n")


def test_a_histogram_adds_up(service: TestClient) -> None:
    """Buckets are cumulative, the last one (+Inf) is the count."""
    service.post("/routes", json=QUESTION)
    found = samples(service.get("/metrics").text)

    of = 'method="POST",route="/routes"'
    buckets = [value for series, value in found.items() if "seconds_bucket" in series and of in series]
    assert buckets == sorted(buckets)
    assert buckets[-1] == found[f"layshaft_request_seconds_count{{{of}}}"] >= 1
    assert found[f"layshaft_request_seconds_sum{{{of}}}"] > 0


def test_a_request_that_the_gate_refuses_is_counted_too(service: TestClient) -> None:
    service.get("/parts", headers={"host": "elsewhere.example"})

    found = samples(service.get("/metrics").text)

    assert found['layshaft_requests_total{method="GET",route="unknown",status="403"}'] == 1


def test_ready_means_that_the_view_stands_where_the_ledger_does(service: TestClient) -> None:
    service.post("/notes", json=NOTE).raise_for_status()

    state = service.get("/readyz").json()

    assert state["status"] == "ready"
    assert state["ledger"] == state["view"] >= 1


def test_not_ready_where_the_ledger_cannot_be_read_but_alive(tmp_path: Path) -> None:
    with opened_service(tmp_path, Settings()) as (app, _), TestClient(app, base_url=HERE) as client:
        engine = app.state.notebook.ledger.engine
        app.state.notebook.ledger.engine = _broken(tmp_path)

        state, alive = client.get("/readyz"), client.get("/healthz")

        app.state.notebook.ledger.engine = engine
    assert (state.status_code, state.json()["lacking"]) == (503, ["ledger"])
    assert alive.status_code == 200


def _broken(folder: Path) -> object:
    import sqlalchemy

    (folder / "broken.db").write_bytes(b"no database at all" * 100)
    return sqlalchemy.create_engine(sqlite_url(folder / "broken.db"))


def test_a_request_is_named_in_its_answer_and_in_the_log(service: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.handler.setFormatter(JsonLines())
    with caplog.at_level(logging.INFO, "layshaft.requests"):
        answer = service.get("/parts/disc-hollin-228", headers={"X-Request-Id": "bench-7"})

    (line,) = [json.loads(line) for line in caplog.text.splitlines()]
    assert answer.headers["x-request-id"] == line["request_id"] == "bench-7"
    assert {key: line[key] for key in ("level", "method", "route", "status")} == {
        "level": "info", "method": "GET", "route": "/parts/{id}", "status": 200,
    }  # fmt: skip
    assert line["ms"] >= 0
    assert line["time"].endswith("+00:00")


@pytest.mark.parametrize("name", ["", "a b", "x" * 65, "\u00e9", '"}{'])
def test_a_name_that_could_disturb_a_log_is_replaced(service: TestClient, name: str) -> None:
    answer = service.get("/healthz", headers={"X-Request-Id": name.encode("latin-1")})

    assert re.fullmatch(r"[0-9a-f]{32}", answer.headers["x-request-id"])


def test_no_body_query_token_or_cookie_is_logged(service: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.handler.setFormatter(JsonLines())
    secret = "s3cr3t-word"
    with caplog.at_level(logging.INFO):
        service.get(f"/search?q={secret}", headers={"Authorization": f"Bearer {secret}", "Cookie": f"a={secret}"})
        service.get(f"/search?q={secret}")
        service.post("/notes", json=NOTE | {"text": secret, "author": secret}).raise_for_status()
        service.post("/session", json={"token": secret})
        service.get(f"/parts/{secret}")
        service.post("/routes", content=f'{{"{secret}": ')

    lines = [line for line in caplog.text.splitlines() if json.loads(line)["logger"] != "httpx"]  # the client's own
    assert len(lines) == 6
    assert not [line for line in lines if secret in line]

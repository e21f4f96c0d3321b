"""Several service processes on one address: what one does, the others know."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.api.processes import Service, running

TURTLE = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:ring-spare a lay:Part ; rdfs:label "Ring, spare" ; lay:kind kind:synchro-ring .
"""
PAIR = {"gearbox": "tansy-5", "engine": "pipit-16"}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    folder = tmp_path_factory.mktemp("crew")
    outside = {"backup_folder": str(folder / "backups"), "checkpoint_file": str(folder / "checkpoints")}
    with running(folder / "data", workers=2, **outside) as made:
        yield made
        assert made.stop() == 0


def asked_often(service: Service, path: str, times: int = 12) -> list[httpx.Response]:
    """The answers on a connection each, so that every process gives some."""
    return [service.get(path) for _ in range(times)]


def test_all_count_together(service: Service) -> None:
    asked_often(service, "/healthz")

    told = [answer.text for answer in asked_often(service, "/metrics")]

    of = 'layshaft_requests_total{method="GET",route="/healthz",status="200"} '
    assert min(float(text.partition(of)[2].partition("\n")[0]) for text in told) >= 12


def test_one_of_them_makes_the_backup_and_all_tell_of_it(service: Service) -> None:
    folder = service.log.parent / "backups"
    for _ in range(200):
        states = [answer.json()["backup"]["status"] for answer in asked_often(service, "/readyz", 4)]
        if states == ["good"] * 4:
            break
        time.sleep(0.1)

    assert states == ["good"] * 4
    assert len(list(folder.iterdir())) == 1
    assert "layshaft_backup_failing 0" in service.get("/metrics").text
    page = service.get("/keeping").text
    assert next(folder.iterdir()).name in page
    assert service.get("/ledger/checkpoint").json()["hash"] in page
    assert "ledger checkpoint 0:" in (service.log.parent / "checkpoints").read_text()


def test_an_import_that_one_took_is_known_to_all(service: Service) -> None:
    form = {"name": "ring.ttl", "author": "bench", "evidence": "measured-on-these-parts"}
    started = service.post("/imports", params=form, content=TURTLE, headers={"Prefer": "respond-async"})
    assert started.status_code == 202, started.text

    answers = asked_often(service, started.headers["location"])

    assert {answer.status_code for answer in answers} == {200}


def test_a_stock_job_that_one_took_is_known_to_all_and_ended_by_any(service: Service) -> None:
    started = service.post("/reach/stock", json={"questions": [PAIR] * 40})
    assert started.status_code == 202, started.text
    path = started.headers["location"]

    assert {answer.status_code for answer in asked_often(service, path)} == {200}
    for _ in range(8):
        httpx.delete(service.address + path, timeout=60)

    states = {answer.json()["state"] for answer in asked_often(service, path)}
    assert states <= {"cancelled", "done"}


def test_a_process_that_ends_unasked_is_replaced(service: Service) -> None:
    tasks = Path(f"/proc/{service.process.pid}/task")
    before = {int(pid) for file in tasks.glob("*/children") for pid in file.read_text().split()}
    os.kill(min(before), signal.SIGKILL)

    for _ in range(300):
        now = {int(pid) for file in tasks.glob("*/children") for pid in file.read_text().split()}
        if len(now) == 2 and now != before:
            break
        time.sleep(0.1)

    assert len(now) == 2 and now != before
    assert service.post("/routes", json=PAIR).status_code == 200

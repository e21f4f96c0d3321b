"""Hard questions keep nobody waiting: they are bounded, apart, and given up when the one who asked has left."""

from __future__ import annotations

import json
import os
import socket
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

import pytest

from tests.api.processes import Service, running
from tests.reference.maker import Shape, make_document

ASKED = {"gearbox": "tansy-5", "engine": "pipit-16"}
JSON = {"content-type": "application/json"}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("hard") / "data", question_seconds=4, searches_at_once=2) as made:
        yield made


@pytest.fixture(scope="module")
def hard() -> bytes:
    """40 positions of 10 candidates each: far more than can be proven in the time allowed."""
    return json.dumps(make_document(7, Shape(40, 10, 48))).encode()


def send(service: Service, body: bytes) -> socket.socket:
    head = f"host: 127.0.0.1\r\ncontent-type: application/json\r\ncontent-length: {len(body)}\r\n\r\n"
    return service.connect(f"POST /solve HTTP/1.1\r\n{head}".encode(), body)


def children(service: Service) -> set[int]:
    found: set[int] = set()
    for file in Path(f"/proc/{service.process.pid}/task").glob("*/children"):
        found |= {int(one) for one in file.read_text().split()}
    return found


def test_an_ordinary_question_is_answered_beside_four_hard_ones(service: Service, hard: bytes) -> None:
    with ThreadPoolExecutor(4) as threads:
        under_way = [threads.submit(service.post, "/solve", content=hard, headers=JSON) for _ in range(4)]
        time.sleep(1)

        answer = service.post("/routes", json=ASKED)
        health = service.get("/healthz")

        assert answer.status_code == 200 and answer.json()["routes"][0]["total"] == 1838
        assert health.status_code == 200
        statuses = [one.result().json()["status"] for one in under_way]
    assert set(statuses) <= {"stopped early", "proven"}


def test_what_a_client_who_left_had_asked_is_given_up(service: Service, hard: bytes) -> None:
    service.post("/routes", json=ASKED)
    connection = send(service, hard)
    busy = wait_for(lambda: eased(service))
    assert busy, "the hard one goes on in an eased process beside the quick ones"

    connection.close()

    assert wait_for(lambda: not eased(service)), "its process has ended"


def eased(service: Service) -> list[int]:
    """The processes that work on hard questions."""
    found = []
    for pid in children(service):
        with suppress(ProcessLookupError):
            found += [pid] if os.getpriority(os.PRIO_PROCESS, pid) > os.getpriority(os.PRIO_PROCESS, 0) else []
    return found


def wait_for(what: Callable[[], object]) -> object:
    for _ in range(30):
        if found := what():
            return found
        time.sleep(0.1)
    return None

"""After an error the connection is as good as before, or its end is announced (RFC 9112, 9.3 and 9.6)."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Iterator

import pytest
import uvicorn
from fastapi import FastAPI
from starlette.types import ASGIApp, Receive, Scope, Send

from api.app import create_app
from api.connections import server_config
from api.settings import Settings
from graph.errors import StoreProblem
from graph.lookups.index import CatalogueIndex


class BrokenDisk:
    """A layer around the routes that meets a full disk at one address."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and scope["path"] == "/full":
            raise StoreProblem("the disk is full")
        await self.app(scope, receive, send)


async def fail() -> None:
    raise RuntimeError("nobody foresaw this")


@pytest.fixture(scope="module")
def port(index: CatalogueIndex) -> Iterator[int]:
    settings = Settings(most_under_way=1)
    app: FastAPI = create_app(index, settings)
    app.post("/fails")(fail)
    app.add_middleware(BrokenDisk)
    server = uvicorn.Server(server_config(app, settings, host="127.0.0.1", port=0))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield server.servers[0].sockets[0].getsockname()[1]
    server.should_exit = True
    thread.join()


def asked_again(connection: http.client.HTTPConnection) -> int:
    """The status of one more request on the very same connection; http.client would open another one by itself."""
    kept = connection.sock
    assert kept is not None, "the end was announced; nobody may count on this connection"
    connection.request("GET", "/healthz")
    answer = connection.getresponse()
    answer.read()
    assert connection.sock is kept
    return answer.status


@pytest.mark.parametrize(("path", "status"), [("/fails", 500), ("/full", 503)])
def test_after_an_error_the_next_request_on_the_connection_is_answered(port: int, path: str, status: int) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    connection.request("POST", path, body=b"{}")
    answer = connection.getresponse()
    told = json.loads(answer.read())

    assert (answer.status, told["status"], answer.headers["content-type"]) == (
        status, status, "application/problem+json",
    )  # fmt: skip
    assert asked_again(connection) == 200
    connection.close()


def test_a_request_refused_for_want_of_room_leaves_the_connection_good(port: int) -> None:
    """Its body is still on the way when the answer is given."""
    busy = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    busy.putrequest("POST", "/routes")
    busy.putheader("content-length", "2")
    busy.endheaders()  # it waits for its body, and is the one that may be under way
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    for _ in range(200):
        connection.request("POST", "/routes", body=b" " * 300_000, headers={"content-type": "application/json"})
        answer = connection.getresponse()
        answer.read()
        if answer.status == 503:
            break

    assert (answer.status, answer.headers["retry-after"]) == (503, "1")
    assert asked_again(connection) == 200
    busy.close()
    connection.close()


def test_a_body_that_nobody_reads_ends_the_connection_with_notice(port: int) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    connection.request("POST", "/parts/%zz", body=b"{}")
    answer = connection.getresponse()
    answer.read()

    connection.close()
    assert (answer.status, answer.headers["connection"]) == (400, "close")

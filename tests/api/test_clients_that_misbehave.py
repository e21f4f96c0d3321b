"""Slow, oversized, malformed, half-finished and too many: each ends in an orderly way, and honest clients are answered.

Against a real process with small limits. What is right: RFC 9110 (HTTP semantics), RFC 9112 (HTTP/1.1), each named
beside its check.
"""

from __future__ import annotations

import socket
import time
from collections.abc import Callable, Iterator
from contextlib import suppress

import pytest

from tests.api.processes import PATIENCE_S, Service, read_to_end, running, status_of

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20"}
HALF_A_BODY = (
    b"POST /routes HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 900\r\n\r\n{"
)
HALF_A_HEAD = b"GET /parts HTTP/1.1\r\nHost: 127.0.0.1\r\nX-"
GET = b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
SCHEMA = b"GET /openapi.json HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"


@pytest.fixture(scope="module")
def impatient(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("impatient") / "data", request_seconds=1, most_body_bytes=100_000) as service:
        yield service


@pytest.fixture(scope="module")
def narrow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("narrow") / "data", most_connections=20, most_under_way=3) as service:
        yield service


@pytest.fixture(autouse=True)
def honest_clients_are_answered_afterwards(request: pytest.FixtureRequest) -> Iterator[None]:
    yield
    name = next(name for name in ("impatient", "narrow") if name in request.fixturenames)
    service: Service = request.getfixturevalue(name)
    service.hang_up()
    deadline = time.monotonic() + PATIENCE_S
    while (answer := service.post("/routes", json=QUESTION)).status_code == 503 and time.monotonic() < deadline:
        time.sleep(0.05)  # what the test left open is still being given up
    assert answer.json()["status"] == "if it holds"


# Slow


@pytest.mark.parametrize("sent", [HALF_A_BODY, HALF_A_HEAD], ids=["body", "head"])
def test_a_request_that_never_ends_is_cut_off_with_408(impatient: Service, sent: bytes) -> None:
    """RFC 9110, 15.5.9: 408, and the connection is closed."""
    answer = read_to_end(impatient.connect(sent))

    assert status_of(answer) == 408
    assert b"application/problem+json" in answer
    assert b"connection: close" in answer.lower()


def test_a_client_that_trickles_its_head_is_cut_off_all_the_same(impatient: Service) -> None:
    connection = impatient.connect(HALF_A_HEAD)

    def trickle() -> None:
        for _ in range(PATIENCE_S * 10):
            connection.sendall(b"a")
            time.sleep(0.1)

    with pytest.raises((ConnectionResetError, BrokenPipeError)):
        trickle()


def test_a_client_that_says_nothing_is_cut_off_without_a_word(impatient: Service) -> None:
    assert read_to_end(impatient.connect()) == b""


def test_a_long_body_has_longer_as_long_as_it_comes_in(impatient: Service) -> None:
    """90,000 bytes in 1.3 s: beyond the second that a request has, within the second more that 64 KiB buy."""
    body = b'{"gearbox": "hollin-5", "engine": "ouzel-20"' + b" " * 90_000 + b"}"
    head = f"POST /routes HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: {len(body)}\r\n".encode()
    connection = impatient.connect(head + b"Content-Type: application/json\r\nConnection: close\r\n\r\n", body[:-1])

    time.sleep(1.3)
    connection.sendall(body[-1:])

    assert status_of(read_to_end(connection)) == 200


def test_an_answer_that_is_not_taken_is_given_up(impatient: Service) -> None:
    asked = 400
    connection = socket.socket()
    impatient.connections.append(connection)
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    connection.settimeout(PATIENCE_S)
    connection.connect(("127.0.0.1", impatient.port))
    connection.setblocking(False)
    _send_what_goes(connection, SCHEMA * asked)

    _wait_for(lambda: _holds(impatient, connection))  # until then it is not taken up yet
    _wait_for(lambda: not _holds(impatient, connection))
    connection.setblocking(True)

    assert read_to_end(connection).count(b"HTTP/1.1 200 OK") < asked


def _send_what_goes(connection: socket.socket, data: bytes) -> None:
    with suppress(BlockingIOError):
        connection.send(data)


def _holds(service: Service, connection: socket.socket) -> bool:
    """Whether the service's process still has the other end of the connection (as Linux lists it)."""
    port = connection.getsockname()[1]
    with open("/proc/net/tcp") as listed:
        ends = [line.split() for line in listed][1:]
    return any(
        end[1] == f"0100007F:{service.port:04X}" and end[2] == f"0100007F:{port:04X}" and end[9] != "0" for end in ends
    )


def _wait_for(holds: Callable[[], object]) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < deadline
        time.sleep(0.05)


# Too large, malformed, half-finished


def test_a_body_beyond_the_limit_is_refused_by_its_stated_length(impatient: Service) -> None:
    connection = impatient.connect(HALF_A_BODY.replace(b"900", b"9000000"))

    assert status_of(read_to_end(connection)) == 413


def test_a_chunked_body_is_refused_as_soon_as_it_passes_the_limit(impatient: Service) -> None:
    head = HALF_A_BODY[:-1].replace(b"Content-Length: 900", b"Transfer-Encoding: chunked")
    chunk = b"8000\r\n" + b" " * 0x8000 + b"\r\n"

    answer = read_to_end(impatient.connect(head, *[chunk] * 4))

    assert status_of(answer) == 413


@pytest.mark.parametrize(
    "sent",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\r\n\r\n",  # a TLS hello at a plain door
        b"GET\r\n\r\n",  # RFC 9112, 3: method, target, version
        b"GET /healthz HTTP/1.1\r\nHost : 127.0.0.1\r\n\r\n",  # 5.1: no space before the colon
        b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",  # 6.3
        b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -1\r\n\r\n",
        b"POST /routes HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\nxyz\r\n",  # 7.1
    ],
    ids=["tls", "no target", "space", "two lengths", "negative", "chunk"],
)  # fmt: skip
def test_what_is_no_request_gets_400_and_is_closed(impatient: Service, sent: bytes) -> None:
    answer = read_to_end(impatient.connect(sent))

    assert status_of(answer) == 400
    assert b"application/problem+json" in answer


def test_a_head_without_end_gets_431_and_is_closed(impatient: Service) -> None:
    """RFC 6585, 5."""
    answer = read_to_end(impatient.connect(GET[:-2] + b"X: " + b"a" * 100_000))

    assert status_of(answer) == 431
    assert b"application/problem+json" in answer


def test_a_request_given_up_half_way_is_logged_as_such_and_nothing_breaks(impatient: Service) -> None:
    named = HALF_A_BODY.replace(b"\r\nHost", b"\r\nX-Request-Id: given-up\r\nHost", 1)
    impatient.connect(named).close()

    _wait_for(lambda: [line for line in impatient.lines() if line.get("request_id") == "given-up"])

    (logged,) = [line for line in impatient.lines() if line.get("request_id") == "given-up"]
    assert (logged["status"], logged["route"]) == (499, "/routes")
    assert not [line for line in impatient.lines() if "exception" in line]


def test_requests_sent_in_one_go_are_answered_in_their_order(impatient: Service) -> None:
    """RFC 9112, 9.3.2: pipelined requests are answered in the order in which they came."""
    last = GET.replace(b"/healthz", b"/nowhere").replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")

    answers = read_to_end(impatient.connect(GET + SCHEMA + last)).split(b"HTTP/1.1 ")[1:]

    assert [int(answer[:3]) for answer in answers] == [200, 200, 404]
    assert b'"openapi"' in answers[1]


# Too many


def test_a_flood_of_connections_makes_room_for_who_asks(narrow: Service) -> None:
    for _ in range(200):
        narrow.connect()

    assert [narrow.get("/healthz").status_code for _ in range(5)] == [200] * 5


def test_who_is_being_answered_is_not_cut_off_for_a_newcomer(narrow: Service) -> None:
    kept = narrow.connect(HALF_A_BODY.replace(b"900", b"45")[:-1])
    for _ in range(15):
        narrow.connect()
    kept.sendall(b'{"gearbox": "hollin-5", "engine": "ouzel-20"}'[:45])

    answer = kept.recv(1 << 16)

    assert status_of(answer) == 200


def test_beyond_the_limit_of_requests_a_further_one_is_asked_to_come_back(narrow: Service) -> None:
    """RFC 9110, 15.6.4 and 10.2.3: 503 with Retry-After. What tells how the service fares is still answered."""
    for _ in range(3):
        narrow.connect(HALF_A_BODY)
    _wait_for(lambda: "layshaft_requests_under_way 4" in narrow.get("/metrics").text)  # the three, and this one

    refused = narrow.post("/routes", json=QUESTION)

    assert (refused.status_code, refused.headers["retry-after"]) == (503, "1")
    assert refused.headers["content-type"] == "application/problem+json"
    assert [narrow.get(path).status_code for path in ("/healthz", "/readyz", "/metrics")] == [200] * 3

"""How long a client may take, and how many may be connected: a connection that keeps us waiting is closed.

uvicorn (0.54, h11) has a limit for idle kept-alive connections only: one that trickles its head or body, or never
takes its answer, is kept for ever, and its `limit_concurrency` counts idle connections, so that a flood of them has
honest clients refused. Here a request has `request_seconds` to come in whole, and each further BYTES_A_SECOND buys a
second more, so that a long import over a slow line gets through; it is then answered 408. An answer that a client
does not take is given up after the same time. Beyond `most_connections` the one that has kept us waiting longest is
closed, which is never one whose request is being answered. Sources: RFC 9110, 15.5.9 (408), 15.6.4 (503); RFC 6585,
5 (431).
"""

from __future__ import annotations

import asyncio
import resource
import signal
import socket
from contextlib import suppress
from http import HTTPStatus
from typing import Any, cast

import h11
import uvicorn
from fastapi import FastAPI
from uvicorn.protocols.http.h11_impl import H11Protocol

from api import problems
from api.settings import Settings

BYTES_A_SECOND = 64 << 10
KEEP_ALIVE_SECONDS = 15
GRACE_SECONDS = 10  # what is being answered at a stop may still be finished
RETRY_SECONDS = 1
MOST_HEAD_BYTES = 64 << 10
BACKLOG = 256  # accepted in one go, before room is made among them: fewer than SPARE_FILES
SPARE_FILES = 500  # for the ledger, the view and its snapshots


def serve(app: FastAPI, settings: Settings, listener: socket.socket) -> None:
    """Serves at the socket until SIGINT or SIGTERM, ends what is being answered, and returns.

    uvicorn raises the signal again when it has ended; as KeyboardInterrupt, so that the caller can close the ledger.
    """
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with suppress(KeyboardInterrupt):
            uvicorn.Server(server_config(app, settings)).run(sockets=[listener])
    finally:
        signal.signal(signal.SIGTERM, before)


def server_config(app: FastAPI, settings: Settings, **further: Any) -> uvicorn.Config:
    """The HTTP server's settings for an app; `further` goes to uvicorn as it is."""

    class Limited(PatientConnection):
        request_seconds = settings.request_seconds
        most_connections = _affordable(settings.most_connections)

    given: dict[str, Any] = {
        "log_level": "warning", "log_config": None, "timeout_graceful_shutdown": GRACE_SECONDS,
        "timeout_keep_alive": min(KEEP_ALIVE_SECONDS, settings.request_seconds), "http": Limited,
        "backlog": BACKLOG, "h11_max_incomplete_event_size": MOST_HEAD_BYTES, "server_header": False,
        "proxy_headers": False,  # who is in front is asked by `api.front`; the server would believe all of loopback
        **further,
    }  # fmt: skip
    return uvicorn.Config(app, **given)


def _affordable(wanted: int) -> int:
    """As many connections as wanted, or as the system lets this process have files open for, whichever is less."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if soft != resource.RLIM_INFINITY and soft < wanted + SPARE_FILES:
        soft = wanted + SPARE_FILES if hard == resource.RLIM_INFINITY else min(hard, wanted + SPARE_FILES)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    return wanted if soft == resource.RLIM_INFINITY else max(1, min(wanted, soft - min(SPARE_FILES, soft // 2)))


class PatientConnection(H11Protocol):
    """One connection, and since when it has kept us waiting for the rest of a request (None: it does not)."""

    request_seconds: float = 30
    most_connections: int = 1000
    waiting_since: float | None = None
    _received = 0
    _timer: asyncio.TimerHandle | None = None
    _taking: asyncio.TimerHandle | None = None

    # What happens on the connection

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._wait()
        if len(self.connections) > self.most_connections:
            self._make_room()

    def data_received(self, data: bytes) -> None:
        self._received += len(data)
        try:
            super().data_received(data)
        except h11.LocalProtocolError:  # nonsense behind a request whose answer has begun
            self.transport.abort()
        self._look()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_waiting()
        self._taken()
        super().connection_lost(exc)

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._look()
        if self.transport.is_closing():
            self._give_up_later()

    def pause_writing(self) -> None:
        super().pause_writing()
        self._give_up_later()

    def resume_writing(self) -> None:
        self._taken()
        super().resume_writing()

    # Waiting for the rest of a request

    def _look(self) -> None:
        """Starts, keeps or ends the waiting, by what has come in so far."""
        if self.transport.is_closing() or not self._is_unfinished():
            self._stop_waiting()
        elif self.waiting_since is None or self._timer is None:
            self._wait()

    def _is_unfinished(self) -> bool:
        state = self.conn.their_state
        return state is h11.SEND_BODY or (state is h11.IDLE and bool(self.conn.trailing_data[0]))

    def _wait(self) -> None:
        self._received = 0
        self.waiting_since = self.loop.time()
        self._timer = self.loop.call_later(self.request_seconds, self._look_again)

    def _stop_waiting(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = None
        # Between two requests the client is waited for as well, by uvicorn's own timer.
        self.waiting_since = self.loop.time() if self.conn.their_state is h11.IDLE else None

    def _look_again(self) -> None:
        assert self.waiting_since is not None
        left = self.waiting_since + self.request_seconds + self._received / BYTES_A_SECOND - self.loop.time()
        if self.flow.read_paused or (self.cycle is not None and self.cycle.waiting_for_100_continue):
            left = max(left, 1.0)  # not the client's fault: the app has not asked for more
        if left > 0.001:
            self._timer = self.loop.call_later(left, self._look_again)
        else:
            self._cut(408, f"the request did not come in whole within {self.request_seconds:g} s")

    def _cut(self, status: int, why: str) -> None:
        if self._is_unfinished():
            self._refuse(status, why)
        if self.cycle is not None and not self.cycle.response_complete:
            self.cycle.disconnected = True  # the app hears that the client is gone
            self.cycle.message_event.set()
        self.transport.close()
        self._stop_waiting()
        self._give_up_later()

    # An answer that is not taken

    def _give_up_later(self) -> None:
        if self._taking is None:
            left = self.transport.get_write_buffer_size()
            self._taking = self.loop.call_later(self.request_seconds, self._give_up_unless_less, left)

    def _give_up_unless_less(self, before: int) -> None:
        """A slow line that has taken BYTES_A_SECOND at least may go on."""
        self._taking = None
        if before - self.transport.get_write_buffer_size() >= BYTES_A_SECOND:
            self._give_up_later()
        else:
            self.transport.abort()

    def _taken(self) -> None:
        if self._taking is not None:
            self._taking.cancel()
        self._taking = None

    # Too many

    def _make_room(self) -> None:
        """Closes the connection that has kept us waiting longest; where all are being answered, this one."""
        others = (each for each in self.connections if each is not self and isinstance(each, PatientConnection))
        waiting = [each for each in others if each.waiting_since is not None and not each.transport.is_closing()]
        if waiting:
            longest = min(waiting, key=lambda each: cast(float, each.waiting_since))
            longest._cut(503, "others wait for a connection; come back in a moment")
            self.connections.discard(longest)
            return
        self._refuse(503, f"{self.most_connections} connections are open; come back in a moment")
        self._stop_waiting()
        self.transport.close()

    # Refusals that no app can answer, since there is no whole request

    def send_400_response(self, msg: str) -> None:
        if len(self.conn.trailing_data[0]) > MOST_HEAD_BYTES:
            self._refuse(431, f"at most {MOST_HEAD_BYTES:,} bytes of a request's head are read")
        else:
            self._refuse(400, "this is not an HTTP request")
        self.transport.close()

    def _refuse(self, status: int, detail: str) -> None:
        if self.conn.our_state not in (h11.IDLE, h11.SEND_RESPONSE):
            return
        body = bytes(problems.problem("", status, detail).body)
        headers = [
            ("content-type", problems.MEDIA_TYPE), ("content-length", str(len(body))), ("connection", "close"),
            *([("retry-after", str(RETRY_SECONDS))] if status == 503 else []),
        ]  # fmt: skip
        head = h11.Response(status_code=status, headers=headers, reason=HTTPStatus(status).phrase.encode())
        for event in (head, h11.Data(data=body), h11.EndOfMessage()):
            self.transport.write(self.conn.send(event) or b"")

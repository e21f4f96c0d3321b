"""Who asks, for every request: what is worked out for a client who has left is given up at once.

A server tells of a client's leaving only to one who listens, so while work is under way (`listening`) this listens.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from hashlib import sha256

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from graph.counter.asker import Asker, asking


class AskedBy:
    """ASGI layer: what is done for a request is done for its Asker. Clients are told apart by address and token."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        asker = Asker(_name_of(scope))
        ear = _Ear(receive, asker)
        token = _EAR.set(ear)
        try:
            with asking(asker):
                await self.app(scope, ear.receive, send)
        finally:
            ear.close()
            _EAR.reset(token)


@contextmanager
def listening() -> Iterator[None]:
    """While this lasts, the client's leaving is noticed: its Asker is told."""
    ear = _EAR.get()
    if ear is not None:
        ear.listen()
    yield


class _Ear:
    """Takes in what the client sends; the app and the one who listens for the end hear the same."""

    def __init__(self, receive: Receive, asker: Asker):
        self._receive, self._asker = receive, asker
        self._heard: deque[Message] = deque()
        self._whole, self._gone = False, asyncio.Event()
        self._listener: asyncio.Task[None] | None = None

    async def receive(self) -> Message:
        """For the app: the next message."""
        if self._heard:
            return self._heard.popleft()
        if self._listener is None:
            return await self._next()
        await self._gone.wait()
        return {"type": "http.disconnect"}

    def listen(self) -> None:
        """Listens for the end, once the request is in whole; before, the app itself is the one who hears."""
        if self._listener is None and not self._gone.is_set():
            self._listener = asyncio.create_task(self._listen())

    def close(self) -> None:
        """The request has been answered."""
        if self._listener is not None:
            self._listener.cancel()

    async def _listen(self) -> None:
        """A body that nobody has asked for is not taken in here: then only the app can hear the end."""
        if not self._whole:
            self._heard.append(await self._next())
        if self._whole:
            await self._next()
        else:
            self._listener = None

    async def _next(self) -> Message:
        message = await self._receive()
        self._whole = not message.get("more_body")
        if message["type"] == "http.disconnect":
            self._gone.set()
            self._asker.leave()
        return message


_EAR: ContextVar[_Ear | None] = ContextVar("ear", default=None)


def _name_of(scope: Scope) -> str:
    address = (scope.get("client") or ("local", 0))[0]
    token = next((value for name, value in scope["headers"] if name in (b"authorization", b"cookie")), b"")
    return f"{address} {sha256(token).hexdigest()[:16]}"

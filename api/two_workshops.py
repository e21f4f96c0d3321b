"""An own workshop and the demo under one address, each with its own data; a cookie says which one is looked at.

The service opens one of them, this layer the other when somebody first wants it. Without the cookie (as programs ask)
it is the own one as soon as there is one. Nothing is handed from one to the other.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from pathlib import Path

import anyio.to_thread
from fastapi import FastAPI
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Receive, Scope, Send

from graph.cli.question import DEMO_FACTS, facts_of
from graph.cli.workshop import demo_home_of, home_of

COOKIE, DEMO = "workshop", "demo"
# Who signs in does so to the own workshop; static files are the same in both.
_OWN_ALONE = ("/sign-in", "/sign-out", "/session", "/people", "/static", "/workshop")
Opens = Callable[[Path, bool], AbstractContextManager[FastAPI]]


class TwoWorkshops:
    """Which workshop a request is for. `main`: the folder of the one that the service has opened.

    `opens`: opens the one in a folder, the second argument says whether it is the demo. `can_start`: whether an own
    one can be started in the data folder.
    """

    def __init__(self, data: Path, opens: Opens, can_start: bool):
        self.data, self.main, self._opens = data, home_of(data), opens
        self._main_is_demo = facts_of(self.main) == DEMO_FACTS
        self._can_start = can_start
        self._other: FastAPI | None = None
        self._lock, self._stack = threading.Lock(), ExitStack()

    @property
    def has_own(self) -> bool:
        """Whether there is an own workshop."""
        return not self._main_is_demo or home_of(self.data) != self.main

    @property
    def can_start(self) -> bool:
        """Whether an own workshop can be started by a page."""
        return self._can_start and not self.has_own

    def wants_demo(self, connection: HTTPConnection) -> bool:
        """Whether the demo is looked at though there is an own workshop."""
        return self.has_own and connection.cookies.get(COOKIE) == DEMO

    def is_other(self, scope: Scope) -> bool:
        """Whether the request is for the workshop that the service has not opened itself."""
        if scope["type"] != "http" or not self.has_own:
            return False
        demo = self.wants_demo(HTTPConnection(scope)) and not scope["path"].startswith(_OWN_ALONE)
        return demo != self._main_is_demo

    def open_other(self) -> FastAPI:
        """The other workshop's app, opened once."""
        with self._lock:
            if self._other is None:
                home = home_of(self.data) if self._main_is_demo else demo_home_of(self.data)
                self._other = self._stack.enter_context(self._opens(home, not self._main_is_demo))
                self._other.state.two = self
            return self._other

    def close(self) -> None:
        """Closes the workshop that was opened here."""
        self._stack.close()


class RightWorkshop:
    """ASGI layer: hands a request for the other workshop to it."""

    def __init__(self, app: ASGIApp, two: TwoWorkshops):
        self.app, self.two = app, two

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if not self.two.is_other(scope):
            await self.app(scope, receive, send)
            return
        other = await anyio.to_thread.run_sync(self.two.open_other)
        await other(scope, receive, send)

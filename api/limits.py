"""ASGI layers around the app: no body beyond a limit, not too many requests at once, safe headers on every response."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api import problems
from api.roles import OPEN

# No outside host, nothing inline, no frames. A route that needs less strictness would have to say so itself.
HEADERS: Mapping[str, str] = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self';"
        " connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with "no-referrer" a browser sends a form's own origin as null
}


class SafeHeaders:
    """Adds HEADERS to every response that does not set them itself."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        await self.app(scope, receive, send_with_headers if scope["type"] == "http" else send)


class _TooLarge(Exception):
    """The body has passed the limit while being read."""


# By role, the part of a limit that it may send. Who may only ask has no wholesaler's lists to hand in; who is not known
# has a form to sign in with. The user of this machine, and who may manage it, have all of it.
PARTS: Mapping[str, int] = {OPEN: 32, "read": 2, "note": 1, "manage": 1}
PARTS_OF_LARGER: Mapping[str, int] = {OPEN: 4096, "read": 256, "note": 8, "manage": 1}
MOST_PHOTO_BYTES = 26_000_000  # a photo or a paper of the most that is kept, and the form around it


class BodyLimit:
    """Refuses bodies beyond `most_bytes` (413): by their stated length, or else as soon as they pass it.

    `larger`: addresses that take more, each with its own limit. A role may send its part of a limit (PARTS).
    `photos`: addresses that take a photo off a phone, of at most MOST_PHOTO_BYTES, from whoever may write.
    """

    def __init__(
        self, app: ASGIApp, most_bytes: int, larger: Mapping[str, int] | None = None, photos: Collection[str] = ()
    ):
        self.app, self.most_bytes, self.larger, self.photos = app, most_bytes, larger or {}, photos

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        stated = dict(scope["headers"]).get(b"content-length", b"")
        if stated.isdigit() and int(stated) > self._limit(scope):
            await self._refuse(scope, receive, send)
            return
        await self._watch(scope, receive, send)

    async def _watch(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Counts the body while it is read; once the response has begun there is nothing left to refuse.

        What the app itself says to a body that breaks off is dropped: it takes it for one that cannot be read (400).
        """
        read, begun, most = 0, False, self._limit(scope)

        async def counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > most:
                raise _TooLarge
            return message

        async def noted(message: Message) -> None:
            nonlocal begun
            if begun or read <= most:
                begun = True
                await send(message)

        try:
            await self.app(scope, counted, noted)
        except _TooLarge:
            if begun:
                raise
        if read > most and not begun:
            await self._refuse(scope, receive, send)

    def _limit(self, scope: Scope) -> int:
        access = scope.get("layshaft_access")  # put there by the gate, where there is one
        if scope["path"] in self.photos and (access is None or access.may("note")):
            return max(MOST_PHOTO_BYTES, self.most_bytes)
        parts = PARTS_OF_LARGER if scope["path"] in self.larger else PARTS
        return self.larger.get(scope["path"], self.most_bytes) // (parts[access.role] if access else 1)

    async def _refuse(self, scope: Scope, receive: Receive, send: Send) -> None:
        setting = "LAYSHAFT_MOST_IMPORT_BYTES" if scope["path"] in self.larger else "LAYSHAFT_MOST_BODY_BYTES"
        access = scope.get("layshaft_access")
        whom = f" with the role {access.role}" if access else ""
        detail = f"at most {self._limit(scope):,} bytes are taken{whom}; send less, or raise {setting}"
        response = problems.problem(scope["path"], 413, detail, headers={"connection": "close"})
        await response(scope, receive, send)


class UnderWay:
    """Refuses a request while `most` others are being answered or wait for it (503, come back in a second).

    What tells how the service fares is answered always.
    """

    ALWAYS = ("/healthz", "/readyz", "/metrics")

    def __init__(self, app: ASGIApp, most: int):
        self.app, self.most, self.now = app, most, 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"] in self.ALWAYS:
            await self.app(scope, receive, send)
            return
        if self.now >= self.most:
            detail = f"{self.most} requests are being answered; come back in a moment"
            await problems.problem(scope["path"], 503, detail, headers={"retry-after": "1"})(scope, receive, send)
            return
        self.now += 1
        try:
            await self.app(scope, receive, send)
        finally:
            self.now -= 1

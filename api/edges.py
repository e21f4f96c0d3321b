"""ASGI layers at the edge: what a request must be before anything looks into it, and that each gets a whole answer."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterable
from urllib.parse import unquote_to_bytes

import anyio.lowlevel
import anyio.to_thread
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api import problems
from api.json import MOST_NAMES_TOGETHER, check_json
from api.roles import Operation, operation_of
from graph.errors import InvalidInput, LayshaftError

MOST_HEADER_BYTES = 64 << 10
HEADER_OVERHEAD = 32  # what a header costs besides its text (RFC 9113, 6.5.2)
CHECKED_IN_PLACE = 16 << 10  # a larger body is checked in a thread, so that the loop stays free
MOST_NAMES_OF_A_DOCUMENT = 400_000  # a conversion document has its own bounds, told without a fault for each name
UTF8 = ("", "utf-8", "utf8", "us-ascii")
CLOSE = {"connection": "close"}
_HOST = re.compile(rb"([A-Za-z0-9._~!$&'()*+,;=-]*|\[[0-9A-Fa-f:.]+\])(:[0-9]{0,5})?")  # RFC 3986, 3.2.2 and 3.2.3
_BROKEN_ESCAPE = re.compile(rb"%(?![0-9A-Fa-f]{2})")
_JSON = re.compile(r"application/(json|[!-~]+\+json)")  # RFC 6839, 3.1
log = logging.getLogger("layshaft.requests")
Refusal = tuple[int, str]


class WholeAnswers:
    """Makes an error of the layers inside a whole answer, so that the connection stays good for the next request.

    The server closes a connection without a word when an error reaches it, even behind an answer that was sent whole.
    An answer broken off half way still gets there: the client must not take what it has for all.
    """

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun = ended = False

        async def noted(message: Message) -> None:
            nonlocal begun, ended
            begun = True
            ended = message["type"] == "http.response.body" and not message.get("more_body", False)
            await send(message)

        try:
            await self.app(scope, receive, noted)
        except Exception as error:
            if begun and not ended:
                raise
            _tell(error)
            if not begun:
                await problems.of_any_error(scope["path"], error)(scope, receive, send)


def _tell(error: Exception) -> None:
    if isinstance(error, LayshaftError):
        log.warning(str(error))
    else:
        log.error("an error that nobody foresaw", exc_info=error)


class Readable:
    """Refuses a request whose address or headers cannot be read, or whose body is packed (400, 415, 431)."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            if refusal := _unreadable(scope):
                # Its body may be of any length, and is not read.
                await problems.problem(scope["path"], *refusal, headers=CLOSE)(scope, receive, send)
                return
            # Parts of an answer are not offered: most are made anew for each request (RFC 9110, 14.2).
            scope["headers"] = [each for each in scope["headers"] if each[0] != b"range"]
        await self.app(scope, receive, send)


def _unreadable(scope: Scope) -> Refusal | None:
    if sum(len(name) + len(value) + HEADER_OVERHEAD for name, value in scope["headers"]) > MOST_HEADER_BYTES:
        return 431, f"at most {MOST_HEADER_BYTES:,} bytes of headers are read"
    for what, text in (("path", scope.get("raw_path") or b""), ("query", scope.get("query_string", b""))):
        if fault := _address_fault(text):
            return 400, f"the {what} of the address cannot be read: {fault}"
    if not all(_HOST.fullmatch(host) for host in _values(scope, b"host")):
        return 400, "the Host header is not a name or an address with a port (RFC 9110, 7.2)"
    if packed := [value for value in _values(scope, b"content-encoding") if value.lower() not in (b"", b"identity")]:
        return 415, f"expected the body as it is, found Content-Encoding {packed[0].decode('latin-1')!r}"
    return None


def _values(scope: Scope, wanted: bytes) -> Iterable[bytes]:
    return (value.strip() for name, value in scope["headers"] if name == wanted)


def _address_fault(text: bytes) -> str:
    if b"%" not in text and text.isascii():
        return ""
    if broken := _BROKEN_ESCAPE.search(text):
        found = text[broken.start() :][:3].decode("latin-1")
        return f"behind % stand two hexadecimal digits (RFC 3986, 2.1), found {found!r}"
    plain = unquote_to_bytes(text)
    if b"\0" in plain:
        return "it holds NUL (%00)"
    try:
        plain.decode()
    except UnicodeDecodeError:
        return "its %-escapes are not UTF-8 (RFC 3986, 2.5)"
    return ""


class JsonBodies:
    """Holds the body of an operation that takes JSON to its media type (415) and to plain JSON (422)."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        operation = operation_of(scope) if scope["type"] == "http" else None
        if operation is None or not operation.takes_json:
            await self.app(scope, receive, send)
            return
        messages, body = await _read(receive)
        if body and (refusal := _wrong_media_type(scope)):
            await problems.problem(scope["path"], *refusal)(scope, receive, send)
            return
        if body is not None:
            fault = await _fault(body, operation)
            if fault:
                await problems.of_error(scope["path"], fault)(scope, receive, send)
                return

        async def again() -> Message:
            return messages.pop(0) if messages else await receive()

        await self.app(scope, again, send)


async def _read(receive: Receive) -> tuple[list[Message], bytes | None]:
    """What came, and the whole body of it; None if the client went away."""
    messages: list[Message] = []
    while True:
        messages.append(await receive())
        if messages[-1]["type"] != "http.request":
            return messages, None
        if not messages[-1].get("more_body", False):
            return messages, b"".join(each.get("body", b"") for each in messages)


async def _fault(body: bytes, operation: Operation) -> InvalidInput | None:
    most_names = MOST_NAMES_OF_A_DOCUMENT if operation.reads_itself else MOST_NAMES_TOGETHER
    if not body:
        await anyio.lowlevel.checkpoint()
        return None
    if len(body) <= CHECKED_IN_PLACE:
        return _fault_of(body, most_names)
    return await anyio.to_thread.run_sync(_fault_of, body, most_names)


def _fault_of(body: bytes, most_names: int) -> InvalidInput | None:
    """What `check_json` raises, without where: that would keep the body in memory until garbage is looked for."""
    try:
        check_json(body, most_names)
    except InvalidInput as error:
        error.__context__ = None
        return error.with_traceback(None)
    return None


def _wrong_media_type(scope: Scope) -> Refusal | None:
    said = next(iter(_values(scope, b"content-type")), b"").decode("latin-1")
    media_type, *parameters = (part.strip() for part in said.lower().split(";"))
    if media_type != "application/json" and not (
        media_type.startswith("application/") and media_type.endswith("+json")
    ):
        return 415, f"expected Content-Type: application/json, found {said[:100]!r}"
    for name, _, value in (each.partition("=") for each in parameters):
        if name.strip() == "charset" and value.strip().strip('"') not in UTF8:
            return 415, f"expected JSON in UTF-8 (RFC 8259, 8.1), found {said[:100]!r}"
    return None

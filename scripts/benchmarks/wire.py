"""A client that costs little: HTTP/1.1 over kept-alive connections on asyncio streams, no more than the benches need.

A general client (httpx) takes about a millisecond of processor time for each request, which on two cores is a good
part of what the service itself takes; this one takes about a tenth of that. It reads answers with a stated length,
in chunks, or up to the end of the connection (RFC 9112, 6.3), and follows no redirects.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from types import TracebackType
from typing import Self


@dataclass(frozen=True, slots=True)
class Request:
    """What is sent. `kind`: under which name it is counted."""

    kind: str
    method: str
    path: str
    body: bytes = b""
    media_type: str = "application/json"

    def as_bytes(self, host: str) -> bytes:
        """On the wire."""
        head = f"{self.method} {self.path} HTTP/1.1\r\nHost: {host}\r\n"
        if self.body:
            head += f"Content-Type: {self.media_type}\r\nContent-Length: {len(self.body)}\r\n"
        return head.encode() + b"\r\n" + self.body


class Wire:
    """One client's connection, opened when needed, and again where the server has closed it."""

    def __init__(self, port: int, seconds: float = 120):
        self.port, self.seconds = port, seconds
        self._streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Gives the connection up."""
        if self._streams is not None:
            self._streams[1].close()
            self._streams = None

    async def ask(self, request: Request) -> tuple[int, bytes]:
        """Status and body. Raises OSError or EOFError where there is no whole answer, TimeoutError where it is late."""
        async with asyncio.timeout(self.seconds):
            fresh = self._streams is None
            try:
                return await self._exchange(request)
            except (OSError, EOFError):
                self.close()
                if fresh or request.method == "POST":  # who wrote something does not write it twice
                    raise
                return await self._exchange(request)
            except asyncio.CancelledError:
                self.close()
                raise

    async def _exchange(self, request: Request) -> tuple[int, bytes]:
        if self._streams is None:
            self._streams = await asyncio.open_connection("127.0.0.1", self.port)
        reader, writer = self._streams
        writer.write(request.as_bytes(f"127.0.0.1:{self.port}"))
        head = (await reader.readuntil(b"\r\n\r\n")).lower()
        body = await _body(reader, head)
        if b"\r\nconnection: close" in head:
            self.close()
        return int(head.split(b" ", 2)[1]), body


async def _body(reader: asyncio.StreamReader, head: bytes) -> bytes:
    if b"\r\ncontent-length: " in head:
        return await reader.readexactly(int(head.split(b"\r\ncontent-length: ", 1)[1].split(b"\r\n", 1)[0]))
    if b"\r\ntransfer-encoding: chunked" not in head:
        return await reader.read()
    parts = []
    while size := int(await reader.readline(), 16):
        parts.append(await reader.readexactly(size))
        await reader.readline()
    await reader.readline()
    return b"".join(parts)

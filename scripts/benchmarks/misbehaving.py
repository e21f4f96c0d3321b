"""Clients that misbehave, and whether honest ones are answered meanwhile. Used by the bench `load`."""

from __future__ import annotations

import asyncio
import json
from time import perf_counter

from scripts.benchmarks.clock import in_words
from scripts.benchmarks.process import Service
from scripts.benchmarks.traffic import QUESTIONS
from scripts.benchmarks.wire import Request, Wire

SLOW_CLIENTS, FLOOD = 50, 3_000
HALF_A_BODY = (
    b"POST /routes HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 900\r\n\r\n{"
)
HALF_A_HEAD = b"GET /parts HTTP/1.1\r\nHost: 127.0.0.1\r\nX-"
MALFORMED = (
    b"\x16\x03\x01\x02 a TLS hello\r\n\r\n",
    b"POST /routes HTTP/1.1\r\n: \r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
)
Streams = tuple[asyncio.StreamReader, asyncio.StreamWriter]
Rows = list[tuple[str, ...]]


async def misbehave(service: Service) -> Rows:
    """What they do, and what they meet."""
    port = service.port
    rows: Rows = []
    for what, sent in (("body", HALF_A_BODY), ("head", HALF_A_HEAD)):
        slow = [await _opened(port, sent) for _ in range(SLOW_CLIENTS)]
        honest = await _honest(port)
        rows.append((f"{SLOW_CLIENTS} never finish their {what}", f"{await _ends(slow)}; {honest}"))
    before = service.resident_mb()
    flood = [await _opened(port) for _ in range(FLOOD)]
    honest = await _honest(port)
    grown = f"{service.resident_mb() - before:.0f} MB more"
    rows.append((f"{FLOOD:,} connections that say nothing", f"{await _ends(flood)}; {honest}; {grown}"))
    for what, body in (("a body of 6 MB", b" " * 6_000_000), ("100,000 opened brackets", b"[" * 100_000)):
        rows.append((what, f"{await _sent(port, body)}; {await _honest(port)}"))
    for text in MALFORMED:
        rows.append((f"sends {text[:24]!r}", f"{await _ends([await _opened(port, text)])}; {await _honest(port)}"))
    gone = [await _opened(port, HALF_A_BODY) for _ in range(SLOW_CLIENTS)]
    for _, writer in gone:
        writer.transport.abort()
    rows.append((f"{SLOW_CLIENTS} give up half-way", await _honest(port)))
    return rows


async def _opened(port: int, sent: bytes = b"") -> Streams:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(sent)
    return reader, writer


async def _ends(clients: list[Streams]) -> str:
    """How the connections end, most frequent first."""
    ends: dict[str, int] = {}
    for answer in await asyncio.gather(*(_end(*each) for each in clients)):
        ends[answer] = ends.get(answer, 0) + 1
    return ", ".join(f"{count} {end}" if len(clients) > 1 else end for end, count in sorted(ends.items()))


async def _end(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> str:
    try:
        answer = await asyncio.wait_for(reader.read(), 30)
    except TimeoutError:
        answer = b"still open after 30 s"
    except ConnectionError:
        answer = b""
    writer.transport.abort()
    said = answer.split(b"\r\n")[0].decode("latin-1").removeprefix("HTTP/1.1 ")
    return f"answered {said}" if said[:1].isdigit() else said or "closed"


async def _sent(port: int, body: bytes) -> str:
    async with Wire(port) as wire:
        try:
            return f"answered {(await wire.ask(Request('', 'POST', '/routes', body)))[0]}"
        except (OSError, EOFError):
            return "refused and closed while it was still sending"


async def _honest(port: int) -> str:
    began = perf_counter()
    async with Wire(port) as wire:
        status, _ = await wire.ask(Request("", "POST", "/routes", json.dumps(QUESTIONS[0]).encode()))
    return f"an honest question: {status} in {in_words(perf_counter() - began)}"

"""The service under load on loopback: many clients at once, reads and writes mixed; then clients that misbehave.

The service runs in a process of its own over a new data folder with the demo's facts. After the load come slow
clients that send a byte now and then, bodies beyond the limit, requests that are none, and more connections than
anybody needs; each must end in an orderly way while an honest client still gets its answer. Last it is told to stop.
LAYSHAFT_BENCH_MINUTES=5 loads it for five minutes; the default is short.
"""

from __future__ import annotations

import asyncio
import os
import re
import signal
import subprocess
import sys
import tempfile
from argparse import Namespace
from collections import Counter
from pathlib import Path
from time import perf_counter
from typing import Any

import httpx

from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.table import Table

ROOT = Path(__file__).resolve().parents[2]
CLIENTS = 200
QUESTIONS: list[dict[str, Any]] = [
    {"gearbox": "hollin-5", "engine": "ouzel-20", "alternatives": 2},
    {"gearbox": "sedge-4a", "engine": "pipit-16", "objective": "total"},
    {"gearbox": "tansy-5", "engine": "ouzel-20", "objective": "cash"},
]
NOTE = {"text": "Tried on the bench.", "author": "bench one", "evidence": "measured-on-these-parts"}
MALFORMED = (
    b"\x00\xff\x16\x03\x01 nonsense\r\n\r\n",
    b"GET / HTTP/9.9\r\n\r\n",
    b"POST /routes HTTP/1.1\r\n: \r\n\r\n",
)
Taken = dict[str, list[float]]


def run(options: Namespace) -> list[Table]:
    """One table of the load by kind of request, one of what the misbehaving clients met."""
    minutes = float(os.environ.get("LAYSHAFT_BENCH_MINUTES", "0.1" if options.quick else "0.5"))
    clients = 20 if options.quick else CLIENTS
    with tempfile.TemporaryDirectory() as data:
        service, address = _start(Path(data))
        try:
            return asyncio.run(_measure(service, address, clients, minutes * 60))
        finally:
            if service.poll() is None:
                service.kill()
            service.wait()


def _start(data: Path) -> tuple[subprocess.Popen[str], str]:
    command = [sys.executable, "-m", "api", "--data", str(data), "--port", "0"]
    with (data / "log").open("w") as log:
        service = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=log, text=True)
    assert service.stdout is not None
    for line in service.stdout:
        found = re.search(r"http://127\.0\.0\.1:\d+", line)
        if found:
            return service, found.group()
    raise SystemExit("the service did not start")


async def _measure(service: subprocess.Popen[str], address: str, clients: int, seconds: float) -> list[Table]:
    limits = httpx.Limits(max_connections=clients, max_keepalive_connections=clients)
    async with httpx.AsyncClient(base_url=address, limits=limits, timeout=120) as client:
        await asyncio.gather(*(_one(client, number, Counter(), {}) for number in range(8)))  # warm
        before = await _memory(client)
        taken: Taken = {}
        statuses: Counter[str] = Counter()
        until = perf_counter() + seconds
        await asyncio.gather(*(_client(client, number, until, statuses, taken) for number in range(clients)))
        after = await _memory(client)
        rude = await _misbehave(client, address)
        last = await _memory(client)
    rude.append(("told to stop while answering", _stop(service)))
    rows = [
        (kind, str(len(times)), *(in_words(percentile(times, p)) for p in (50, 95, 99)))
        for kind, times in sorted(taken.items())
    ]  # fmt: skip
    wrong = {status: count for status, count in statuses.items() if not status.startswith("2")}
    notes = (
        f"{clients} clients for {seconds:.0f} s, {sum(statuses.values())} requests; not 2xx: {wrong or 'none'}.",
        f"Resident before {before:.0f} MB, after {after:.0f} MB, after the misbehaviour {last:.0f} MB.",
    )
    return [
        Table("Load on loopback", ("request", "count", "p50", "p95", "p99"), rows, notes),
        Table("Clients that misbehave", ("what they do", "what they meet"), rude),
    ]


async def _client(client: httpx.AsyncClient, number: int, until: float, statuses: Counter[str], taken: Taken) -> None:
    turn = number
    while perf_counter() < until:
        await _one(client, turn, statuses, taken)
        turn += 7


async def _one(client: httpx.AsyncClient, turn: int, statuses: Counter[str], taken: Taken) -> None:
    kind = ("POST /routes", "GET /parts", "POST /routes", "GET /healthz", "POST /notes")[turn % 5]
    began = perf_counter()
    try:
        if kind == "POST /routes":
            response = await client.post("/routes", json=QUESTIONS[turn % len(QUESTIONS)])
        elif kind == "POST /notes":
            response = await client.post("/notes", json=NOTE | {"job": str(turn)})
        else:
            response = await client.get(kind.split()[1])
        statuses[str(response.status_code)] += 1
    except httpx.HTTPError as error:
        statuses[type(error).__name__] += 1
    taken.setdefault(kind, []).append(perf_counter() - began)


async def _memory(client: httpx.AsyncClient) -> float:
    text = (await client.get("/metrics")).text
    found = re.search(r"^process_resident_memory_bytes (\d+)$", text, re.MULTILINE)
    return int(found.group(1)) / 2**20 if found else float("nan")


async def _misbehave(client: httpx.AsyncClient, address: str) -> list[tuple[str, str]]:
    host, port = address.removeprefix("http://").split(":")
    rows = []
    slow = [await asyncio.open_connection(host, int(port)) for _ in range(50)]
    for _, writer in slow:
        writer.write(b"POST /routes HTTP/1.1\r\nHost: x\r\nContent-Length: 900\r\n\r\n{")
    rows.append(("50 clients that never finish their body", await _honest(client)))
    flood = [await asyncio.open_connection(host, int(port)) for _ in range(500)]
    rows.append(("500 open connections besides", await _honest(client)))
    for _, writer in (*slow, *flood):
        writer.close()
    rows.append(("a body of 6 MB", f"{await _sent(client, b' ' * 6_000_000)}, {await _honest(client)}"))
    for text in MALFORMED:
        rows.append((f"sends {text[:18]!r}", f"{await _raw(host, int(port), text)}, {await _honest(client)}"))
    rows.append(("100,000 opened brackets", f"{await _sent(client, b'[' * 100_000)}, {await _honest(client)}"))
    return rows


async def _sent(client: httpx.AsyncClient, body: bytes) -> str:
    try:
        response = await client.post("/routes", content=body, headers={"content-type": "application/json"})
    except httpx.TransportError:
        return "refused and closed while it was still sending"
    return str(response.status_code)


async def _raw(host: str, port: int, text: bytes) -> str:
    reader, writer = await asyncio.open_connection(host, port)
    writer.write(text)
    try:
        answer = await asyncio.wait_for(reader.read(64), 10)
    except (TimeoutError, ConnectionError):
        answer = b""
    writer.close()
    return answer.split(b"\r\n")[0].decode("latin-1") or "closed"


async def _honest(client: httpx.AsyncClient) -> str:
    began = perf_counter()
    response = await client.post("/routes", json=QUESTIONS[0])
    return f"an honest question: {response.status_code} in {in_words(perf_counter() - began)}"


def _stop(service: subprocess.Popen[str]) -> str:
    began = perf_counter()
    service.send_signal(signal.SIGTERM)
    try:
        status = service.wait(30)
    except subprocess.TimeoutExpired:
        return "still running after 30 s"
    return f"ended with status {status} after {in_words(perf_counter() - began)}"

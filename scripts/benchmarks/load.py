"""The service under load on loopback: 200 clients at once, reads and writes mixed.

Two ways: clients that ask again as soon as they are answered, which shows what the service can do at most and how
long the queue then is; and clients that pause between 2 and 10 seconds, as people do, which shows what those wait.
Beside the times stands what the load itself costs (`wire.py`), so that it can be seen not to dominate, and, where
Debian's `wrk` is installed, what that says of the same service: an outside check, over all requests, since wrk does
not tell kinds apart. LAYSHAFT_BENCH_MINUTES=5 loads it for five minutes each; the default is short.
"""

from __future__ import annotations

import asyncio
import itertools
import os
import random
import re
import shutil
import subprocess
import tempfile
from argparse import Namespace
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from time import perf_counter, process_time

from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.misbehaving import misbehave
from scripts.benchmarks.process import Service, served
from scripts.benchmarks.table import Table
from scripts.benchmarks.traffic import request_of
from scripts.benchmarks.wire import Request, Wire

CLIENTS = 200
PAUSES_S = (2.0, 10.0)


@dataclass
class Seen:
    """What the clients saw: seconds by kind of request, statuses, and what went wrong by its name."""

    seconds: dict[str, list[float]] = field(default_factory=dict)
    statuses: Counter[str] = field(default_factory=Counter)

    def wrong(self) -> dict[str, int]:
        """Everything that is not a 2xx, with its kind of request."""
        return {status: count for status, count in self.statuses.items() if not status.startswith("2")}


def run(options: Namespace) -> list[Table]:
    """Two tables of the load by kind of request, one of what the misbehaving clients met."""
    seconds = 60 * float(os.environ.get("LAYSHAFT_BENCH_MINUTES", "0.15" if options.quick else "0.5"))
    tables = []
    for title, pauses, workers in (
        ("that never pause", (0.0, 0.0), 1), ("that never pause", (0.0, 0.0), 2),
        ("that pause as people do", PAUSES_S, 1),
    ):  # fmt: skip
        with served(workers=workers) as service:
            named = f"Load: {CLIENTS} clients {title}, {workers} service process{'' if workers == 1 else 'es'}"
            tables.append(_loaded(service, named, seconds, pauses))
    with served(request_seconds=2) as service:
        rude = asyncio.run(misbehave(service))
        rude.append(("told to stop", service.stop()))
    notes = ("The service ran with LAYSHAFT_REQUEST_SECONDS=2 (default 30), so that the slow ones end soon.",)
    return [*tables, Table("Clients that misbehave", ("what they do", "what they meet"), rude, notes)]


def _loaded(service: Service, title: str, seconds: float, pauses: tuple[float, float]) -> Table:
    asyncio.run(load(service.port, 4, 2.0, (0.0, 0.0), writes=False))  # warm
    before, theirs, ours, began = service.resident_of_all_mb(), service.cpu_s(), process_time(), perf_counter()
    seen = asyncio.run(load(service.port, CLIENTS, seconds, pauses))
    took = perf_counter() - began
    theirs, ours = service.cpu_s() - theirs, process_time() - ours
    count = seen.statuses.total()
    notes = [
        f"{took:.0f} s, {count:,} requests, {count / took:.0f} a second; wrong: {seen.wrong() or 'none'}.",
        f"Processor time for each request: service {in_words(theirs / count)}, load {in_words(ours / count)}.",
        f"Resident before {before:.0f} MB, after {service.resident_of_all_mb():.0f} MB; {service.stop()}.",
    ]
    if pauses[1] == 0:
        notes += _checked_by_wrk(min(seconds, 30.0))
    rows = [
        (kind, f"{len(times):,}", *(in_words(percentile(times, p)) for p in (50, 95, 99)), in_words(max(times)))
        for kind, times in sorted(seen.seconds.items())
    ]
    return Table(title, ("request", "count", "p50", "p95", "p99", "longest"), rows, tuple(notes))


async def load(port: int, clients: int, seconds: float, pauses: tuple[float, float], *, writes: bool = True) -> Seen:
    """As many clients at once for so many seconds; a request that has begun is waited for."""
    seen, until = Seen(), perf_counter() + seconds
    await asyncio.gather(*(_client(port, number, until, pauses, writes, seen) for number in range(clients)))
    return seen


async def _client(port: int, number: int, until: float, pauses: tuple[float, float], writes: bool, seen: Seen) -> None:
    chance = random.Random(number)
    async with Wire(port) as wire:
        await asyncio.sleep(chance.uniform(0, pauses[1]))
        for turn in itertools.count():
            if perf_counter() >= until:
                return
            await ask(wire, request_of(turn, number, writes=writes), seen)
            await asyncio.sleep(chance.uniform(*pauses))


async def ask(wire: Wire, request: Request, seen: Seen) -> None:
    """One request, its time and its end noted."""
    began = perf_counter()
    try:
        status, _ = await wire.ask(request)
        seen.statuses[str(status) if 200 <= status < 300 else f"{status} {request.kind}"] += 1
    except (OSError, EOFError) as error:  # TimeoutError is an OSError
        seen.statuses[f"{type(error).__name__} {request.kind}"] += 1
    seen.seconds.setdefault(request.kind, []).append(perf_counter() - began)


def _checked_by_wrk(seconds: float) -> list[str]:
    """The same reads sent by wrk, one thread, as many connections; nothing where it is not installed."""
    if not shutil.which("wrk"):
        return ["wrk is not installed: no outside check."]
    with tempfile.TemporaryDirectory() as folder, served() as service:
        script = Path(folder) / "mix.lua"
        script.write_text(_as_lua(service.port))
        command = [
            "wrk",
            "-t1",
            f"-c{CLIENTS}",
            f"-d{seconds:.0f}s",
            "--timeout",
            "120s",
            "--latency",
            "-s",
            str(script),
        ]
        said = subprocess.run([*command, f"http://127.0.0.1:{service.port}"], text=True, capture_output=True).stdout
        seen = asyncio.run(load(service.port, CLIENTS, seconds, (0.0, 0.0), writes=False))
    times = [each for kind in seen.seconds.values() for each in kind]
    waited = " ".join(f"p{p} {in_words(percentile(times, p))}," for p in (50, 99))
    ours = f"{waited} {len(times) / seconds:.0f} a second"
    found = dict(re.findall(r"^\s+(50%|99%)\s+(\S+)", said, re.MULTILINE))
    rate = re.search(r"Requests/sec:\s+(\S+)", said)
    wrong = re.search(r"Non-2xx.*|Socket errors.*", said)
    theirs = f"p50 {found.get('50%')}, p99 {found.get('99%')}, {rate[1] if rate else '?'} a second"
    return [f"Reads only, by wrk 4: {theirs}, wrong: {wrong[0] if wrong else 'none'}; by our load: {ours}."]


def _as_lua(port: int) -> str:
    """A wrk script that sends the mix's reads in turn."""
    host = f"127.0.0.1:{port}"
    sent = ",\n".join(f"[==[{request_of(turn, writes=False).as_bytes(host).decode()}]==]" for turn in range(120))
    send = "request = function() turn = turn % #sent + 1; return sent[turn] end"
    return f"local sent = {{\n{sent}\n}}\nlocal turn = 0\n{send}\n"

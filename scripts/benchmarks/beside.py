"""Ordinary questions and health while hard ones are under way: what do those wait who ask something easy?

Hard: documents of 24 x 8 and of 40 x 10 to POST /solve, four at once, each sent again when it ends. Beside them one
client asks ordinary questions and another one looks at /healthz, both without a pause.
"""

from __future__ import annotations

import json
import threading
from argparse import Namespace
from time import monotonic, perf_counter

import httpx

from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.process import Service, served
from scripts.benchmarks.table import Table
from tests.reference.maker import LARGEST, Shape, make_document

HARD_AT_ONCE = 4
SHAPES = {"none": None, "24 x 8": LARGEST, "40 x 10": Shape(40, 10, 48)}
ASKED = (("tansy-5", "pipit-16"), ("hollin-5", "ouzel-20"), ("sedge-4a", "pipit-16"), ("tansy-5", "ouzel-20"))


def run(options: Namespace) -> list[Table]:
    """A row per kind of hard question."""
    seconds = 15.0 if options.quick else 60.0
    rows = [row for name, shape in SHAPES.items() for row in _beside(name, shape, seconds)]
    notes = (f"Each for {seconds:.0f} s; a question may take 10 s (LAYSHAFT_QUESTION_SECONDS).",)
    return [Table("Beside four hard questions", ("hard ones", "asked", "count", "p50", "p99", "longest"), rows, notes)]


def _beside(name: str, shape: Shape | None, seconds: float) -> list[tuple[str, ...]]:
    with served(question_seconds=10) as service:
        _ask(service, 0)
        until = monotonic() + seconds
        waits: dict[str, list[float]] = {"POST /routes": [], "GET /healthz": []}
        threads = [
            threading.Thread(target=_solve, args=(service, shape, number, until)) for number in range(HARD_AT_ONCE)
            if shape is not None
        ]  # fmt: skip
        threads.append(threading.Thread(target=_health, args=(service, waits["GET /healthz"], until)))
        for thread in threads:
            thread.start()
        turn = 0
        while monotonic() < until:
            waits["POST /routes"].append(_ask(service, turn := turn + 1))
        for thread in threads:
            thread.join()
    return [
        (name, kind, f"{len(times):,}", in_words(percentile(times, 50)), in_words(percentile(times, 99)),
         in_words(max(times)))
        for kind, times in waits.items()
    ]  # fmt: skip


def _ask(service: Service, turn: int) -> float:
    """A question that no answer is kept for: its rate is asked for the first time."""
    gearbox, engine = ASKED[turn % len(ASKED)]
    began = perf_counter()
    body = {"gearbox": gearbox, "engine": engine, "rate": round(50 + turn / 100, 2)}
    httpx.post(f"http://127.0.0.1:{service.port}/routes", json=body, timeout=120).raise_for_status()
    return perf_counter() - began


def _solve(service: Service, shape: Shape, number: int, until: float) -> None:
    while monotonic() < until:
        number += HARD_AT_ONCE
        data = json.dumps(make_document(number, shape))
        httpx.post(
            f"http://127.0.0.1:{service.port}/solve",
            content=data,
            headers={"content-type": "application/json"},
            timeout=300,
        ).raise_for_status()


def _health(service: Service, waits: list[float], until: float) -> None:
    with httpx.Client(timeout=120) as client:
        while monotonic() < until:
            began = perf_counter()
            client.get(f"http://127.0.0.1:{service.port}/healthz").raise_for_status()
            waits.append(perf_counter() - began)

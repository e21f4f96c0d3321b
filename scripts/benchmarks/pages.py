"""How long the pages of the demo take on the server, first from nothing and then from the kept answer, and their size.

The aim for the demo is 100 ms of server time and 100 kB for a first page with its style sheet and script.
"""

from __future__ import annotations

import warnings
from argparse import Namespace
from dataclasses import replace

from api.app import create_app
from api.pages.asked import address
from api.pages.base import STATIC
from api.pages.first_run import LOOKS_IMPOSSIBLE, NO_ROUTE, PLATE_QUESTION
from api.routers import costing
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS, DEMO_QUESTION
from graph.costing.notes import MemoryNotes
from scripts.benchmarks.clock import in_words, middle, percentile, timed
from scripts.benchmarks.table import Table

with warnings.catch_warnings():  # the test client announces a successor of its HTTP library
    warnings.simplefilter("ignore")
    from fastapi.testclient import TestClient

QUESTIONS = {"plain": DEMO_QUESTION, "plate": PLATE_QUESTION, "opened": LOOKS_IMPOSSIBLE}


def run(options: Namespace) -> list[Table]:
    """Every page, each time asked at another bench rate so that nothing is kept, then once more as it was."""
    count = 10 if options.quick else 40
    app = create_app(load_catalogue([DEMO_FACTS]))
    costing.install(app, MemoryNotes())
    with TestClient(app, base_url="http://127.0.0.1") as client:
        client.get(address("/compare", DEMO_QUESTION))  # what is read once for each revision of the facts
        rows = [_plain(client, path, count) for path in ("/", "/ask", "/tour")]
        rows += [
            _answered(client, f"{path} ({name})", path, name, count)
            for name in QUESTIONS
            for path in ("/compare", "/route")
        ]
        rows.append(_no_route(client))
    assets = sum((STATIC / name).stat().st_size for name in ("base.css", "base.js"))
    heads = ("page", "median", "95 %", "kept", "kB")
    notes = (f"Style sheet and script besides: {assets / 1000:.1f} kB, kept by the browser.",)
    return [Table("Pages of the demo, server time", heads, rows, notes)]


def _plain(client: TestClient, path: str, count: int) -> tuple[str, ...]:
    times = [timed(lambda: client.get(path))[0] for _ in range(count)]
    return _row(path, times, times, len(client.get(path).content))


def _answered(client: TestClient, label: str, path: str, name: str, count: int) -> tuple[str, ...]:
    fresh, kept, size = [], [], 0
    for turn in range(count):
        asked = replace(QUESTIONS[name], rate_hundredths=6000 + turn + (5000 if path == "/route" else 0))
        seconds, answer = timed(lambda: client.get(address(path, asked)))  # noqa: B023
        assert answer.status_code == 200
        fresh.append(seconds)
        size = len(answer.content)
        kept.append(timed(lambda: client.get(address(path, asked)))[0])  # noqa: B023
    return _row(label, fresh, kept, size)


def _no_route(client: TestClient) -> tuple[str, ...]:
    seconds, answer = timed(lambda: client.get(address("/compare", NO_ROUTE)))
    kept, _ = timed(lambda: client.get(address("/compare", NO_ROUTE)))
    return _row("/compare (no route)", [seconds], [kept], len(answer.content))


def _row(label: str, fresh: list[float], kept: list[float], size: int) -> tuple[str, ...]:
    return label, in_words(middle(fresh)), in_words(percentile(fresh, 95)), in_words(middle(kept)), f"{size / 1000:.1f}"

"""The reading's neighbourhood against the same facts in an RDF store: hops over edges in memory and in SPARQL.

All start at the parts of a gearbox and follow edges outward, whatever their kind. The store is asked with a VALUES
frontier per hop, as its measurements recommend (a property path takes minutes): once in this process, on disk as the
notes' view keeps it, and once in a process of its own, the `oxigraph` server, over HTTP. What they find must be the
same. In memory and in this process it is processor time; against the server it is the clock, since two processes work.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from time import perf_counter, thread_time

import httpx
from pyoxigraph import NamedNode, QuerySolutions, RdfFormat, Store

from graph.catalogue.model import Catalogue
from graph.catalogue.names import LAY, SHOP
from graph.lookups.compact import open_index
from scripts.benchmarks.clock import in_words, middle
from scripts.benchmarks.table import Table
from scripts.benchmarks.trades import questions_of, trade_of

HOPS = (1, 2, 3)
SIZES = (1_000, 10_000, 100_000)
STARTS = 12
KINDS = "https://layshaft.example/kinds/"
Frontier = set[str]
Step = Callable[[Frontier], Frontier]


def run(options: Namespace) -> list[Table]:
    """For each size of trade the median time per start, for one to three hops."""
    largest = int(os.environ.get("LAYSHAFT_BENCH_LARGEST", SIZES[0] if options.quick else SIZES[-1]))
    return [_compared(size) for size in SIZES if size <= largest]


def _compared(size: int) -> Table:
    facts = trade_of(size)
    index = open_index([facts], facts / "catalogue")
    beside = _adjacency(index.catalogue)
    starts = [question.gearbox for question in questions_of(size, STARTS)]
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        store = Store(folder)
        for file in sorted(facts.glob("*.ttl")):
            store.bulk_load(path=str(file), format=RdfFormat.TURTLE)
        store.optimize()
        ways: list[tuple[Step, Callable[[], float]]] = [
            (partial(_by_dict, beside), thread_time), (partial(_by_sparql, store), thread_time),
        ]  # fmt: skip
        found = [[_timed(start, hops, *way) for way in ways for start in starts] for hops in HOPS]
        del ways, store  # one process at a time may have the folder
        with _server(Path(folder)) as ask:
            for hops, before in zip(HOPS, found, strict=True):
                rows.append(_row(hops, [*before, *(_timed(start, hops, ask, perf_counter) for start in starts)]))
    heads = ("hops", "reached", "in memory", "SPARQL on the view", "ratio", "SPARQL server", "ratio")
    notes = (f"{STARTS} starts, medians; warm; ratios to the time in memory.", *([] if _program() else [NO_SERVER]))
    return Table(f"Hops over the edges of {size:,} parts", heads, rows, notes)


def _row(hops: int, found: list[tuple[float, Frontier]]) -> tuple[str, ...]:
    ways = [found[place : place + STARTS] for place in range(0, len(found), STARTS)]
    reached = [[parts for _, parts in way] for way in ways]
    if any(parts != reached[0] for parts, way in zip(reached, ways, strict=True) if way[0][0] == way[0][0]):
        raise SystemExit(f"{hops} hops: the stores and the catalogue do not find the same")
    ours, view, server = (middle([seconds for seconds, _ in way]) for way in ways)
    count = middle([float(len(parts)) for parts in reached[0]])
    ratios = [f"{theirs / ours:,.0f}" if theirs == theirs else "-" for theirs in (view, server)]
    return (str(hops), f"{count:.0f}", in_words(ours), in_words(view), ratios[0], in_words(server), ratios[1])


NO_SERVER = "The oxigraph server is not installed (test extra): not compared."


def _timed(start: str, hops: int, step: Step | None, clock: Callable[[], float]) -> tuple[float, Frontier]:
    """Seconds and what was reached, the second time (the first warms); not a number without a step."""
    if step is None:
        return float("nan"), set()
    _spread(start, hops, step)
    began = clock()
    found = _spread(start, hops, step)
    return clock() - began, found


def _spread(start: str, hops: int, step: Step) -> Frontier:
    seen = frontier = {start, start.rsplit("-", 1)[0]}
    for _ in range(hops):
        frontier = step(frontier) - seen
        seen = seen | frontier
    return seen


def _adjacency(catalogue: Catalogue) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for edge in catalogue.edges.values():
        found.setdefault(edge.source, []).append(edge.target)
    return found


def _by_dict(beside: dict[str, list[str]], frontier: Frontier) -> Frontier:
    return {target for one in frontier for target in beside.get(one, ())}


def _by_sparql(store: Store, frontier: Frontier) -> Frontier:
    found = store.query(_query(frontier))
    assert isinstance(found, QuerySolutions)
    targets = (solution["t"] for solution in found)
    return {_id(target.value) for target in targets if isinstance(target, NamedNode)}


def _query(frontier: Frontier) -> str:
    values = " ".join(f"<{SHOP}{one}>" for one in frontier)
    return (
        f"SELECT DISTINCT ?t WHERE {{ VALUES ?s {{ {values} }} ?e <{LAY}source> ?s ; <{LAY}target> ?t"
        f" FILTER(STRSTARTS(STR(?t), '{SHOP}') || STRSTARTS(STR(?t), '{KINDS}')) }}"
    )


def _id(iri: str) -> str:
    return iri.removeprefix(SHOP).removeprefix(KINDS)


# The server


def _program() -> str | None:
    return shutil.which("oxigraph", path=str(Path(sys.executable).parent))


@contextmanager
def _server(folder: Path) -> Iterator[Step | None]:
    """A step that asks the oxigraph server over the store in a folder; None where it is not installed."""
    if (program := _program()) is None:
        yield None
        return
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{probe.getsockname()[1]}"
    process = subprocess.Popen([program, "serve-read-only", "-l", folder, "-b", address], stderr=subprocess.DEVNULL)
    try:
        with httpx.Client(base_url=f"http://{address}", timeout=60) as client:
            _wait_for(client)
            yield partial(_by_server, client)
    finally:
        process.kill()
        process.wait()


def _wait_for(client: httpx.Client) -> None:
    for _ in range(200):
        try:
            client.get("/query", params={"query": "ASK {}"})
            return
        except httpx.TransportError:
            time.sleep(0.05)
    raise SystemExit("the oxigraph server did not start")


def _by_server(client: httpx.Client, frontier: Frontier) -> Frontier:
    headers = {"content-type": "application/sparql-query", "accept": "text/csv"}
    answer = client.post("/query", content=_query(frontier), headers=headers).raise_for_status()
    return {_id(line) for line in answer.text.splitlines()[1:] if line}

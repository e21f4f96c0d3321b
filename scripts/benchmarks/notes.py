"""The ledger at size: facts in, out and into another shop; and what readers feel while runaway queries run.

Every stage runs in a process of its own, so that its memory is its own. `identical` compares the sorted N-Quads of
both shops (no blank node is in them, so that is the canonical form of RDFC-1.0), leaving out `lay:lineHash` and
`lay:recordedAt`, which say where each ledger keeps a note.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import threading
import time
from argparse import Namespace
from collections.abc import Callable
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import httpx
import pyoxigraph as ox

from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.table import Table
from scripts.synthetic.plan import Plan
from scripts.synthetic.trade import write_trade

STATEMENTS, QUICK_STATEMENTS = 1_000_000, 40_000
PER_PART = 20  # statements of the invented trade for each part, roughly
READERS, RUNAWAYS, SECONDS = 20, 4, 20.0
OTHER_SHOP = "https://other.example/"
RUNAWAY = "SELECT (COUNT(*) AS ?n) WHERE { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i }"
OWN_PLACE = ("vocabulary#lineHash>", "vocabulary#recordedAt>")


def run(options: Namespace) -> list[Table]:
    """Two tables: carrying statements, and latency under runaway queries."""
    wanted = QUICK_STATEMENTS if options.quick else STATEMENTS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        return [_carried(folder, wanted), _latency(folder / "ours", SECONDS / (4 if options.quick else 1))]


# Carrying


def _carried(folder: Path, wanted: int) -> Table:
    count = _alone(make_facts, folder, wanted)[0]
    stages: tuple[tuple[str, Callable[..., Any], tuple[Any, ...]], ...] = (
        ("import N-Triples into an empty ledger", take_in, (folder,)),
        ("make the graph from the ledger, in bulk", make_graph, (folder,)),
        ("read the catalogue, once the graph stands", read_catalogue, (folder,)),
        ("one more note, judged and in the catalogue", one_more, (folder,)),
        ("export as TriG", export, (folder, "ours", "trig")),
        ("export as N-Quads", export, (folder, "ours", "nq")),
        ("merge the TriG into another shop", take_over, (folder, "trig")),
        ("export there as N-Quads", export, (folder, "theirs", "nq")),
    )
    rows: list[tuple[str, ...]] = []
    for label, stage, arguments in stages:
        result, wall, cpu, peak = _alone(stage, *arguments)
        if stage is one_more:
            rows.append((label, in_words(result), "-", "-", f"{peak:,.0f} MB"))
            continue
        rate = f"{count / cpu:,.0f}"
        rows.append((label, in_words(wall), in_words(cpu), rate, f"{peak:,.0f} MB"))
    ours, theirs = (_alone(fingerprint, folder / f"{shop}.nq")[0] for shop in ("ours", "theirs"))
    assert ours == theirs, "the other shop's graph is not ours"
    size = sum(path.stat().st_size for path in (folder / "ours").rglob("*") if path.is_file())
    notes = (f"identical graphs in both shops: yes ({ours[:16]}...)", f"on disk, ledger and graph: {size >> 20:,} MB")
    heads = ("stage", "time", "processor", "statements/s of processor time", "most memory")
    return Table(f"{count:,} statements carried", heads, rows, notes)


def _alone(stage: Callable[..., Any], *arguments: Any) -> tuple[Any, float, float, float]:
    """What the stage gives back in a process of its own, its seconds, processor seconds and megabytes."""
    with get_context("spawn").Pool(1) as pool:
        return pool.apply(_measured, (stage, arguments))


def _measured(stage: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[Any, float, float, float]:
    import graph.ledger.exchange
    import graph.ledger.imports
    import graph.ledger.notebook  # noqa: F401 (loaded before the clock starts)

    wall, cpu = time.perf_counter(), time.process_time()
    result = stage(*arguments)
    return result, time.perf_counter() - wall, time.process_time() - cpu, _most_memory_mb()


def _most_memory_mb() -> float:
    """Since this program began; `ru_maxrss` would also count what started it."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM:"))


def make_facts(folder: Path, wanted: int) -> int:
    """The invented trade as one N-Triples file; its shop, with the currency, stays a file of facts."""
    write_trade(Plan(max(100, wanted // PER_PART), 1), folder / "trade")
    (folder / "facts").mkdir()
    (folder / "trade" / "shop.ttl").rename(folder / "facts" / "shop.ttl")
    count = 0
    with (folder / "trade.nt").open("wb") as out:
        for file in sorted((folder / "trade").glob("*.ttl")):
            triples = [quad.triple for quad in ox.parse(path=str(file), base_iri="https://shop.example/")]
            count += len(triples)
            ox.serialize(triples, out, ox.RdfFormat.N_TRIPLES)
    return count


def _notebook(folder: Path, shop: str) -> Any:
    from graph.ledger.notebook import open_notebook

    base = OTHER_SHOP if shop == "theirs" else ""
    return open_notebook(folder / shop, base=base, facts=[folder / "facts"])


def take_in(folder: Path) -> int:
    from graph.ledger.imports import ImportedAs, import_file
    from graph.ledger.record import Draft

    notebook = _notebook(folder, "ours")
    words = Draft(text="Carried over.", author="bench", evidence="word-of-the-trade", shareable=True)
    done = import_file(notebook.ledger, folder / "trade.nt", ImportedAs(words))
    notebook.ledger.engine.dispose()
    return done.statements


def make_graph(folder: Path) -> int:
    return len(_notebook(folder, "ours").view.store)


def read_catalogue(folder: Path) -> int:
    return len(_notebook(folder, "ours").catalogue().edges)


def one_more(folder: Path) -> float:
    """Seconds from sending one more note until the catalogue has it; reading the catalogue before is not counted."""
    from graph.ledger.foreign import read_statements
    from graph.ledger.identity import new_id, note_iri
    from graph.ledger.record import Draft

    notebook = _notebook(folder, "ours")
    notebook.catalogue()
    key, base = new_id(), notebook.ledger.base
    said = '<bench-disc> a lay:Part ; rdfs:label "disc" ; lay:kind kind:clutch-disc .'
    prefixes = "@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> ."
    rdfs = "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> ."
    text = read_statements(f"{prefixes} {rdfs} {said}", ox.RdfFormat.TURTLE, base, note_iri(base, key))
    start = time.perf_counter()
    notebook.ledger.append(Draft(text="x", statements=text, author="bench", evidence="hearsay", shareable=True),
                           note_id=key)  # fmt: skip
    assert "bench-disc" in notebook.catalogue().parts
    return time.perf_counter() - start


def export(folder: Path, shop: str, ending: str) -> None:
    from graph.ledger.book import Ledger
    from graph.ledger.database import open_database, sqlite_url
    from graph.ledger.exchange import export_quads

    form = ox.RdfFormat.from_extension(ending)
    assert form is not None
    ledger = Ledger(open_database(sqlite_url(folder / shop / "ledger.db")))
    with (folder / f"{shop}.{ending}").open("wb") as out:
        ox.serialize(export_quads(ledger), out, form)


def take_over(folder: Path, ending: str) -> None:
    from graph.ledger.exchange import merge_source

    notebook = _notebook(folder, "theirs")
    with (folder / f"ours.{ending}").open("rb") as file:
        merge_source(notebook.ledger, f"ours.{ending}", file)
    notebook.ledger.engine.dispose()


def fingerprint(path: Path) -> str:
    """The hash of the sorted lines, without where the ledger keeps them."""
    with path.open("rb") as file:
        kept = sorted(line for line in file if not any(word.encode() in line for word in OWN_PLACE))
    return hashlib.sha256(b"".join(kept)).hexdigest()


# Latency


def _latency(folder: Path, seconds: float) -> Table:
    """Readers of one note, one after another without a pause between, alone and beside runaway queries."""
    from fastapi import FastAPI

    from api.app import create_app
    from api.with_notes import install
    from graph.ledger.notebook import open_notebook
    from graph.ledger.query import QueryLimits

    notebook = open_notebook(folder, facts=[folder.parent / "facts"], limits=QueryLimits(time_s=2.0))
    app: FastAPI = create_app(notebook.kinds)
    install(app, notebook)
    note = next(iter(notebook.ledger.list_notes(limit=1))).note_id
    notebook.view.catch_up()
    rows: list[tuple[str, ...]] = []
    with _served(app) as address:
        for label, runaways in (("alone", 0), (f"beside {RUNAWAYS} runaway queries", RUNAWAYS)):
            times, answers = _crowd(address, f"/notes/{note}", seconds, runaways)
            marks = (in_words(percentile(times, mark)) for mark in (50, 90, 99))
            rows.append((label, f"{len(times):,}", *marks, answers))
    notebook.close()
    heads = (f"{READERS} readers of a note", "answers", "p50", "p90", "p99", "what became of the runaway queries")
    return Table("Latency of reading while queries run away", heads, rows,
                 ("each runaway counts a cross product of everything; its limit here is 2 s",))  # fmt: skip


def _crowd(address: str, path: str, seconds: float, runaways: int) -> tuple[list[float], str]:
    until = time.monotonic() + seconds
    times: list[float] = []
    ended: dict[int, int] = {}

    def read() -> None:
        with httpx.Client(base_url=address, timeout=60) as client:
            while time.monotonic() < until:
                start = time.perf_counter()
                client.get(path).raise_for_status()
                times.append(time.perf_counter() - start)

    def run_away() -> None:
        with httpx.Client(base_url=address, timeout=60) as client:
            while time.monotonic() < until:
                status = client.get("/sparql", params={"query": RUNAWAY}).status_code
                ended[status] = ended.get(status, 0) + 1

    crowd = [threading.Thread(target=read) for _ in range(READERS)]
    crowd += [threading.Thread(target=run_away) for _ in range(runaways)]
    for one in crowd:
        one.start()
    for one in crowd:
        one.join()
    return times, ", ".join(f"{count} x {status}" for status, count in sorted(ended.items())) or "-"


class _served:
    """The app behind a real socket, in a thread."""

    def __init__(self, app: Any):
        import uvicorn

        self.server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error"))
        self.thread = threading.Thread(target=self.server.run)

    def __enter__(self) -> str:
        self.thread.start()
        while not self.server.started:
            time.sleep(0.01)
        return f"http://127.0.0.1:{self.server.servers[0].sockets[0].getsockname()[1]}"

    def __exit__(self, *_: object) -> None:
        self.server.should_exit = True
        self.thread.join()


if __name__ == "__main__":
    for table in run(Namespace(quick=bool(os.environ.get("QUICK")))):
        print(table.as_text(), end="\n\n")

"""The reading's neighbourhood against the same facts in an RDF store: hops over edges in memory and in SPARQL.

Both start at the parts of a gearbox and follow edges outward, whatever their kind; the store is asked with a VALUES
frontier per hop, as its measurements recommend (a property path takes minutes). What either finds must be the same.
"""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from time import thread_time

from pyoxigraph import NamedNode, QuerySolutions, RdfFormat, Store

from graph.catalogue.model import Catalogue
from graph.catalogue.names import LAY, SHOP
from graph.reading.compact import open_index
from scripts.benchmarks.clock import in_words, middle
from scripts.benchmarks.pace import questions_of, trade_of
from scripts.benchmarks.table import Table

HOPS = (1, 2, 3)
Frontier = set[str]


def run(options: Namespace) -> list[Table]:
    """Median processor time per start, for one to three hops."""
    size = 1_000 if options.quick else 10_000
    facts = trade_of(size)
    catalogue = open_index([facts], facts / "catalogue").catalogue
    store = Store()
    for file in sorted(facts.glob("*.ttl")):
        store.bulk_load(path=str(file), format=RdfFormat.TURTLE)
    beside = _adjacency(catalogue)
    starts = [question.gearbox for question in questions_of(size, 12)]
    rows = []
    for hops in HOPS:
        ours = [_timed(lambda: _spread(start, hops, lambda f: _by_dict(beside, f))) for start in starts]  # noqa: B023
        theirs = [_timed(lambda: _spread(start, hops, lambda f: _by_sparql(store, f))) for start in starts]  # noqa: B023
        if [found for _, found in ours] != [found for _, found in theirs]:
            raise SystemExit(f"{hops} hops: the store and the catalogue do not find the same")
        times = [middle([seconds for seconds, _ in one]) for one in (ours, theirs)]
        reached = middle([float(len(found)) for _, found in ours])
        rows.append((str(hops), f"{reached:.0f}", *map(in_words, times), f"{times[1] / times[0]:.0f}"))
    heads = ("hops", "reached", "in memory", "SPARQL", "ratio")
    return [Table(f"Hops over the edges of {size:,} parts", heads, rows, ("Store in memory, one process, warm.",))]


def _timed(call: Callable[[], Frontier]) -> tuple[float, Frontier]:
    began = thread_time()
    found = call()
    return thread_time() - began, found


def _adjacency(catalogue: Catalogue) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for edge in catalogue.edges.values():
        found.setdefault(edge.source, []).append(edge.target)
    return found


def _spread(start: str, hops: int, step: Callable[[Frontier], Frontier]) -> Frontier:
    seen = frontier = {start, start.rsplit("-", 1)[0]}
    for _ in range(hops):
        frontier = step(frontier) - seen
        seen = seen | frontier
    return seen


def _by_dict(beside: dict[str, list[str]], frontier: Frontier) -> Frontier:
    return {target for one in frontier for target in beside.get(one, ())}


def _by_sparql(store: Store, frontier: Frontier) -> Frontier:
    values = " ".join(f"<{SHOP}{one}>" for one in frontier)
    query = (
        f"SELECT DISTINCT ?t WHERE {{ VALUES ?s {{ {values} }} ?e <{LAY}source> ?s ; <{LAY}target> ?t"
        f" FILTER(STRSTARTS(STR(?t), '{SHOP}') || STRSTARTS(STR(?t), 'https://layshaft.example/kinds/')) }}"
    )
    found = store.query(query)
    assert isinstance(found, QuerySolutions)
    targets = (solution["t"] for solution in found)
    return {_id(target.value) for target in targets if isinstance(target, NamedNode)}


def _id(iri: str) -> str:
    return iri.removeprefix(SHOP).removeprefix("https://layshaft.example/kinds/")

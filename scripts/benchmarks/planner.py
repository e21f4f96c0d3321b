"""The search against an optimal classical planner (Fast Downward, A* with landmark cuts) on faultless documents."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from graph.conversion.parse import parse_conversion
from graph.search import solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.demo import demo_documents
from scripts.benchmarks.table import Table
from tests.reference.maker import SMALL, Document, make_document
from tests.reference.planner import planned_minimum

FIRST_SEED = 300_000
# Positions, candidates, joints, how many documents.
SIZES = (("3 x 2", 3, 2, 3, 10), ("4 x 3", 4, 3, 5, 10), ("6 x 3", 6, 3, 7, 5))
EVERY = 4  # of the demo's questions; a quick run asks one


def run(options: Namespace) -> list[Table]:
    """Times for the least total; a difference ends the bench."""
    rows = []
    for name, positions, candidates, joints, count in SIZES:
        shape = replace(SMALL, positions=positions, candidates=candidates, joints=joints, faults=0, inspections=0)
        seeds = range(FIRST_SEED, FIRST_SEED + (2 if options.quick else count))
        rows.append(_row(name, [make_document(seed, shape) for seed in seeds]))
    demo = demo_documents()[:: len(demo_documents()) if options.quick else EVERY]
    rows.append(_row("demo, about 21 x 1.2", [document | {"faults": [], "inspections": []} for document in demo]))
    heads = ("documents", "ours", "planner", "worst", "ratio")
    notes = (
        "Faults and deadlines left out, which the planning task cannot say; every minimum is compared.",
        "The planner's time includes writing the task, its grounding and starting the program.",
    )
    return [Table("Least total without faults, against Fast Downward", heads, rows, notes)]


def _row(name: str, documents: Sequence[Document]) -> tuple[str, ...]:
    ours, theirs = [], []
    for document in ({**each, "deadline": None} for each in documents):
        conversion = parse_conversion(document)
        seconds, solution = timed(partial(solve, conversion, "total", 0, with_front=False))
        ours.append(seconds)
        seconds, planned = timed(partial(planned_minimum, document))
        theirs.append(seconds)
        if planned != (solution.routes[0].total if solution.routes else None):
            raise SystemExit(f"total: planned {planned}, found {solution.routes}, in {document}")
    ratio = middle([other / own for own, other in zip(ours, theirs, strict=True)])
    worst = in_words(max(theirs))
    return (f"{name} ({len(documents)})", in_words(middle(ours)), in_words(middle(theirs)), worst, f"{ratio:,.0f}")

"""The search against an optimal classical planner (Fast Downward, A* with landmark cuts) on faultless documents."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace

from graph.conversion.parse import parse_conversion
from graph.search import solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.table import Table
from tests.reference.maker import SMALL, Shape, make_document
from tests.reference.planner import planned_minimum

FIRST_SEED = 300_000
FAULTLESS = replace(SMALL, positions=4, joints=5, faults=0, inspections=0)


def run(options: Namespace) -> list[Table]:
    """Times for the least total; a difference ends the bench."""
    count = 3 if options.quick else 10
    rows = [_row("4 x 3", FAULTLESS, count)]
    heads = ("documents", "ours", "planner", "worst", "ratio")
    notes = ("The planner's time includes writing the task, its grounding and starting the program.",)
    return [Table("Least total without faults, against Fast Downward", heads, rows, notes)]


def _row(name: str, shape: Shape, count: int) -> tuple[str, ...]:
    ours, theirs = [], []
    for seed in range(FIRST_SEED, FIRST_SEED + count):
        document = make_document(seed, shape) | {"deadline": None}
        conversion = parse_conversion(document)
        seconds, solution = timed(lambda: solve(conversion, "total", 0, with_front=False))  # noqa: B023
        ours.append(seconds)
        seconds, planned = timed(lambda: planned_minimum(document))  # noqa: B023
        theirs.append(seconds)
        if planned != (solution.routes[0].total if solution.routes else None):
            raise SystemExit(f"total: planned {planned}, found {solution.routes}, seed {seed}")
    ratio = middle([other / own for own, other in zip(ours, theirs, strict=True)])
    return (
        f"{name} ({count})",
        in_words(middle(ours)),
        in_words(middle(theirs)),
        in_words(max(theirs)),
        f"{ratio:.0f}",
    )

"""Time against one size at a time: positions, candidates, joints, tasks, chains, faults, the rest kept as they are."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from typing import Any

from graph.conversion.parse import parse_conversion
from graph.search import solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.table import Table
from tests.reference.maker import Shape, make_document

FIRST_SEED = 400_000
BASE = Shape(12, 4, 15, tasks=7, chains=2, faults=3)
GROWN: dict[str, tuple[int, ...]] = {
    "positions": (4, 8, 12, 16, 20, 24),
    "candidates": (2, 4, 6, 8, 12),
    "joints": (11, 13, 15, 18, 22),
    "tasks": (2, 4, 7, 10, 14),
    "chains": (0, 1, 2, 3, 4),
    "faults": (0, 1, 3, 5, 8),
}
QUICK_STEPS = 3


def run(options: Namespace) -> list[Table]:
    """One table: per size and value the median and worst time of a whole answer."""
    count = 5 if options.quick else 15
    rows = [
        _row(name, value, count, options.limit)
        for name, values in GROWN.items()
        for value in (values[:QUICK_STEPS] if options.quick else values)
    ]
    notes = (
        f"Everything else as in {BASE}; objective expected, whole answer, at most {options.limit:.0f} s.",
        f"{count} documents each.",
    )
    return [Table("Growth, each size alone", ("size", "median", "worst"), rows, notes)]


def _row(name: str, value: int, count: int, limit: float) -> tuple[str, ...]:
    changed: dict[str, Any] = {name: value}
    if name == "positions":
        changed["joints"] = value + value // 4
    shape = replace(BASE, **changed)
    taken = []
    for seed in range(FIRST_SEED, FIRST_SEED + count):
        conversion = parse_conversion(make_document(seed, shape))
        taken.append(timed(lambda: solve(conversion, "expected", 2, seconds=limit))[0])  # noqa: B023
    return (f"{name} {value}", in_words(middle(taken)), in_words(max(taken)))

"""Time and memory against one size at a time: positions, candidates, joints, tasks, chains, faults, the rest kept.

Each value is measured in a process of its own, so that its peak memory is its own. Where growth turns exponential the
time limit of a question ends it: the table says how many answers were not proven and by how much they may be off.
"""

from __future__ import annotations

from argparse import Namespace
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from fractions import Fraction
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from graph.conversion.parse import parse_conversion
from graph.search import Solution, solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.table import Table
from tests.reference.maker import Shape, make_document

FIRST_SEED = 400_000
BASE = Shape(12, 4, 15, tasks=7, chains=2, faults=3)
GROWN: dict[str, tuple[int, ...]] = {
    "positions": (4, 8, 12, 16, 20, 24, 32),
    "candidates": (2, 4, 6, 8, 12),
    "joints": (11, 13, 15, 18, 22, 28),
    "tasks": (2, 4, 7, 10, 14),
    "chains": (0, 1, 2, 3, 4),
    "faults": (0, 1, 3, 5, 8),
}
QUICK_STEPS = 3
STEEP = 2.0  # how many times the cube of the size's own growth the median must grow to be called steep


@dataclass(frozen=True)
class Measured:
    """Seconds by document; of those not proven the relative gaps, and how many had no route yet; peak bytes."""

    seconds: list[float]
    without_route: int
    gaps: list[float]
    peak: int


def run(options: Namespace) -> list[Table]:
    """One table: per size and value the time of a whole answer, what was not proven, and the peak memory."""
    count = 5 if options.quick else 15
    rows, steep = [], []
    for name, values in GROWN.items():
        before: tuple[int, float] | None = None
        for value in values[:QUICK_STEPS] if options.quick else values:
            measured = _alone(name, value, count, options.limit)
            rows.append(_row(f"{name} {value}", measured))
            now = middle(measured.seconds)
            if before is not None and before[0] and now > STEEP * before[1] * (value / before[0]) ** 3:
                steep.append(f"{name} {before[0]} to {value}")
            before = (value, now)
    heads = ("size", "median", "worst", "not proven", "worst gap", "peak memory")
    notes = (
        f"Everything else as in {BASE}; objective expected, whole answer, {options.limit:.0f} s at most.",
        f"{count} documents each, each size in a process of its own (some 35 MiB of it Python and numpy).",
        "Not proven: answers that the limit ended, in brackets those without any route yet. Gap: (best found - proven",
        "lower bound) / best found; 0 where the best route was proven and only the front or looking first was not.",
        f"Median grew more than {STEEP:.0f} times the cube of the size at: {', '.join(steep) or 'no step'}.",
    )
    return [Table("Growth, each size alone", heads, rows, notes)]


def _alone(name: str, value: int, count: int, limit: float) -> Measured:
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as process:
        return process.submit(_measure, name, value, count, limit).result()


def _measure(name: str, value: int, count: int, limit: float) -> Measured:
    seconds, gaps, without_route = [], [], 0
    for seed in range(FIRST_SEED, FIRST_SEED + count):
        conversion = parse_conversion(make_document(seed, _shape(name, value)))
        taken, solution = timed(lambda: solve(conversion, "expected", 2, seconds=limit))  # noqa: B023
        seconds.append(taken)
        if solution.status == "stopped early":
            gap = _relative_gap(solution)
            without_route += gap is None
            gaps.append(1.0 if gap is None else gap)
    return Measured(seconds, without_route, gaps, _peak())


def _shape(name: str, value: int) -> Shape:
    changed: dict[str, Any] = {name: value}
    if name == "positions":
        changed["joints"] = value + value // 4
    return replace(BASE, **changed)


def _relative_gap(solution: Solution) -> float | None:
    """None where no route was found in time."""
    if not solution.routes:
        return None
    best = solution.routes[0].expected
    return float((solution.gap or Fraction(0)) / best) if best else 0.0


def _peak() -> int:
    """The most memory this process has held, in bytes; 0 where the system does not tell."""
    try:
        lines = Path("/proc/self/status").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM:")), 0)


def _row(label: str, measured: Measured) -> tuple[str, ...]:
    return (
        label,
        in_words(middle(measured.seconds)),
        in_words(max(measured.seconds)),
        f"{len(measured.gaps)} ({measured.without_route})" if measured.gaps else "0",
        f"{max(measured.gaps):.1%}" if measured.gaps else "-",
        f"{measured.peak / 2**20:.0f} MiB" if measured.peak else "-",
    )

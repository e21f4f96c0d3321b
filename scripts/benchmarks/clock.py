"""Timing, and on what it was timed."""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from math import ceil, isnan
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import TypeVar

Result = TypeVar("Result")
COMPARED = ("ortools", "highspy", "up-fast-downward", "networkx", "numpy", "pyoxigraph", "uvicorn")


def timed(call: Callable[[], Result]) -> tuple[float, Result]:
    """Seconds taken, and what came back."""
    start = perf_counter()
    result = call()
    return perf_counter() - start, result


def middle(seconds: Sequence[float]) -> float:
    """The median; not a number where nothing was measured."""
    return median(seconds) if seconds else float("nan")


def percentile(seconds: Sequence[float], percent: float) -> float:
    """The smallest measured value that this share of all does not exceed."""
    return sorted(seconds)[max(0, ceil(len(seconds) * percent / 100) - 1)] if seconds else float("nan")


def in_words(seconds: float) -> str:
    """
    >>> in_words(0.0000123), in_words(0.00123), in_words(0.25), in_words(12.3)
    ('12 µs', '1.2 ms', '250 ms', '12.3 s')
    """
    if isnan(seconds):
        return "-"
    if seconds >= 1:
        return f"{seconds:.1f} s"
    if seconds < 0.00095:
        return f"{seconds * 1e6:.0f} µs"
    return f"{seconds * 1000:.0f} ms" if seconds >= 0.1 else f"{seconds * 1000:.1f} ms"


def machine() -> dict[str, str]:
    """Processor, cores, memory, date, load before, Python and the versions of what is compared."""
    found = {"processor": _processor(), "cores": str(os.cpu_count()), "memory": _memory(), "system": platform.system()}
    found["date"] = datetime.now(UTC).date().isoformat()
    found["load before"] = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    found["python"] = sys.version.split()[0]
    for package in COMPARED:
        try:
            found[package] = version(package)
        except PackageNotFoundError:
            found[package] = "not installed"
    return found


def in_short(around: dict[str, str]) -> str:
    """The same in a line short enough to stand under a drawing."""
    where = f"{around['processor']}, {around['cores']} cores, {around['memory']}"
    return f"{where}; Python {around['python']}; {around['date']}, load before {around['load before']}"


def _memory() -> str:
    try:
        return f"{os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 2**30:.0f} GiB"
    except (AttributeError, ValueError, OSError):
        return "unknown"


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    return next((line.split(":")[1].strip() for line in lines if line.startswith("model name")), platform.machine())

"""Does memory stay flat over an hour's requests?

An hour is taken as 7,200 requests: twenty people who each ask something every ten seconds. They are sent by eight
clients without pauses, the resident memory of the service's process is read after every 20 of them, and a line is
fitted to it after the first fifth, in which caches fill. Memory comes in lumps, so that neighbouring samples are not
independent: the line is fitted to the means of twelve stretches, and the uncertainty is that of 95 % (Student's t).
First reads alone, then the whole mix, in which a tenth of the requests are notes: those the service must keep.
"""

from __future__ import annotations

import asyncio
import os
from argparse import Namespace
from itertools import count
from statistics import fmean, linear_regression

from scripts.benchmarks.load import Seen, ask
from scripts.benchmarks.process import Service, served
from scripts.benchmarks.table import Table
from scripts.benchmarks.traffic import request_of
from scripts.benchmarks.wire import Wire

AN_HOUR, QUICK = 7_200, 1_500
CLIENTS, EVERY, STRETCHES = 8, 20, 12
STUDENT_T = 2.228  # 97.5 % at ten degrees of freedom (twelve means, a line); any table of the distribution
Sample = tuple[float, float]  # thousands of requests, MB


def run(options: Namespace) -> list[Table]:
    """Growth in MB for each thousand requests, for reads and for the whole mix."""
    wanted = int(os.environ.get("LAYSHAFT_BENCH_REQUESTS", QUICK if options.quick else AN_HOUR))
    rows: list[tuple[str, ...]] = []
    for name, writes in (("reads", False), ("reads, and a tenth notes", True)):
        with served() as service:
            samples, seen = asyncio.run(_sampled(service, wanted, writes))
        rows.append((name, f"{seen.statuses.total():,}", str(seen.wrong() or "none"), *_fitted(samples)))
    heads = ("requests", "count", "wrong", "after a fifth", "at the end", "most", "MB per 1,000 requests")
    return [Table("Resident memory over an hour's requests", heads, rows, ("MB of 2^20 bytes; 95 % uncertainty.",))]


async def _sampled(service: Service, wanted: int, writes: bool) -> tuple[list[Sample], Seen]:
    seen, samples, turns = Seen(), [(0.0, service.resident_mb())], count()

    async def client() -> None:
        async with Wire(service.port) as wire:
            while (turn := next(turns)) < wanted:
                await ask(wire, request_of(turn, writes=writes), seen)
                if turn % EVERY == 0:
                    samples.append((turn / 1000, service.resident_mb()))

    await asyncio.gather(*(client() for _ in range(CLIENTS)))
    return samples, seen


def _fitted(samples: list[Sample]) -> tuple[str, ...]:
    settled = sorted(samples)[len(samples) // 5 :]
    slope, uncertainty = slope_of(settled)
    most = max(mb for _, mb in settled)
    return (
        f"{settled[0][1]:.0f} MB",
        f"{settled[-1][1]:.0f} MB",
        f"{most:.0f} MB",
        f"{slope:+.2f} ± {uncertainty:.2f}",
    )


def slope_of(samples: list[Sample]) -> tuple[float, float]:
    """The slope of a line through the means of twelve stretches, and its uncertainty of 95 %.

    Source: ordinary least squares, standard error of the slope s / sqrt(sum (x - mean x)^2), s^2 over n - 2.

    >>> slope_of([(x / 10, 5 + 2 * x / 10) for x in range(120)])
    (2.0, 0.0)
    """
    size = len(samples) // STRETCHES
    means = [
        (fmean(x for x, _ in part), fmean(y for _, y in part))
        for part in (samples[place * size : (place + 1) * size] for place in range(STRETCHES))
    ]
    across, up = zip(*means, strict=True)
    slope, intercept = linear_regression(across, up)
    spread = sum((y - intercept - slope * x) ** 2 for x, y in means) / (STRETCHES - 2)
    error = (spread / sum((x - fmean(across)) ** 2 for x in across)) ** 0.5
    return round(slope, 6), round(STUDENT_T * error, 6)

"""What each part of a hard search earns: the same documents with one part after another left out.

Processor time, so that other work on the machine weighs less. Random documents, the same with chains in fine steps (a
tenth of a millimetre), and the demo's questions. A minimum that differs ends the bench.
"""

from __future__ import annotations

import time
from argparse import Namespace
from collections.abc import Sequence
from contextlib import nullcontext

from graph.conversion.document import Conversion
from graph.conversion.parse import parse_conversion
from graph.search import Solution, solve
from graph.search.parts import PARTS, without
from graph.search.result import STOPPED_EARLY
from scripts.benchmarks.clock import in_words, middle
from scripts.benchmarks.demo import demo_documents
from scripts.benchmarks.table import Table
from tests.reference.maker import LARGE, LARGEST, Document, make_document

FIRST_SEED = 100_000
ALL = "nothing"
FINE_TENTHS = 11  # shifts are moved by up to half as many tenths of a millimetre either way


def run(options: Namespace) -> list[Table]:
    """A table per sort of document: what leaving out a part costs."""
    few, limit = (3, min(options.limit, 10)) if options.quick else (20, options.limit)
    seeds = range(FIRST_SEED, FIRST_SEED + few)
    demo = demo_documents()
    sorts = {
        "random, 16 x 6": [make_document(seed, LARGE) for seed in seeds],
        "random, 24 x 8": [make_document(seed, LARGEST) for seed in seeds],
        "fine steps, 16 x 6": [in_fine_steps(make_document(seed, LARGE)) for seed in seeds],
        "fine steps, 24 x 8": [in_fine_steps(make_document(seed, LARGEST)) for seed in seeds],
        "demo": demo[:few] if options.quick else demo,
    }
    return [_table(name, [parse_conversion(one) for one in documents], limit) for name, documents in sorts.items()]


def in_fine_steps(document: Document) -> Document:
    """The document with every shift moved by some tenths of a millimetre, as measured parts have them."""
    made = 0
    for choices in (*(p["candidates"] for p in document["positions"]), *(j["links"] for j in document["joints"])):
        for one in choices:
            for chain, shift in one["shifts"].items():
                made += 1
                one["shifts"][chain] = round(shift + (made * 7 % FINE_TENTHS - FINE_TENTHS // 2) / 10, 1)
    return document


def _table(name: str, conversions: Sequence[Conversion], limit: float) -> Table:
    rows: list[tuple[str, ...]] = []
    usual: list[float] = []
    proven: list[Solution] = []
    _prove(conversions[0], limit)  # what a process does once is no part's work
    for part in (ALL, *PARTS):
        seconds, solutions = [], []
        for conversion in conversions:
            start = time.process_time()
            with nullcontext() if part == ALL else without(part):
                solutions.append(_prove(conversion, limit))
            seconds.append(time.process_time() - start)
        if part == ALL:
            usual, proven = seconds, solutions
        _same(part, proven, solutions)
        unproven = sum(one.status == STOPPED_EARLY for one in solutions)
        mean, before = sum(seconds) / len(seconds), sum(usual) / len(usual)
        rows.append((part, in_words(mean), f"{mean / before:.2f}", in_words(middle(seconds)), in_words(max(seconds)),
                     str(unproven)))  # fmt: skip
    heads = ("left out", "mean", "of the mean with all", "median", "worst", "not proven")
    notes = tuple(f"{part}: {what}." for part, what in PARTS.items())
    return Table(f"Parts of the search, {name} ({len(conversions)})", heads, rows, notes)


def _prove(conversion: Conversion, limit: float) -> Solution:
    return solve(conversion, "expected", 0, with_front=False, with_look_first=False, seconds=limit)


def _same(part: str, usual: Sequence[Solution], found: Sequence[Solution]) -> None:
    for one, other in zip(usual, found, strict=True):
        if STOPPED_EARLY in (one.status, other.status):
            continue
        if [route.expected for route in one.routes] != [route.expected for route in other.routes]:
            raise SystemExit(f"without {part}: {other.routes} instead of {one.routes}")

"""Pace at size: opening, the reading, the search and the writing of an answer, on an invented trade of growing size.

Processor time of one thread beside the clock: on a machine that others use too, the first is what the work costs, the
second what was waited for. The trades are made once and kept (LAYSHAFT_BENCH_DATA, else a folder of the system's
temporary folder); 10^6 parts are only measured with LAYSHAFT_BENCH_LARGEST=1000000, because facts of that size take
minutes to be made and read in.
"""

from __future__ import annotations

import os
import resource
import tempfile
from argparse import Namespace
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter, thread_time
from typing import Any

from graph.answer.build import build_answer
from graph.answer.ground import Ground
from graph.answer.serial import answer_as_json, question_as_json
from graph.reading import Question, read_conversion
from graph.reading.compact import CompactIndex, open_index, reopen
from graph.search import solve
from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.table import Table
from scripts.synthetic.plan import Plan
from scripts.synthetic.trade import write_trade

SEED = 1
QUESTIONS = 200
SIZES = (1_000, 10_000, 100_000, 1_000_000)
STAGES = ("read", "search", "write", "whole")
Times = dict[str, list[float]]


def run(options: Namespace) -> list[Table]:
    """One table of opening and memory, one of the stages of a question, one of two processes side by side."""
    largest = int(os.environ.get("LAYSHAFT_BENCH_LARGEST", "10000" if options.quick else "100000"))
    sizes = [size for size in SIZES if size <= largest]
    count = 40 if options.quick else QUESTIONS
    opening, stages, both = [], [], []
    for size in sizes:
        facts = trade_of(size)
        seconds, index, read = _opened(facts)
        opening.append((f"{size:,}", *read, in_words(seconds), f"{_resident_mb():.0f} MB"))
        clock, work = _asked(index, questions_of(size, count))
        for name, times in (("processor", work), ("clock", clock)):
            stages += [(f"{size:,}", name, stage, *_percentiles(times[stage])) for stage in STAGES]
        both.append((f"{size:,}", *_percentiles(_two_processes(index.path, size, count))))
    percents = ("p50", "p95", "p99")
    return [
        Table("Opening the trade", ("parts", "statements read", "opened again", "resident"), opening,
              ("Resident memory includes what of the file the system keeps mapped.",)),
        Table("A question, stage by stage", ("parts", "time", "stage", *percents), stages,
              (f"{count} questions: expected, 2 alternatives, front, look first; the engine the gearbox was made for, "
               "another on its bolt face, another on another.",)),
        Table("The same, two processes at once, clock", ("parts", *percents), both),
    ]  # fmt: skip


def trade_of(size: int) -> Path:
    """The folder of the trade's facts, made where there is none yet."""
    root = Path(os.environ.get("LAYSHAFT_BENCH_DATA") or Path(tempfile.gettempdir()) / "layshaft-bench")
    folder = root / f"trade-{size}"
    if not (folder / "whole").exists():
        write_trade(Plan(size, SEED), folder)
        (folder / "whole").touch()
    return folder


def questions_of(size: int, count: int) -> list[Question]:
    """Gearboxes from all over the trade, each behind its own engine, one on the same face and one on another."""
    plan = Plan(size, SEED)
    cells = plan.cells[:: max(1, 3 * len(plan.cells) // count)]
    pairs = [(cell, other) for cell in cells for other in (cell, plan.partner(cell), plan.stranger(cell))]
    return [Question(gearbox=f"{cell.gearbox(0)}-2", engine=f"{other.engine}-1") for cell, other in pairs][:count]


def _opened(facts: Path) -> tuple[float, CompactIndex, tuple[str]]:
    """Seconds to open it when it is there, the index, and the pace at which it was read in (where it was)."""
    cache = facts / "catalogue"
    read = "read in earlier"
    if not cache.exists():
        began, worked = perf_counter(), thread_time()
        open_index([facts], cache)
        count = sum(file.read_text().count(" ; ") + file.read_text().count(" .\n") for file in facts.glob("*.ttl"))
        read = f"{count / (thread_time() - worked):,.0f}/s ({count / (perf_counter() - began):,.0f}/s by the clock)"
    began = perf_counter()
    index = open_index([facts], cache)
    return perf_counter() - began, index, (read,)


def _asked(index: CompactIndex, questions: list[Question]) -> tuple[Times, Times]:
    clock: Times = {stage: [] for stage in STAGES}
    work: Times = {stage: [] for stage in STAGES}

    def stage(name: str, call: Callable[[], Any]) -> Any:
        began, worked = perf_counter(), thread_time()
        result = call()
        clock[name].append(perf_counter() - began)
        work[name].append(thread_time() - worked)
        return result

    for question in questions:
        stage("whole", partial(_answer, index, question, stage))
    return clock, work


def _answer(index: CompactIndex, question: Question, stage: Callable[..., Any]) -> None:
    reading = stage("read", lambda: read_conversion(index, question))
    solution = stage("search", lambda: solve(reading.conversion, question.objective, question.alternatives))
    ground = Ground(reading.conversion, index.catalogue, reading)
    stage("write", lambda: answer_as_json(build_answer(ground, solution, question=question_as_json(question))))


def _two_processes(path: Path, size: int, count: int) -> list[float]:
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        halves = [pool.submit(_half, path, size, count, place) for place in (0, 1)]
        return [seconds for half in halves for seconds in half.result()]


def _half(path: Path, size: int, count: int, place: int) -> list[float]:
    return _asked(reopen(path), questions_of(size, count)[place::2])[0]["whole"]


def _percentiles(seconds: list[float]) -> tuple[str, str, str]:
    return tuple(in_words(percentile(seconds, percent)) for percent in (50, 95, 99))  # type: ignore[return-value]


def _resident_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

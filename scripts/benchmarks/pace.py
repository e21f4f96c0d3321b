"""Pace at size: a service over an invented trade of growing size, from reading its facts to answering its questions.

Each trade is served by `python -m api` as any shop's facts are, and asked over HTTP; what a question takes inside is
measured apart, in processor time too: on a machine that others use as well, that is what the work costs, and the clock
what was waited for. 10^6 parts are only measured with LAYSHAFT_BENCH_LARGEST=1000000, since such facts take minutes to
be made and a quarter of an hour to be read in, once.
"""

from __future__ import annotations

import http.client
import json
import os
from argparse import Namespace
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, thread_time

from graph.answer.asking import ask_index
from graph.answer.serial import answer_as_json
from graph.conversion.document import Conversion
from graph.lookups.compact import CompactIndex, open_index, reopen
from graph.reading import Question
from graph.search import SearchOrder, Solution, search_here
from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.process import Service, served
from scripts.benchmarks.table import Table
from scripts.benchmarks.trades import as_served, data_of, questions_of

QUESTIONS = 200
SIZES = (1_000, 10_000, 100_000, 1_000_000)
COMPARED = 10_000  # the size whose times the others are held against
STAGES = ("read, say", "search", "as JSON", "whole")
PERCENTS = (50, 95, 99)
HEADS = tuple(f"p{percent}" for percent in PERCENTS)
Times = dict[str, list[float]]


@dataclass(frozen=True)
class Trade:
    """A data folder with the facts of a trade, and how fast they were read in (where they were)."""

    size: int
    data: Path
    read: str


def run(options: Namespace) -> list[Table]:
    """Tables of: opening and memory, questions over HTTP, and the stages of a question."""
    largest = int(os.environ.get("LAYSHAFT_BENCH_LARGEST", "10000" if options.quick else "100000"))
    count = 40 if options.quick else QUESTIONS
    opening, asked, stages = [], [], []
    bars: dict[str, float] = {}
    first: dict[int, float] = {}
    for trade in [_read_in(size) for size in SIZES if size <= largest]:
        questions = questions_of(trade.size, count)
        row, times = _served(trade, questions)
        opening.append(row)
        for name, seconds in times.items():
            asked.append((f"{trade.size:,}", name, *_percentiles(seconds)))
        bars |= {f"{trade.size:,} p{percent}": percentile(times["first asked"], percent) for percent in PERCENTS}
        first[trade.size] = percentile(times["first asked"], 95)
        stages += _stages(trade, questions)
    return [
        Table("Opening the trade", ("parts", "statements read", "ready again", "resident then", "after the questions"),
              opening, ("Ready again: from the start of the process to its first answer, facts read in earlier.",)),
        Table("POST /routes over HTTP", ("parts", "", *HEADS), asked, (
            f"{count} questions: expected, 2 alternatives, front, look first; the engine the gearbox was made for, "
            "another on its bolt face, another on another.", *_against(first)), bars),
        Table("A question, stage by stage", ("parts", "time", "stage", *HEADS), stages, (
            "As `ask_index` does it, in this process: all its searches, the answer as JSON, and the rest (reading, "
            "what is assumed or has no price, the words).",)),
    ]  # fmt: skip


def _read_in(size: int) -> Trade:
    """A data folder whose facts are the trade's, read into its compact file."""
    data = data_of(size)
    kept, told = data / "catalogue", data / "read-in.txt"
    began, worked, before = perf_counter(), thread_time(), kept.stat().st_mtime_ns if kept.exists() else 0
    open_index([data / "facts"], kept)
    if kept.stat().st_mtime_ns != before:
        seconds, clock = thread_time() - worked, perf_counter() - began
        count = sum(_statements(file) for file in (data / "facts").glob("*.ttl"))
        told.write_text(f"{count:,} at {count / seconds:,.0f}/s ({count / clock:,.0f}/s by the clock)")
    return Trade(size, data, told.read_text() if told.exists() else "")


def _statements(file: Path) -> int:
    text = file.read_text()
    return text.count(" ; ") + text.count(" .\n")


def _served(trade: Trade, questions: Sequence[Question]) -> tuple[tuple[str, ...], Times]:
    """The row of opening, and the seconds of questions first asked, asked again, and asked of two services at once."""
    began = perf_counter()
    with served(trade.data) as service:
        _ask(service, questions[:1])
        ready, resident = perf_counter() - began, service.resident_mb()
        times = {"first asked": _ask(service, questions), "asked again": _ask(service, questions)}
        after = service.resident_mb()
        service.stop()
    with ExitStack() as stack:
        both = [stack.enter_context(served(trade.data)) for _ in range(2)]
        with ThreadPoolExecutor(2) as pool:
            halves = pool.map(_ask, both, (questions[0::2], questions[1::2]))
            times["first asked, two processes at once"] = [seconds for half in halves for seconds in half]
    row = (f"{trade.size:,}", trade.read, in_words(ready), f"{resident:.0f} MB", f"{after:.0f} MB")
    return row, times


def _ask(service: Service, questions: Sequence[Question]) -> list[float]:
    """Seconds from sending each question to having its whole answer, one after another."""
    connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=600)
    seconds = []
    for question in questions:
        body = json.dumps({"gearbox": question.gearbox, "engine": question.engine, "alternatives": 2})
        began = perf_counter()
        connection.request("POST", "/routes", body, {"content-type": "application/json"})
        answer = connection.getresponse()
        text = answer.read()
        seconds.append(perf_counter() - began)
        if answer.status != 200:
            raise SystemExit(f"{body}: {answer.status} {text[:500]!r}")
    connection.close()
    return seconds


def _against(first: dict[int, float]) -> tuple[str, ...]:
    """How the 95 % mark at each size stands to that at COMPARED parts."""
    if COMPARED not in first:
        return ()
    ratios = ", ".join(f"{size:,}: {seconds / first[COMPARED]:.2f}" for size, seconds in first.items())
    return (f"p95 of the first asking over that at {COMPARED:,} parts: {ratios}.",)


def _stages(trade: Trade, questions: Sequence[Question]) -> list[tuple[str, ...]]:
    """Per kind of time and stage a row, of questions asked for the first time, in this process."""
    index = reopen(trade.data / "catalogue")
    with as_served():
        clock, work = _timed_stages(index, questions)
    return [
        (f"{trade.size:,}", name, stage, *_percentiles(times[stage]))
        for name, times in (("processor", work), ("clock", clock))
        for stage in STAGES
    ]


def _timed_stages(index: CompactIndex, questions: Sequence[Question]) -> tuple[Times, Times]:
    """Seconds by the clock, and of processor time, by stage."""
    clock: Times = {stage: [] for stage in STAGES}
    work: Times = {stage: [] for stage in STAGES}
    for question in questions:
        for stage, (by_clock, worked) in _stages_of(index, question).items():
            clock[stage].append(by_clock)
            work[stage].append(worked)
    return clock, work


def _stages_of(index: CompactIndex, question: Question) -> dict[str, tuple[float, float]]:
    searching, began = [(0.0, 0.0)], _now()

    def search(conversion: Conversion, order: SearchOrder) -> Solution:
        began = _now()
        found = search_here(conversion, order)
        searching.append(_since(began))
        return found

    answer = ask_index(index, question, search=search).answer
    answered = _since(began)
    json.dumps(answer_as_json(answer))
    whole = _since(began)
    searched = (sum(clock for clock, _ in searching), sum(work for _, work in searching))
    return dict(zip(STAGES, (_less(answered, searched), searched, _less(whole, answered), whole), strict=True))


def _now() -> tuple[float, float]:
    """By the clock, and in processor time of this thread."""
    return perf_counter(), thread_time()


def _since(began: tuple[float, float]) -> tuple[float, float]:
    return _less(_now(), began)


def _less(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    return one[0] - other[0], one[1] - other[1]


def _percentiles(seconds: Sequence[float]) -> tuple[str, ...]:
    return tuple(in_words(percentile(seconds, percent)) for percent in PERCENTS)

"""One to many: the best 20 gearboxes behind an engine, and the engines that a gearbox can go behind.

On the trade of 10^5 parts (over 10^4 gearboxes), from all over it. "First asked": what each question takes the first
time in a process that has answered others; "first of all" is the one question that finds nothing kept, and reads which
unit holds which part. "Again": the same questions a second time. Processor time stands beside the clock, since others
may use the machine. Then the long way round on a small trade: every unit read and solved, which must name the same
units at the same cost, or the bench fails.
"""

from __future__ import annotations

from argparse import Namespace
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from statistics import median
from time import perf_counter, thread_time

from graph.lookups.compact import open_index
from graph.reach import Reached, Reaching, reach
from graph.reach.holders import holders_of
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.search import solve
from scripts.benchmarks.clock import in_words, percentile
from scripts.benchmarks.table import Table
from scripts.benchmarks.trades import SEED, as_served, data_of
from scripts.synthetic.plan import Plan

LIMIT = 20
SIDES = {"gearbox": "behind an engine", "engine": "for a gearbox"}


@dataclass(frozen=True)
class Asked:
    """What one question took, in seconds, and how far it went."""

    work: float
    clock: float
    first: float  # by the clock, to the first unit
    state: Reaching
    found: tuple[Reached, ...]


def run(options: Namespace) -> list[Table]:
    """A table of the pace at size, one of how few units are read, one against the long way round."""
    size, count = (10_000, 8) if options.quick else (100_000, 40)
    plan = Plan(size, SEED)
    pace, units = [], []
    for side, words in SIDES.items():
        index = _opened(size)  # anew, so that nothing is kept from the other side
        questions = _questions(plan, side, count)
        with as_served():
            first, again = ([_ask(index, question, side) for question in questions] for _ in range(2))
        for name, asked in (("first of all", first[:1]), ("first asked", first[1:]), ("again", again)):
            pace.append((words, name, *_times([one.work for one in asked]), *_times([one.clock for one in asked]),
                         in_words(median(one.first for one in asked))))  # fmt: skip
        units.append((words, *_units(first)))
    heads = ("", "", "processor p50", "p95", "most", "clock p50", "p95", "most", "to the first, p50")
    return [
        Table(f"The best {LIMIT}, {size:,} parts", heads, pace,
              (f"{count} questions a side, expected cost, one thread. The first of all reads which unit holds what.",)),
        Table("How many units are looked at", ("", "units", "ruled out unread", "read", "solved", "found"), units,
              ("Medians. The rest is ruled out by the graph, or by bounds once the best are known.",)),
        _against_the_long_way(3 if options.quick else 6),
    ]  # fmt: skip


def _opened(size: int) -> CatalogueIndex:
    data = data_of(size)
    return open_index([data / "facts"], data / "catalogue")


def _questions(plan: Plan, side: str, count: int) -> list[Question]:
    cells = plan.cells[:: max(1, len(plan.cells) // count)][:count]
    if side == "gearbox":
        return [Question(gearbox="", engine=f"{cell.engine}-1") for cell in cells]
    return [Question(gearbox=f"{cell.gearbox(0)}-2", engine="") for cell in cells]


def _ask(index: CatalogueIndex, question: Question, side: str) -> Asked:
    state, found, first = Reaching(), [], 0.0
    began, worked = perf_counter(), thread_time()
    for one in reach(index, question, side, limit=LIMIT, state=state):
        first = first or perf_counter() - began
        found.append(one)
    return Asked(thread_time() - worked, perf_counter() - began, first, state, tuple(found))


def _times(seconds: list[float]) -> tuple[str, str, str]:
    return in_words(percentile(seconds, 50)), in_words(percentile(seconds, 95)), in_words(max(seconds))


def _units(asked: list[Asked]) -> tuple[str, ...]:
    states = [one.state for one in asked]
    unread = median(state.units - state.read for state in states)
    counts = (median(getattr(state, name) for state in states) for name in ("read", "solved"))
    return (f"{states[0].units:,}", f"{unread:,.0f}", *(f"{count:g}" for count in counts),
            f"{median(len(one.found) for one in asked):g}")  # fmt: skip


def _against_the_long_way(count: int) -> Table:
    size = 1_000
    index, plan, rows = _opened(size), Plan(size, SEED), []
    for side, words in SIDES.items():
        ours, long = [], []
        for question in _questions(plan, side, count):
            _ask(index, question, side)  # warm, as the long way is after its first few units
            asked = _ask(index, question, side)
            began = thread_time()
            best = _long_way(index, question, side)
            long.append(thread_time() - began)
            ours.append(asked.work)
            if [(one.value, one.unit) for one in asked.found] != best[:LIMIT]:
                raise AssertionError(f"not the best {LIMIT} {words}: {question}")
        units = len(holders_of(index, side).units)
        ratio = f"{median(long) / median(ours):.0f} times"
        rows.append((words, str(units), in_words(median(ours)), in_words(median(long)), ratio))
    return Table(f"Against reading and solving every unit, {size:,} parts",
                 ("", "units", "best 20", "the long way", "faster"), rows, ("Processor time, medians.",))  # fmt: skip


def _long_way(index: CatalogueIndex, question: Question, side: str) -> list[tuple[Fraction, str]]:
    found = []
    with_unit = partial(replace, question)
    for unit in holders_of(index, side).units:
        asked = with_unit(gearbox=unit) if side == "gearbox" else with_unit(engine=unit)
        routes = solve(
            read_conversion(index, asked).conversion, question.objective, 0, with_front=False, with_look_first=False
        ).routes  # fmt: skip
        found += [(route.expected, unit) for route in routes]
    return sorted(found)

"""The search against CP-SAT and HiGHS on the same random documents, for `total` and `expected`.

Reading the numbers of a document is charged to nobody: the search starts from the parsed conversion, the solvers from
the programme in whole numbers. Building the solver's own model is charged to the solver, compiling to the search. All
prove one minimum; what the whole answer takes (two alternatives, front, looking first) stands in a column of its own,
and no other solver gives it. Every minimum is compared; a difference ends the bench.
"""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from graph.conversion.document import Conversion
from graph.conversion.parse import parse_conversion
from graph.search import Solution, solve
from scripts.benchmarks.clock import in_words, middle, timed
from scripts.benchmarks.table import Table
from tests.reference.cpsat import CpSat, NoProof
from tests.reference.highs import highs_minimum
from tests.reference.maker import LARGE, LARGEST, WORKED, Shape, make_document
from tests.reference.programme import read_whole

Minimum = Fraction | None
NO_PROOF = "no proof"
OBJECTIVES = ("total", "expected")
FIRST_SEED = 100_000  # documents that no test has seen


@dataclass(frozen=True)
class Size:
    """A shape, how many documents the search gets, and how many of them the other solvers get."""

    name: str
    shape: Shape
    documents: int
    for_others: int


SIZES = (Size("10 x 4", WORKED, 100, 100), Size("16 x 6", LARGE, 40, 40), Size("24 x 8", LARGEST, 20, 6))
QUICK = (Size("10 x 4", WORKED, 20, 20), Size("16 x 6", LARGE, 6, 3), Size("24 x 8", LARGEST, 3, 1))


@dataclass
class Times:
    """Seconds per document; `unproven` counts the solves that the time limit ended."""

    search: list[float] = field(default_factory=list)
    whole: list[float] = field(default_factory=list)
    cp_sat: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    cp_sat_unproven: int = 0
    highs_unproven: int = 0
    search_unproven: int = 0


def run(options: Namespace) -> list[Table]:
    """One table per objective."""
    limit = min(options.limit, 5) if options.quick else options.limit
    sizes = QUICK if options.quick else SIZES
    return [
        _table(objective, {size.name: _measure(size, objective, limit) for size in sizes}, limit)
        for objective in OBJECTIVES
    ]


def _measure(size: Size, objective: str, limit: float) -> Times:
    times = Times()
    for number in range(size.documents):
        document = make_document(FIRST_SEED + number, size.shape)
        conversion = parse_conversion(document)
        seconds, solution = timed(lambda: _prove(conversion, objective, limit))  # noqa: B023
        times.search.append(seconds)
        times.search_unproven += solution.status == "stopped early"
        times.whole.append(timed(lambda: solve(conversion, objective, 2, seconds=limit))[0])  # noqa: B023
        if number >= size.for_others:
            continue
        found = _minimum(solution, objective)
        programme = read_whole(document)
        seconds, proven = _within(lambda: CpSat(programme).minimum(objective, limit))  # noqa: B023
        times.cp_sat.append(seconds)
        times.cp_sat_unproven += proven == NO_PROOF
        _same(document, objective, found, proven)
        seconds, proven = _within(lambda: highs_minimum(programme, objective, limit))  # noqa: B023
        times.highs.append(seconds)
        times.highs_unproven += proven == NO_PROOF
        _same(document, objective, found, proven)
    return times


def _prove(conversion: Conversion, objective: str, limit: float) -> Solution:
    return solve(conversion, objective, 0, with_front=False, with_look_first=False, seconds=limit)


def _minimum(solution: Solution, objective: str) -> Minimum | str:
    if solution.status == "stopped early":
        return NO_PROOF
    if not solution.routes:
        return None
    return solution.routes[0].total if objective == "total" else solution.routes[0].expected


def _within(call: Callable[[], Minimum]) -> tuple[float, Minimum | str]:
    def proof() -> Minimum | str:
        try:
            return call()
        except NoProof:
            return NO_PROOF

    return timed(proof)


def _same(document: dict[str, Any], objective: str, found: Minimum | str, proven: Minimum | str) -> None:
    if NO_PROOF not in (found, proven) and proven != found:
        raise SystemExit(f"{objective}: found {found}, proven {proven}, in {document}")


def _table(objective: str, measured: dict[str, Times], limit: float) -> Table:
    heads = (
        "documents",
        "ours",
        "worst",
        "whole answer",
        "whole / ours",
        "CP-SAT",
        "worst",
        "ratio",
        "HiGHS",
        "worst",
        "ratio",
        "no proof",
    )
    rows: list[tuple[str, ...]] = []
    bars: dict[str, float] = {}
    for name, times in measured.items():
        ours = times.search[: len(times.cp_sat)]
        faster = [_ratios(ours, theirs) for theirs in (times.cp_sat, times.highs)]
        rows.append(
            (
                f"{name} ({len(times.search)}, {len(times.cp_sat)})",
                in_words(middle(times.search)),
                in_words(max(times.search)),
                in_words(middle(times.whole)),
                _ratios(times.search, times.whole),
                in_words(middle(times.cp_sat)),
                in_words(max(times.cp_sat)),
                faster[0],
                in_words(middle(times.highs)),
                in_words(max(times.highs)),
                faster[1],
                f"{times.search_unproven}, {times.cp_sat_unproven}, {times.highs_unproven}",
            )
        )
        bars |= {f"{name} search": middle(times.search), f"{name} CP-SAT": middle(times.cp_sat)}
        bars |= {f"{name} HiGHS": middle(times.highs)}
    notes = (
        "Medians and worst. In brackets: documents for the search, for the others. Ratios: the median over all of",
        f"their time (or the whole answer's) by ours; a solve ended by the limit of {limit:.0f} s counts at the limit.",
        "No proof: how many solves the limit ended, ours, CP-SAT, HiGHS.",
    )
    return Table(f"Proven minimum of {objective}, one worker each", heads, rows, notes, bars)


def _ratios(ours: list[float], theirs: list[float]) -> str:
    return f"{middle([other / own for own, other in zip(ours, theirs, strict=True)]):.1f}"

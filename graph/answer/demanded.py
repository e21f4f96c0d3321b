"""What the question demands of a route and what the route comes to, with the sum in numbers that can be repeated."""

from __future__ import annotations

from collections.abc import Iterable

from graph.answer.ground import Ground
from graph.answer.model.fit import DemandLine
from graph.fits.model import CheckResult, Verdict
from graph.reading.demanded import Demand
from graph.search.result import Route


def demand_lines(ground: Ground, route: Route) -> tuple[DemandLine, ...]:
    """One line per demand, in the question's order; none for a document that came without its reading."""
    return tuple(_line(demand.wanted.text, demand.judge(route.picks)) for demand in _demands(ground))


def _demands(ground: Ground) -> tuple[Demand, ...]:
    return ground.reading.demands if ground.reading else ()


def _line(text: str, result: CheckResult) -> DemandLine:
    working = tuple(f"{line.symbol} = {line.formula} = {line.numbers} = {line.value}" for line in result.working.lines)
    return DemandLine(
        demand=text, verdict=str(result.verdict), words=result.summary, working=working,
        margin=None if result.margin is None else result.margin.value,
        unit="" if result.margin is None else result.margin.unit,
    )  # fmt: skip


def to_confirm(lines: Iterable[DemandLine]) -> tuple[str, ...]:
    """What to find out before money is spent."""
    return tuple(line.words for line in lines if line.verdict == Verdict.UNKNOWN)


def told(line: DemandLine) -> str:
    """The line with its sum, for lists."""
    return "; ".join((f"{line.words} ({line.verdict})", *line.working))

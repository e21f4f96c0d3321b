"""The units that can take one side of a question, cheapest first, each proven as soon as it is handed out.

Best first over bounds: a unit waits with a bound from its parts; when its turn comes it is read and waits with a bound
from its document; then it is solved and waits with its true cost; and when that comes to the front, no unit left can
be cheaper. So most units are never read. Ties go by id.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from heapq import heappop, heappush
from math import inf

from graph.conversion.document import Conversion
from graph.errors import InvalidQuestion, Problem
from graph.reach.bounds import PartsBound, document_bound, weigh_for
from graph.reach.closable import Closable
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.reading.question import check_question
from graph.search import solve
from graph.search.result import Route

SCALE = 10_000
SIDES = ("gearbox", "engine")


@dataclass(frozen=True, slots=True)
class Reached:
    """A unit that can be reached, with its cheapest route."""

    unit: str
    label: str
    value: Fraction  # of the objective
    route: Route


@dataclass(slots=True)
class Reaching:
    """How far it has gone. `complete`: nothing is left that the limit and the budget would let through."""

    units: int = 0
    read: int = 0
    solved: int = 0
    without_route: int = 0
    complete: bool = False
    at_least: Fraction | None = None  # what any unit not handed out costs at least, where it stopped early
    seconds: float = 0.0
    _started: float = field(default_factory=time.monotonic)

    def passed(self) -> float:
        """Seconds since the beginning."""
        self.seconds = time.monotonic() - self._started
        return self.seconds


def reach(
    index: CatalogueIndex,
    question: Question,
    side: str,
    *,
    limit: int = 20,
    budget: Fraction | None = None,
    seconds: float | None = None,
    state: Reaching | None = None,
) -> Iterator[Reached]:
    """Yields at most `limit` units with their cheapest routes, cheapest first, none above `budget`.

    `side`: gearbox ("what can go behind this engine?") or engine ("where can this gearbox go?"); the question's own
    unit on that side is not looked at. `state` is kept up to date; with `seconds` it may end incomplete.
    Raises InvalidQuestion or NotFound as a question does.
    """  # fmt: skip
    if side not in SIDES:
        raise InvalidQuestion([Problem("side", f"expected one of {', '.join(SIDES)}; found {side!r}")])
    if limit < 1:
        raise InvalidQuestion([Problem("limit", f"expected 1 or more; found {limit}")])
    units = [unit for unit in index.units(side) if not index.catalogue.parts[unit].abstract]
    if units:
        check_question(index, _with(question, side, units[0]))
    yield from _Search(index, question, side, units, state or Reaching()).run(limit, budget, seconds)


def _with(question: Question, side: str, unit: str) -> Question:
    return replace(question, gearbox=unit) if side == "gearbox" else replace(question, engine=unit)


Waiting = tuple[float, str, int]  # bound, unit, stage


class _Search:
    """The heap and what is known of the units in it."""

    def __init__(self, index: CatalogueIndex, question: Question, side: str, units: list[str], state: Reaching):
        self.index, self.question, self.side, self.state = index, question, side, state
        rate = question.rate_hundredths
        self.weigh = weigh_for(question.objective, index.catalogue.rate_hundredths if rate is None else rate)
        bound = PartsBound(index, _with(question, side, ""), side, self.weigh)
        self.heap: list[Waiting] = []
        closable = Closable(index, _with(question, side, ""), side)
        for unit in closable.nominated(units):
            least = bound.of(unit) if closable.can_close(unit) else inf
            if least < inf:
                heappush(self.heap, (least, unit, 0))
        state.units, state.without_route = len(units), len(units) - len(self.heap)
        self.documents: dict[str, Conversion] = {}
        self.found: dict[str, tuple[Fraction, Route]] = {}

    def run(self, limit: int, budget: Fraction | None, seconds: float | None) -> Iterator[Reached]:
        left = limit
        while self.heap and left:
            least, unit, stage = heappop(self.heap)
            if budget is not None and least > budget * SCALE:
                self.heap.clear()
            elif seconds is not None and self.state.passed() > seconds:
                self.state.at_least = Fraction(int(least), SCALE)
                return
            elif stage == 0:
                self._read(unit)
            elif stage == 1:
                self._solve(unit)
            else:
                value, route = self.found.pop(unit)
                left -= 1
                self.state.passed()
                yield Reached(unit, self.index.catalogue.parts[unit].label, value, route)
        self.state.passed()
        self.state.complete = True

    def _read(self, unit: str) -> None:
        self.state.read += 1
        reading = read_conversion(self.index, _with(self.question, self.side, unit))
        least = inf if reading.open_joints else document_bound(reading.conversion, self.weigh)
        if least == inf:
            self.state.without_route += 1
            return
        self.documents[unit] = reading.conversion
        heappush(self.heap, (least, unit, 1))

    def _solve(self, unit: str) -> None:
        self.state.solved += 1
        solution = solve(
            self.documents.pop(unit), self.question.objective, 0, with_front=False, with_look_first=False
        )  # fmt: skip
        if not solution.routes:
            self.state.without_route += 1
            return
        route = solution.routes[0]
        value = _value(route, self.question.objective)
        self.found[unit] = value, route
        heappush(self.heap, (value * SCALE, unit, 2))  # type: ignore[misc]  # exact; compares with floats exactly


def _value(route: Route, objective: str) -> Fraction:
    if objective == "cash":
        return Fraction(route.cash_hundredths, 100)
    if objective == "hours":
        return Fraction(route.hours_hundredths, 100)
    return route.total if objective == "total" else route.expected

"""The units that can take one side of a question, cheapest first, each proven as soon as it is handed out.

Best first over bounds: a unit waits with a bound from its parts; when its turn comes it is read and waits with a bound
from its document; then it is solved and waits with its true cost; and when that comes to the front, no unit left can
be cheaper. So most units are never read. Ties go by id.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from heapq import heappop, heappush
from math import inf

from graph.conversion.document import Conversion
from graph.errors import InvalidQuestion, Problem
from graph.reach.bounds import PartsBound, document_bound, weigh_for
from graph.reach.closable import Closable
from graph.reach.holders import holders_of
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.reading.question import check_question
from graph.search import JUST_THE_BEST, Search, search_here
from graph.search.result import STOPPED_EARLY, Route

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
    """How far it has gone. `complete`: nothing is left that the limit and the budget would let through.

    `units`: how many there are; `read`, `solved`: how many had to be; `without_route`, `with_route`: of how many it is
    known that they have none, and the cheapest that they have.
    `at_least`: what any unit not handed out yet costs at least, in units of the objective; None where none is left.
    """

    units: int = 0
    read: int = 0
    solved: int = 0
    without_route: int = 0
    with_route: int = 0
    complete: bool = False
    at_least: Fraction | None = Fraction(0)
    seconds: float = 0.0
    _started: float = field(default_factory=time.monotonic)

    @property
    def looked_at(self) -> int:
        """The units of which everything is known: no route, or the cheapest."""
        return self.without_route + self.with_route

    def passed(self) -> float:
        """Seconds since the beginning."""
        self.seconds = time.monotonic() - self._started
        return self.seconds


def reach(
    index: CatalogueIndex, question: Question, side: str, *, limit: int = 20, budget: Fraction | None = None,
    seconds: float | None = None, state: Reaching | None = None, search: Search = search_here,
) -> Iterator[Reached]:  # fmt: skip
    """Yields at most `limit` units with their cheapest routes, cheapest first, none above `budget`.

    `side`: gearbox ("what can go behind this engine?") or engine ("where can this gearbox go?"); the question's own
    unit on that side is not looked at. `state` is kept up to date; with `seconds` it may end incomplete.
    Raises InvalidQuestion or NotFound as a question does.
    """
    steps = explore(index, question, side, limit=limit, budget=budget, seconds=seconds, state=state, search=search)
    return (one for one in steps if one is not None)


def explore(
    index: CatalogueIndex, question: Question, side: str, *, limit: int = 20, budget: Fraction | None = None,
    seconds: float | None = None, state: Reaching | None = None, search: Search = search_here,
) -> Iterator[Reached | None]:  # fmt: skip
    """As `reach`, and None after every piece of work: then `state` has moved, and the caller may stop."""
    if side not in SIDES:
        raise InvalidQuestion([Problem("side", f"expected one of {', '.join(SIDES)}; found {side!r}")])
    if limit < 1:
        raise InvalidQuestion([Problem("limit", f"expected 1 or more; found {limit}")])
    units = holders_of(index, side).units
    if units:
        check_question(index, _with(question, side, units[0]))
    yield from _Exploration(index, question, side, state or Reaching(), seconds, search).run(units, limit, budget)


def _with(question: Question, side: str, unit: str) -> Question:
    return replace(question, gearbox=unit) if side == "gearbox" else replace(question, engine=unit)


Waiting = tuple[float, str, int]  # bound, unit, stage
UNREAD, READ, SOLVED = range(3)
JUDGED_AT_ONCE = 50  # units judged by the graph alone in one step


class _Exploration:
    """The heap and what is known of the units in it."""

    def __init__(
        self, index: CatalogueIndex, question: Question, side: str, state: Reaching, seconds: float | None,
        search: Search,
    ):  # fmt: skip
        self.index, self.question, self.side, self.state, self.seconds = index, question, side, state, seconds
        self.search = search
        rate = question.rate_hundredths
        self.weigh = weigh_for(question.objective, index.catalogue.rate_hundredths if rate is None else rate)
        self.heap: list[Waiting] = []
        self._judging = True
        self.documents: dict[str, Conversion] = {}
        self.found: dict[str, tuple[Fraction, Route]] = {}

    def run(self, units: Sequence[str], limit: int, budget: Fraction | None) -> Iterator[Reached | None]:
        self.state.units = len(units)
        yield from self._judge(units)
        left = limit
        while self.heap and left and not self._late():
            least, unit, stage = heappop(self.heap)
            self.state.at_least = Fraction(least) / SCALE
            if budget is not None and least > budget * SCALE:
                self.heap.clear()
            elif stage == UNREAD:
                self._read(unit)
                yield None
            elif stage == READ:
                self._solve(unit, least)
                yield None
            else:
                value, route = self.found.pop(unit)
                left -= 1
                self.state.passed()
                yield Reached(unit, self.index.catalogue.parts[unit].label, value, route)
        self.state.passed()
        self.state.complete = not self._judging and (not self.heap or not left)
        if not self._judging:
            self.state.at_least = Fraction(self.heap[0][0]) / SCALE if self.heap else None

    def _judge(self, units: Sequence[str]) -> Iterator[None]:
        """Puts those that the graph does not rule out on the heap, with a bound from their parts."""
        alone = _with(self.question, self.side, "")
        bound = PartsBound(self.index, alone, self.side, self.weigh)
        closable = Closable(self.index, alone, self.side)
        nominated = closable.nominated(units)
        self.state.without_route = len(units) - len(nominated)
        for place, unit in enumerate(nominated, 1):
            least = bound.of(unit) if closable.can_close(unit) else inf
            if least < inf:
                heappush(self.heap, (least, unit, UNREAD))
            else:
                self.state.without_route += 1
            if place % JUDGED_AT_ONCE == 0:
                yield None
                if self._late():
                    return
        self._judging = False

    def _late(self) -> bool:
        return self.seconds is not None and self.state.passed() > self.seconds

    def _read(self, unit: str) -> None:
        self.state.read += 1
        reading = read_conversion(self.index, _with(self.question, self.side, unit))
        least = inf if reading.open_joints else document_bound(reading.conversion, self.weigh)
        if least == inf:
            self.state.without_route += 1
            return
        self.documents[unit] = reading.conversion
        heappush(self.heap, (least, unit, READ))

    def _solve(self, unit: str, least: float) -> None:
        """What the time does not suffice to prove goes back to where it was; then the time is up as well."""
        left = None if self.seconds is None else max(0.0, self.seconds - self.state.passed())
        order = replace(JUST_THE_BEST, objective=self.question.objective, seconds=left)
        solution = self.search(self.documents[unit], order)
        if solution.status == STOPPED_EARLY:
            heappush(self.heap, (least, unit, READ))
            return
        self.state.solved += 1
        del self.documents[unit]
        if not solution.routes:
            self.state.without_route += 1
            return
        self.state.with_route += 1
        route = solution.routes[0]
        value = _value(route, self.question.objective)
        self.found[unit] = value, route
        heappush(self.heap, (value * SCALE, unit, SOLVED))  # type: ignore[misc]  # exact; compares with floats exactly


def _value(route: Route, objective: str) -> Fraction:
    if objective == "cash":
        return Fraction(route.cash_hundredths, 100)
    if objective == "hours":
        return Fraction(route.hours_hundredths, 100)
    return route.total if objective == "total" else route.expected

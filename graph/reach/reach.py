"""The units that can take one side of a question, cheapest first, each settled as soon as it is handed out.

Best first over bounds: a unit waits with a bound from its parts; when its turn comes it is read and waits with a bound
from its document; then it is solved and waits with its true cost; and when that comes to the front, no unit left can
be cheaper. So most units are never read. Ties go by id.

Units whose route assumes nothing come first, as in an answer; then those whose route holds if what it assumes does, or
of which nobody has said which kind of job it is to be. One that the graph rules out as stated may still be among these.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from heapq import heapify, heappop, heappush
from math import inf

from graph.answer.assumed import assumption_lines
from graph.answer.ground import Ground
from graph.answer.status import ASSEMBLY_NOT_STATED, IF_IT_HOLDS, PROVEN, WeighedDocument, weigh
from graph.answer.sums import is_at_least, why_at_least
from graph.conversion.known import uncertain
from graph.errors import InvalidQuestion, Problem
from graph.reach.bounds import PartsBound, document_bound, weigh_for
from graph.reach.closable import Closable
from graph.reach.holders import holders_of
from graph.reach.told import told_of
from graph.reading import CatalogueIndex, Question, Reading, read_conversion
from graph.reading.question import check_question, jobs_of
from graph.reading.tasks import assembly_meant
from graph.search import JUST_THE_BEST, Search, search_here
from graph.search.result import STOPPED_EARLY, Route

SCALE = 10_000
SIDES = ("gearbox", "engine")


@dataclass(frozen=True, slots=True)
class Reached:
    """A unit that can be reached, with its cheapest route.

    `status`: what that is worth, as the answer to the pair says; `assumed`: how many of the route's picks assume
    something; `known`: of how many of the `of` places and joints something is stated; `at_least`: something of what it
    takes has no price, hours or rate. `assumptions`: what nobody has stated of the places and joints of the route, or
    supposes to be empty or to hold, each in words; `unpriced`: what has no price, hours or rate; as the answer to the
    pair has both.
    """

    unit: str
    label: str
    value: Fraction  # of the objective
    route: Route
    status: str = PROVEN
    assumed: int = 0
    known: int = 0
    of: int = 0
    at_least: bool = False
    assumptions: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()

    @property
    def told(self) -> tuple[str, ...]:
        """How much it assumes and what, and what has no price, in words."""
        return told_of(self.assumptions, self.unpriced)


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
    if question.assembly in index.catalogue.assemblies:  # the others are made for another kind of job
        units = tuple(one for one in units if question.assembly in (jobs_of(index, one) or (question.assembly,)))
    if units:
        check_question(index, _with(question, side, units[0]))
    yield from _Exploration(index, question, side, state or Reaching(), seconds, search).run(units, limit, budget)


def _with(question: Question, side: str, unit: str) -> Question:
    return replace(question, gearbox=unit) if side == "gearbox" else replace(question, engine=unit)


Waiting = tuple[int, float, str, int]  # whether known or only if it holds, bound, unit, stage
KNOWN, IF = range(2)
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
        self._judging, self._has_ifs = True, False
        self.documents: dict[str, Reading] = {}
        self.found: dict[str, Reached] = {}

    def run(self, units: Sequence[str], limit: int, budget: Fraction | None) -> Iterator[Reached | None]:
        self.state.units = len(units)
        yield from self._judge(units)
        left = limit
        while self.heap and left and not self._late():
            tier, least, unit, stage = heappop(self.heap)
            self.state.at_least = Fraction(min(least, self._least())) / SCALE
            if budget is not None and least > budget * SCALE:
                self._give_up(tier)
            elif stage == UNREAD:
                self._read(tier, unit)
                yield None
            elif stage == READ:
                self._solve(tier, unit, least)
                yield None
            else:
                left -= 1
                self.state.passed()
                yield self.found.pop(unit)
        self.state.passed()
        self.state.complete = not self._judging and (not self.heap or not left)
        if not self._judging:
            self.state.at_least = Fraction(self._least()) / SCALE if self.heap else None

    def _least(self) -> float:
        """What any unit that waits costs at least; those that hold only if may be cheaper than what is known."""
        if not self.heap:
            return inf
        first = self.heap[0]
        if first[0] == IF or not self._has_ifs:
            return first[1]
        return min(waiting[1] for waiting in self.heap)

    def _give_up(self, tier: int) -> None:
        """Nothing of this tier that waits can be within the budget any more."""
        self.heap = [waiting for waiting in self.heap if waiting[0] != tier]
        heapify(self.heap)

    def _push(self, tier: int, least: float, unit: str, stage: int) -> None:
        self._has_ifs |= tier == IF
        heappush(self.heap, (tier, least, unit, stage))

    def _judge(self, units: Sequence[str]) -> Iterator[None]:
        """Puts those that the graph does not rule out on the heap, with a bound from their parts."""
        alone = _with(self.question, self.side, "")
        bound = PartsBound(self.index, alone, self.side, self.weigh)
        closable = Closable(self.index, alone, self.side)
        nominated = frozenset(closable.nominated(units))
        for place, unit in enumerate(units, 1):
            settled = self._is_settled(unit)
            least = bound.of(unit) if unit in nominated and closable.can_close(unit) else inf
            if least < inf:
                self._push(KNOWN if settled else IF, least, unit, UNREAD)
            elif settled and self.index.catalogue.assemblies:
                self._push(IF, 0.0, unit, UNREAD)  # ruled out as stated, but what is not stated may be assumed
            else:
                self.state.without_route += 1
            if place % JUDGED_AT_ONCE == 0:
                yield None
                if self._late():
                    return
        self._judging = False

    def _is_settled(self, unit: str) -> bool:
        """Whether it is said which kind of job it is to be: where not, nothing can be called known."""
        known = self.index.catalogue.assemblies
        return not known or assembly_meant(self.index, _with(self.question, self.side, unit)) in known

    def _late(self) -> bool:
        return self.seconds is not None and self.state.passed() > self.seconds

    def _read(self, tier: int, unit: str) -> None:
        self.state.read += 1
        reading = read_conversion(self.index, _with(self.question, self.side, unit))
        least = inf if reading.open_joints else document_bound(reading.conversion, self.weigh)
        if least == inf:
            self.state.without_route += 1
            return
        self.documents[unit] = reading
        self._push(tier, least, unit, READ)

    def _solve(self, tier: int, unit: str, least: float) -> None:
        """What the time does not suffice to prove goes back to where it was; then the time is up as well.

        One that was thought known and holds only if it holds waits among its like.
        """
        left = None if self.seconds is None else max(0.0, self.seconds - self.state.passed())
        reading = self.documents[unit]
        order = replace(JUST_THE_BEST, objective=self.question.objective, seconds=left)
        weighed = weigh(reading.conversion, order, self.search)
        if weighed.shown.status == STOPPED_EARLY:
            self._push(tier, least, unit, READ)
            return
        self.state.solved += 1
        del self.documents[unit]
        if not weighed.shown.routes:
            self.state.without_route += 1
            return
        self.state.with_route += 1
        one = self._reached(unit, reading, weighed)
        self.found[unit] = one
        holds = one.status in (IF_IT_HOLDS, ASSEMBLY_NOT_STATED)
        worth: float = one.value * SCALE  # type: ignore[assignment]  # exact; compares with floats exactly
        self._push(IF if holds else tier, worth, unit, SOLVED)

    def _reached(self, unit: str, reading: Reading, weighed: WeighedDocument) -> Reached:
        route, conversion = weighed.shown.routes[0], reading.conversion
        doubtful = uncertain(conversion)
        picked = [*route.picks.values(), *route.links.values()]
        places = [*(p.candidates for p in conversion.positions), *(j.links for j in conversion.joints)]
        ground = Ground(conversion, reading.catalogue, reading, self.index)
        lines = assumption_lines(ground, route)
        return Reached(
            unit, self.index.catalogue.parts[unit].label, _value(route, self.question.objective), route,
            ASSEMBLY_NOT_STATED if reading.asks else weighed.status, sum(one in doubtful for one in picked),
            sum(any(not choice.assumed for choice in choices) for choices in places), len(places),
            is_at_least(ground, route, lines), tuple(line.text for line in lines if not line.is_figure),
            why_at_least(ground, route, lines),
        )  # fmt: skip


def _value(route: Route, objective: str) -> Fraction:
    if objective == "cash":
        return Fraction(route.cash_hundredths, 100)
    if objective == "hours":
        return Fraction(route.hours_hundredths, 100)
    return route.total if objective == "total" else route.expected

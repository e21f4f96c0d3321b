"""What it costs on average once some faults are known, reckoned over the few routes that may matter (`contenders`).

A fault that every one of them has, with nothing said of not doing the job, adds its repair whatever is decided: that
is multiplied out, and only the tasks that it makes due tell outcomes apart, once for all faults alike. What is left
is counted outcome by outcome. In floats to compare many sets of looks, in fractions to say what the best is worth.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import reduce
from operator import or_
from typing import NamedTuple

from graph.search.compiled import Worn, places
from graph.search.opening import Hidden, worth_opening
from graph.search.price import PickedOptions
from graph.search.routes import RouteSearch

MOST_OUTCOMES = 256  # told apart for one set of looks

Number = Fraction | float
State = tuple[int, int, int]  # bits of the faults found that only some routes have; tasks due; kinds of what may return


class TooManyOutcomes(Exception):
    """More outcomes than are worth telling apart."""


class _Kind(NamedTuple):
    """Faults of a place as found that have failed: nothing is due, what is not laid open comes back."""

    reach: int
    shown: bool


class _Route(NamedTuple):
    """One that may matter. `faults`: bits of the faults it has, by place; `money`: without what is left to chance."""

    faults: int
    tasks: int
    money: int


class Weighing:
    """Averages over what may be found, in `money_scale` parts.

    `opened`: tasks that stand open, closed; `instead`: what not doing the job costs then, None where nobody says.
    """

    def __init__(self, search: RouteSearch, routes: Sequence[PickedOptions], opened: int, instead: Fraction | None):
        self._search, self._opened, self._instead = search, opened, instead
        self._worn, self._odds = search.compiled.worn, search.outlook.odds
        self.work = 0  # outcomes times routes so far
        self._prices: dict[int, int] = {}
        self._kinds: list[_Kind] = []
        self.kept: dict[tuple[int, int, int, int, bool, bool], Number] = {}  # what routes cost but for repairs found
        self.chances: dict[tuple[int, bool], tuple[Number, list[tuple[int, bool, Number]]]] = {}
        self._routes = [self._route(one) for one in routes]
        self.shared = reduce(lambda one, other: one & other, (one.faults for one in self._routes))
        self.any = reduce(or_, (one.faults for one in self._routes))

    def cannot_matter(self, fault: int) -> bool:
        """Is the best way the same, and as dear on average, whether or not this fault is known?

        It is where no route that may matter has it, or all of them have it, do all its tasks anyway and so see it.
        """
        if not self.any >> fault & 1:
            return True
        worn = self._worn[fault]
        if self._instead is not None or not self.shared >> fault & 1:
            return False
        seen = worn.fault.shows or not worn.reach
        return seen and not any(worn.reach & ~one.tasks for one in self._routes)

    def after(
        self, settled: Sequence[int], exact: bool, given: Mapping[int, int] | None = None, leniently: bool = False
    ) -> Number:
        """The average of the best expected cost once these faults are known.

        `given`: those known already, failed (1) or sound (0). `leniently`: a bound that no way of using what is known
        gets below. Raises TooManyOutcomes.
        """
        given = given or {}
        known = [*settled, *given]
        chances: dict[int, Number] = {one: Fraction(given.get(one, self._odds[one])) for one in known}
        if not exact:
            chances = {one: float(chance) for one, chance in chances.items()}
        states, surely = self._states(known, chances, leniently)
        self.work += len(states) * len(self._routes)
        reckoning = _Reckoning(self, known, exact, leniently)
        instead = None if self._instead is None else self._instead if exact else float(self._instead)
        total: Number = surely
        for state, chance in states.items():
            least = min([reckoning.cost(one, state) for one in self._routes])
            total += chance * (least if instead is None or least <= instead else instead)
        return total

    def told_apart(self, by_weight: Sequence[int]) -> list[int]:
        """Of these faults, the weightiest first, no more than can be known at once."""
        made, alone = [], 0
        for fault in by_weight:
            if self._is_shared(fault):
                made.append(fault)
            elif 2 << alone <= MOST_OUTCOMES:
                made.append(fault)
                alone += self.any >> fault & 1
        return made

    def _is_shared(self, fault: int) -> bool:
        return self._instead is None and bool(self.shared >> fault & 1)

    def _states(
        self, known: Sequence[int], chances: Mapping[int, Number], leniently: bool
    ) -> tuple[dict[State, Number], Number]:
        """The outcomes told apart with their odds, and what is multiplied out."""
        surely: Number = 0
        sound: dict[tuple[int, int], Number] = {}  # by tasks due and kinds: the odds that no shared fault has failed
        alone = []
        for fault in known:
            if self._is_shared(fault):
                surely += chances[fault] * self._worn[fault].repair
                event = self.failed(self._worn[fault], leniently)
                if event != (0, 0):
                    sound[event] = sound.get(event, 1) * (1 - chances[fault])
            elif self.any >> fault & 1:
                alone.append(fault)
        states: dict[State, Number] = {(0, 0, 0): Fraction(1)}
        events: list[tuple[State, Number]] = [((0, *event), 1 - chance) for event, chance in sorted(sound.items())]
        events += [((1 << fault, 0, 0), chances[fault]) for fault in alone]
        for (bits, tasks, kinds), chance in events:
            grown: dict[State, Number] = {}
            for state, share in states.items():
                if chance != 1:
                    grown[state] = grown.get(state, 0) + share * (1 - chance)
                if chance:
                    worse = (state[0] | bits, state[1] | tasks, state[2] | kinds)
                    grown[worse] = grown.get(worse, 0) + share * chance
            states = grown
            if len(states) > MOST_OUTCOMES:
                raise TooManyOutcomes
        return states, surely

    def failed(self, worn: Worn, leniently: bool) -> tuple[int, int]:
        """What this fault asks for once it is known to have failed: tasks due, the bit of its kind."""
        if not worn.reach:
            return 0, 0
        if leniently or worn.fault.on:
            return worn.reach, 0
        kind = _Kind(worn.reach, worn.fault.shows)
        if kind not in self._kinds:
            self._kinds.append(kind)
        return 0, 1 << self._kinds.index(kind)

    def kinds(self, bits: int) -> list[_Kind]:
        return [self._kinds[place] for place in places(bits)]

    def price(self, tasks: int) -> int:
        """The money of these tasks."""
        if tasks not in self._prices:
            compiled = self._search.compiled
            self._prices[tasks] = sum(compiled.task_money(place) for place in places(tasks))
        return self._prices[tasks]

    def _route(self, assembly: PickedOptions) -> _Route:
        compiled, outlook = self._search.compiled, self._search.outlook
        there = [place for place, worn in enumerate(self._worn) if assembly.found >> worn.bit & 1]
        due = [self._worn[place] for place in there if outlook.due >> place & 1]
        tasks = assembly.required | self._opened | reduce(or_, (worn.reach for worn in due), 0)
        money = compiled.money(assembly.cash, assembly.hours) + sum(worn.repair for worn in due) + self.price(tasks)
        chance = sum(1 << place for place in there if self._odds[place] and not outlook.due >> place & 1)
        return _Route(chance, tasks, money)

    def worn(self, fault: int) -> Worn:
        return self._worn[fault]

    def odds(self, fault: int, exact: bool) -> Number:
        return self._odds[fault] if exact else float(self._odds[fault])

    def check(self) -> None:
        self._search.meter.check()


class _Reckoning:
    """What each route costs in each outcome, where these faults are known."""

    def __init__(self, weighing: Weighing, known: Sequence[int], exact: bool, leniently: bool):
        self._all, self._exact, self._leniently = weighing, exact, leniently
        self._known = sum(1 << fault for fault in known)
        self._found: dict[int, tuple[int, int, int]] = {0: (0, 0, 0)}  # by faults found: repairs, tasks due, kinds

    def cost(self, route: _Route, state: State) -> Number:
        repairs, due, kinds = self._asked(state[0] & route.faults)
        return repairs + self._rest(route, due | state[1], kinds | state[2])

    def _asked(self, found: int) -> tuple[int, int, int]:
        known = self._found.get(found)
        if known is None:
            lowest = found & -found
            worn = self._all.worn(lowest.bit_length() - 1)
            repairs, due, kinds = self._asked(found ^ lowest)
            tasks, kind = self._all.failed(worn, self._leniently)
            known = self._found[found] = repairs + worn.repair, due | tasks, kinds | kind
        return known

    def _rest(self, route: _Route, due: int, kinds: int) -> Number:
        """All but the repairs of what was found."""
        left = route.faults & ~self._known
        key = (left, route.tasks, due, kinds, self._exact, self._leniently)
        least = self._all.kept.get(key)
        if least is None:
            chance, groups = self._left_to_chance(left)
            groups = groups + [(kind.reach, kind.shown, 0) for kind in self._all.kinds(kinds)]
            least = self._all.kept[key] = chance + self._least(route.tasks, route.tasks | due, due, groups)
        return route.money + least

    def _left_to_chance(self, faults: int) -> tuple[Number, list[tuple[int, bool, Number]]]:
        """Repairs expected of them; by reach and whether they show, the odds that none has failed."""
        key = (faults, self._exact)
        if key not in self._all.chances:
            repairs: Number = 0
            spared: dict[tuple[int, bool], Number] = {}
            for fault in places(faults):
                worn, odds = self._all.worn(fault), self._all.odds(fault, self._exact)
                repairs += odds * worn.repair
                if worn.reach:
                    alike = (worn.reach, worn.fault.shows)
                    spared[alike] = spared.get(alike, 1) * (1 - odds)
            self._all.chances[key] = repairs, [(*alike, one) for alike, one in spared.items()]
        return self._all.chances[key]

    def _least(self, paid: int, required: int, due: int, groups: Sequence[tuple[int, bool, Number]]) -> Number:
        """Tasks beyond those paid and comebacks, with the best of what may be laid open on purpose.

        Leniently, what is due comes back or is done: it is paid once either way, so its comeback is not asked for.
        """
        hidden = [Hidden(reach, 1 - spared) for reach, shown, spared in groups if shown]
        never = due if self._leniently else 0
        return min(
            self._all.price(done & ~paid) + self._comeback(done, never, groups)
            for done in worth_opening(required, hidden, self._all.price, self._all.check)
        )

    def _comeback(self, done: int, never: int, groups: Sequence[tuple[int, bool, Number]]) -> Number:
        left: dict[int, Number] = {}
        for reach, shown, spared in groups:
            if not shown or reach & ~done:
                for task in places(reach & ~never):
                    left[task] = left.get(task, 1) * spared
        made: Number = 0
        for task, spared in left.items():
            made += self._all.price(1 << task) * (1 - spared)
        return made

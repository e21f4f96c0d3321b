"""Inspections as the search sees them, and what a set of them costs on average.

Where few routes may matter (`contenders`) a set is weighed over these. Else every outcome is searched (`values`), for
sets that settle so few faults that this can be done.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import reduce
from operator import or_
from typing import NamedTuple

from graph.search.compiled import places
from graph.search.contenders import Contenders, find_contenders
from graph.search.outlook import Outlook, suppose, suppose_known, suppose_leniently
from graph.search.routes import RouteSearch
from graph.search.values import Values
from graph.search.weighing import Number, TooManyOutcomes, Weighing

MOST_SETTLED = 8  # faults of which every outcome is searched
COST_OF_A_SEARCH = 500  # of one outcome, in outcomes weighed; measured in scripts/bench
FEW_OPENED = 16  # sets of tasks that looks may open, over each of which it is asked what cannot change anything

Settled = tuple[int, ...]  # places of faults


class LookedAt(NamedTuple):
    """An inspection: what it costs, in money; the faults that it settles, by place; the tasks that it needs, closed."""

    id: str
    cost: Fraction
    settles: frozenset[int]
    opened: int


def list_tests(search: RouteSearch) -> list[LookedAt]:
    """The inspections that settle something that is in doubt, by id."""
    compiled, odds = search.compiled, search.outlook.odds
    place_of = {worn.fault.id: place for place, worn in enumerate(compiled.worn)}
    made = []
    for one in sorted(compiled.conversion.inspections, key=lambda one: one.id):
        doubtful = frozenset(place_of[id_] for id_ in one.settles if 0 < odds[place_of[id_]] < 1)
        if doubtful:
            cost = Fraction(compiled.money(one.cash_hundredths, one.hours_hundredths), compiled.money_scale)
            opened = reduce(or_, (compiled.closed[task] for task in one.tasks), 0)
            made.append(LookedAt(one.id, cost, doubtful, opened))
    return made


class Unpriced(Exception):
    """A set that settles more than can be told apart."""


class LookCosts:
    """What sets of tests cost on average, in money, the tests paid."""

    def __init__(self, search: RouteSearch, values: Values):
        self.search, self.values = search, values
        self.tests = list_tests(search)
        self._doubtful = sorted(frozenset[int]().union(*(one.settles for one in self.tests)))
        self._weighings: dict[int, Weighing | None] = {}
        self._contenders: dict[int, Contenders | None] = {}
        self._searched = 0
        self._told = {one.id: one.settles for one in self.tests}
        self._known: dict[tuple[Settled, int], Number | None] = {}
        self._drop_idle()

    @property
    def work(self) -> int:
        """Outcomes gone through so far."""
        return self._searched * COST_OF_A_SEARCH + sum(one.work for one in self._weighings.values() if one is not None)

    def _drop_idle(self) -> None:
        """Forget the faults that cannot change anything whatever is opened, and the tests that settle only these.

        Who pays for such a test learns nothing that is of use, and what it opens a route may open by itself.
        """
        masks = _unions({one.opened for one in self.tests})
        weighings = [self.weighing(mask) for mask in sorted(masks)] if len(masks) <= FEW_OPENED else [None]
        found = [one for one in weighings if one is not None]
        if len(found) < len(weighings):
            return
        idle = frozenset(fault for fault in self._doubtful if all(one.cannot_matter(fault) for one in found))
        self._doubtful = [fault for fault in self._doubtful if fault not in idle]
        live = [one._replace(settles=one.settles - idle) for one in self.tests]
        self.tests = [one for one in live if one.settles]

    def settled(self, tests: Sequence[LookedAt]) -> Settled:
        """The faults that these tests settle, but for those that cannot change anything."""
        return tuple(sorted(frozenset[int]().union(*(one.settles for one in tests))))

    def told(self, tests: Sequence[LookedAt]) -> Settled:
        """The same with the faults that cannot change anything."""
        return tuple(sorted(frozenset[int]().union(*(self._told[one.id] for one in tests))))

    def worth(self, tests: Sequence[LookedAt], exact: bool) -> Number | None:
        """What going about it so costs; None where something found leaves no way. Raises Unpriced."""
        look = self.settled(tests), opened(tests)
        cost = sum((one.cost for one in tests), Fraction(0))
        if exact:
            after = self.after(*look)
            return None if after is None else cost + after
        if look not in self._known:
            weighing = self.weighing(look[1])
            self._known[look] = self.after(*look) if weighing is None else self._weighed(weighing, look[0], False, {})
        known = self._known[look]
        return None if known is None else known + (float(cost) if isinstance(known, float) else cost)

    def after(self, settled: Settled, open_tasks: int, given: Mapping[int, int] | None = None) -> Fraction | None:
        """The same without the tests' own cost, exactly. `given`: faults known already, failed (1) or sound (0)."""
        weighing = self.weighing(open_tasks)
        if weighing is not None:
            return Fraction(self._weighed(weighing, settled, True, given or {}))
        if len(settled) > MOST_SETTLED:
            raise Unpriced
        compiled, states = self.search.compiled, {fault: Fraction(state) for fault, state in (given or {}).items()}
        known = suppose_known(compiled, self.search.outlook, states)
        outcomes = [(suppose(compiled, one.odds, open_tasks, one.worlds), p) for one, p in _outcomes(settled, known)]
        return self._average(outcomes, self._instead(open_tasks))

    def least(self, tests: Sequence[LookedAt]) -> Number:
        """What no set of these gets below, their own cost left aside."""
        settled = self.settled(tests)
        weighing = self.weighing(0)
        by_weight = sorted(settled, key=lambda fault: (-self._weight(fault), fault))
        if weighing is None:
            told, sound = by_weight[:MOST_SETTLED], by_weight[MOST_SETTLED:]
            outcomes = self._knowing_causes(tuple(sorted(told)), sound)
            least = self._average(outcomes, self._instead(0))
            assert least is not None  # whatever is found, the routes as things stand are still allowed
            return least
        told = weighing.told_apart(by_weight)
        while True:
            sound = [fault for fault in by_weight if fault not in told]
            try:
                bound = weighing.after(told, False, dict.fromkeys(sound, 0), leniently=True)
                return bound / self.search.compiled.money_scale
            except TooManyOutcomes:
                told = told[: min(len(told) - 1, len(told) * 3 // 4)]

    def _knowing_causes(self, told: Settled, sound: Sequence[int]) -> list[tuple[Outlook, Fraction]]:
        """The outcomes where these are told, and the state of all common causes with them; those `sound` never fail.

        To know more never costs more on average, and in each world what is sound tells nothing of the others.
        """
        made = []
        for world in self.search.outlook.without(sound).each_world():
            alone = Outlook(world.odds, 0, 0)
            outcomes = _outcomes(told, alone)
            made += [(suppose_leniently(self.search.compiled, one.odds), world.chance * p) for one, p in outcomes]
        return made

    def _weight(self, fault: int) -> Fraction:
        worn, compiled = self.search.compiled.worn[fault], self.search.compiled
        return worn.odds * (worn.repair + sum(compiled.task_money(place) for place in places(worn.reach)))

    def _weighed(self, weighing: Weighing, settled: Settled, exact: bool, given: Mapping[int, int]) -> Number:
        try:
            after = weighing.after(settled, exact, given)
            return (after if exact else float(after)) / self.search.compiled.money_scale
        except TooManyOutcomes:
            raise Unpriced from None

    def weighing(self, open_tasks: int) -> Weighing | None:
        """Over the routes that may matter where these tasks stand open; None where there are too many of them.

        None as well where faults have a common cause: the weighing takes them as independent.
        """
        if open_tasks not in self._weighings:
            found = self.contenders(open_tasks)
            made = None if found is None else Weighing(self.search, found.routes, open_tasks, found.instead)
            self._weighings[open_tasks] = made
        return self._weighings[open_tasks]

    def contenders(self, open_tasks: int) -> Contenders | None:
        """The routes that may matter where these tasks stand open."""
        if self.search.compiled.conversion.deadline is not None or not self.tests:
            return None  # which route is in time depends on what is found
        if self.search.outlook.worlds:
            return None
        if open_tasks not in self._contenders:
            known = {one.options: one for one in (*self.values.known, *self.search.pool.values())}
            instead = self._instead(open_tasks)
            in_parts = None if instead is None else instead * self.search.compiled.money_scale
            self._contenders[open_tasks] = find_contenders(
                self.search, known.values(), self._doubtful, open_tasks, in_parts
            )
        return self._contenders[open_tasks]

    def _instead(self, open_tasks: int) -> Fraction | None:
        """What not doing the job costs, what was opened paid."""
        compiled = self.search.compiled
        hundredths = compiled.conversion.instead_hundredths
        if hundredths is None:
            return None
        paid = Fraction(sum(compiled.task_money(place) for place in places(open_tasks)), compiled.money_scale)
        return Fraction(hundredths, 100) + paid

    def _average(self, outcomes: Sequence[tuple[Outlook, Fraction]], instead: Fraction | None) -> Fraction | None:
        self._searched += len(outcomes)
        self.values.learn([outlook for outlook, _ in outcomes])
        total = Fraction(0)
        for outlook, probability in outcomes:
            best = cheaper(self.values.of(outlook), instead)
            if best is None:
                return None
            total += probability * best
        return total


def _unions(masks: set[int]) -> set[int]:
    """Every union of them, and none; once there are more than few, only so many that it shows."""
    found = {0}
    for mask in masks:
        found |= {one | mask for one in found}
        if len(found) > FEW_OPENED:
            break
    return found


def opened(tests: Sequence[LookedAt]) -> int:
    """The tasks that a set of tests needs, as bits, closed."""
    return reduce(or_, (one.opened for one in tests), 0)


def cheaper(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    """The lesser of two amounts of which either may be missing."""
    return one if other is None else other if one is None else min(one, other)


def _outcomes(settled: Settled, outlook: Outlook) -> list[tuple[Outlook, Fraction]]:
    """What may be found of these faults, with its chance; each changes the odds of those tied to it."""
    made = [(outlook, Fraction(1))]
    for fault in settled:
        made = [
            (known.with_odds(fault, Fraction(state)), before * chance)
            for known, before in made
            for state in (0, 1)
            if (chance := known.odds[fault] if state else 1 - known.odds[fault])
        ]
    return made

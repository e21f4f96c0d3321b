"""Exact sums of one assembly: what it costs, which further tasks are worth doing, what faults add.

The formulas define a route's cost (DEVELOPERS.md, "What a route costs"). Faults are taken as independent, but for
those with a common cause: they are independent in each of its worlds, and what they add is the average over these.
All money is in `money_scale` parts; averaged money is that times `scale`, the product of the odds' denominators,
so that every comparison is between whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import reduce
from math import lcm, prod
from operator import or_
from typing import NamedTuple

from graph.search.budget import ENDLESS, Meter
from graph.search.compiled import Compiled, places
from graph.search.opening import Hidden, worth_opening
from graph.search.outlook import Outlook


class Due(NamedTuple):
    """What must be done besides what the picks need: tasks as bits, closed, and the repairs that are due."""

    tasks: int = 0
    cash: int = 0
    hours: int = 0


class Ends(NamedTuple):
    """A quantile lies between these, in `money_scale` parts; they are the same where it is exact."""

    least: int
    most: int


class _FaultGroup(NamedTuple):
    """Faults that are there together, laid open by the same tasks and told alike: they count as one.

    `spared` in `of`: the odds that none of them fails; `repair`: money expected for putting them right, times `scale`.
    """

    bit: int
    reach: int
    shown: bool
    spared: int
    of: int
    repair: int


class Pricer:
    """Prices the faults of a compiled conversion in one outlook.

    `doubtful`: bits of the faults that may come due; `spreads`: quantiles worked out so far (see `describe`).
    """

    def __init__(self, compiled: Compiled, outlook: Outlook, meter: Meter = ENDLESS):
        self.compiled, self.outlook, self.meter = compiled, outlook, meter
        self.odds = tuple(Fraction(0) if outlook.due >> place & 1 else one for place, one in enumerate(outlook.odds))
        alone = [(outlook._replace(odds=one.odds, worlds=()), one.chance) for one in outlook.worlds]
        inside = [(Pricer(compiled, one, meter), chance) for one, chance in alone]
        wholes = [pricer.scale * chance.denominator for pricer, chance in inside]
        self.scale: int = lcm(*wholes) if inside else prod(one.denominator for one in self.odds)
        self._in_worlds = [  # each world's pricer, and how often what it says counts
            (pricer, chance.numerator * (self.scale // whole))
            for (pricer, chance), whole in zip(inside, wholes, strict=True)
        ]
        self.doubtful = reduce(
            or_, (1 << worn.bit for worn, one in zip(compiled.worn, self.odds, strict=True) if one), 0
        )
        self.spreads: dict[tuple[int, int], list[Ends]] = {}
        self._known: dict[tuple[int, int], int] = {}
        self._due = [worn for place, worn in enumerate(compiled.worn) if outlook.due >> place & 1]
        self._groups = [] if inside else self._grouped()
        self._comeback = self._money_by_groups()
        self._useful = self._list_useful()

    def _grouped(self) -> list[_FaultGroup]:
        together: dict[tuple[tuple[tuple[int, int], ...], int, bool], list[int]] = {}
        for place, worn in enumerate(self.compiled.worn):
            if self.odds[place]:
                shown = bool(self.outlook.shown >> place & 1)
                together.setdefault((worn.on, worn.reach, shown), []).append(place)
        made = []
        for (_, _, shown), members in together.items():
            first, odds = self.compiled.worn[members[0]], [self.odds[place] for place in members]
            repair = sum(
                self.compiled.worn[place].repair * one.numerator * (self.scale // one.denominator)
                for place, one in zip(members, odds, strict=True)
            )
            spared, of = prod(one.denominator - one.numerator for one in odds), prod(one.denominator for one in odds)
            made.append(_FaultGroup(first.bit, first.reach, shown, spared, of, repair))
        return made

    def _list_useful(self) -> list[tuple[int, Hidden]]:
        """What can be laid open on purpose: the bit of its faults, their reach and the odds that any of them is there.

        In several worlds those of each fault stand by themselves; the sum of their odds is no less than that of any.
        """
        if self._in_worlds:
            alone = [(worn, one) for worn, one in zip(self.compiled.worn, self.odds, strict=True) if one and worn.reach]
            return [(worn.bit, Hidden(worn.reach, one)) for worn, one in alone if worn.fault.shows]
        shown = [one for one in self._groups if one.shown and one.reach]
        return [(one.bit, Hidden(one.reach, Fraction(one.of - one.spared, one.of))) for one in shown]

    def _money_by_groups(self) -> list[tuple[int, int]]:
        """(the groups, as bits, that lie behind a task; the money of all such tasks)."""
        money: dict[int, int] = {}
        for task in range(len(self.compiled.task_ids)):
            behind = sum(1 << number for number, one in enumerate(self._groups) if one.reach >> task & 1)
            if behind:
                money[behind] = money.get(behind, 0) + self.compiled.task_money(task)
        return list(money.items())

    def due(self, found: int) -> Due:
        """What must be done where these faults are there; for all alike: the tasks that stand open already."""
        tasks, cash, hours = self.outlook.opened, 0, 0
        for worn in self._due:
            if found >> worn.bit & 1:
                tasks |= worn.reach
                cash += worn.fault.cash_hundredths
                hours += worn.fault.hours_hundredths
        return Due(tasks, cash, hours)

    def sums(self, assembly: PickedOptions, done: int) -> tuple[int, int]:
        """Cash and hours of an assembly with these tasks done, what is due among them."""
        due, tasks, compiled = self.due(assembly.found), places(done), self.compiled
        cash = assembly.cash + due.cash + sum(compiled.task_cash[place] for place in tasks)
        return cash, assembly.hours + due.hours + sum(compiled.task_hours[place] for place in tasks)

    def faults_money(self, found: int, done: int) -> int:
        """What faults are expected to add, times `scale`.

        `found`: bits of the faults that are there (`Worn.bit`); `done`: bits of the done tasks.
        """
        if self._in_worlds:
            return sum(pricer.faults_money(found, done) * times for pricer, times in self._in_worlds)
        there = unseen = 0
        for number, one in enumerate(self._groups):
            if found >> one.bit & 1:
                there |= 1 << number
                if not one.shown or one.reach & ~done:
                    unseen |= 1 << number
        key = (there, unseen)
        if key not in self._known:
            self._known[key] = self._faults_money(there, unseen)
        return self._known[key]

    def _faults_money(self, there: int, unseen: int) -> int:
        made = sum(self._groups[number].repair for number in places(there))
        for behind, money in self._comeback:
            if behind & unseen:
                spared = self.scale
                for number in places(behind & unseen):
                    one = self._groups[number]
                    spared = spared // one.of * one.spared
                made += money * (self.scale - spared)
        return made

    def looks(self, found: int, required: int) -> list[int]:
        """The task sets that are worth doing: what is required, with faults laid open on purpose besides.

        None that is left out is better than all that are named, whatever the ties.
        """
        useful = [one for bit, one in self._useful if found >> bit & 1 and one.reach & ~required]
        return sorted(worth_opening(required, useful, self._money, self.meter.check))

    def _money(self, tasks: int) -> int:
        return sum(self.compiled.task_money(place) for place in places(tasks))


class PickedOptions(NamedTuple):
    """One option for every variable, with the sums that do not depend on the done tasks."""

    options: tuple[int, ...]  # by variable: positions first, then joints (link places)
    required: int  # task bits
    found: int  # bits of the faults that are there, and of the positions whose pick is as found
    cash: int
    hours: int
    days: int  # in 1 / day_scale
    irreversible: int
    changed: int  # picks that are not as found


def assemble(compiled: Compiled, options: Sequence[int]) -> PickedOptions:
    """The assembly of one option per variable (candidate numbers by position, then link places by joint)."""
    required = found = cash = hours = irreversible = changed = days = 0
    for rows, option in zip(compiled.rows, options, strict=True):
        row = rows[option]
        cash += row.cash
        hours += row.hours
        days = max(days, row.days)
        required |= row.tasks
        irreversible += row.irreversible
        changed += row.changed
        found |= row.found
    return PickedOptions(tuple(options), required, found, cash, hours, days, irreversible, changed)

"""Exact sums of one assembly: what it costs, which further tasks are worth doing, what faults add.

The formulas define a route's cost (DEVELOPERS.md, "What a route costs"). Faults are taken as independent.
All money is in `money_scale` parts; averaged money is that times `scale`, the product of the odds' denominators,
so that every comparison is between whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import prod
from typing import NamedTuple

from graph.search.compiled import Compiled, places
from graph.search.outlook import Outlook


class Due(NamedTuple):
    """What must be done besides what the picks need: tasks as bits, closed, and the repairs that are due."""

    tasks: int = 0
    cash: int = 0
    hours: int = 0


class Pricer:
    """Prices the faults of a compiled conversion in one outlook."""

    def __init__(self, compiled: Compiled, outlook: Outlook):
        self.compiled, self.outlook = compiled, outlook
        self.odds = tuple(Fraction(0) if outlook.due >> place & 1 else one for place, one in enumerate(outlook.odds))
        self.scale = prod(one.denominator for one in self.odds)
        self._known: dict[tuple[int, int], int] = {}
        self._due = [worn for place, worn in enumerate(compiled.worn) if outlook.due >> place & 1]
        self._worn = [(number, one.numerator, one.denominator) for number, one in enumerate(self.odds) if one]
        self._comeback = self._money_by_faults()

    def _money_by_faults(self) -> list[tuple[int, int]]:
        """(the faults, as bits, that lie behind a task; the money of all such tasks)."""
        money: dict[int, int] = {}
        for task in range(len(self.compiled.task_ids)):
            behind = sum(1 << number for number, worn in enumerate(self.compiled.worn) if worn.reach >> task & 1)
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

    def sums(self, assembly: Assembly, done: int) -> tuple[int, int]:
        """Cash and hours of an assembly with these tasks done, what is due among them."""
        due, tasks, compiled = self.due(assembly.found), places(done), self.compiled
        cash = assembly.cash + due.cash + sum(compiled.task_cash[place] for place in tasks)
        return cash, assembly.hours + due.hours + sum(compiled.task_hours[place] for place in tasks)

    def faults_money(self, found: int, done: int) -> int:
        """What faults are expected to add, times `scale`.

        `found`: bits of the faults that are there (`Worn.bit`); `done`: bits of the done tasks.
        """
        there = unseen = 0
        worn, shown = self.compiled.worn, self.outlook.shown
        for number, _, _ in self._worn:
            one = worn[number]
            if found >> one.bit & 1:
                there |= 1 << number
                if not shown >> number & 1 or one.reach & ~done:
                    unseen |= 1 << number
        key = (there, unseen)
        if key not in self._known:
            self._known[key] = self._faults_money(there, unseen)
        return self._known[key]

    def _faults_money(self, there: int, unseen: int) -> int:
        made = sum(
            self.compiled.worn[number].repair * chances * (self.scale // of)
            for number, chances, of in self._worn
            if there >> number & 1
        )
        for behind, money in self._comeback:
            if behind & unseen:
                spared = self.scale
                for number, chances, of in self._worn:
                    if (behind & unseen) >> number & 1:
                        spared = spared // of * (of - chances)
                made += money * (self.scale - spared)
        return made

    def looks(self, found: int, required: int) -> list[int]:
        """The task sets that may be done: what is required, with any faults laid open on purpose besides."""
        sets = {required}
        for place, worn in enumerate(self.compiled.worn):
            useful = self.outlook.shown >> place & 1 and self.odds[place] and found >> worn.bit & 1
            if useful and worn.reach & ~required:
                sets |= {done | worn.reach for done in sets}
        return sorted(sets)


class Assembly(NamedTuple):
    """One option for every variable, with the sums that do not depend on the done tasks."""

    options: tuple[int, ...]  # by variable: positions first, then joints (link places)
    required: int  # task bits
    found: int  # bits of the faults that are there, and of the positions whose pick is as found
    cash: int
    hours: int
    days: int  # in 1 / day_scale
    irreversible: int
    changed: int  # picks that are not as found


def assemble(compiled: Compiled, options: Sequence[int]) -> Assembly:
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
    return Assembly(tuple(options), required, found, cash, hours, days, irreversible, changed)

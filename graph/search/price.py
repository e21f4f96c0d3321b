"""Exact sums of one assembly: what it costs, which further tasks are worth doing, what faults add.

Source of the formulas: ROUTES.md, "What it costs". Faults are taken as independent.
All money is in `money_scale` parts; averaged money is that times `scale`, the product of the odds' denominators,
so that every comparison is between whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import reduce
from math import prod
from operator import or_
from typing import NamedTuple

from graph.search.compiled import Compiled, places


class Pricer:
    """Prices the faults of a compiled conversion for one list of odds (in order of `compiled.worn`)."""

    def __init__(self, compiled: Compiled, odds: Sequence[Fraction]):
        self.compiled = compiled
        self.odds = tuple(odds)
        self.scale = prod(one.denominator for one in odds)
        self._known: dict[tuple[int, int], int] = {}
        self._task_money = [compiled.task_money(place) for place in range(len(compiled.task_ids))]

    def faults_money(self, found: int, done: int) -> int:
        """What faults are expected to add, times `scale`.

        `found`: bits of the positions whose pick is there as found; `done`: bits of the done tasks.
        """
        there = unseen = 0
        for place, worn in enumerate(self.compiled.worn):
            if found >> worn.position & 1 and self.odds[place]:
                there |= 1 << place
                if not worn.fault.shows or worn.reach & ~done:
                    unseen |= 1 << place
        key = (there, unseen)
        if key not in self._known:
            self._known[key] = self._faults_money(there, unseen)
        return self._known[key]

    def _faults_money(self, there: int, unseen: int) -> int:
        worn = self.compiled.worn
        repairs = sum((self.odds[place] * worn[place].repair for place in places(there)), Fraction(0))
        comeback = Fraction(0)
        for task in places(reduce(or_, (worn[place].reach for place in places(unseen)), 0)):
            spared = prod(1 - self.odds[place] for place in places(unseen) if worn[place].reach >> task & 1)
            comeback += self._task_money[task] * (1 - spared)
        return int((repairs + comeback) * self.scale)

    def looks(self, found: int, required: int) -> list[int]:
        """The task sets that may be done: what is required, with any faults laid open on purpose besides."""
        sets = {required}
        for place, worn in enumerate(self.compiled.worn):
            useful = worn.fault.shows and self.odds[place] and found >> worn.position & 1
            if useful and worn.reach & ~required:
                sets |= {done | worn.reach for done in sets}
        return sorted(sets)


class Assembly(NamedTuple):
    """One option for every variable, with the sums that do not depend on the done tasks."""

    options: tuple[int, ...]  # by variable: positions first, then joints (link places)
    required: int  # task bits
    found: int  # position bits
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

"""Every choice's cost in every column, as whole numbers.

A *column* is one way of adding up a route. Columns 0..S*T-1 hold the objective for scenario s and task set t:
in column (s, t) only choices whose tasks lie in t are possible, the tasks of t are paid in `start`, and a choice with
a fault pays its share of what its faults add, or all of it where the fault is due. Then, if hours are limited, T
columns of hours; then two columns for each chain, its sum and its sum negated, so that both limits become upper
limits; a choice that leaves the chain open takes both sums below them for good. The picks that are assumed are counted
like a chain, where their number is limited.

The share of a fault's comeback is a modular lower bound of a submodular function: positions taken in order, each
pays what it adds to those before it (greedy vertex of the base polytope; Edmonds 1970). It is exact for every
first part of that order, and never above the true sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from operator import and_

import numpy as np
from numpy.typing import NDArray

from graph.search.compiled import Compiled, places
from graph.search.family import Family
from graph.search.numbers import IMPOSSIBLE, Ints
from graph.search.outlook import Outlook

WORD_BITS = 62
WORD = (1 << WORD_BITS) - 1


@dataclass(frozen=True, slots=True)
class Weights:
    """What a choice and a task cost: cash and hours times these, rounded down to whole units.

    `unit` is 1 but for sums that would not fit 64 bits; rounding down keeps a bound a bound.
    """

    cash: int
    hours: int
    unit: int = 1

    def of(self, cash_hundredths: int, hours_hundredths: int) -> int:
        return (cash_hundredths * self.cash + hours_hundredths * self.hours) // self.unit


@dataclass(frozen=True, slots=True)
class Columns:
    """Costs by choice and column. `unary[p]` is candidates x columns; `links` all links x columns, joint by joint.

    `asks`: by task set the number of the question that it belongs to, where several are asked together (see `asks`).
    """

    scenarios: int
    sets: int
    has_hours: bool
    unary: tuple[Ints, ...]
    links: Ints
    start: Ints
    chain_limits: Ints
    set_days: tuple[int, ...]  # in 1 / day_scale
    asks: tuple[int, ...] = ()

    @property
    def costs(self) -> int:
        return self.scenarios * self.sets

    @property
    def first_chain(self) -> int:
        return self.costs + (self.sets if self.has_hours else 0)

    def places_of(self, sets: Sequence[int]) -> list[int]:
        """Where the columns of these task sets stand, and then all those of chains."""
        places = [place * self.sets + one for place in range(self.scenarios) for one in sets]
        if self.has_hours:
            places += [self.costs + one for one in sets]
        return [*places, *range(self.first_chain, self.start.size)]

    def kept(self, sets: Sequence[int]) -> Columns:
        """Only these task sets, in their order."""
        places = self.places_of(sets)
        return replace(
            self,
            sets=len(sets),
            unary=tuple(table[:, places] for table in self.unary),
            links=self.links[:, places],
            start=self.start[places],
            set_days=tuple(self.set_days[one] for one in sets),
            asks=tuple(self.asks[one] for one in sets) if self.asks else (),
        )


def build_columns(
    compiled: Compiled,
    family: Family,
    weights: Weights,
    scenarios: Sequence[Outlook],
    with_hours: bool,
    with_chances: bool,
) -> Columns:
    """All columns of a search. A scenario is an outlook; without chances only what is due in it costs anything."""
    chains, count = compiled.numbers.chains, sum(len(held) for held in compiled.candidates)
    every = _every_choice(compiled, family, weights, len(scenarios), with_hours)
    links = every[count:]
    unary = np.split(every[:count], np.cumsum([len(held) for held in compiled.candidates])[:-1]) if count else []
    tables = [*unary, *np.split(links, np.cumsum([len(ways) for ways in compiled.links])[:-1])]  # views
    for place, outlook in enumerate(scenarios):
        charge_due(compiled, family, weights, outlook.due, tables, place * len(family.sets))
        if with_chances:
            charge_faults(compiled, family, weights, outlook, tables, place * len(family.sets))
    if with_hours:
        always_due = reduce(and_, (outlook.due for outlook in scenarios))
        charge_due(compiled, family, Weights(0, 1), always_due, tables, len(scenarios) * len(family.sets))
    return Columns(
        scenarios=len(scenarios),
        sets=len(family.sets),
        has_hours=with_hours,
        unary=tuple(unary),
        links=links,
        start=_start(compiled, family, weights, scenarios, with_hours, len(chains)),
        chain_limits=np.array([one.most for one in chains] + [one.most_negated for one in chains], dtype=np.int64),
        set_days=tuple(max((compiled.task_days[place] for place in places(one)), default=0) for one in family.sets),
    )


def _every_choice(compiled: Compiled, family: Family, weights: Weights, scenarios: int, with_hours: bool) -> Ints:
    """All candidates, then all links, by column; faults left aside."""
    numbers = compiled.numbers
    shut = _not_in([row.tasks & family.kept for rows in compiled.rows for row in rows], family.sets)
    each = numbers.weighed(weights.cash, weights.hours, weights.unit)
    parts = [np.where(shut, IMPOSSIBLE, each[:, None])] * scenarios
    if with_hours:
        parts.append(np.where(shut, IMPOSSIBLE, numbers.hours[:, None]))
    return np.concatenate([*parts, numbers.sums], axis=1)


def _not_in(needed: Sequence[int], sets: Sequence[int]) -> NDArray[np.bool_]:
    """By mask and set: does the mask hold a bit that the set does not? Masks may be longer than a machine word."""
    shut = np.zeros((len(needed), len(sets)), dtype=np.bool_)
    longest = max((one.bit_length() for one in needed), default=0)
    for first in range(0, longest, WORD_BITS):
        here = np.array([one >> first & WORD for one in needed], dtype=np.int64)
        there = np.array([one >> first & WORD for one in sets], dtype=np.int64)
        shut |= (here[:, None] & ~there[None, :]) != 0
    return shut


def _start(
    compiled: Compiled, family: Family, weights: Weights, scenarios: Sequence[Outlook], with_hours: bool, chains: int
) -> Ints:
    cash, hours = [], []
    for one in family.sets:
        done = places(one)
        cash.append(sum(compiled.task_cash[place] for place in done))
        hours.append(sum(compiled.task_hours[place] for place in done))
    cost = np.array([weights.of(*both) for both in zip(cash, hours, strict=True)], dtype=np.int64)
    parts = []
    for outlook in scenarios:
        opened = outlook.opened & family.kept
        shut = np.array([bool(opened & ~one) for one in family.sets]) if opened else np.False_
        parts.append(np.where(shut, IMPOSSIBLE, cost))
    parts += [np.array(hours, dtype=np.int64)] if with_hours else []
    return np.concatenate([*parts, np.zeros(2 * chains, dtype=np.int64)])


def charge_due(
    compiled: Compiled, family: Family, weights: Weights, due: int, tables: Sequence[Ints], first: int
) -> None:
    """Add what is due to the choices that pay for it; where it cannot be reached, shut all choices that it sits on."""
    for place in places(due):
        worn = compiled.worn[place]
        reach = worn.reach & family.kept
        shut = np.array([bool(reach & ~one) for one in family.sets])
        cost = weights.of(worn.fault.cash_hundredths, worn.fault.hours_hundredths)
        for variable, option in worn.on:
            tables[variable][option, first : first + len(family.sets)][shut] = IMPOSSIBLE
        for variable, option in worn.payers:
            tables[variable][option, first : first + len(family.sets)] += cost


def charge_faults(
    compiled: Compiled, family: Family, weights: Weights, outlook: Outlook, tables: Sequence[Ints], first: int
) -> None:
    """Add each fault's share of what faults add to the choices that pay for it, in every task set.

    Of several worlds it is the average: in each of them the shares of any faults come to no more than they add.
    """
    sets = len(family.sets)
    money = np.array([compiled.task_money(place) for place in range(len(compiled.task_ids))], dtype=float)
    money /= weights.unit
    worlds = [(float(one.chance), one.odds, np.ones((sets, len(money)))) for one in outlook.each_world()]
    by_bit: dict[int, list[int]] = {}
    for place, (worn, odds) in enumerate(zip(compiled.worn, outlook.odds, strict=True)):
        if odds and worn.payers and not outlook.due >> place & 1:
            by_bit.setdefault(worn.bit, []).append(place)
    for _, members in sorted(by_bit.items()):
        share = np.zeros(sets)
        for place in members:
            worn = compiled.worn[place]
            share += float(outlook.odds[place]) * worn.repair / weights.unit
            if not worn.reach:
                continue
            reach, behind = worn.reach & family.kept, places(worn.reach)
            shows = outlook.shown >> place & 1
            unseen = np.array([not shows or bool(reach & ~one) for one in family.sets])
            for chance, in_world, spared in worlds:
                lost = np.where(unseen[:, None], spared[:, behind] * float(in_world[place]), 0.0)
                share += chance * (lost @ money[behind])
                spared[:, behind] -= lost
        # Rounded down past any error of the floats, so that the bound stays a bound.
        whole = np.floor(share * (1 - 1e-12) - 1e-6).clip(0).astype(np.int64)
        for variable, option in compiled.worn[members[0]].payers:
            tables[variable][option, first : first + sets] += whole

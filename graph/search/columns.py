"""Every choice's cost in every column, as whole numbers.

A *column* is one way of adding up a route. Columns 0..S*T-1 hold the objective for scenario s and task set t:
in column (s, t) only choices whose tasks lie in t are possible, the tasks of t are paid in `start`, and a worn
part as found pays its share of what its faults add. Then, if hours are limited, T columns of hours; then two
columns for each chain, its sum and its sum negated, so that both limits become upper limits.

The share of a fault's comeback is a modular lower bound of a submodular function: positions taken in order, each
pays what it adds to those before it (greedy vertex of the base polytope; Edmonds 1970). It is exact for every
first part of that order, and never above the true sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from graph.conversion.document import Choice
from graph.search.compiled import Compiled, Row, places
from graph.search.family import Family

Ints = NDArray[np.int64]
IMPOSSIBLE = 1 << 50  # above any sum of costs, and 2**12 of them still fit 64 bits
POSSIBLE_BELOW = IMPOSSIBLE >> 1
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
    scenarios: Sequence[Sequence[Fraction] | None],
    with_hours: bool,
) -> Columns:
    """All columns of a search. A scenario is a list of odds by fault, or None where faults cost nothing."""
    chains = [chain.id for chain in sorted(compiled.conversion.chains, key=lambda chain: chain.id)]

    def block(choices: Sequence[Choice], rows: Sequence[Row]) -> Ints:
        return _block(choices, rows, family.sets, family.kept, weights, len(scenarios), with_hours, chains)

    count = len(compiled.candidates)
    every_candidate = block(
        [one for held in compiled.candidates for one in held], [row for rows in compiled.rows[:count] for row in rows]
    )
    stops = np.cumsum([len(held) for held in compiled.candidates])
    unary = np.split(every_candidate, stops[:-1]) if count else []
    for place, odds in enumerate(scenarios):
        if odds is not None:
            charge_faults(compiled, family, weights, odds, unary, place * len(family.sets))
    every_link = [link for ways in compiled.links for link in ways]
    every_row = [row for rows in compiled.rows[count:] for row in rows]
    return Columns(
        scenarios=len(scenarios),
        sets=len(family.sets),
        has_hours=with_hours,
        unary=tuple(unary),
        links=block(every_link, every_row),
        start=_start(compiled, family, weights, len(scenarios), with_hours, len(chains)),
        chain_limits=_chain_limits(compiled),
        set_days=tuple(max((compiled.task_days[place] for place in places(one)), default=0) for one in family.sets),
    )


def _block(
    choices: Sequence[Choice],
    rows: Sequence[Row],
    sets: Sequence[int],
    kept: int,
    weights: Weights,
    scenarios: int,
    with_hours: bool,
    chains: Sequence[str],
) -> Ints:
    each = np.array([weights.of(row.cash, row.hours) for row in rows], dtype=np.int64)
    shut = _not_in([row.tasks & kept for row in rows], sets)
    cost = np.where(shut, IMPOSSIBLE, each[:, None])
    parts = [cost] * scenarios
    if with_hours:
        hours = np.array([row.hours for row in rows], dtype=np.int64)
        parts.append(np.where(shut, IMPOSSIBLE, hours[:, None]))
    if chains:
        shifts = np.array(
            [[one.shifts_um.get(chain, 0) for chain in chains] for one in choices],
            dtype=np.int64,
        ).reshape(len(choices), len(chains))
        parts += [shifts, -shifts]
    return np.concatenate(parts, axis=1)


def _not_in(needed: Sequence[int], sets: Sequence[int]) -> NDArray[np.bool_]:
    """By mask and set: does the mask hold a bit that the set does not? Masks may be longer than a machine word."""
    shut = np.zeros((len(needed), len(sets)), dtype=np.bool_)
    longest = max((one.bit_length() for one in needed), default=0)
    for first in range(0, longest, WORD_BITS):
        here = np.array([one >> first & WORD for one in needed], dtype=np.int64)
        there = np.array([one >> first & WORD for one in sets], dtype=np.int64)
        shut |= (here[:, None] & ~there[None, :]) != 0
    return shut


def _start(compiled: Compiled, family: Family, weights: Weights, scenarios: int, with_hours: bool, chains: int) -> Ints:
    cash, hours = [], []
    for one in family.sets:
        done = places(one)
        cash.append(sum(compiled.task_cash[place] for place in done))
        hours.append(sum(compiled.task_hours[place] for place in done))
    cost = np.array([weights.of(*both) for both in zip(cash, hours, strict=True)], dtype=np.int64)
    parts = [cost] * scenarios + ([np.array(hours, dtype=np.int64)] if with_hours else [])
    return np.concatenate([*parts, np.zeros(2 * chains, dtype=np.int64)])


def _chain_limits(compiled: Compiled) -> Ints:
    highs, lows = [], []
    for chain in sorted(compiled.conversion.chains, key=lambda chain: chain.id):
        highs.append(IMPOSSIBLE if chain.high_um is None else chain.high_um - chain.start_um)
        lows.append(IMPOSSIBLE if chain.low_um is None else chain.start_um - chain.low_um)
    return np.array(highs + lows, dtype=np.int64)


def charge_faults(
    compiled: Compiled, family: Family, weights: Weights, odds: Sequence[Fraction], unary: list[Ints], first: int
) -> None:
    """Add each worn position's share of the faults' cost to its candidates as found, in every task set."""
    sets = len(family.sets)
    money = np.array([compiled.task_money(place) for place in range(len(compiled.task_ids))], dtype=float)
    spared = np.ones((sets, len(money)))
    for position in sorted({worn.position for worn in compiled.worn}):
        share = np.zeros(sets)
        for worn, chance in zip(compiled.worn, odds, strict=True):
            if worn.position != position or not chance:
                continue
            share += float(chance) * worn.repair / weights.unit
            reach = worn.reach & family.kept
            unseen = np.array([not worn.fault.shows or bool(reach & ~one) for one in family.sets])
            for task in places(worn.reach):
                left = np.where(unseen, spared[:, task] * float(1 - chance), spared[:, task])
                share += money[task] / weights.unit * (spared[:, task] - left)
                spared[:, task] = left
        # Rounded down past any error of the floats, so that the bound stays a bound.
        whole = np.floor(share * (1 - 1e-12) - 1e-6).clip(0).astype(np.int64)
        for number, one in enumerate(compiled.candidates[position]):
            if one.as_found:
                unary[position][number, first : first + sets] += whole

"""The spread of what faults add to one route: what is not exceeded with some probability.

Every fault adds its repair; the unseen ones that fail bring the tasks of their reaches back, each once. So outcomes
are told apart by money and by the tasks that come back. Where there are few such states they are counted exactly, in
whole numbers. Where there are many, money is counted in steps, once rounded down and once rounded up: no outcome is
cheaper than the one says nor dearer than the other, so what is asked lies between the two ends, and both are given.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import gcd, lcm, prod
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from graph.search.compiled import Compiled, places
from graph.search.outlook import Odds
from graph.search.price import Ends, Pricer

ALWAYS_EXACT = 16  # so many faults have at most 2**16 states
MOST_STATES = 1 << 13  # counted exactly where there are more faults
MOST_UNIONS = 48  # sets of tasks that can come back, told apart in a table
MOST_ADDITIONS = 8_000_000  # for one end of a table
CLOSE = 1e-9  # more than the floats of a table are ever off

Floats = NDArray[np.float64]


class Chance(NamedTuple):
    """One fault that may come due: money to put it right, bits of the tasks that come back, odds."""

    money: int
    comeback: int
    odds: Fraction


InWorld = tuple[Fraction, list[Chance]]  # how likely one state of common causes is, and the faults in it


def cost_quantiles(compiled: Compiled, pricer: Pricer, found: int, done: int, levels: Sequence[Fraction]) -> list[Ends]:
    """For each level: the smallest amount that faults do not exceed with at least this probability.

    `found`: bits of the faults that are there; `done`: bits of the done tasks. What is due is certain: no part.
    """
    worlds = [(one.chance, _chances(compiled, pricer, one.odds, found, done)) for one in pricer.outlook.each_world()]
    exact = _exact_quantiles(compiled, worlds, levels)
    if exact is not None:
        return [Ends(one, one) for one in exact]
    least, most = (_table_quantiles(compiled, worlds, levels, is_upper) for is_upper in (False, True))
    return [Ends(*both) for both in zip(least, most, strict=True)]


def _chances(compiled: Compiled, pricer: Pricer, odds_by_place: Odds, found: int, done: int) -> list[Chance]:
    """In an order in which states grow late: by what comes back, then by money."""
    made = []
    for place, (worn, odds) in enumerate(zip(compiled.worn, odds_by_place, strict=True)):
        if pricer.outlook.due >> place & 1:
            continue
        if odds and found >> worn.bit & 1:
            unseen = not pricer.outlook.shown >> place & 1 or worn.reach & ~done
            made.append(Chance(worn.repair, worn.reach if unseen else 0, odds))
    return sorted(made, key=lambda one: (one.comeback, one.money))


def _exact_quantiles(compiled: Compiled, worlds: Sequence[InWorld], levels: Sequence[Fraction]) -> list[int] | None:
    """None where there are too many states."""
    wholes = [share.denominator * prod(one.odds.denominator for one in chances) for share, chances in worlds]
    common = lcm(*wholes)
    costs: list[tuple[int, int]] = []
    for (share, chances), whole in zip(worlds, wholes, strict=True):
        states = _states(chances)
        if states is None:
            return None
        times = share.numerator * (common // whole)
        again = {tasks: _price(compiled, tasks) for tasks, _ in states}
        costs += [(money + again[tasks], weight * times) for (tasks, money), weight in states.items()]
    return [_reached(sorted(costs), level * common) for level in levels]


def _states(chances: Sequence[Chance]) -> dict[tuple[int, int], int] | None:
    """Tasks that come back and money, with the probability times the odds' denominators; None where they are many."""
    most = 1 << ALWAYS_EXACT if len(chances) <= ALWAYS_EXACT else MOST_STATES
    states: dict[tuple[int, int], int] = {(0, 0): 1}  # tasks that come back, money: probability times a whole number
    for one in chances:
        fails, of = one.odds.numerator, one.odds.denominator
        grown: dict[tuple[int, int], int] = {}
        for (tasks, money), weight in states.items():
            if fails < of:
                grown[tasks, money] = grown.get((tasks, money), 0) + weight * (of - fails)
            worse = (tasks | one.comeback, money + one.money)
            grown[worse] = grown.get(worse, 0) + weight * fails
        if len(grown) > most:
            return None
        states = grown
    return states


def _reached(costs: Sequence[tuple[int, int]], wanted: Fraction) -> int:
    reached = 0
    for cost, weight in costs:
        reached += weight
        if reached * wanted.denominator >= wanted.numerator:
            return cost
    return costs[-1][0]


def _price(compiled: Compiled, tasks: int) -> int:
    return sum(compiled.task_money(place) for place in places(tasks))


def _table_quantiles(
    compiled: Compiled, worlds: Sequence[InWorld], levels: Sequence[Fraction], is_upper: bool
) -> list[int]:
    """One end of each quantile."""
    told = []
    for share, chances in worlds:
        few, unions = _told_apart(compiled, chances, is_upper)
        told.append((float(share), few, {union: _price(compiled, union) for union in unions}))
    step = max(_step(compiled, chances, again) for _, chances, again in told)
    last = _added((0, share * _table(chances, again, step, is_upper)) for share, chances, again in told)
    sums = np.cumsum(last)
    off = CLOSE if is_upper else -CLOSE
    found = np.searchsorted(sums, [float(level) + off for level in levels])
    return [min(int(one), int(np.flatnonzero(last)[-1])) * step for one in found]


def _table(chances: Sequence[Chance], again: Mapping[int, int], step: int, is_upper: bool) -> Floats:
    """The probability of each whole number of steps that faults can add. `again`: price of what can come back."""

    def steps(money: int) -> int:
        return -(-money // step) if is_upper else money // step

    tables: dict[int, Floats] = {0: np.ones(1)}
    for one in (one for one in chances if one.comeback):
        tables = _with_fault(tables, one, steps(one.money))
    last = _added((steps(again[union]), table) for union, table in tables.items())
    for one in (one for one in chances if not one.comeback):
        last = _with_fault({0: last}, one, steps(one.money))[0]
    return last


def _told_apart(compiled: Compiled, chances: Sequence[Chance], is_upper: bool) -> tuple[list[Chance], set[int]]:
    """The faults with few enough unions of what comes back, and these.

    Where there are too many, the cheapest comebacks are paid for each fault (upper end) or for none (lower end).
    """
    made = list(chances)
    while True:
        reaches = {one.comeback for one in made if one.comeback}
        unions = {0}
        for reach in reaches:
            unions |= {one | reach for one in unions}
            if len(unions) > MOST_UNIONS:
                break
        else:
            return made, unions
        cheapest = min(reaches, key=lambda reach: (_price(compiled, reach), reach))
        extra = _price(compiled, cheapest) if is_upper else 0
        made = [Chance(one.money + extra, 0, one.odds) if one.comeback == cheapest else one for one in made]


def _step(compiled: Compiled, chances: Sequence[Chance], again: dict[int, int]) -> int:
    """How much money one cell of a table stands for; nothing is rounded where it divides every amount."""
    amounts = [*(one.money for one in chances), *again.values()]
    common = gcd(*amounts) or 1
    together = sum(one.money for one in chances) + max(again.values())
    tables = sum(len(again) if one.comeback else 1 for one in chances)
    cells = max(1, MOST_ADDITIONS // tables)
    return common * -(-(together // common) // cells) or common


def _with_fault(tables: dict[int, Floats], one: Chance, shift: int) -> dict[int, Floats]:
    fails = float(one.odds)
    parts: dict[int, list[tuple[int, Floats]]] = {}
    for union, table in tables.items():
        if fails < 1:
            parts.setdefault(union, []).append((0, table * (1 - fails)))
        parts.setdefault(union | one.comeback, []).append((shift, table * fails))
    return {union: _added(some) for union, some in parts.items()}


def _added(parts: Iterable[tuple[int, Floats]]) -> Floats:
    """The sum of tables, each moved up by so many cells."""
    parts = list(parts)
    made = np.zeros(max(shift + len(table) for shift, table in parts))
    for shift, table in parts:
        made[shift : shift + len(table)] += table
    return made

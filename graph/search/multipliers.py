"""Prices on the limits: bounds that feel what chains and the deadline take away.

Plain tables let every chain and the hours run free. Here each limit gets a price per column (a Lagrange multiplier):
breaking it costs, and an allowed route, which breaks none, is never counted dearer than it is, so the bound stays
true for any prices at or above zero. Good prices are found by subgradient steps (Polyak's step length; Held, Wolfe
and Crowder 1974), column by column at once. Prices only sharpen bounds; they never decide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from graph.conversion.document import CandidateOrLink
from graph.search.budget import ENDLESS, Meter
from graph.search.cheapest import cheapest
from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.layout import Layout
from graph.search.numbers import IMPOSSIBLE, POSSIBLE_BELOW, Ints
from graph.search.tables import BoundTables, build_tables

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LimitedUse:
    """What is limited: use by choice and limit (`unary[p]`, `links`), and the limit by limit and column."""

    unary: tuple[Floats, ...]
    links: Floats
    limits: Floats


def limited_uses(compiled: Compiled, columns: Columns) -> LimitedUse:
    """Every chain's two limits, and the hours that the deadline leaves in each task set."""
    first = columns.first_chain
    bound = np.flatnonzero(columns.chain_limits < IMPOSSIBLE)
    limits = [np.tile(columns.chain_limits[bound].astype(float)[:, None], (1, columns.costs))]
    unary = [table[:, first + bound].astype(float) for table in columns.unary]
    links = columns.links[:, first + bound].astype(float)
    deadline = compiled.conversion.deadline
    if deadline is not None:
        per_day = compiled.conversion.day_hours * 100
        left = [float((deadline - Fraction(days, compiled.day_scale)) * per_day) for days in columns.set_days]
        hours = columns.start[columns.costs : columns.costs + columns.sets]
        limits.append(np.tile(np.array(left) - hours, columns.scenarios)[None, :])
        unary = [_with_hours(part, held) for part, held in zip(unary, compiled.candidates, strict=True)]
        links = _with_hours(links, [link for ways in compiled.links for link in ways])
    return LimitedUse(tuple(unary), links, np.concatenate(limits))


def _with_hours(uses: Floats, choices: Sequence[CandidateOrLink]) -> Floats:
    hours = np.array([float(one.hours_hundredths) for one in choices])
    return np.concatenate([uses, hours[:, None]], axis=1)


def priced(columns: Columns, limited: LimitedUse, prices: Floats) -> Columns:
    """The columns with every use of a limit charged at its price, and the limits themselves given back."""
    costs = columns.costs

    def charge(table: Ints, uses: Floats) -> Ints:
        made = table.copy()
        made[:, :costs] += np.floor(uses @ prices - 1e-6).astype(np.int64)
        return made

    start = columns.start.copy()
    start[:costs] -= np.ceil((prices * limited.limits).sum(axis=0) + 1e-6).astype(np.int64)
    return replace(
        columns,
        unary=tuple(charge(table, uses) for table, uses in zip(columns.unary, limited.unary, strict=True)),
        links=charge(columns.links, limited.links),
        start=start,
    )


def no_prices(limited: LimitedUse) -> Floats:
    """Every limit for nothing."""
    return np.zeros_like(limited.limits)


def sharpen(
    compiled: Compiled,
    layout: Layout,
    columns: Columns,
    tables: BoundTables,
    ceilings: Ints,
    limited: LimitedUse,
    steps: int,
    known: Floats,
    meter: Meter = ENDLESS,
) -> tuple[Columns, BoundTables, Floats]:
    """Columns and tables with good prices, after at most `steps` rounds, and these prices. `known`: to start from.

    Raises BudgetSpent.
    """
    costs = columns.costs
    prices = known.copy()
    best_prices, best_bounds = np.zeros_like(prices), tables.root[:costs].astype(float)
    ceiling = np.repeat(ceilings.astype(float), columns.sets)
    pace = np.ones(costs)
    now_columns, now_tables, stalled = columns, tables, np.zeros(costs)
    if prices.any():
        now_columns = priced(columns, limited, prices)
        now_tables = build_tables(compiled, layout, now_columns, meter)
    for _ in range(steps):
        bounds = now_tables.root[:costs].astype(float)
        better = bounds > best_bounds
        best_prices[:, better], best_bounds[better] = prices[:, better], bounds[better]
        stalled = np.where(better, 0, stalled + 1)
        pace = np.where(stalled >= 3, pace / 2, pace)
        stalled = np.where(stalled >= 3, 0, stalled)
        open_ = (best_bounds <= ceiling) & (best_bounds < POSSIBLE_BELOW)
        if not open_.any() or pace[open_].max() < 0.01:
            break
        over = _uses(compiled, layout, now_columns, now_tables, limited) - limited.limits
        over[(over < 0) & (prices <= 0)] = 0
        length = (over**2).sum(axis=0)
        target = np.where(ceiling < POSSIBLE_BELOW, ceiling * 1.02, best_bounds * 1.2 + 1)
        step = np.where(length > 0, pace * np.maximum(target - bounds, 0) / np.maximum(length, 1e-9), 0)
        step[~open_] = 0
        prices = np.maximum(0, prices + step * over)
        now_columns = priced(columns, limited, prices)
        now_tables = build_tables(compiled, layout, now_columns, meter)
    made = priced(columns, limited, best_prices)
    return made, build_tables(compiled, layout, made, meter), best_prices


def _uses(compiled: Compiled, layout: Layout, columns: Columns, tables: BoundTables, limited: LimitedUse) -> Floats:
    """What each column's cheapest assembly uses of every limit."""
    candidates, links = cheapest(compiled, layout, tables, columns.costs)
    used = np.zeros_like(limited.limits)
    for position, chosen in enumerate(candidates):
        used += limited.unary[position][chosen].T
    for chosen in links:
        used += limited.links[chosen].T
    return used

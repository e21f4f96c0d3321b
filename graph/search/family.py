"""The sets of tasks that a route can end up doing.

Every allowed route does a union of closed task sets of choices and of fault reaches. Their number is small
where jobs open along a tree, as they do; where it is not, some tasks are left out of the family (`dropped`)
and the bounds count them as free, which keeps every bound true.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from graph.search.budget import ENDLESS, Meter
from graph.search.compiled import Compiled

MOST_SETS = 1024


def most_columns(compiled: Compiled, most: int, meter: Meter) -> int:
    """How many columns may stand beside each other: what all choices and pairs cost in them must fit the memory."""
    pairs = sum(len(compiled.candidates[one]) * len(compiled.candidates[other]) for one, other in compiled.ends)
    return max(1, min(most, meter.sizes.costs // max(1, pairs + sum(map(len, compiled.rows)))))


@dataclass(frozen=True, slots=True)
class Family:
    """The distinct task sets, fewest tasks first; `kept`: bits of the tasks told apart in them."""

    sets: tuple[int, ...]
    kept: int


def task_family(compiled: Compiled, looks: Iterable[int], meter: Meter = ENDLESS, most: int = MOST_SETS) -> Family:
    """The family of a compiled conversion; `looks`: reaches of faults that may be laid open on purpose.

    Where there are too many sets, as few tasks as possible are left out, the cheapest first. Raises BudgetSpent.
    """
    most = most_columns(compiled, most, meter)
    masks = {row.tasks for rows in compiled.rows for row in rows} | set(looks)
    by_money = sorted(range(len(compiled.task_ids)), key=compiled.task_money)

    def without(cheapest: int) -> Family | None:
        meter.check()
        kept = sum(1 << place for place in by_money[cheapest:])
        sets = _unions(compiled.always & kept, {mask & kept for mask in masks}, most)
        return None if sets is None else Family(tuple(sorted(sets, key=lambda one: (one.bit_count(), one))), kept)

    found = without(0)
    if found is not None:
        return found
    few, many = 0, len(by_money)  # leaving out `few` is not enough, `many` is: then only one set is left
    while many - few > 1:
        half = (few + many) // 2
        few, many = (few, half) if without(half) else (half, many)
    made = without(many)
    assert made is not None
    return made


def _unions(always: int, masks: set[int], most: int) -> set[int] | None:
    sets = {always}
    if len({always | mask for mask in masks}) > most:
        return None
    for mask in masks:
        sets |= {one | mask for one in sets}
        if len(sets) > most:
            return None
    return sets

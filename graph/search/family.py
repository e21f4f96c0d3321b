"""The sets of tasks that a route can end up doing.

Every allowed route does a union of closed task sets of choices and of fault reaches. Their number is small
where jobs open along a tree, as they do; where it is not, some tasks are left out of the family (`dropped`)
and the bounds count them as free, which keeps every bound true.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from graph.search.compiled import Compiled

MOST_SETS = 1024
MOST_COSTS = 1 << 23  # costs by choice and column at once: 64 MiB


def most_columns(compiled: Compiled, most: int) -> int:
    """How many columns may stand beside each other: the costs of all choices and pairs in them must fit MOST_COSTS."""
    pairs = sum(len(compiled.candidates[one]) * len(compiled.candidates[other]) for one, other in compiled.ends)
    return max(1, min(most, MOST_COSTS // max(1, pairs + sum(map(len, compiled.rows)))))


@dataclass(frozen=True, slots=True)
class Family:
    """The distinct task sets, fewest tasks first; `kept`: bits of the tasks told apart in them."""

    sets: tuple[int, ...]
    kept: int


def task_family(compiled: Compiled, looks: Iterable[int], most: int = MOST_SETS) -> Family:
    """The family of a compiled conversion; `looks`: reaches of faults that may be laid open on purpose."""
    always, most = compiled.always, most_columns(compiled, most)
    masks = {row.tasks for rows in compiled.rows for row in rows}
    masks |= set(looks)
    kept = (1 << len(compiled.task_ids)) - 1
    by_money = sorted(range(len(compiled.task_ids)), key=compiled.task_money)
    while True:
        sets = _unions(always & kept, {mask & kept for mask in masks}, most)
        if sets is not None:
            return Family(tuple(sorted(sets, key=lambda one: (one.bit_count(), one))), kept)
        kept &= ~(1 << by_money.pop(0))


def _unions(always: int, masks: set[int], most: int) -> set[int] | None:
    sets = {always}
    for mask in masks:
        sets |= {one | mask for one in sets}
        if len(sets) > most:
            return None
    return sets

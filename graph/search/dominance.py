"""Partial routes that can be forgotten: another one ends in the same state and is better in every way.

Two partial routes are in the same state when the same variables are decided, the positions that later choices
still look at hold the same candidates, every chain stands at the same sum, rules and features stand alike, and the
same faults are there. Whatever completes the one then completes the other. If the other is strictly earlier in the
stated order so far, needs no task, hour or day more, its completion is strictly better, so the one is not needed.
To keep the best `count` routes, `count` such others are asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from graph.search.columns import Weights
from graph.search.compiled import Compiled

Sums = tuple[int, int, int, int]  # objective, total, irreversible links, picks not as found: in the stated order


class Prefix(NamedTuple):
    """What a partial route has run up so far."""

    sums: Sums = (0, 0, 0, 0)
    hours: int = 0
    tasks: int = 0
    found: int = 0
    days: int = 0


class Prefixes:
    """Adds up partial routes, option by option."""

    def __init__(self, compiled: Compiled, weights: Weights, shut: Sequence[Sequence[int]] | None = None):
        """`shut`: by variable and option, bits of the questions that picking it is no answer to.

        They go along as further tasks: what is better in every way must be an answer wherever the other is.
        """
        tasks = len(compiled.task_ids)
        worn = sum(1 << bit for bit in {one.bit for one in compiled.worn})
        self._each = [
            [
                Prefix(
                    (
                        row.cash * weights.cash + row.hours * weights.hours,
                        compiled.money(row.cash, row.hours),
                        row.irreversible,
                        row.changed,
                    ),
                    row.hours,
                    row.tasks | (shut[variable][option] << tasks if shut else 0),
                    row.found & worn,
                    row.days,
                )
                for option, row in enumerate(rows)
            ]
            for variable, rows in enumerate(compiled.rows)
        ]

    def extended(self, prefix: Prefix, variable: int, option: int) -> Prefix:
        """The prefix with one more choice."""
        one = self._each[variable][option]
        a, b = prefix.sums, one.sums
        return Prefix(
            (a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]),
            prefix.hours + one.hours,
            prefix.tasks | one.tasks,
            prefix.found | one.found,
            max(prefix.days, one.days),
        )


class Remembered:
    """The partial routes seen, by state; one is needless when `count` others are better in every way.

    No more than `most` are kept; what is not kept makes nothing needless.
    """

    def __init__(self, count: int, deadline: bool, most: int):
        self.count, self.deadline, self.most = count, deadline, most
        self._seen: dict[tuple[object, ...], list[Prefix]] = {}
        self._kept = 0

    def is_needless(self, state: tuple[object, ...], prefix: Prefix) -> bool:
        """Is this partial route needless? If not, it is remembered."""
        seen = self._seen.get(state)
        if seen is None:
            if self._kept < self.most:
                self._kept += 1
                self._seen[state] = [prefix]
            return False
        better = 0
        for one in seen:
            if self._is_better(one, prefix):
                better += 1
                if better == self.count:
                    return True
        if self._kept < self.most:
            self._kept += 1
            seen.append(prefix)
        return False

    def _is_better(self, one: Prefix, other: Prefix) -> bool:
        return (
            one.sums < other.sums
            and not one.tasks & ~other.tasks
            and (not self.deadline or (one.hours <= other.hours and one.days <= other.days))
        )


class MatchedOrBeaten(Remembered):
    """The same for a front: one other that is as good in cash, hours, tasks and days is enough."""

    def __init__(self, most: int) -> None:
        super().__init__(count=1, deadline=True, most=most)

    def _is_better(self, one: Prefix, other: Prefix) -> bool:
        return (
            one.sums[0] <= other.sums[0]
            and one.hours <= other.hours
            and not one.tasks & ~other.tasks
            and one.days <= other.days
        )


def frontiers(order: Sequence[int], ends: Sequence[tuple[int, int]], positions: int) -> list[tuple[int, ...]]:
    """Per depth: the decided positions that a later variable still looks at.

    `order`: variables as they are decided, positions before the joints at them.
    """
    made = []
    decided: set[int] = set()
    later_depth = {variable: depth for depth, variable in enumerate(order)}
    last_use = {
        position: max(
            (
                max(later_depth[other], later_depth[positions + joint])
                for joint, both in enumerate(ends)
                if position in both
                for other in both
            ),
            default=-1,
        )
        for position in range(positions)
    }
    for depth, variable in enumerate(order):
        if variable < positions:
            decided.add(variable)
        made.append(tuple(sorted(one for one in decided if last_use[one] > depth)))
    return made

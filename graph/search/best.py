"""The best routes found so far, in the stated order, and the ceiling above which nothing matters.

Order: the objective; then the lower total, fewer irreversible links, fewer picks that are not as found, fewer done
tasks, and the first in order of the sorted ids. For one assembly only its best set of tasks counts.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.search.compiled import Compiled, places
from graph.search.price import PickedOptions, Pricer

Numbers = tuple[int, int, int, int, int]
Names = tuple[tuple[str, ...], tuple[str, ...]]


@dataclass(frozen=True, slots=True, order=True)
class FoundRoute:
    """An allowed route: its place in the order (numbers, then ids), what it is, what is done."""

    numbers: Numbers
    names: Names
    assembly: PickedOptions
    done: int


class Best:
    """Keeps the best `count` routes for one objective in one outlook."""

    def __init__(self, compiled: Compiled, objective: str, pricer: Pricer, count: int):
        self.compiled, self.objective, self.pricer, self.count = compiled, objective, pricer, count
        self.found: list[FoundRoute] = []

    def offer(self, assembly: PickedOptions) -> bool:
        """Keep the assembly with its best allowed set of tasks, if it is among the best; whether it was kept."""
        ranked = self.rank(assembly)
        return ranked is not None and self.keep(assembly, *ranked)

    def rank(self, assembly: PickedOptions) -> tuple[Numbers, int] | None:
        """The assembly's numbers with its best allowed set of tasks, and that set; None where none is allowed."""
        choices = [
            (numbers, done) for done in self._sets(assembly) if (numbers := self._numbers(assembly, done)) is not None
        ]
        if not choices:
            return None
        if len(choices) == 1:
            return choices[0]
        return min(choices, key=lambda one: (one[0], self._task_names(one[1])))

    def keep(self, assembly: PickedOptions, numbers: Numbers, done: int) -> bool:
        """Keep what was ranked so, if it is among the best; whether it was kept."""
        if len(self.found) == self.count and numbers > self.found[-1].numbers:
            return False
        if any(one.assembly.options == assembly.options for one in self.found):
            return False  # met again in a second search
        one = FoundRoute(numbers, (choice_names(self.compiled, assembly), self._task_names(done)), assembly, done)
        insort(self.found, one)
        del self.found[self.count :]
        return any(kept is one for kept in self.found)

    def ceiling(self) -> int | None:
        """The worst kept objective, rounded down to its whole unit; None while there is room."""
        if len(self.found) < self.count:
            return None
        worst = self.found[-1].numbers[0]
        return worst // self.pricer.scale if self.objective == "expected" else worst

    def _sets(self, assembly: PickedOptions) -> Sequence[int]:
        required = assembly.required | self.pricer.due(assembly.found).tasks
        if self.objective == "expected":
            return self.pricer.looks(assembly.found, required)
        return (required,)

    def _numbers(self, assembly: PickedOptions, done: int) -> Numbers | None:
        compiled = self.compiled
        cash, hours = self.pricer.sums(assembly, done)
        deadline = compiled.conversion.deadline
        if deadline is not None and days_of(compiled, assembly, done, hours) > deadline:
            return None
        total = compiled.money(cash, hours)
        if self.objective == "expected":
            first = total * self.pricer.scale + self.pricer.faults_money(assembly.found, done)
        else:
            first = {"total": total, "cash": cash, "hours": hours}[self.objective]
        return first, total, assembly.irreversible, assembly.changed, done.bit_count()

    def _task_names(self, done: int) -> tuple[str, ...]:
        return tuple(self.compiled.task_ids[place] for place in places(done))


def days_of(compiled: Compiled, assembly: PickedOptions, done: int, hours_hundredths: int) -> Fraction:
    """Days from start to end: the longest wait, and all bench hours after one another."""
    waiting = max([assembly.days, *(compiled.task_days[place] for place in places(done))])
    return Fraction(waiting, compiled.day_scale) + Fraction(hours_hundredths, 100) / compiled.conversion.day_hours


def choice_names(compiled: Compiled, assembly: PickedOptions) -> tuple[str, ...]:
    """The ids of all picked candidates and links, sorted."""
    count = len(compiled.position_ids)
    names = [compiled.candidates[place][option].id for place, option in enumerate(assembly.options[:count])]
    names += [compiled.links[place][option].id for place, option in enumerate(assembly.options[count:])]
    return tuple(sorted(names))

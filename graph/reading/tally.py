"""Adds up what a choice costs, needs, offers, moves and rests on, over the parts and edges it is made of."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from graph.catalogue.model import SHIFTS, Condition, Edge, Part
from graph.reading.conditions import FAILS, TO_CONFIRM, Settled
from graph.reading.sieve import Sieve
from graph.reading.untold import fitting_hours, lacking_of_edge, lacking_of_part

IN_HAND = Fraction(0)


@dataclass(slots=True)
class Tally:
    """The sums of one candidate or link. Ordered sets are dicts without values."""

    sieve: Sieve
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    days: Fraction = IN_HAND
    irreversible: bool = False
    level: str | None = None
    tasks: dict[str, None] = field(default_factory=dict)
    features: dict[str, None] = field(default_factory=dict)
    shifts_um: dict[str, int] = field(default_factory=dict)
    shifts: list[Edge] = field(default_factory=list)
    facts: dict[str, None] = field(default_factory=dict)
    operations: dict[str, None] = field(default_factory=dict)
    to_confirm: dict[str, None] = field(default_factory=dict)
    settled: dict[Settled, None] = field(default_factory=dict)
    untold: dict[str, None] = field(default_factory=dict)  # hours and prices that nobody has stated, in words
    general: dict[str, None] = field(default_factory=dict)  # hours that a family or kind states in their place

    def add_part(self, part: Part, at_hand: bool = False) -> None:
        """A part that is bought, taken from the shelf or brought along, with fitting it.

        `at_hand`: it comes with one of the units, so it costs nothing to get.
        """
        came_with_a_unit, at_hand = at_hand, at_hand or part.id in self.sieve.own
        if not at_hand:
            self.cash_hundredths += part.cash_hundredths or 0
            if not part.in_stock:
                self.days = max(self.days, part.days)
        self._add_fitting(part, came_with_a_unit)
        self.need_tasks(part.tasks)
        self.add_standing(part)

    def _add_fitting(self, part: Part, came_with_a_unit: bool) -> None:
        hours, whose = fitting_hours(self.sieve.index, part)
        self.hours_hundredths += hours or 0
        if hours is None and not came_with_a_unit:
            self.lack(lacking_of_part(part))
        if whose:
            self.general[f"hours {whose}"] = None

    def lack(self, *what: str) -> None:
        """Hours or a price of the choice that nobody has stated."""
        self.untold.update(dict.fromkeys(what))

    def add_standing(self, part: Part) -> None:
        """What holds of a part even where it stays in its place: side effects, conditions, notes."""
        self._add_doubts(part.conditions, part.to_confirm)
        if part.note:
            self.facts[part.note] = None
        self._add_side_effects(part.id)

    def add_edge(self, edge: Edge, floored: bool = True) -> None:
        """A statement that the choice rests on, with its work and side effects."""
        self.cash_hundredths += edge.cash_hundredths or 0
        self.hours_hundredths += edge.hours_hundredths or 0
        self.lack(*lacking_of_edge(edge, self.sieve.say(edge)))
        self.days = max(self.days, edge.days)
        self.irreversible |= edge.irreversible
        self.need_tasks(edge.tasks)
        self.operations.update(dict.fromkeys(edge.operations))
        self._add_doubts(edge.conditions, edge.to_confirm)
        if edge.note:
            self.facts[edge.note] = None
        self._weaken(self.sieve.level(edge))
        if not floored and self.sieve.below_floor(self.sieve.level(edge)):
            known_as = self.sieve.level_label(self.sieve.level(edge))
            self.confirm(f"that it is {self.sieve.label(edge.target)}: known only as {known_as}")
        self._add_side_effects(edge.id)

    def need_tasks(self, tasks: Iterable[str]) -> None:
        """Work that must be done for the choice."""
        self.tasks.update(dict.fromkeys(tasks))

    def confirm(self, *texts: str) -> None:
        """Something to make sure of before money is spent."""
        self.to_confirm.update(dict.fromkeys(texts))

    def fields(self) -> dict[str, Any]:
        """The fields that candidates and links share."""
        return {
            "cash_hundredths": self.cash_hundredths, "hours_hundredths": self.hours_hundredths, "days": self.days,
            "tasks": tuple(self.tasks), "features": tuple(self.features), "shifts_um": dict(self.shifts_um),
            "facts": tuple(self.facts), "conditions": tuple(dict.fromkeys(one.text for one in self.settled)),
            "to_confirm": tuple(self.to_confirm),
        }  # fmt: skip

    def _weaken(self, level: str) -> None:
        if self.level is None or self.sieve.rank(level) > self.sieve.rank(self.level):
            self.level = level

    def _add_doubts(self, conditions: tuple[Condition, ...], to_confirm: tuple[str, ...]) -> None:
        for one in self.sieve.settle(conditions):
            self.settled[one] = None
            if one.state == TO_CONFIRM:
                self.confirm(one.text)
        self.confirm(*to_confirm)

    def _add_side_effects(self, source: str) -> None:
        for edge in self.sieve.index.side_effects(source):
            settled = self.sieve.settle(edge.conditions)
            if any(one.state == FAILS for one in settled):
                continue
            if edge.kind == SHIFTS:
                self.shifts_um[edge.target] = self.shifts_um.get(edge.target, 0) + edge.shift_um
                self.shifts.append(edge)
            elif self.sieve.below_floor(self.sieve.level(edge)):
                continue
            else:
                self.features[edge.target] = None
            self._add_doubts(edge.conditions, edge.to_confirm)
            if edge.note:
                self.facts[edge.note] = None

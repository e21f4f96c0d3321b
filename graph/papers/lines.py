"""A route's steps as priced lines that add up, to the hundredth, to the total that is printed under them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.costing.prices import half_up
from graph.errors import InvalidInput, Problem

UNNAMED, NOT_NAMED = "as found, not named", "not named when it was planned"
ABSENT, NOT_KNOWN = "no ", ", not known"  # how a place that is taken for empty is called, and one that holds something
TO_SUIT = " to suit"
ORDER, NOT_PRICED = "Order ", " (not priced"


@dataclass(frozen=True, slots=True)
class PartToCome:
    """A part that the route must have and nobody has named: ordered by what it has to suit. `cash_hundredths`: None
    where it has no price."""

    label: str
    cash_hundredths: int | None


def parts_to_come(route: AnsweredRoute) -> list[PartToCome]:
    """Those that the steps order, in their order; they are none of the route's parts, since nobody knows which."""
    return [
        PartToCome(step.text.removeprefix(ORDER).partition(NOT_PRICED)[0], step.cash_hundredths or None)
        for step in route.steps
        if step.order and step.source_kind == "doubt"
    ]


@dataclass(frozen=True, slots=True)
class UnnamedPart:
    """What nobody has named at a place of the finished assembly, and what is taken to be there."""

    place: str
    label: str


def unnamed_parts(route: AnsweredRoute) -> list[UnnamedPart]:
    """What stays at its place as found though nobody has named it, the places that are taken to hold nothing, and what
    is still to be had by what it has to suit; each once, in the route's order."""
    there = [
        UnnamedPart(
            place.at.label,
            pick.label if pick.label.startswith(ABSENT) else f"{UNNAMED}: {pick.label.removesuffix(NOT_KNOWN)}",
        )
        for line in route.assumptions
        for place in line.places
        for pick in line.picks
        if pick.id == route.picks.get(place.at.id)
    ]
    to_come = [
        UnnamedPart(part.label.removesuffix(TO_SUIT), f"{part.label}; {NOT_NAMED}") for part in parts_to_come(route)
    ]
    return list(dict.fromkeys((*there, *to_come)))


@dataclass(frozen=True, slots=True)
class PricedLine:
    """One step with its labour and its cash, in whole hundredths of the currency unit."""

    step: Step
    labour_hundredths: int
    cash_hundredths: int

    @property
    def amount_hundredths(self) -> int:
        """Labour and cash together."""
        return self.labour_hundredths + self.cash_hundredths


def priced_lines(route: AnsweredRoute, rate_hundredths: int) -> list[PricedLine]:
    """Every step with what it costs. Raises InvalidInput if the steps do not add up to the route's total.

    Labour is rounded so that the rounded lines sum to the rounded whole: each line takes the difference of the
    rounded running sums.
    """
    labour = rounded_to_sum([Fraction(step.hours_hundredths * rate_hundredths, 10_000) for step in route.steps])
    lines = [PricedLine(step, amount, step.cash_hundredths) for step, amount in zip(route.steps, labour, strict=True)]
    total = half_up(route.total * 100)
    if sum(line.amount_hundredths for line in lines) != total:
        found = sum(line.amount_hundredths for line in lines)
        raise InvalidInput([Problem("steps", f"the lines add up to {found} hundredths, the route to {total}")])
    return lines


def rounded_to_sum(amounts: Sequence[Fraction]) -> list[int]:
    """Whole hundredths for each amount, summing to the rounded sum of all.

    >>> rounded_to_sum([Fraction(1, 3), Fraction(1, 3), Fraction(1, 3)])
    [33, 34, 33]
    """
    rounded, running, before = [], Fraction(0), 0
    for amount in amounts:
        running += amount
        now = half_up(running * 100)
        rounded.append(now - before)
        before = now
    return rounded

"""Costs as straight lines in one number: a fault's odds, the bench rate, or a part's price."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from graph.search.best import FoundRoute
from graph.search.compiled import Compiled
from graph.search.outlook import Outlook
from graph.search.price import Pricer
from graph.search.result import Route


@dataclass(frozen=True, slots=True)
class CostLine:
    """cost = base + slope * number, in money."""

    base: Fraction
    slope: Fraction

    def at(self, number: Fraction) -> Fraction:
        return self.base + self.slope * number


def crossing(one: CostLine, other: CostLine) -> Fraction | None:
    """Where two lines meet; None if they run side by side.

    >>> crossing(CostLine(Fraction(581), Fraction(752)), CostLine(Fraction(870), Fraction(72)))
    Fraction(17, 40)
    """
    if one.slope == other.slope:
        return None
    return (other.base - one.base) / (one.slope - other.slope)


def line_in_odds(compiled: Compiled, outlook: Outlook, fault: int, found: FoundRoute) -> CostLine:
    """What a found route is expected to cost, as a line in the odds of one fault that is not due."""
    left_to_chance = outlook.not_due(fault)
    ends = []
    for state in (Fraction(0), Fraction(1)):
        pricer = Pricer(compiled, left_to_chance.with_odds(fault, state))
        total = compiled.money(*pricer.sums(found.assembly, found.done))
        faults = Fraction(pricer.faults_money(found.assembly.found, found.done), pricer.scale)
        ends.append((total + faults) / compiled.money_scale)
    return CostLine(ends[0], ends[1] - ends[0])


def nearest_change(
    now: CostLine, end: Fraction, best_at: Callable[[Fraction], tuple[CostLine, Route]]
) -> tuple[Fraction, Route] | None:
    """Going towards `end`: the first value where a line falls below `now`, and the route whose line it is.

    The lowest cost is concave in the number, so where the best line at some value meets `now`, nothing beyond
    that meeting is nearer; asking again there comes to the first change in a few steps.
    """
    reached, found = end, None
    while True:
        line, route = best_at(reached)
        meeting = crossing(now, line)
        if line.at(reached) >= now.at(reached) or meeting is None:
            return found
        found, reached = (meeting, route), meeting

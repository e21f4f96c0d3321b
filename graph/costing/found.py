"""What may be found on strip: each likely fault with its odds, its price now, and its price if it is left for later.

Now: putting it right, and opening what the route does not open anyway. Later: putting it right, and every task of its
reach done once more. Source of the rule: the cost of a route (a task is paid once per visit).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.conversion.causes import states_given
from graph.conversion.document import Conversion
from graph.costing.spread import FaultCost, fault_costs, in_state, task_costs
from graph.costing.while_open import break_even_odds


@dataclass(frozen=True, slots=True)
class FoundOption:
    """Money in currency units. `opened`: the route lays it open anyway.

    `break_even`: the odds above which opening it now is cheaper in expectation, all other odds as stated: what is
    `weighed_now` over what is `weighed_later`; above 1 where no odds would do. Where wear shows once it is open, the
    repair is paid only if it is worn, now as later, so only the openings weigh. Of each opening that is taken off which
    other faults may call for anyway, and from now what opening it lets one see of others: the route's own expected
    cost with it opened and without (ROUTES: the comeback), so it is the answer's own figure.
    """

    fault: str
    label: str
    odds: Fraction
    now: Fraction
    later: Fraction
    break_even: Fraction
    opened: bool
    weighed_now: Fraction | None = None
    weighed_later: Fraction | None = None


def found_options(
    conversion: Conversion, picks: Mapping[str, str], tasks: Iterable[str], links: Iterable[str] = ()
) -> list[FoundOption]:
    """Every fault that the route can still meet, likeliest first. `links`: those picked, by id."""
    done, cost = set(tasks), task_costs(conversion)
    stated = {fault.id: fault for fault in conversion.faults}
    options = []
    faults = fault_costs(conversion, picks, done, links)
    for fault in faults:
        opening = sum((cost[task] for task in fault.reach if task not in done), Fraction(0))
        again = sum((cost[task] for task in fault.reach), Fraction(0))
        now, later = fault.repair + opening, fault.repair + again
        known = stated[fault.id]
        opened = set(fault.reach) <= done
        others = [other for other in faults if other.id != fault.id]
        weighed, against = opening, Fraction(0)
        for state in states_given(conversion.causes, {one.id: one.odds for one in faults}, fault.id):
            here = in_state(others, state)
            still = [_seen_with(other, stated[other.id].shows, done | set(fault.reach)) for other in here]
            weighed += state.chance * (_comeback(still, cost) - _comeback(here, cost))
            against += state.chance * sum((cost[task] * _none_fails(here, task) for task in fault.reach), Fraction(0))
        if not known.shows:
            weighed, against = weighed + fault.repair, against + fault.repair
        edge = break_even_odds(max(weighed, Fraction(0)), against)
        options.append(
            FoundOption(fault.id, known.label or fault.id, fault.odds, now, later, edge, opened, weighed, against)
        )
    return sorted(options, key=lambda option: (-option.odds, option.fault))


def _seen_with(fault: FaultCost, shows: bool, done: set[str]) -> FaultCost:
    return replace(fault, seen=fault.seen or (shows and set(fault.reach) <= done))


def _none_fails(faults: Iterable[FaultCost], task: str) -> Fraction:
    """The chance that no unseen fault calls for the task."""
    left = Fraction(1)
    for fault in faults:
        if not fault.seen and task in fault.reach:
            left *= 1 - fault.odds
    return left


def _comeback(faults: Sequence[FaultCost], cost: Mapping[str, Fraction]) -> Fraction:
    """What the openings of a comeback are expected to cost, each paid once."""
    tasks = {task for fault in faults if not fault.seen for task in fault.reach}
    return sum((cost[task] * (1 - _none_fails(faults, task)) for task in tasks), Fraction(0))

"""What may be found on strip: each likely fault with its odds, its price now, and its price if it is left for later.

Now: putting it right, and opening what the route does not open anyway. Later: putting it right, and every task of its
reach done once more. Source of the rule: the cost of a route (a task is paid once per visit).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from graph.conversion.document import Conversion
from graph.costing.spread import fault_costs, task_costs
from graph.costing.while_open import break_even_odds


@dataclass(frozen=True, slots=True)
class FoundOption:
    """Money in currency units. `opened`: the route lays it open anyway.

    `break_even`: the odds above which opening it now is cheaper in expectation. Where wear shows once it is open, the
    repair is paid only if it is worn, now as later, so only the openings weigh: opening now against opening again.
    """

    fault: str
    label: str
    odds: Fraction
    now: Fraction
    later: Fraction
    break_even: Fraction
    opened: bool


def found_options(
    conversion: Conversion, picks: Mapping[str, str], tasks: Iterable[str], links: Iterable[str] = ()
) -> list[FoundOption]:
    """Every fault that the route can still meet, likeliest first. `links`: those picked, by id."""
    done, cost = set(tasks), task_costs(conversion)
    stated = {fault.id: fault for fault in conversion.faults}
    options = []
    for fault in fault_costs(conversion, picks, done, links):
        opening = sum((cost[task] for task in fault.reach if task not in done), Fraction(0))
        again = sum((cost[task] for task in fault.reach), Fraction(0))
        now, later = fault.repair + opening, fault.repair + again
        known = stated[fault.id]
        edge = break_even_odds(opening, again) if known.shows else break_even_odds(now, later)
        opened = set(fault.reach) <= done
        options.append(FoundOption(fault.id, known.label or fault.id, fault.odds, now, later, edge, opened))
    return sorted(options, key=lambda option: (-option.odds, option.fault))

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
    """Money in currency units. `opened`: the route lays it open anyway."""

    fault: str
    label: str
    odds: Fraction
    now: Fraction
    later: Fraction
    break_even: Fraction
    opened: bool


def found_options(conversion: Conversion, picks: Mapping[str, str], tasks: Iterable[str]) -> list[FoundOption]:
    """Every fault that the route can still meet, likeliest first."""
    done, cost = set(tasks), task_costs(conversion)
    labels = {fault.id: fault.label for fault in conversion.faults}
    options = []
    for fault in fault_costs(conversion, picks, done):
        now = fault.repair + sum((cost[task] for task in fault.reach if task not in done), Fraction(0))
        later = fault.repair + sum((cost[task] for task in fault.reach), Fraction(0))
        opened = set(fault.reach) <= done
        options.append(
            FoundOption(
                fault.id, labels[fault.id] or fault.id, fault.odds, now, later, break_even_odds(now, later), opened
            )
        )
    return sorted(options, key=lambda option: (-option.odds, option.fault))

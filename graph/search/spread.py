"""The distribution of what faults add to one route, exact over all outcomes.

Built fault by fault over states (which tasks come back, repair money so far), so that outcomes that cost
the same are counted together.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from graph.search.compiled import Compiled, places
from graph.search.price import Pricer


def cost_distribution(compiled: Compiled, pricer: Pricer, found: int, done: int) -> list[tuple[int, Fraction]]:
    """(what faults add in `money_scale` parts, probability), cheapest first.

    `found`: bits of the faults that are there; `done`: bits of the done tasks. What is due is certain: no part.
    """
    states: dict[tuple[int, int], Fraction] = {(0, 0): Fraction(1)}
    for place, (worn, chance) in enumerate(zip(compiled.worn, pricer.odds, strict=True)):
        if not chance or not found >> worn.bit & 1:
            continue
        unseen = not pricer.outlook.shown >> place & 1 or worn.reach & ~done
        comeback = worn.reach if unseen else 0
        grown: dict[tuple[int, int], Fraction] = {}
        for (tasks, money), probability in states.items():
            grown[tasks, money] = grown.get((tasks, money), Fraction(0)) + probability * (1 - chance)
            worse = (tasks | comeback, money + worn.repair)
            grown[worse] = grown.get(worse, Fraction(0)) + probability * chance
        states = grown
    costs: dict[int, Fraction] = {}
    for (tasks, money), probability in states.items():
        cost = money + sum(compiled.task_money(place) for place in places(tasks))
        costs[cost] = costs.get(cost, Fraction(0)) + probability
    return sorted(costs.items())


def cost_quantile(distribution: Sequence[tuple[int, Fraction]], probability: Fraction) -> int:
    """The smallest cost that is not exceeded with at least this probability."""
    reached = Fraction(0)
    for cost, share in distribution:
        reached += share
        if reached >= probability:
            return cost
    return distribution[-1][0]

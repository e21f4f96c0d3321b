"""From an assembly to a Route: names, sums, days, chains and the spread of the cost."""

from __future__ import annotations

from fractions import Fraction

from graph.search.best import days_of
from graph.search.compiled import Compiled, places
from graph.search.price import Assembly, Pricer
from graph.search.result import Route
from graph.search.spread import cost_distribution, cost_quantile


def describe(compiled: Compiled, pricer: Pricer, assembly: Assembly, done: int) -> Route:
    """The route that does this assembly with these tasks, priced with the pricer's odds."""
    count = len(compiled.position_ids)
    tasks = places(done)
    cash = assembly.cash + sum(compiled.task_cash[place] for place in tasks)
    hours = assembly.hours + sum(compiled.task_hours[place] for place in tasks)
    total = compiled.money(cash, hours)
    faults = pricer.faults_money(assembly.found, done)
    spread = cost_distribution(compiled, pricer.odds, assembly.found, done)
    return Route(
        picks={
            name: compiled.candidates[place][assembly.options[place]].id
            for place, name in enumerate(compiled.position_ids)
        },
        links={
            name: compiled.links[place][assembly.options[count + place]].id
            for place, name in enumerate(compiled.joint_ids)
        },
        tasks=tuple(compiled.task_ids[place] for place in tasks),
        cash_hundredths=cash,
        hours_hundredths=hours,
        total=Fraction(total, compiled.money_scale),
        expected=Fraction(total, compiled.money_scale) + Fraction(faults, compiled.money_scale * pricer.scale),
        days=days_of(compiled, assembly, done, hours),
        p50=Fraction(total + cost_quantile(spread, Fraction(1, 2)), compiled.money_scale),
        p90=Fraction(total + cost_quantile(spread, Fraction(9, 10)), compiled.money_scale),
        chains_um=_chains(compiled, assembly),
    )


def _chains(compiled: Compiled, assembly: Assembly) -> dict[str, int]:
    count = len(compiled.position_ids)
    made = {chain.id: chain.start_um for chain in compiled.conversion.chains}
    for place, option in enumerate(assembly.options):
        choice = compiled.candidates[place][option] if place < count else compiled.links[place - count][option]
        for chain, shift_um in choice.shifts_um.items():
            made[chain] += shift_um
    return made

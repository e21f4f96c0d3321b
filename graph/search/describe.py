"""From an assembly to a Route: names, sums, days, chains and the spread of the cost."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from graph.conversion.document import Candidate, Link
from graph.search.best import days_of
from graph.search.compiled import Compiled, places
from graph.search.price import Ends, PickedOptions, Pricer
from graph.search.result import Route
from graph.search.spread import cost_quantiles


def describe(compiled: Compiled, pricer: Pricer, assembly: PickedOptions, done: int) -> Route:
    """The route that does this assembly with these tasks, priced in the pricer's outlook."""
    count = len(compiled.position_ids)
    tasks = places(done)
    cash, hours = pricer.sums(assembly, done)
    total = compiled.money(cash, hours)
    faults = pricer.faults_money(assembly.found, done)
    median, ninth = _spread(compiled, pricer, assembly.found, done)
    picked = picked_choices(compiled, assembly)
    not_judged = {chain for choice in picked for chain in choice.unmeasured}
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
        p50=Fraction(total + median.most, compiled.money_scale),
        p90=Fraction(total + ninth.most, compiled.money_scale),
        p50_least=Fraction(total + median.least, compiled.money_scale),
        p90_least=Fraction(total + ninth.least, compiled.money_scale),
        chains_um=_chains(compiled, picked),
        assumed={choice.id: choice.label for choice in picked if choice.assumed},
        unmeasured={
            chain.id: tuple(choice.label for choice in picked if chain.id in choice.unmeasured)
            for chain in compiled.conversion.chains
            if chain.id in not_judged
        },
    )


def _spread(compiled: Compiled, pricer: Pricer, found: int, done: int) -> list[Ends]:
    """Median and nine in ten; worked out once for routes on which the same may fail."""
    key = (found & pricer.doubtful, done)
    if key not in pricer.spreads:
        pricer.spreads[key] = cost_quantiles(compiled, pricer, found, done, (Fraction(1, 2), Fraction(9, 10)))
    return pricer.spreads[key]


def picked_choices(compiled: Compiled, assembly: PickedOptions) -> list[Candidate | Link]:
    """The candidates, then the links of an assembly."""
    count = len(compiled.position_ids)
    return [
        compiled.candidates[place][option] if place < count else compiled.links[place - count][option]
        for place, option in enumerate(assembly.options)
    ]


def _chains(compiled: Compiled, picked: Sequence[Candidate | Link]) -> dict[str, int]:
    made = {chain.id: chain.start_um for chain in compiled.conversion.chains}
    for choice in picked:
        for chain, shift_um in choice.shifts_um.items():
            made[chain] += shift_um
    return made

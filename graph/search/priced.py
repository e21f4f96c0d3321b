"""What a route that is known already is expected to cost with other odds of some faults: its picks and tasks stay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from graph.conversion.document import Conversion
from graph.search.budget import ENDLESS
from graph.search.compiled import compile_conversion
from graph.search.outlook import stated, suppose_known
from graph.search.price import Pricer, assemble
from graph.search.result import Route


def expected_with(conversion: Conversion, route: Route, odds: Mapping[str, Fraction]) -> Fraction:
    """The expected cost in money of this very route with these odds, by fault id; the others stay as stated.

    A doubt of odds 1 is due: its repair counts, and whether the route has its reach done is not asked.

    >>> expected_with(Conversion("g", "e"), Route({}, {}, (), 0, 0, *map(Fraction, "00000"), {}), {})
    Fraction(0, 1)
    """
    compiled = compile_conversion(_just(conversion, route), ENDLESS)
    assembly = assemble(compiled, (0,) * (len(compiled.position_ids) + len(compiled.joint_ids)))
    known = {place: odds[worn.fault.id] for place, worn in enumerate(compiled.worn) if worn.fault.id in odds}
    pricer = Pricer(compiled, suppose_known(compiled, stated(compiled), known))
    done = sum(1 << place for place, task in enumerate(compiled.task_ids) if task in route.tasks)
    total, faults = compiled.money(*pricer.sums(assembly, done)), pricer.faults_money(assembly.found, done)
    return Fraction(total, compiled.money_scale) + Fraction(faults, compiled.money_scale * pricer.scale)


def _just(conversion: Conversion, route: Route) -> Conversion:
    """The document with nothing to choose: the route's own picks."""
    picked = {*route.picks.values(), *route.links.values()}
    return replace(
        conversion,
        positions=tuple(
            replace(one, candidates=tuple(c for c in one.candidates if c.id in picked)) for one in conversion.positions
        ),
        joints=tuple(replace(one, links=tuple(k for k in one.links if k.id in picked)) for one in conversion.joints),
        faults=tuple(
            replace(fault, on=tuple(one for one in fault.on if one in picked))
            for fault in conversion.faults
            if not fault.on or not picked.isdisjoint(fault.on)
        ),
        chains=tuple(replace(chain, low_um=None, high_um=None) for chain in conversion.chains),
        rules=(), inspections=(), features=(), deadline=None, most_assumed=None,
    )  # fmt: skip

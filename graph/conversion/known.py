"""What of a document nobody has stated, and the document without it: the one meaning of "nothing assumed".

A choice is uncertain if nobody has stated it, if it leaves a length open, or if a doubt sits on it that is not known to
have failed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from graph.conversion.document import CandidateOrLink, Conversion, Fault


def uncertain(conversion: Conversion) -> frozenset[str]:
    """The ids of the candidates and links that assume something."""
    doubted = {choice for fault in doubts_of(conversion) for choice in fault.on}
    return frozenset(one.id for one in choices_of(conversion) if one.assumed or one.unmeasured or one.id in doubted)


def doubts_of(conversion: Conversion) -> tuple[Fault, ...]:
    """The doubts that may hold or not; one known to have failed is none, it is work that is due."""
    return tuple(fault for fault in conversion.faults if fault.on and 0 < fault.odds < 1)


def assumed(conversion: Conversion) -> frozenset[str]:
    """The ids of the candidates and links that nobody has stated."""
    return frozenset(one.id for one in choices_of(conversion) if one.assumed)


def on_what_is_known(conversion: Conversion) -> Conversion | None:
    """The document without anything uncertain; None where something must be assumed for any route."""
    return closing_without(conversion, uncertain(conversion))


def closing_without(conversion: Conversion, dropped: frozenset[str]) -> Conversion | None:
    """The document without these choices; None where a place or a joint has no choice left."""
    stated = without(conversion, dropped)
    return stated if _may_close(stated) else None


def without(conversion: Conversion, dropped: frozenset[str]) -> Conversion:
    """The document without these choices, and without what can only be picked together with them."""
    gone = _with_all_that_hangs_on(conversion, dropped)
    faults = tuple(
        replace(fault, on=tuple(one for one in fault.on if one not in gone)) if fault.on else fault
        for fault in conversion.faults
        if not fault.on or not gone.issuperset(fault.on)
    )
    left = {fault.id for fault in faults}
    tests = (replace(one, settles=tuple(f for f in one.settles if f in left)) for one in conversion.inspections)
    return replace(
        conversion,
        positions=tuple(
            replace(one, candidates=tuple(c for c in one.candidates if c.id not in gone))
            for one in conversion.positions
        ),
        joints=tuple(
            replace(one, links=tuple(link for link in one.links if link.id not in gone)) for one in conversion.joints
        ),
        rules=tuple(
            replace(
                rule,
                needs_any=tuple(one for one in rule.needs_any if one not in gone),
                excludes=tuple(one for one in rule.excludes if one not in gone),
            )
            for rule in conversion.rules
            if rule.when not in gone and gone.isdisjoint(rule.also)
        ),
        faults=faults,
        inspections=tuple(one for one in tests if one.settles),
    )


def hoped_for(conversion: Conversion) -> Conversion:
    """The document in which every doubt holds."""
    doubts = {fault.id for fault in doubts_of(conversion)}
    faults = tuple(
        replace(fault, odds=Fraction(0)) if fault.id in doubts else fault for fault in conversion.faults
    )  # fmt: skip
    return replace(conversion, faults=faults)


def _with_all_that_hangs_on(conversion: Conversion, dropped: frozenset[str]) -> frozenset[str]:
    gone = set(dropped)
    while True:
        more = {
            link.id for joint in conversion.joints for link in joint.links
            if link.id not in gone and not gone.isdisjoint(link.parts)
        }  # fmt: skip
        more |= {
            rule.when for rule in conversion.rules
            if rule.needs_any and not rule.also and rule.when not in gone and gone.issuperset(rule.needs_any)
        }  # fmt: skip
        if not more:
            return frozenset(gone)
        gone |= more


def _may_close(conversion: Conversion) -> bool:
    """Whether every place and every joint has a choice left."""
    return all(one.candidates for one in conversion.positions) and all(one.links for one in conversion.joints)


def choices_of(conversion: Conversion) -> Iterable[CandidateOrLink]:
    """Every candidate and link, in the document's order."""
    for position in conversion.positions:
        yield from position.candidates
    for joint in conversion.joints:
        yield from joint.links

"""The sign that ties faults together, as long as nobody has looked for it, as a common cause of the document.

Of the signs with a stated share, the one that speaks of most of the faults is taken, and only one: two at once would
need to be said how they hang together. A sign that is known already has moved the odds and ties nothing any more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.words import money, percent
from graph.catalogue.model import OpenFault
from graph.common_cause import CommonCause
from graph.costing.priors import SignShare, fault_at_position, load_shares, load_signs
from graph.costing.signs import SignRatio, common_cause
from graph.costing.spread import FaultCost, fault_spread
from graph.errors import InvalidInput, LimitExceeded


def find_tie(
    odds: Mapping[str, Fraction], positions: Mapping[str, str], known: Mapping[str, str],
    ratios: Iterable[SignRatio] | None = None, shares: Iterable[SignShare] | None = None,
) -> CommonCause | None:  # fmt: skip
    """The tie of the faults, or None if no sign speaks of two. `odds`, `positions` (kinds): by fault id.

    A share and ratios that contradict the odds (a sign seen too often for so strong a ratio) tie nothing.
    """
    named = fault_at_position()
    table = {fault: named.get(positions.get(fault, ""), fault) for fault in odds}
    spoken = list(load_signs() if ratios is None else ratios)
    best: CommonCause | None = None
    for stated in load_shares() if shares is None else shares:
        own = {r.fault: r.ratio for r in spoken if (r.sign, r.state) == (stated.sign, stated.state)}
        here = {name: p for name, p in odds.items() if 0 < p < 1 and (table[name] in own or name in own)}
        if stated.sign in known or len(here) < 2 or (best is not None and len(here) <= len(best.if_there)):
            continue
        by_fault = {fault: own.get(fault) or own[table[fault]] for fault in here}
        label = f"{stated.sign} ({stated.state}), seen in {percent(stated.share)} of boxes ({stated.source})"
        try:
            best = common_cause(stated.sign, stated.share, here, by_fault, label)
        except InvalidInput:
            continue
    return best


@dataclass(frozen=True)
class CommonCauses:
    """What the trade's signs make of the faults of a document. `known`: signs that were looked for (sign -> state)."""

    known: Mapping[str, str]
    ratios: Sequence[SignRatio]
    shares: Sequence[SignShare]

    def __call__(self, faults: Sequence[OpenFault]) -> tuple[CommonCause, ...]:
        odds = {fault.id: fault.odds for fault in faults}
        positions = {fault.id: fault.position for fault in faults}
        tie = find_tie(odds, positions, self.known, self.ratios, self.shares)
        return () if tie is None else (tie,)


def tied_words(
    cause: CommonCause, total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction],
    labels: Mapping[str, str], currency: str,
) -> str:  # fmt: skip
    """What the tie does to the spread of a sum that took the faults as independent; "" where they are too many."""
    try:
        spread = fault_spread(total, faults, task_cost, (cause,))
    except LimitExceeded:
        return ""
    median, high = (money(spread.quantile(Fraction(n, 10)), currency) for n in (5, 9))
    tied = f"expected {money(spread.mean, currency)}, median {median}, nine times in ten at most {high}"
    names = ", ".join(labels.get(fault, fault) for fault in cause.if_there)
    return (
        f"{names} come together more often than by chance: {cause.label}, and nobody has looked for it. The figures "
        f"here take them as independent; tied so: {tied}."
    )

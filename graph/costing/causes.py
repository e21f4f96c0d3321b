"""The sign that ties a route's faults together, as long as nobody has looked for it.

Of the signs with a stated share, the one that speaks of most of the faults is taken, and only one: two at once would
need to be said how they hang together. A sign that is known already has moved the odds and ties nothing any more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.words import money, percent
from graph.costing.priors import SignShare, fault_at_position, load_shares, load_signs
from graph.costing.signs import SharedCause, SignRatio, shared_cause
from graph.costing.spread import FaultCost, Spread, spread_with_cause
from graph.errors import InvalidInput, LimitExceeded


@dataclass(frozen=True, slots=True)
class CauseLine:
    """A route's spread with its faults tied by a sign that has not been looked for. Money in currency units.

    `share`: how often the sign is seen; `expected`, `p50`, `p90`, `exceeds`: with the tie, where the answer's own
    figures take the faults as independent. `words` says all of it.
    """

    sign: str
    state: str
    share: Fraction
    faults: tuple[str, ...]
    expected: Fraction
    p50: Fraction
    p90: Fraction
    exceeds: Fraction | None
    words: str


@dataclass(frozen=True, slots=True)
class Tie:
    """The sign, in the state in which it speaks, and what it does to the odds."""

    stated: SignShare
    cause: SharedCause


def find_tie(
    faults: Sequence[FaultCost], positions: Mapping[str, str], known: Mapping[str, str],
    ratios: Iterable[SignRatio] | None = None, shares: Iterable[SignShare] | None = None,
) -> Tie | None:  # fmt: skip
    """The tie of the faults, or None if no sign speaks of two. `positions`: fault id -> position kind.

    A share and ratios that contradict the odds (a sign seen too often for so strong a ratio) tie nothing.
    """
    named = fault_at_position()
    table = {fault.id: named.get(positions.get(fault.id, ""), fault.id) for fault in faults}
    spoken = list(load_signs() if ratios is None else ratios)
    best: Tie | None = None
    for stated in load_shares() if shares is None else shares:
        own = {r.fault: r.ratio for r in spoken if (r.sign, r.state) == (stated.sign, stated.state)}
        odds = {f.id: f.odds for f in faults if 0 < f.odds < 1 and (table[f.id] in own or f.id in own)}
        if stated.sign in known or len(odds) < 2 or (best is not None and len(odds) <= len(best.cause.if_seen)):
            continue
        by_fault = {fault: own.get(fault) or own[table[fault]] for fault in odds}
        try:
            best = Tie(stated, shared_cause(stated.sign, stated.share, odds, by_fault))
        except InvalidInput:
            continue
    return best


def cause_line(
    tie: Tie, total: Fraction, faults: Sequence[FaultCost], task_cost: Mapping[str, Fraction],
    labels: Mapping[str, str], currency: str, limit: Fraction | None,
) -> CauseLine | None:  # fmt: skip
    """The spread with the tie, in figures and words; None where the faults are too many to follow exactly."""
    try:
        spread = spread_with_cause(total, faults, task_cost, tie.cause)
    except LimitExceeded:
        return None
    p50, p90 = spread.quantile(Fraction(1, 2)), spread.quantile(Fraction(9, 10))
    exceeds = None if limit is None else spread.exceeds(limit)
    tied = tuple(tie.cause.if_seen)
    words = _words(tie, [labels.get(fault, fault) for fault in tied], spread, currency)
    return CauseLine(tie.stated.sign, tie.stated.state, tie.stated.share, tied, spread.mean, p50, p90, exceeds, words)


def _words(tie: Tie, labels: Sequence[str], spread: Spread, currency: str) -> str:
    stated = tie.stated
    median, high = (money(spread.quantile(Fraction(n, 10)), currency) for n in (5, 9))
    tied = f"expected {money(spread.mean, currency)}, median {median}, nine times in ten at most {high}"
    return (
        f"Nobody has looked for {stated.sign} ({stated.state}) yet. It is seen in {percent(stated.share)} of boxes "
        f"({stated.source}) and ties {', '.join(labels)}: where one is worn, so more often are the others. "
        f"The answer's own figures take them as independent; tied so: {tied}."
    )

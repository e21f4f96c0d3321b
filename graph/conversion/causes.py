"""The states of common causes: in each of them the faults are independent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from graph.common_cause import CommonCause


class CauseState(NamedTuple):
    """Which causes are there: how likely that is, and the odds of each fault then, by id."""

    chance: Fraction
    odds: Mapping[str, Fraction]


def states_of(causes: Sequence[CommonCause], odds: Mapping[str, Fraction]) -> list[CauseState]:
    """Every state of the causes that can be. `odds`: of the faults asked about, by id, over all boxes.

    >>> cause = CommonCause("dirt", "", Fraction(1, 2), {"ring": Fraction(9, 10), "bearing": Fraction(9, 10)})
    >>> [float(state.odds["ring"]) for state in states_of([cause], {"ring": Fraction(1, 2)})]
    [0.9, 0.1]
    """
    tying = [cause for cause in sorted(causes, key=lambda one: one.id) if not odds.keys().isdisjoint(cause.if_there)]
    made = []
    for there in product((True, False), repeat=len(tying)):
        chance, held = Fraction(1), dict(odds)
        for cause, is_there in zip(tying, there, strict=True):
            chance *= cause.odds if is_there else 1 - cause.odds
            for fault in cause.if_there.keys() & odds.keys():
                held[fault] = cause.if_there[fault] if is_there else cause.if_not(fault, odds[fault])
        made.append(CauseState(chance, held))
    return made


def states_given(causes: Sequence[CommonCause], odds: Mapping[str, Fraction], failed: str) -> list[CauseState]:
    """The same once this fault is known to have failed (Bayes): its own odds are then 1."""
    states = [state for state in states_of(causes, odds) if state.odds[failed]]
    whole = sum((state.chance * state.odds[failed] for state in states), Fraction(0))
    if not whole:
        return [CauseState(Fraction(1), {**odds, failed: Fraction(1)})]
    return [
        CauseState(state.chance * state.odds[failed] / whole, {**state.odds, failed: Fraction(1)}) for state in states
    ]

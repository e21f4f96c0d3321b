"""Signs known before opening, and faults that share a cause.

Bayes with a likelihood ratio r = P(sign | worn) / P(sign | sound): worn-to-sound ratio after = ratio before * r.
Two signs are multiplied only if each tells something of its own: signs are taken as independent given the
state of the part, and the reader is told so.

Faults are independent given their signs. A sign that several faults share (metal on the magnet) and that has
not been looked for yet ties them together: each may be worn more often where it would be seen. The tie keeps
every fault's own odds: P(worn) = c P(worn | seen) + (1 - c) P(worn | not seen), c being how often it is seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.catalogue.near import near_matches
from graph.common_cause import CommonCause
from graph.costing.odds import INTERVAL_LEVEL, BetaOdds, Interval
from graph.errors import InvalidInput, InvalidQuestion, Problem

ODDS_DECIMALS = 4  # of odds that follow from a sign, so that a document of them can be written in decimals


@dataclass(frozen=True, slots=True)
class SignRatio:
    """How a sign in a certain state changes the odds of one fault. `source` says where the ratio is from."""

    sign: str
    state: str
    fault: str
    ratio: Fraction
    source: str

    def __post_init__(self) -> None:
        if self.ratio <= 0:
            where = f"{self.sign}/{self.state}/{self.fault}"
            raise InvalidInput([Problem(where, f"expected a likelihood ratio above 0, found {self.ratio}")])


@dataclass(frozen=True, slots=True)
class SignedOdds:
    """Odds of a fault once the signs are known. `used`: the ratios applied; `assumed`: what the reader is told."""

    fault: str
    before: Fraction
    after: Fraction
    interval: Interval
    used: tuple[SignRatio, ...]
    assumed: str = ""


def bayes(odds: Fraction, ratio: Fraction) -> Fraction:
    """Odds (0..1) after a sign of likelihood ratio `ratio`.

    >>> bayes(Fraction(1, 4), Fraction(3))
    Fraction(1, 2)
    """
    return odds * ratio / (odds * ratio + 1 - odds)


def _bayes_float(odds: float, ratio: float) -> float:
    return odds * ratio / (odds * ratio + 1 - odds)


def odds_given_signs(
    odds: BetaOdds, known: Mapping[str, str], ratios: Sequence[SignRatio], level: float = INTERVAL_LEVEL
) -> SignedOdds:
    """The odds of a fault given the `known` signs (sign -> state).

    A sign without a ratio for this fault changes nothing. The interval's ends go through the same rule,
    which is right because the rule never turns two odds round.
    """
    used = tuple(r for r in ratios if r.fault == odds.fault and known.get(r.sign) == r.state)
    product = Fraction(1)
    for each in used:
        product *= each.ratio
    before = odds.interval(level)
    ends = (_bayes_float(before.low, float(product)), _bayes_float(before.high, float(product)))
    names = " and ".join(f"{each.sign} ({each.state})" for each in used)
    assumed = f"{names} are taken as independent given the state of the part" if len(used) > 1 else ""
    return SignedOdds(odds.fault, odds.mean, bayes(odds.mean, product), Interval(*ends, level), used, assumed)


def common_cause(
    sign: str, share: Fraction, odds: Mapping[str, Fraction], ratios: Mapping[str, Fraction], label: str = ""
) -> CommonCause:
    """Ties the faults in `odds` to a sign seen in `share` of the boxes, by its likelihood ratio for each.

    The odds where it is not seen follow from the law of total probability. Raises InvalidInput where the
    numbers contradict each other (a sign seen too often for so strong a ratio).
    """
    if not 0 < share < 1:
        raise InvalidInput([Problem(f"{sign}.share", f"expected between 0 and 1, found {share}")])
    seen = {fault: round(bayes(p, ratios.get(fault, Fraction(1))), ODDS_DECIMALS) for fault, p in odds.items()}
    cause = CommonCause(sign, label or sign, share, seen)
    unseen = {fault: cause.if_not(fault, p) for fault, p in odds.items()}
    problems = [
        Problem(
            f"{sign}.{fault}",
            f"seen in {float(share):.0%} of boxes with ratio {float(ratios[fault]):g} contradicts odds of "
            f"{float(odds[fault]):.0%}; lower the share or the ratio",
        )
        for fault, p in unseen.items()
        if not 0 <= p <= 1
    ]
    if problems:
        raise InvalidInput(problems)
    return cause


def independence_text(faults: Sequence[str], tied: Sequence[str] = (), cause: str = "") -> str:
    """What is assumed independent, in words for the reader. `tied`: those of them that have this `cause` in common.

    >>> independence_text(["ring", "bearing"])
    'ring, bearing: taken as independent of each other'
    """
    free = [fault for fault in faults if fault not in tied]
    parts = []
    if tied:
        parts.append(f"{', '.join(tied)}: tied by {cause}, and independent once that is known")
    if len(free) > 1 or (free and tied):
        parts.append(f"{', '.join(free)}: taken as independent of each other")
    return "; ".join(parts)


def check_signs(known: Mapping[str, str], ratios: Iterable[SignRatio]) -> None:
    """Raises InvalidQuestion for a sign, or a state of it, that no likelihood ratio is stated for."""
    states: dict[str, list[str]] = {}
    for ratio in ratios:
        states.setdefault(ratio.sign, []).append(ratio.state)
    problems = []
    for sign, state in known.items():
        if sign not in states:
            near = ", ".join(near_matches(sign, states)) or ", ".join(sorted(states))
            problems.append(Problem(f"signs.{sign}", f"no such sign; near: {near}"))
        elif state not in states[sign]:
            expected = ", ".join(sorted(set(states[sign])))
            problems.append(Problem(f"signs.{sign}", f"expected one of {expected}, found {state!r}"))
    if problems:
        raise InvalidQuestion(problems)

"""Odds that a part is worn: Beta counts of what was prior belief and what the shop found when it looked.

Only boxes in which the part was laid open count: an unopened box says nothing of its inside.
A prior of mean m and strength s stands for s boxes seen elsewhere, of which m*s were worn (Beta(m*s, (1-m)*s)).
With k worn out of n opened, the posterior is Beta(m*s + k, (1-m)*s + n - k): the conjugate rule of the
beta-binomial model. The mean is an exact fraction; only the interval needs floating point (scipy).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from graph.errors import InvalidInput, Problem

Floats = NDArray[np.float64]
INTERVAL_LEVEL = 0.90
_STEPS = 2_000
STRENGTH = Fraction(4)  # boxes that a stated figure is worth against the shop's own count (working estimate)
TEN_THOUSANDTHS = 10_000  # odds are handed on to this, so that a document carries them exactly
_COUNTED = re.compile(r"\b\d+(?: \w+)? (?:of|out of) (?P<of>\d+)\b")
FEW_OPENED = 10  # below this many opened boxes the reader is told that the count is small (common practice)


@dataclass(frozen=True, slots=True)
class Interval:
    """A credible interval of odds: `low` and `high` between 0 and 1, `level` the belief that it holds."""

    low: float
    high: float
    level: float = INTERVAL_LEVEL


@dataclass(frozen=True, slots=True)
class Finding:
    """What one job says of one fault. A part that was not laid open is recorded, and never counted.

    `signs`: what was known of it before opening (sign, state): a box opened because of a sign is no plain draw.
    """

    fault: str
    laid_open: bool
    worn: bool = False
    job: str = ""
    made_on: str = ""
    author: str = ""
    signs: tuple[tuple[str, str], ...] = ()


class RatioOfSign(Protocol):
    """What is needed of a sign's likelihood ratio (`graph.costing.signs.SignRatio`)."""

    @property
    def sign(self) -> str:
        """The sign."""
        ...

    @property
    def state(self) -> str:
        """Its state."""
        ...

    @property
    def ratio(self) -> Fraction:
        """P(sign | worn) / P(sign | sound)."""
        ...


@dataclass(frozen=True, slots=True)
class BetaOdds:
    """The odds of one fault: `prior` mean and `strength` (in boxes), `source` of the prior, shop counts.

    >>> BetaOdds("ring", Fraction(2, 5), Fraction(4), "working estimate", opened=6, worn=5).mean
    Fraction(33, 50)
    """

    fault: str
    prior: Fraction
    strength: Fraction
    source: str
    opened: int = 0
    worn: int = 0
    selected: tuple[tuple[Fraction, bool], ...] = ()

    def __post_init__(self) -> None:
        problems = []
        if not 0 < self.prior < 1:
            problems.append(Problem(f"{self.fault}.prior", f"expected between 0 and 1, found {self.prior}"))
        if self.strength <= 0:
            problems.append(Problem(f"{self.fault}.strength", f"expected above 0 boxes, found {self.strength}"))
        if not 0 <= self.worn <= self.opened:
            problems.append(Problem(f"{self.fault}.worn", f"expected 0 to {self.opened} opened, found {self.worn}"))
        if problems:
            raise InvalidInput(problems)

    @property
    def alpha(self) -> Fraction:
        """Worn boxes, those of the prior included."""
        return self.prior * self.strength + self.worn

    @property
    def beta(self) -> Fraction:
        """Sound boxes, those of the prior included."""
        return (1 - self.prior) * self.strength + self.opened - self.worn

    @property
    def mean(self) -> Fraction:
        """The odds to reckon with: the posterior mean, which is also the chance that the next box is worn."""
        if self.selected:
            at, weight = self._selected_posterior()
            return Fraction(round(float(at @ weight) * 1_000_000), 1_000_000)
        return self.alpha / (self.alpha + self.beta)

    def interval(self, level: float = INTERVAL_LEVEL) -> Interval:
        """The equal-tailed credible interval at `level` (0 to 1)."""
        if self.selected:
            at, weight = self._selected_posterior()
            reached = np.cumsum(weight) - weight / 2
            low, high = (float(np.interp(part, reached, at)) for part in ((1 - level) / 2, (1 + level) / 2))
        else:
            low, high = map(float, self._reached(np.array([(1 - level) / 2, (1 + level) / 2]), self.alpha, self.beta))
        return Interval(low, high, level)

    @staticmethod
    def _reached(parts: Floats, alpha: Fraction, beta: Fraction) -> Floats:
        """The odds that these parts (0 to 1) of Beta(alpha, beta) lie below."""
        from scipy.special import betaincinv  # here, for it loads slowly (scipy.stats thrice as slowly)

        reached: Floats = betaincinv(float(alpha), float(beta), parts)
        return reached

    def _selected_posterior(self) -> tuple[Floats, Floats]:
        """Odds and their weights: the Beta rule's density times what each sign-selected box says.

        A box with a sign of ratio r was worn with probability p r / (p r + 1 - p), p being the odds of a plain box.
        The nodes are equal steps of the Beta's own distribution, so any shape of it is met.
        """
        steps = (np.arange(_STEPS) + 0.5) / _STEPS
        worn = sum(found for _, found in self.selected)
        plain = (self.alpha - worn, self.beta - (len(self.selected) - worn))
        at = np.clip(self._reached(steps, *plain), 1e-12, 1 - 1e-12)
        weight = np.ones_like(at)
        for ratio, found in self.selected:
            weight *= (at * float(ratio) if found else 1 - at) / (at * float(ratio) + 1 - at)
        return at, weight / weight.sum()

    def with_findings(self, findings: Iterable[Finding], ratios: Sequence[RatioOfSign] = ()) -> BetaOdds:
        """The odds after these findings; those of other faults and of unopened boxes change nothing.

        `ratios`: the likelihood ratios of signs for this fault, for boxes that were opened because of one.
        """
        looked = [finding for finding in findings if finding.fault == self.fault and finding.laid_open]
        worn = sum(finding.worn for finding in looked)
        drawn = ((_ratio_of(finding, ratios), finding.worn) for finding in looked)
        selected = tuple((ratio, worn) for ratio, worn in drawn if ratio != 1)
        return replace(self, opened=self.opened + len(looked), worn=self.worn + worn, selected=self.selected + selected)


def boxes_counted(source: str, usual: Fraction = STRENGTH) -> Fraction:
    """How many boxes stated odds are worth: as many as their source counts, else the usual number.

    >>> boxes_counted("5 worn of 12 opened"), boxes_counted("estimate")
    (Fraction(12, 1), Fraction(4, 1))
    """
    counted = _COUNTED.search(source)
    return Fraction(int(counted["of"])) if counted and int(counted["of"]) > 0 else usual


def signs_of(body: Mapping[str, object]) -> tuple[tuple[str, str], ...]:
    """The signs that a finding's note carries."""
    signs = body.get("signs")
    return tuple(sorted((str(sign), str(state)) for sign, state in signs.items())) if isinstance(signs, Mapping) else ()


def _ratio_of(finding: Finding, ratios: Sequence[RatioOfSign]) -> Fraction:
    known, product = dict(finding.signs), Fraction(1)
    for each in ratios:
        if known.get(each.sign) == each.state:
            product *= each.ratio
    return product


def sample_warning(odds: BetaOdds) -> str:
    """What the reader must be told of a small count; empty if the count is large enough.

    >>> sample_warning(BetaOdds("ring", Fraction(2, 5), Fraction(4), "working estimate"))
    'no box opened yet: this is the prior alone (working estimate)'
    """
    if odds.opened == 0:
        return f"no box opened yet: this is the prior alone ({odds.source})"
    boxes = "1 box" if odds.opened == 1 else f"{odds.opened} boxes"
    if odds.opened < odds.strength:
        return f"only {boxes} opened: the prior ({odds.source}) still weighs more than the shop's count"
    if odds.selected:
        return f"{len(odds.selected)} of {boxes} opened because of a sign: counted at the sign's ratio"
    if odds.opened < FEW_OPENED:
        return f"only {boxes} opened: a small sample, the interval is wide"
    return ""


def odds_text(odds: BetaOdds) -> str:
    """The odds in words, with the interval and the counts they rest on."""
    interval = odds.interval()
    count = f"{odds.worn} worn of {odds.opened} opened" if odds.opened else "none opened"
    warning = sample_warning(odds)
    text = (
        f"{float(odds.mean):.0%} ({interval.low:.0%} to {interval.high:.0%} with {interval.level:.0%} belief; {count}; "
        f"prior {float(odds.prior):.0%} worth {float(odds.strength):g} boxes, {odds.source})"
    )
    return f"{text}; {warning}" if warning else text

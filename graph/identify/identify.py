"""Which variants remain possible, how sure, and what to measure next.

Bayes: odds after = odds before x likelihood, over the known variants and "something else". Next measurement: the
expected information (mutual information of variant and reading, Shannon 1948, in bits) per minute of work.
Observations are taken as independent given the variant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

import numpy as np

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM
from graph.identify.likelihood import (
    COVERAGE,
    Floats,
    chance,
    density,
    find_contradiction,
    likelihoods,
    list_outcomes,
    reach_mm,
)  # fmt: skip
from graph.identify.model import MEASURED, Feature, Length, Observation, Variant, check_case

SURE = 0.95  # probability from which a variant counts as identified (common practice: one chance in twenty)
_SHARE_SHOWN = 0.05
_STEPS = 4_001


class Prior(StrEnum):
    """What is believed before looking: all variants alike, or by how often the shop has met them (plus one each)."""

    EQUAL = "equal"
    BY_COUNT = "by count"


@dataclass(frozen=True, slots=True)
class VariantStanding:
    """One variant after the observations. `contradictions`: what speaks against it; empty means still possible."""

    variant: str
    label: str
    probability: float
    contradictions: tuple[str, ...]
    unknown: tuple[str, ...]  # features observed here that nobody has recorded of this variant

    @property
    def possible(self) -> bool:
        """Whether nothing observed contradicts it."""
        return not self.contradictions


@dataclass(frozen=True, slots=True)
class NextStep:
    """A feature worth finding out: bits it is expected to tell, and which readings would point where."""

    feature: str
    label: str
    minutes: Fraction
    bits: float
    how: str
    outcomes: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def bits_per_minute(self) -> float:
        """What steps are ranked by."""
        return self.bits / float(self.minutes)


@dataclass(frozen=True, slots=True)
class Identification:
    """The answer: variants by probability, what is left to doubt (bits), and steps by bits per minute."""

    standings: tuple[VariantStanding, ...]
    something_else: float
    doubt_bits: float
    next_steps: tuple[NextStep, ...]
    summary: str

    @property
    def identified(self) -> str | None:
        """The variant that is sure enough (SURE) and not contradicted; None while in doubt."""
        best = self.standings[0]
        return best.variant if best.probability >= SURE and best.possible else None


def identify(
    features: Sequence[Feature],
    variants: Sequence[Variant],
    observations: Sequence[Observation] = (),
    *,
    prior: Prior = Prior.EQUAL,
    other: Fraction = Fraction(1, 50),
) -> Identification:
    """Every variant's odds after the observations, and the features that would tell most per minute.

    `other`: odds, before looking, of a unit that is none of the variants (mixed parts, unknown build). Raises
    InvalidInput with every fault (see `check_case`), or for `other` outside 0 to 1.
    """
    check_case(features, variants, observations)
    if not 0 < other < 1:
        raise InvalidInput([Problem("other", f"expected odds between 0 and 1, found {other}")])
    by_id = {feature.id: feature for feature in features}
    odds = _prior(variants, prior, float(other))
    for observation in observations:
        odds = odds * likelihoods(by_id[observation.feature], variants, observation, odds)
        odds = odds / odds.sum()
    standings = _standings(by_id, variants, observations, odds)
    seen = {observation.feature for observation in observations}
    steps = [_step(feature, variants, odds) for feature in features if feature.id not in seen]
    ranked = sorted(
        (step for step in steps if step.bits > 1e-9), key=lambda step: (-step.bits_per_minute, step.feature)
    )  # fmt: skip
    return Identification(
        standings, float(odds[-1]), entropy_bits(odds), tuple(ranked), _summary(standings, float(odds[-1]), ranked)
    )


def entropy_bits(odds: Floats) -> float:
    """Shannon's entropy in bits: 0 is certainty, 3 is one of eight alike."""
    some = odds[odds > 0]
    return float(max(0.0, -np.sum(some * np.log2(some))))


def information_bits(feature: Feature, variants: Sequence[Variant], odds: Floats) -> float:
    """Mutual information between variant and an observation of the feature, in bits.

    `odds`: one per variant and a last one for something else. Variants that say nothing of the feature are taken
    as reading like the mixture of the rest, so they add nothing.
    """
    known = [n for n, variant in enumerate(variants) if feature.id in variant.values and odds[n] > 0]
    if not known:
        return 0.0
    share = np.append(odds[known], odds[-1])
    total = float(share.sum())
    rows = _rows(feature, [variants[n] for n in known])
    share = share / total
    rows, share = rows[share > 0], share[share > 0]
    mixture = share @ rows
    ratio = np.zeros_like(rows)
    some = (rows > 0) & (mixture > 0)[None, :]  # a subnormal mixture weighs nothing
    ratio[some] = rows[some] * np.log2(rows[some] / np.broadcast_to(mixture, rows.shape)[some])
    return max(0.0, float(share @ ratio.sum(axis=1))) * total


def _rows(feature: Feature, variants: Sequence[Variant]) -> Floats:
    """Odds of each outcome (columns) for each variant and something else (last row); every row adds up to 1."""
    if feature.kind != MEASURED:
        outcomes = list_outcomes(feature, variants)
        rows = np.array([[chance(feature, v.values[feature.id], o, outcomes) for o in outcomes] for v in variants])
        rows = np.vstack([rows, np.full(len(outcomes), 1.0)])
    else:
        lengths = [value for v in variants if isinstance(value := v.values[feature.id], Length)]
        sigma = feature.uncertainty_nm / COVERAGE / NM_PER_MM
        at, width = _grid(lengths, sigma)
        rows = np.vstack([*(density(length, sigma, at) * width for length in lengths), width / reach_mm(lengths)])
    return np.asarray(rows / np.maximum(rows.sum(axis=1, keepdims=True), 1e-300), dtype=np.float64)


def _grid(lengths: Sequence[Length], sigma: float) -> tuple[Floats, Floats]:
    """Readings to integrate over, fine where a variant lies, and the width each stands for."""
    sizes = [length.nominal_nm / NM_PER_MM for length in lengths]
    middle, span = (max(sizes) + min(sizes)) / 2, reach_mm(lengths)
    points = [np.linspace(middle - span / 2, middle + span / 2, _STEPS // 4)]
    for length in {(length.nominal_nm, length.half_nm): length for length in lengths}.values():
        half = length.half_nm / NM_PER_MM + 5 * sigma
        points.append(length.nominal_nm / NM_PER_MM + np.linspace(-half, half, 201))
    at = np.unique(np.concatenate(points))
    return at, np.gradient(at)


def _prior(variants: Sequence[Variant], prior: Prior, other: float) -> Floats:
    weights = np.array([1.0 if prior is Prior.EQUAL else variant.met + 1.0 for variant in variants])
    return np.append(weights / weights.sum() * (1 - other), other)


def _standings(
    features: dict[str, Feature], variants: Sequence[Variant], observations: Sequence[Observation], odds: Floats
) -> tuple[VariantStanding, ...]:
    standings = []
    for variant, probability in zip(variants, odds.tolist(), strict=False):
        against = [find_contradiction(features[item.feature], variant, item) for item in observations]
        unknown = tuple(features[o.feature].label for o in observations if o.feature not in variant.values)
        contradictions = tuple(text for text in against if text)
        standings.append(VariantStanding(variant.id, variant.label, probability, contradictions, unknown))
    return tuple(sorted(standings, key=lambda item: (-item.probability, item.variant)))


def _step(feature: Feature, variants: Sequence[Variant], odds: Floats) -> NextStep:
    bits = information_bits(feature, variants, odds)
    return NextStep(feature.id, feature.label, feature.minutes, bits, feature.how, _outcomes(feature, variants, odds))


def _outcomes(feature: Feature, variants: Sequence[Variant], odds: Floats) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Which finding points to which variants, of those still worth naming."""
    groups: dict[str, list[str]] = {}
    for variant, probability in zip(variants, odds.tolist(), strict=False):
        if feature.id in variant.values and probability >= _SHARE_SHOWN / len(variants):
            groups.setdefault(str(variant.values[feature.id]), []).append(variant.id)
    return tuple((finding, tuple(ids)) for finding, ids in groups.items())


def _summary(standings: Sequence[VariantStanding], other: float, steps: Sequence[NextStep]) -> str:
    possible = [item for item in standings if item.possible]
    following = f"; next: {steps[0].label} ({float(steps[0].minutes):g} min)" if steps else ""
    if not possible:
        near = standings[0]
        nearest = f"nearest {near.label}: {near.contradictions[0]}"
        return f"no known variant agrees with all that was found; {nearest}{following}"
    best = possible[0]
    if best.probability >= SURE:
        return f"{best.label}, {best.probability:.0%} sure"
    doubt = f"{len(possible)} of {len(standings)} variants remain possible"
    return f"{doubt}, first {best.label} at {best.probability:.0%}, something else at {other:.0%}{following}"

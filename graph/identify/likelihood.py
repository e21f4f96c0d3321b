"""How likely an observation is of each variant.

Seen and counted: right with odds 1 - misread; a misreading is spread evenly over the other words known, or over the
counts one up and one down. Measured: the parts of a variant lie evenly within their tolerance, the reading about
the part normally with the stated uncertainty as two standard deviations (coverage factor 2, JCGM 100:2008, 6.2).
"Something else" (a mixed-up or unknown build) takes every word, every count and every length in reach alike.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from graph.fits.model import NM_PER_MM
from graph.identify.model import COUNTED, MEASURED, SEEN, Feature, Length, Observation, Variant

Floats = NDArray[np.float64]
COVERAGE = 2.0
_ELSEWHERE_MM = 25.0  # how far beyond the known sizes "something else" may lie
_COUNTS_ELSEWHERE = 3


def likelihoods(feature: Feature, variants: Sequence[Variant], observation: Observation, prior: Floats) -> Floats:
    """One likelihood per variant, and a last one for "something else". Only their ratios matter.

    A variant that says nothing of the feature gets the mean of the others, so that its odds against them all stay;
    where the reading is less likely of them than of "something else", it gets what that gets: a reading that
    contradicts every other variant does not speak against it.
    """
    values = [variant.values.get(feature.id) for variant in variants]
    if feature.kind == MEASURED:
        sigma = (observation.uncertainty_nm or feature.uncertainty_nm) / COVERAGE / NM_PER_MM
        at = np.array([int(observation.value) / NM_PER_MM])
        known = {n: float(density(v, sigma, at)[0]) for n, v in enumerate(values) if isinstance(v, Length)}
        other = 1.0 / reach_mm([v for v in values if isinstance(v, Length)])
    else:
        outcomes = list_outcomes(feature, variants)
        chances = [chance(feature, v, observation.value, outcomes) for v in values if v is not None]
        known = dict(zip([n for n, v in enumerate(values) if v is not None], chances, strict=True))
        other = 1.0 / max(len(set(outcomes) | {observation.value}), 2)
    return _filled(known, other, len(values), prior)


def list_outcomes(feature: Feature, variants: Sequence[Variant]) -> tuple[str | int, ...]:
    """All words known of a seen feature; all counts known, with one up and one down and room for something else."""
    values = {variant.values[feature.id] for variant in variants if feature.id in variant.values}
    if feature.kind == SEEN:
        return tuple(sorted(str(value) for value in values))
    counts = {int(value) for value in values if isinstance(value, int)}
    wide = {count + step for count in counts for step in range(-_COUNTS_ELSEWHERE, _COUNTS_ELSEWHERE + 1)}
    return tuple(sorted(count for count in wide if count >= 0))


def chance(feature: Feature, true: object, found: str | int, outcomes: Sequence[str | int]) -> float:
    """The odds of finding `found` where `true` is the case, for a seen or counted feature."""
    if found == true:
        return 1.0 - float(feature.misread)
    if feature.kind == COUNTED:
        return float(feature.misread) / 2 if abs(int(found) - int(str(true))) == 1 else 0.0
    others = len({*outcomes, found} - {true})
    return float(feature.misread) / max(others, 1)


def density(length: Length, sigma_mm: float, at_mm: Floats) -> Floats:
    """Density per mm of a reading: even over the tolerance, blurred normally by the tool."""
    from scipy.special import ndtr  # here, because scipy takes half a second to load

    low = (length.nominal_nm - length.half_nm) / NM_PER_MM
    high = (length.nominal_nm + length.half_nm) / NM_PER_MM
    blurred: Floats = ndtr((at_mm - low) / sigma_mm) - ndtr((at_mm - high) / sigma_mm)
    return np.maximum(blurred, 0.0) / (high - low)


def reach_mm(lengths: Sequence[Length]) -> float:
    """The span of lengths over which "something else" is taken as evenly spread."""
    if not lengths:
        return 2 * _ELSEWHERE_MM
    sizes = [length.nominal_nm / NM_PER_MM for length in lengths]
    return max(sizes) - min(sizes) + 2 * _ELSEWHERE_MM


def find_contradiction(feature: Feature, variant: Variant, observation: Observation) -> str:
    """Why the observation cannot be of this variant, read plainly; empty where it can.

    A length contradicts beyond tolerance plus uncertainty; a word or a count where it differs.
    """
    value = variant.values.get(feature.id)
    if value is None:
        return ""
    if isinstance(value, Length):
        uncertainty = observation.uncertainty_nm or feature.uncertainty_nm
        miss = abs(int(observation.value) - value.nominal_nm) - value.half_nm - uncertainty
        found = Length(int(observation.value), uncertainty)
        return f"{feature.label} {found}, of this variant {value}" if miss > 0 else ""
    return "" if value == observation.value else f"{feature.label} {observation.value}, of this variant {value}"


def _filled(known: dict[int, float], other: float, count: int, prior: Floats) -> Floats:
    weight = sum(float(prior[n]) for n in known)
    mean = sum(float(prior[n]) * value for n, value in known.items()) / weight if weight > 0 else other
    filled = [known.get(n, max(mean, other)) for n in range(count)]
    return np.array([*filled, other])

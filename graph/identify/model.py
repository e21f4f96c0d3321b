"""Variants with their features, and observations of a unit: plain objects, independent of the catalogue.

A feature is seen (a word: `cast rib: yes`), counted (teeth, holes) or measured (a length in whole nanometres).
A variant that says nothing about a feature is neither helped nor hurt by an observation of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.model import show_nm

SEEN, COUNTED, MEASURED = "seen", "counted", "measured"
KINDS = (SEEN, COUNTED, MEASURED)
MOST_VARIANTS = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """Something to look at. `minutes` of work to find it out on this unit, as it stands now.

    `uncertainty_nm`: of the tool usually used (measured only). `misread`: the odds that what is seen or counted is
    not what is there (one in fifty unless known better, common practice).
    """

    id: str
    label: str
    kind: str
    minutes: Fraction
    uncertainty_nm: int = 0
    misread: Fraction = Fraction(1, 50)
    how: str = ""


@dataclass(frozen=True, slots=True)
class Length:
    """A measured feature of a variant: nominal size and half its tolerance, whole nanometres."""

    nominal_nm: int
    half_nm: int

    def __str__(self) -> str:
        return f"{show_nm(self.nominal_nm)} +/- {show_nm(self.half_nm)}"


Value = str | int | Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A variant: what is known of its features, by feature id, and how many of it the shop has met."""

    id: str
    label: str
    values: Mapping[str, Value] = field(default_factory=dict)
    met: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """What was found on the unit: a word, a count, or a length in nanometres with its uncertainty."""

    feature: str
    value: str | int
    uncertainty_nm: int = 0


def check_case(features: Sequence[Feature], variants: Sequence[Variant], observations: Sequence[Observation]) -> None:
    """Raises InvalidInput with every fault of features, variants and observations."""
    known = {feature.id: feature for feature in features}
    problems = [*_feature_problems(features), *_variant_problems(known, variants)]
    problems += _observation_problems(known, observations)
    if problems:
        raise InvalidInput(problems)


def _feature_problems(features: Sequence[Feature]) -> Iterable[Problem]:
    seen: set[str] = set()
    for feature in features:
        where = f"features[{feature.id}]"
        if feature.id in seen:
            yield Problem(where, "this id is used twice")
        seen.add(feature.id)
        if feature.kind not in KINDS:
            yield Problem(f"{where}.kind", f"expected seen, counted or measured, found {feature.kind!r}")
        if feature.minutes <= 0:
            yield Problem(f"{where}.minutes", f"expected minutes above zero, found {feature.minutes}")
        if not 0 < feature.misread < 1:
            yield Problem(f"{where}.misread", f"expected odds between 0 and 1, found {feature.misread}")
        if feature.kind == MEASURED and feature.uncertainty_nm <= 0:
            yield Problem(f"{where}.uncertainty", "no reading is exact; state the tool's uncertainty")


def _variant_problems(features: Mapping[str, Feature], variants: Sequence[Variant]) -> Iterable[Problem]:
    if not variants:
        yield Problem("variants", "none given; there is nothing to tell apart")
    if len(variants) > MOST_VARIANTS:
        yield Problem("variants", f"at most {MOST_VARIANTS}, found {len(variants)}")
    seen: set[str] = set()
    for variant in variants:
        where = f"variants[{variant.id}]"
        if variant.id in seen:
            yield Problem(where, "this id is used twice")
        seen.add(variant.id)
        if variant.met < 0:
            yield Problem(f"{where}.met", f"expected a count from 0, found {variant.met}")
        for name, value in variant.values.items():
            feature = features.get(name)
            if feature is None:
                yield Problem(f"{where}.{name}", f"unknown feature; known are {', '.join(features)}")
            elif not _suits(feature, value):
                yield Problem(f"{where}.{name}", f"a {feature.kind} feature, found {value!r}")
            elif isinstance(value, Length) and value.half_nm <= 0:
                yield Problem(f"{where}.{name}", "zero tolerance; state how far parts of this variant differ")


def _observation_problems(features: Mapping[str, Feature], observations: Sequence[Observation]) -> Iterable[Problem]:
    seen: set[str] = set()
    for observation in observations:
        where = f"observations[{observation.feature}]"
        feature = features.get(observation.feature)
        if feature is None:
            yield Problem(where, f"unknown feature; known are {', '.join(features)}")
            continue
        if observation.feature in seen:
            yield Problem(where, "observed twice; settle which reading counts first")
        seen.add(observation.feature)
        wanted = str if feature.kind == SEEN else int
        if isinstance(observation.value, bool) or not isinstance(observation.value, wanted):
            yield Problem(f"{where}.value", f"a {feature.kind} feature, found {observation.value!r}")
        elif feature.kind == COUNTED and int(observation.value) < 0:
            yield Problem(f"{where}.value", f"a count from 0, found {observation.value}")
        if observation.uncertainty_nm < 0:
            yield Problem(f"{where}.uncertainty", "an uncertainty cannot be negative")


def _suits(feature: Feature, value: Value) -> bool:
    wanted: type = {SEEN: str, COUNTED: int, MEASURED: Length}.get(feature.kind, object)
    return isinstance(value, wanted) and not isinstance(value, bool)

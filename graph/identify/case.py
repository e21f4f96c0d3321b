"""What tells the variants of a family apart, from the measurements in the catalogue.

Every quantity that somebody has recorded of at least one variant is a feature: seen (a word), counted or measured.
A variant that says nothing of a quantity takes its family's reading. Where readings contradict each other the
variant says nothing of that feature, because nobody knows.
"""

from __future__ import annotations

from dataclasses import dataclass

from graph.catalogue.measurements import COUNT, WORD
from graph.catalogue.model import Quantity
from graph.derive.measured import Measured
from graph.fits.measurement import TOOL_UNCERTAINTY
from graph.fits.quantity import quantity_of
from graph.identify.model import COUNTED, MEASURED, SEEN, Feature, Value, Variant
from graph.identify.model import Length as FeatureLength

USUAL_UNCERTAINTY = "0.1 mm"  # where neither reading nor tool says (common practice: a calliper in a hurry)
_KINDS = {WORD: SEEN, COUNT: COUNTED, "length": MEASURED}


@dataclass(frozen=True, slots=True)
class Case:
    """The variants of a family with what is recorded of them, and the features, in order of quantity ids."""

    features: tuple[Feature, ...]
    variants: tuple[Variant, ...]


def list_families(measured: Measured) -> tuple[str, ...]:
    """The families with at least two variants of which something that tells them apart is recorded."""
    index = measured.index
    owners = {fact.of for fact in measured.catalogue.measurements.values()}
    above = {family for owner in owners for family in index.lineage(owner)[1:]}
    return tuple(sorted(family for family in above if len(index.descent(family)) > 1))


def case_of(measured: Measured, family: str) -> Case:
    """The case of a family: its variants that can be held, with their features. Empty where nothing is recorded."""
    parts = [part for _, part in sorted(measured.index.descent(family), key=lambda pair: pair[1]) if part != family]
    quantities = [q for _, q in sorted(measured.catalogue.quantities.items()) if q.dimension in _KINDS]
    wanted = [q for q in quantities if any(measured.facts(part, q.id) for part in parts)]
    variants = []
    for part in parts:
        values = {q.id: value for q in wanted if (value := _value(measured, part, q)) is not None}
        variants.append(Variant(id=part, label=measured.part(part).label, values=values))
    return Case(tuple(_feature(q) for q in wanted), tuple(variants))


def _feature(quantity: Quantity) -> Feature:
    tool = TOOL_UNCERTAINTY.get(quantity.usual_tool, USUAL_UNCERTAINTY)
    kind = _KINDS[quantity.dimension]
    return Feature(
        id=quantity.id, label=quantity.label, kind=kind, minutes=quantity.minutes,
        uncertainty_nm=quantity_of(tool).nm if kind == MEASURED else 0, how=quantity.usual_tool,
    )  # fmt: skip


def _value(measured: Measured, part: str, quantity: Quantity) -> Value | None:
    if quantity.dimension == WORD:
        seen = measured.word(part, quantity.id)
        return seen.text if seen else None
    if quantity.dimension == COUNT:
        number = measured.number(part, quantity.id)
        return int(number[0]) if number else None
    length = measured.length(part, quantity.id)
    if length is None:
        return None
    half = max(length.high_nm - length.nominal_nm, length.nominal_nm - length.low_nm)
    return FeatureLength(length.nominal_nm, half)

"""Which variant is this unit? The measurements of a family's variants, put to the identification.

A quantity measured of a variant (or of the input shaft and case that it contains) is a feature of it. How far pieces
of one variant differ is taken as 0.2 mm beyond the reading's own uncertainty (as-cast and assembled lengths, common
practice).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from graph.catalogue.measurements import COUNT, WORD
from graph.catalogue.model import CONTAINS
from graph.catalogue.near import near_matches
from graph.catalogue.terms import Quantity
from graph.derive.around import deriver_of
from graph.derive.measured import Measured
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import read_nm
from graph.fits.measurement import TOOL_UNCERTAINTY
from graph.fits.quantity import quantity_of
from graph.identify.identify import Identification, identify
from graph.identify.model import COUNTED, MEASURED, SEEN, Feature, Length, Observation, Value, Variant
from graph.lookups.index import CatalogueIndex
from graph.what_if.inputs import read_length

PIECES_DIFFER_NM = 200_000
DEFAULT_UNCERTAINTY = "0.1 mm"
MOST_UNITS = 2_000
LOOKED_AT = ("at-input-shaft", "at-gearbox-case")


def identify_unit(index: CatalogueIndex, family: str, observations: Mapping[str, str]) -> Identification:
    """The variants of a family (or all units of a sort: gearbox, engine) by what was observed of one unit.

    Of more than MOST_UNITS units of a sort, only those are compared of which something is measured.
    `observations`: by quantity id, as read: `147.1 mm +/- 0.1 mm`, `10 teeth`, `boss`. Raises NotFound for the family
    or a quantity, InvalidInput for a reading or where nothing is measured of any variant.
    """
    units = _units(index, family)
    if not index.catalogue.measurements:
        raise InvalidInput([_nothing_measured(family)])
    measured = deriver_of(index).measured
    variants = [_variant(index, measured, unit) for unit in units]
    known = [name for name in index.catalogue.quantities if any(name in variant.values for variant in variants)]
    if not known:
        raise InvalidInput([_nothing_measured(family)])
    features = [_feature(index.catalogue.quantities[name]) for name in known]
    seen = [_observation(index.catalogue.quantities, name, text, known) for name, text in observations.items()]
    return identify(features, variants, seen)


def _nothing_measured(family: str) -> Problem:
    return Problem("family", f"nothing is measured of any variant of {family!r}; measure one first")


def _units(index: CatalogueIndex, family: str) -> list[str]:
    if family in ("gearbox", "engine"):
        units: Iterable[str] = index.units(family)
        if len(index.units(family)) > MOST_UNITS:
            units = sorted(one for one in _measured_units(index) if family in _kinds_of(index, one))
        return [unit for unit in units if not index.catalogue.parts[unit].abstract]
    found = [part for _, part in index.descent(family)] if family in index.catalogue.parts else []
    if not found:
        near = [*near_matches(family, index.units("gearbox")), *near_matches(family, index.units("engine"))]
        raise NotFound("family of units", family, near_matches(family, [*near, "gearbox", "engine"]))
    return sorted(found)


def _measured_units(index: CatalogueIndex) -> set[str]:
    """The parts of which something is measured, and what contains one of them at the places looked at."""
    owners = {fact.of for fact in index.catalogue.measurements.values()}
    measured = {part for owner in owners for _, part in index.descent(owner)}
    families = {family for part in measured for family in index.lineage(part)}
    holders = {
        edge.source for part in families for edge in index.edges_at(part, CONTAINS, outward=False)
        if edge.position in LOOKED_AT
    }  # fmt: skip
    return measured | {unit for holder in holders for _, unit in index.descent(holder)}


def _kinds_of(index: CatalogueIndex, part: str) -> frozenset[str]:
    return index.kinds_of(index.catalogue.parts[part].kind)


def _variant(index: CatalogueIndex, measured: Measured, unit: str) -> Variant:
    contained = [edge.target for place in LOOKED_AT for edge in index.contains(unit).get(place, ())]
    values: dict[str, Value] = {}
    for quantity in index.catalogue.quantities.values():
        for part in (unit, *contained):
            value = _value(measured, part, quantity)
            if value is not None:
                values.setdefault(quantity.id, value)
    return Variant(id=unit, label=index.catalogue.parts[unit].label, values=values)


def _value(measured: Measured, part: str, quantity: Quantity) -> Value | None:
    if quantity.dimension == WORD:
        word = measured.word(part, quantity.id)
        return word.text if word else None
    if quantity.dimension == COUNT:
        number = measured.number(part, quantity.id)
        return int(number[0]) if number else None
    length = measured.length(part, quantity.id) if quantity.dimension == "length" else None
    return Length(length.nominal_nm, length.uncertainty_nm + PIECES_DIFFER_NM) if length else None


def _feature(quantity: Quantity) -> Feature:
    kind = {WORD: SEEN, COUNT: COUNTED}.get(quantity.dimension, MEASURED)
    usual = TOOL_UNCERTAINTY.get(quantity.usual_tool, DEFAULT_UNCERTAINTY)
    return Feature(
        id=quantity.id, label=quantity.label, kind=kind, minutes=quantity.minutes, how=quantity.usual_tool,
        uncertainty_nm=read_nm(usual) if kind == MEASURED else 0,
    )  # fmt: skip


def _observation(quantities: Mapping[str, Quantity], name: str, text: str, known: Iterable[str]) -> Observation:
    quantity = quantities.get(name)
    if quantity is None or name not in known:
        raise NotFound("quantity of these variants", name, near_matches(name, known) or tuple(known))
    if quantity.dimension == WORD:
        if text not in quantity.words:
            raise InvalidInput([Problem(name, f"expected one of {', '.join(quantity.words)}; found {text!r}")])
        return Observation(feature=name, value=text)
    if quantity.dimension == COUNT:
        plain = f"{text} teeth" if text.strip().isdecimal() else text
        return Observation(feature=name, value=int(quantity_of(plain, "count", name).amount))
    usual = TOOL_UNCERTAINTY.get(quantity.usual_tool, DEFAULT_UNCERTAINTY)
    written = text if "+/-" in text or "±" in text else f"{text} +/- {usual}"
    length = read_length(name, written)
    return Observation(feature=name, value=length.nominal_nm, uncertainty_nm=length.uncertainty_nm)

"""Readings as typed, and as the statements of a note. A bare number takes the unit that is said beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pyoxigraph as ox

from graph.catalogue.measurements import COUNT, WORD, read_measurement
from graph.catalogue.model import Catalogue, Measurement, Part
from graph.catalogue.names import KIND, LAY, RDF
from graph.catalogue.terms import Quantity
from graph.errors import InvalidInput, Problem
from graph.fits.datums import USUAL_DATUM
from graph.fits.measurement import CheckedMeasurement
from graph.fits.numbers import read_number
from graph.ledger.identity import note_iri
from graph.ledger.statements import canonical
from graph.lookups.index import CatalogueIndex

ANGLE_UNCERTAINTY = "1 deg"  # a profile gauge read by eye (common practice)
_BARE = {COUNT: "teeth", "ratio": ":1", "torque": "Nm"}  # what a number alone is taken to be in
EVIDENCE = "measured-on-these-parts"


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the fields of one quantity: the reading, give or take, the tool, the face."""

    reading: str = ""
    spread: str = ""
    tool: str = ""
    datum: str = ""


def with_unit(text: str, unit: str) -> str:
    """The text, with the form's unit where it is a bare number.

    >>> with_unit("1-1/16", "in"), with_unit("27 mm", "in")
    ('1-1/16 in', '27 mm')
    """
    plain = text.strip()
    try:
        bare = bool(plain) and not read_number(plain, "", "").rest
    except InvalidInput:  # the check itself says what is wrong, at the field
        bare = False
    return f"{plain} {unit}" if bare else plain


def fact_of(part: str, quantity: Quantity, typed: Typed, unit: str, identity: str) -> Measurement:
    """The reading as it would be written down."""
    reading, spread, tool = typed.reading, typed.spread, typed.tool or quantity.usual_tool
    if quantity.dimension == "length":
        reading, spread = with_unit(reading, unit), with_unit(spread, unit)
    elif quantity.dimension == "angle":
        reading, spread = with_unit(reading, "deg"), with_unit(spread, "deg") or ANGLE_UNCERTAINTY
    elif quantity.dimension in _BARE:
        reading, spread = (with_unit(text, _BARE[quantity.dimension]) for text in (reading, spread))
    datum = typed.datum or (USUAL_DATUM.get(quantity.id, "") if quantity.form == "position" else "")
    return Measurement(
        id=identity, quantity=quantity.id, of=part, reading=reading, uncertainty=spread, datum=datum,
        tool=tool, subject="unit", evidence=EVIDENCE,
    )  # fmt: skip


def checked(known: Catalogue, quantity: Quantity, fact: Measurement) -> CheckedMeasurement | None:
    """The reading, checked; None for a word. Raises InvalidInput where it cannot be taken."""
    if quantity.dimension == WORD:
        if fact.reading not in quantity.words:
            raise InvalidInput([Problem("reading", f"expected one of {', '.join(quantity.words)}")])
        return None
    return read_measurement(known, fact)


def quantities_of(index: CatalogueIndex, part: Part) -> tuple[Quantity, ...]:
    """What can be measured, counted or seen of a part of this kind, by name."""
    kinds = index.kinds_of(part.kind)
    found = (quantity for quantity in index.catalogue.quantities.values() if kinds.intersection(quantity.part_kinds))
    return tuple(sorted(found, key=lambda quantity: quantity.label))


def statements_of(facts: Sequence[Measurement], base: str, note_id: str) -> str:
    """The readings as a note's statements: each a measurement that rests on the note."""
    return canonical(_triples(facts, base, note_iri(base, note_id)))


def _triples(facts: Sequence[Measurement], base: str, iri: str) -> Iterator[ox.Triple]:
    for number, fact in enumerate(facts, start=1):
        subject = ox.NamedNode(f"{iri}/nodes/{number}")
        whole = fact.of if "://" in fact.of else base + fact.of
        yield ox.Triple(subject, ox.NamedNode(RDF + "type"), ox.NamedNode(LAY + "Measurement"))
        links = {"quantity": KIND + fact.quantity, "measuredOn": whole, "evidence": KIND + fact.evidence, "note": iri}
        for name, target in links.items():
            yield ox.Triple(subject, ox.NamedNode(LAY + name), ox.NamedNode(target))
        texts = {"reading": fact.reading, "uncertainty": fact.uncertainty, "datum": fact.datum, "tool": fact.tool,
                 "subject": fact.subject}  # fmt: skip
        for name, text in texts.items():
            if text:
                yield ox.Triple(subject, ox.NamedNode(LAY + name), ox.Literal(text))

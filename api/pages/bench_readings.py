"""Readings typed at the bench: taken in mm, inch or thou, laid over what is known already, kept as a note if wanted.

A bare number takes the form's unit. Nothing is stored here; `statements_of` makes the facts that a note then keeps.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import pyoxigraph as ox

from api.pages.measured_view import both_lengths, measured_of
from graph.catalogue.measurements import COUNT, WORD, read_measurement
from graph.catalogue.model import Measurement, Part, Quantity
from graph.catalogue.names import KIND, LAY, RDF
from graph.derive.measured import Measured, Readings, told
from graph.errors import InvalidInput, Problem
from graph.fits.datums import USUAL_DATUM
from graph.fits.measurement import TOOL_UNCERTAINTY
from graph.fits.numbers import read_number
from graph.ledger.identity import note_iri
from graph.ledger.statements import canonical
from graph.lookups.index import CatalogueIndex

UNITS = ("mm", "in", "thou")
ANGLE_UNCERTAINTY = "1 deg"  # a profile gauge read by eye (common practice)
_BARE = {COUNT: "teeth", "ratio": ":1", "torque": "Nm"}  # what a number alone is taken to be in
LONGEST = 80
EVIDENCE = "measured-on-these-parts"


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the fields of one quantity: the reading, give or take, the tool, the face."""

    reading: str = ""
    spread: str = ""
    tool: str = ""
    datum: str = ""


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One quantity of one part on the form. `side`: 0 or 1; `known`: what is settled already, in words.

    `both`: the typed reading in mm and inch; `fault`: why it cannot be taken; `fact`: the reading, where it can.
    """

    side: int
    part: Part
    real: bool
    quantity: Quantity
    typed: Typed
    known: str
    both: str
    fault: str
    fact: Measurement | None

    @property
    def name(self) -> str:
        """The name of its fields in the form, after the letter of each."""
        return f"{self.side}.{self.quantity.id}"


class BenchMeasured(Measured):
    """What is known, with the bench's readings in front: a quantity read now counts before any older reading."""

    def __init__(self, below: Measured, facts: Iterable[Measurement], parts: Iterable[Part]):
        super().__init__(below.index, below.tables, below.stated, dict(below._extra))
        self._now = {(fact.of, fact.quantity): Readings((fact,)) for fact in facts}
        for part in parts:
            self.add(part)

    def readings(self, part: str, quantity: str) -> Readings | None:
        """The reading made now, or else what was known."""
        return self._now.get((part, quantity)) or super().readings(part, quantity)


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


def typed_of(values: Mapping[str, str], side: int, quantity: str) -> Typed:
    """The fields of a quantity from the address or the form."""
    name = f"{side}.{quantity}"
    return Typed(*(values.get(f"{letter}{name}", "").strip()[: LONGEST + 1] for letter in "rutd"))


def row_of(index: CatalogueIndex, side: int, part: Part, quantity: Quantity, typed: Typed, unit: str) -> ReadingRow:
    """A quantity with what is known of it and what was typed."""
    real = part.id in index.catalogue.parts
    known = known_words(index, part.id, quantity) if real else ""
    if not typed.reading:
        return ReadingRow(side, part, real, quantity, typed, known, "", "", None)
    fact = fact_of(part.id, quantity, typed, unit, f"bench-{side}-{quantity.id}")
    try:
        both = _checked(index, quantity, fact)
    except InvalidInput as error:
        return ReadingRow(
            side, part, real, quantity, typed, known, "", "; ".join(p.message for p in error.problems), None
        )
    return ReadingRow(side, part, real, quantity, typed, known, both, "", fact)


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


def _checked(index: CatalogueIndex, quantity: Quantity, fact: Measurement) -> str:
    """The reading in mm and inch where it is a length. Raises InvalidInput where it cannot be taken."""
    if quantity.dimension == WORD:
        if fact.reading not in quantity.words:
            raise InvalidInput([Problem("reading", f"expected one of {', '.join(quantity.words)}")])
        return ""
    read = read_measurement(index.catalogue, fact)
    if quantity.dimension != "length":
        return ""
    return f"{both_lengths(read.reading.nm)}, give or take {both_lengths(read.uncertainty.nm)}"


def known_words(index: CatalogueIndex, part: str, quantity: Quantity) -> str:
    """What is settled of a quantity, in words; empty where nobody has measured it."""
    measured = measured_of(index)
    if quantity.dimension == WORD:
        seen = measured.word(part, quantity.id)
        return seen.text if seen else ""
    if quantity.dimension == "length":
        length = measured.length(part, quantity.id)
        if length is not None:
            spread = both_lengths(max(length.high_nm - length.nominal_nm, length.nominal_nm - length.low_nm))
            return f"{both_lengths(length.nominal_nm)}, give or take {spread} ({length.source})"
    settled = measured.settled(part, quantity.id)
    if settled is None:
        return ""
    if settled.best is None:
        return f"in dispute: {told(settled.disputes)}"
    return str(settled.best.reading)


def list_tools(quantity: Quantity) -> tuple[str, ...]:
    """The tools to choose from, the usual one first."""
    return tuple(dict.fromkeys(filter(None, (quantity.usual_tool, *TOOL_UNCERTAINTY))))


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

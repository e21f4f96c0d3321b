"""Readings typed at the bench: taken in mm, inch or thou, laid over what is known already, kept as a note if wanted.

A bare number takes the form's unit. Nothing is stored here; `graph.notes.readings` makes the facts that
a note then keeps.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from api.pages.measured_view import both_lengths, measured_of
from graph.catalogue.measurements import WORD
from graph.catalogue.model import Measurement, Part
from graph.catalogue.terms import Quantity
from graph.derive.measured import Measured, Readings, told
from graph.errors import InvalidInput
from graph.fits.measurement import TOOL_UNCERTAINTY
from graph.lookups.index import CatalogueIndex
from graph.notes.readings import Typed, checked, fact_of

UNITS = ("mm", "in", "thou")
LONGEST = 80


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


def _checked(index: CatalogueIndex, quantity: Quantity, fact: Measurement) -> str:
    """The reading in mm and inch where it is a length. Raises InvalidInput where it cannot be taken."""
    read = checked(index.catalogue, quantity, fact)
    if read is None or quantity.dimension != "length":
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

"""The tax that comes on top of a price: a percentage that the shop states, kept as a note of its record like a rate.

Nothing stated is not 0 %: whoever reads a price is told that nobody has said. Which tax is due is for the shop and its
adviser to say, under local law.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from graph.costing.notes import TAX, CostNote, CostNotes, Provenance, made_note, standing
from graph.costing.prices import half_up
from graph.errors import InvalidInput, Problem
from graph.exact import NotExact, fraction_of

MOST_PERCENT = 100


@dataclass(frozen=True, slots=True)
class Tax:
    """So many percent of the price before tax."""

    percent: Fraction

    def __post_init__(self) -> None:
        if not 0 <= self.percent <= MOST_PERCENT or (self.percent * 1000).denominator != 1:
            told = f"expected from 0 to {MOST_PERCENT} percent with at most three decimals, such as 19"
            raise InvalidInput([Problem("percent", f"{told}; found {float(self.percent):g}")])

    @property
    def words(self) -> str:
        """The rate as it is printed.

        >>> Tax(Fraction(777, 100)).words, Tax(Fraction(19)).words
        ('7.77 %', '19 %')
        """
        return f"{_decimal(self.percent)} %"

    def on(self, hundredths: int) -> int:
        """The tax on an amount in whole hundredths, rounded half up.

        >>> Tax(Fraction(19)).on(100_05)
        1901
        """
        return half_up(self.percent * hundredths / 100)


def tax_note(percent: object, provenance: Provenance) -> CostNote:
    """The rate as a note. Raises InvalidInput for what is no percentage."""
    try:
        tax = Tax(Fraction(fraction_of(percent)))
    except NotExact as fault:
        raise InvalidInput([Problem("percent", str(fault))]) from None
    return made_note(TAX, TAX, {"percent": _decimal(tax.percent)}, provenance)


def _decimal(percent: Fraction) -> str:
    """Exact: at most three decimals, of which closing noughts are left out."""
    shown = f"{Decimal(percent.numerator) / Decimal(percent.denominator):.3f}"
    return shown.rstrip("0").rstrip(".")


def find_tax(notes: CostNotes) -> Tax | None:
    """The newest rate that stands; None where nobody has stated one."""
    return tax_of(standing(notes, kind=TAX))


def tax_of(notes: Iterable[CostNote]) -> Tax | None:
    """The same of notes, oldest first."""
    said = [Tax(Fraction(str(note.body["percent"]))) for note in notes]
    return said[-1] if said else None

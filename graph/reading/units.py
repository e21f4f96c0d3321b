"""The asked units themselves: is a gearbox or engine in hand, or does it have to be bought, and for how much?

In hand is what the question names as its own. What is not, and states a price, is bought: its price, its wait and its
core deposit count. Of what states no price nobody knows what it would cost: it is taken as in hand, and the answer
says so. The vehicle is where the job is done; nobody buys it for the job.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from graph.catalogue.model import Part
from graph.conversion.document import Candidate, Position

if TYPE_CHECKING:
    from graph.reading.sieve import Sieve

UNIT = "unit"  # the kind of the places for bought units
IN_HAND, TO_BUY, PRICE_NOT_KNOWN = "in hand", "to buy", "price not known"


@dataclass(frozen=True, slots=True)
class AskedUnit:
    """A gearbox or engine that was asked about (`what`), and how it is to be had: one of the three states above.

    `cash_hundredths`: its price with what of the core deposit is expected to be lost, less `exchanged_hundredths` for
    the old one handed in; None where no price is known.
    """

    what: str
    part: Part
    state: str
    cash_hundredths: int | None = None
    exchanged_hundredths: int = 0

    @property
    def days(self) -> Fraction:
        """The wait for it: none from the shelf."""
        return Fraction(0) if self.state != TO_BUY or self.part.in_stock else self.part.days


def read_units(sieve: Sieve) -> tuple[AskedUnit, ...]:
    """The asked gearbox and engine."""
    question = sieve.question
    return tuple(
        _asked(sieve, what, unit) for what, unit in (("gearbox", question.gearbox), ("engine", question.engine))
    )


def _asked(sieve: Sieve, what: str, unit: str) -> AskedUnit:
    part = sieve.part(unit)
    if unit in sieve.own:
        return AskedUnit(what, part, IN_HAND)
    if part.cash_hundredths is None:
        return AskedUnit(what, part, PRICE_NOT_KNOWN)
    off = min(part.part_exchange_hundredths or 0, part.cash_hundredths) if sieve.question.part_exchange else 0
    return AskedUnit(what, part, TO_BUY, part.cash_hundredths - off, off)


def position_of(unit: AskedUnit) -> Position:
    """The place in the document of a unit that is bought: one candidate, which every route picks."""
    place = f"{UNIT}/{unit.what}"
    bought = Candidate(
        id=f"{place}/{unit.part.id}", label=unit.part.label, part=unit.part.id,
        cash_hundredths=unit.cash_hundredths or 0, days=unit.days,
    )  # fmt: skip
    return Position(place, UNIT, unit.what, (bought,))

"""Rates per kind of work, and the price list of work sent out. Money in whole hundredths.

The search knows one bench rate. Work of another kind keeps its hours and carries the difference between its own
rate and the bench rate as cash, so that cash + bench rate * hours is what the customer pays for it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from graph.costing.prices import half_up
from graph.errors import InvalidInput, NotFound, Problem

BENCH = "bench"


@dataclass(frozen=True, slots=True)
class Rate:
    """Money per hour for a kind of work: bench, machining, welding, electrical, road test."""

    kind: str
    hundredths: int
    currency: str

    def __post_init__(self) -> None:
        if self.hundredths < 0:
            raise InvalidInput([Problem(f"rate.{self.kind}", f"expected 0 or more, found {self.hundredths}")])


@dataclass(frozen=True, slots=True)
class Sublet:
    """Work sent out at a fixed price. `wanted`: what the drawing or the order must say."""

    id: str
    label: str
    cash_hundredths: int
    currency: str
    lead_days: Fraction = Fraction(0)
    wanted: str = ""

    def __post_init__(self) -> None:
        if self.cash_hundredths < 0 or self.lead_days < 0:
            raise InvalidInput([Problem(f"sublet.{self.id}", "expected a price and a lead of 0 or more")])


def get_rate(rates: Iterable[Rate], kind: str) -> Rate:
    """The rate of a kind of work. Raises NotFound."""
    known = {rate.kind: rate for rate in rates}
    if kind not in known:
        raise NotFound("rate", kind, sorted(known))
    return known[kind]


def surcharge_hundredths(rates: Iterable[Rate], kind: str, hours_hundredths: int) -> int:
    """Cash to add for hours of another kind of work than the bench's; below 0 where it is cheaper.

    >>> surcharge_hundredths([Rate("bench", 6000, "EUR"), Rate("machining", 8000, "EUR")], "machining", 150)
    3000
    """
    known = list(rates)
    bench, own = get_rate(known, BENCH), get_rate(known, kind)
    if bench.currency != own.currency:
        message = f"expected {bench.currency} like the bench rate, found {own.currency}"
        raise InvalidInput([Problem(f"rate.{kind}", message)])
    return half_up(Fraction((own.hundredths - bench.hundredths) * hours_hundredths, 100))

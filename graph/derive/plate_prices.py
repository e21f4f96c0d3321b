"""A made plate priced from the shop's rates: so many kilograms of blank, holes, bores and faces, each at its price.

The rates stand on the price list of operations (`graph/plates/bill.py` names them). Without all four the flat price of
`make-plate` counts, as the shop noted it; without either there is no price, and no plate is proposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from graph.catalogue.model import Catalogue
from graph.derive.costs import Cost, hours_together
from graph.exact import HUNDREDTHS
from graph.plates.bill import PLATE_RATES, PlateCount
from graph.plates.rules import up


@dataclass(frozen=True, slots=True)
class PlateLine:
    """One line of the price: what, how many, at how much, what it comes to in cash and hours (hundredths; None where
    nobody has stated them)."""

    what: str
    each_hundredths: int
    cash_hundredths: int
    hours_hundredths: int | None

    def text(self) -> str:
        """`22 holes and counterbores at 3.00: 66.00`."""
        each, cash = (f"{one / HUNDREDTHS:.2f}" for one in (self.each_hundredths, self.cash_hundredths))
        hours = f", {self.hours_hundredths / HUNDREDTHS:.2f} h" if self.hours_hundredths else ""
        return f"{self.what} at {each}: {cash}{hours}"


def has_rates(catalogue: Catalogue) -> bool:
    """Has the shop a rate for all that a plate is counted in?"""
    return all(name in catalogue.operation_prices for name in PLATE_RATES)


def price_lines(catalogue: Catalogue, counts: Sequence[PlateCount]) -> tuple[PlateLine, ...]:
    """Each count at its rate, whole hundredths, rounded up."""
    lines = []
    for one in counts:
        price = catalogue.operation_prices[one.operation]
        each = price.hours_hundredths
        hours = None if each is None else up(one.count * each)
        lines.append(PlateLine(one.text(), price.cash_hundredths, up(one.count * price.cash_hundredths), hours))
    return tuple(lines)


def plate_cost(catalogue: Catalogue, counts: Sequence[PlateCount]) -> Cost:
    """What the lines come to; the longest wait among the rates, and the visits that they need."""
    lines = price_lines(catalogue, counts)
    prices = [catalogue.operation_prices[one.operation] for one in counts]
    return Cost(
        sum(line.cash_hundredths for line in lines), hours_together(*(line.hours_hundredths for line in lines)),
        max(price.days for price in prices), tuple(dict.fromkeys(task for price in prices for task in price.tasks)),
    )  # fmt: skip

"""What computed work costs: the shop's price list, operation by operation. A missing price is no price of nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from graph.catalogue.model import Catalogue
from graph.fits.model import Work


@dataclass(frozen=True, slots=True)
class Cost:
    """Cash and hours in hundredths, waiting days, and the tasks that the work needs (a visit is paid once).

    `hours_hundredths`: None where the price list states none for some of the work.
    """

    cash_hundredths: int = 0
    hours_hundredths: int | None = 0
    days: Fraction = Fraction(0)
    tasks: tuple[str, ...] = ()


def hours_together(*hours: int | None) -> int | None:
    """The sum; None where nobody has stated one of them."""
    known = [one for one in hours if one is not None]
    return sum(known) if len(known) == len(hours) else None


class NotPriced(Exception):
    """The price list has no entry for an operation; caught where the edge would have been made."""

    def __init__(self, operation: str):
        self.operation = operation
        super().__init__(operation)


def cost_of(catalogue: Catalogue, works: Iterable[Work]) -> Cost:
    """The sum over the works. Raises NotPriced for the first that the price list lacks."""
    cash = 0
    hours: int | None = 0
    days = Fraction(0)
    tasks: dict[str, None] = {}
    for work in works:
        price = catalogue.operation_prices.get(work.operation)
        if price is None:
            raise NotPriced(work.operation)
        cash += price.cash_hundredths
        hours = hours_together(hours, price.hours_hundredths)
        days = max(days, price.days)
        tasks.update(dict.fromkeys(price.tasks))
    return Cost(cash, hours, days, tuple(tasks))

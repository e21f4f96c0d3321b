"""Prices with their currency, date, condition, lead and core deposit; which one to use, and when it is stale.

A core deposit is cash out now and usually comes back: it costs the odds of losing it. Money in whole hundredths
of the price's currency. No amounts are ever converted: a price in another currency is not used, and said so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from graph.catalogue.model import Part
from graph.errors import InvalidInput, Problem

CONDITIONS = ("new", "new-old-stock", "reconditioned", "used-tested", "used-untested")
STALE_AFTER_DAYS = 180  # common practice: half a year, and sooner where a supplier says so


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What a part costs from one supplier on one day. `supplier`: the shop's own note, never a claim of fact."""

    part: str
    cash_hundredths: int
    currency: str
    condition: str
    dated: date
    supplier: str = ""
    lead_days: Fraction = Fraction(0)
    deposit_hundredths: int = 0
    deposit_lost: Fraction = Fraction(0)
    batch: str = ""

    def __post_init__(self) -> None:
        checks = [
            ("cash", self.cash_hundredths >= 0, "expected a price of 0 or more"),
            ("deposit", self.deposit_hundredths >= 0, "expected a deposit of 0 or more"),
            ("lead", self.lead_days >= 0, "expected a lead of 0 days or more"),
            ("deposit lost", 0 <= self.deposit_lost <= 1, "expected odds between 0 and 1"),
            ("condition", self.condition in CONDITIONS, f"expected one of {', '.join(CONDITIONS)}"),
        ]
        problems = [Problem(f"{self.part}.{name}", message) for name, holds, message in checks if not holds]
        if problems:
            raise InvalidInput(problems)

    @property
    def expected_hundredths(self) -> int:
        """What it costs once the deposit is expected back: price + odds of losing it * deposit, rounded half up."""
        lost = self.deposit_lost * self.deposit_hundredths
        return self.cash_hundredths + half_up(lost)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockItem:
    """Pieces on the shelf at book value (whole hundredths each). `place`: where it lies."""

    part: str
    quantity: int
    book_hundredths: int
    currency: str
    condition: str = "used-untested"
    place: str = ""

    def __post_init__(self) -> None:
        if self.quantity < 0 or self.book_hundredths < 0:
            found = f"{self.quantity} at {self.book_hundredths}"
            raise InvalidInput([Problem(self.part, f"expected quantity and book value of 0 or more, found {found}")])


@dataclass(frozen=True, slots=True)
class Source:
    """Where a part would come from, and what it would cost. `why` is for the reader, `stale` if not to be trusted."""

    part: str
    cash_hundredths: int
    lead_days: Fraction
    condition: str
    in_stock: bool
    why: str
    stale: bool = False
    price: Price | None = None


def half_up(value: Fraction) -> int:
    """The nearest whole number, halves up."""
    return int((Decimal(value.numerator) / Decimal(value.denominator)).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def age_days(price: Price, today: date) -> int:
    """Days since the price was given."""
    return (today - price.dated).days


def is_stale(price: Price, today: date, after_days: int = STALE_AFTER_DAYS) -> bool:
    """True for a price older than `after_days`."""
    return age_days(price, today) > after_days


def newest_prices(prices: Iterable[Price]) -> list[Price]:
    """The newest price of each part, condition, supplier and currency: an older one of the same is history."""
    newest: dict[tuple[str, str, str, str], Price] = {}
    for price in prices:
        key = (price.part, price.condition, price.supplier, price.currency)
        if key not in newest or price.dated >= newest[key].dated:
            newest[key] = price
    return list(newest.values())


def find_source(
    part: str, prices: Iterable[Price], stock: Iterable[StockItem], currency: str, today: date,
    conditions: tuple[str, ...] = CONDITIONS, after_days: int = STALE_AFTER_DAYS,
) -> Source | None:  # fmt: skip
    """The cheapest way to get a part: from the shelf at book value, else the lowest expected price.

    Fresh prices come before stale ones however cheap those are. None if nobody offers it in this currency.
    """
    shelf = [s for s in stock if s.part == part and s.quantity and s.currency == currency and s.condition in conditions]
    if shelf:
        item = min(shelf, key=lambda each: each.book_hundredths)
        why = f"in stock ({item.quantity}{' at ' + item.place if item.place else ''}), at book value"
        return Source(part, item.book_hundredths, Fraction(0), item.condition, True, why)
    offers = [
        price
        for price in newest_prices(p for p in prices if p.part == part)
        if price.currency == currency and price.condition in conditions
    ]
    if not offers:
        return None
    best = min(offers, key=lambda each: (is_stale(each, today, after_days), each.expected_hundredths, each.supplier))
    stale = is_stale(best, today, after_days)
    return Source(
        part, best.expected_hundredths, best.lead_days, best.condition, False, _why(best, today, stale), stale, best
    )


def priced_part(
    part: Part, prices: Sequence[Price], stock: Sequence[StockItem], currency: str, today: date
) -> tuple[Part, str]:
    """The part with the shop's own price or shelf put in, and what the reader must be told of that.

    Without a price of the shop it keeps what its facts say. `prices`, `stock`: of this part.
    """
    if part.abstract or not (prices or stock):
        return part, ""
    source = find_source(part.id, prices, stock, currency, today)
    if source is None and not prices:
        return replace(part, in_stock=False, price_source="none left on the shelf, the facts' price"), ""
    if source is None:
        return part, f"{part.label}: no price in {currency}; the shop's prices are in other currencies"
    priced = replace(
        part, cash_hundredths=source.cash_hundredths, currency=currency, days=source.lead_days,
        condition=source.condition, found_condition=part.condition, in_stock=source.in_stock, price_source=source.why,
        deposit_hundredths=source.price.deposit_hundredths if source.price else 0,
        deposit_counted_hundredths=source.cash_hundredths - source.price.cash_hundredths if source.price else 0,
    )  # fmt: skip
    return priced, f"{part.label}: {source.why}" if source.stale else ""


def _why(price: Price, today: date, stale: bool) -> str:
    words = f"{price.condition.replace('-', ' ')}, price of {price.dated.isoformat()}"
    if price.supplier:
        words += f" ({price.supplier})"
    if price.deposit_hundredths:
        deposit = f"{Decimal(price.deposit_hundredths) / 100:.2f} {price.currency}"
        words += f"; core deposit {deposit}, lost with odds {float(price.deposit_lost):.0%}"
    return f"{words}; STALE, {age_days(price, today)} days old: ask again" if stale else words

"""Currencies by their ISO 4217 codes, and amounts in them."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

from graph.exact import HUNDREDTHS, NotExact, scaled

TABLE = Path(__file__).resolve().parents[2] / "facts" / "standards" / "iso4217_currencies.csv"


@cache
def minor_units() -> dict[str, int]:
    """The number of decimals that each known currency has, by its code."""
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return {row["code"]: int(row["minor_units"]) for row in csv.DictReader(lines)}


def currency_of(text: str) -> str:
    """The ISO 4217 code. Raises NotExact if it is not one.

    >>> currency_of(" eur ")
    'EUR'
    """
    code = text.strip().upper()
    if code not in minor_units():
        raise NotExact(f"expected an ISO 4217 currency code such as EUR, found {text!r}")
    return code


def amount_hundredths(value: object, currency: str) -> int:
    """A price as whole hundredths. Raises NotExact below 0, or with more decimals than the currency has.

    >>> amount_hundredths("135.50", "EUR")
    13550
    """
    whole = scaled(value, HUNDREDTHS)
    if whole < 0:
        raise NotExact(f"expected a price of 0 or more, found {value}")
    if minor_units().get(currency, 2) == 0 and whole % HUNDREDTHS:
        raise NotExact(f"{currency} has no smaller unit: expected a whole amount, found {value}")
    return whole

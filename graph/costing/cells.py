"""What one cell of a price list says: amounts with either decimal mark, dates in a stated order, odds, texts.

Nothing is guessed. "1,250" may be 1250 or 1.25, and 03/04/2026 a day in March or in April: both are refused until
the reader says which mark and which order the list uses. Every reader raises NotExact with what was wanted.
"""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

from graph.costing.tables import MOST_CHARACTERS, Cell
from graph.exact import NotExact, decimal_of
from graph.plain_text import fault_of_text

ISO, DAY_FIRST, MONTH_FIRST = "year first", "day first", "month first"
DATE_ORDERS = (ISO, DAY_FIRST, MONTH_FIRST)
_THREE = re.compile(r"^-?\d{1,3}[.,]\d{3}$")
_SLASHED = re.compile(r"^(\d{1,2})[./-](\d{1,2})[./-](\d{4})$")
_ISO = re.compile(r"^(\d{4})-(\d{2})-(\d{2})$")


def text_of(cell: Cell) -> str:
    """The cell as one trimmed line of text."""
    text = "" if cell is None else cell.isoformat() if isinstance(cell, date) else str(cell).strip()
    if len(text) > MOST_CHARACTERS:
        raise NotExact(f"expected at most {MOST_CHARACTERS:,} characters, found {len(text):,}")
    if fault := fault_of_text(text):
        raise NotExact(fault)
    return " ".join(text.split())


def number_of(cell: Cell, decimal_mark: str = "") -> Decimal:
    """The cell as a number. `decimal_mark`: "." or ",", or empty if the list does not say."""
    if isinstance(cell, (int, float)):
        return decimal_of(cell)
    text = text_of(cell).replace(" ", "").replace("\u00a0", "").replace("'", "")
    if text.startswith("="):
        raise NotExact(f"expected a number, found the formula {text!r}; paste its value")
    if not decimal_mark:
        decimal_mark = _mark_in(text)
    thousands = "," if decimal_mark == "." else "."
    whole, _, rest = text.partition(decimal_mark)
    if thousands in rest or (thousands in whole and not re.fullmatch(rf"-?\d{{1,3}}(\{thousands}\d{{3}})+", whole)):
        raise NotExact(f"expected a number with the decimal mark {decimal_mark!r}, found {text!r}")
    return decimal_of(f"{whole.replace(thousands, '')}.{rest}" if rest else whole.replace(thousands, ""))


def odds_of(cell: Cell, decimal_mark: str = "") -> Fraction:
    """Odds between 0 and 1; "15 %" is 0.15."""
    text = text_of(cell)
    percent = text.endswith("%")
    odds = Fraction(number_of(text.rstrip("% ") if percent else cell, decimal_mark)) / (100 if percent else 1)
    if not 0 <= odds <= 1:
        raise NotExact(f"expected odds between 0 and 1 (or 0 % to 100 %), found {text!r}")
    return odds


def date_readings(text: str) -> dict[str, date]:
    """The date that each order makes of a text; empty if none can."""
    found = _ISO.match(text)
    if found:
        return _reading(ISO, int(found[1]), int(found[2]), int(found[3]))
    found = _SLASHED.match(text)
    if not found:
        return {}
    one, two, year = int(found[1]), int(found[2]), int(found[3])
    return _reading(DAY_FIRST, year, two, one) | _reading(MONTH_FIRST, year, one, two)


def date_of(cell: Cell, order: str = "") -> date:
    """The cell as a date. `order`: one of DATE_ORDERS for dates not written year first, or empty if unknown."""
    if isinstance(cell, date):
        return cell
    text = text_of(cell)
    readings = date_readings(text)
    if not readings:
        raise NotExact(f"expected a date such as 2026-03-31, found {text!r}")
    if ISO in readings:
        return readings[ISO]
    if order:
        if order not in readings:
            raise NotExact(f"expected a date written {order}, found {text!r}")
        return readings[order]
    if len(set(readings.values())) > 1:
        both = " or ".join(each.isoformat() for each in readings.values())
        raise NotExact(f"{text!r} may be {both}: say whether dates are day first or month first")
    return next(iter(readings.values()))


def _reading(order: str, year: int, month: int, day: int) -> dict[str, date]:
    try:
        return {order: date(year, month, day)}
    except ValueError:
        return {}


def _mark_in(text: str) -> str:
    if _THREE.match(text):
        raise NotExact(f"{text!r} may be a thousand or a thousandth: say which decimal mark the list uses")
    last = max(text.rfind("."), text.rfind(","))
    if last < 0:
        return "."
    return text[last] if text.count(text[last]) == 1 else "," if text[last] == "." else "."

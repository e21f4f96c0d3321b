"""Price lists out, as CSV and XLSX that no spreadsheet can be made to execute.

A text that starts with = + - @, a tab or a return would be taken for a formula when the file is opened. In CSV it is
put behind an apostrophe; in XLSX it is stored as text with the quote-prefix flag. Numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from graph.costing.prices import Price
from graph.plain_text import for_xml

HEADER = ("part", "price", "currency", "condition", "date", "supplier", "lead days", "deposit", "deposit lost")
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def neutral(text: str) -> str:
    """The text as CSV may carry it.

    >>> neutral("=1+1"), neutral("seal 40x62")
    ("'=1+1", 'seal 40x62')
    """
    return "'" + text if text.startswith(STARTS_A_FORMULA) else text


def prices_as_csv(prices: Iterable[Price]) -> str:
    """The prices as CSV text (RFC 4180, UTF-8)."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADER)
    for price in prices:
        writer.writerow([neutral(cell) if isinstance(cell, str) else cell for cell in _cells(price)])
    return out.getvalue()


def prices_as_xlsx(prices: Iterable[Price]) -> bytes:
    """The prices as an XLSX workbook."""
    from openpyxl import Workbook  # here, because it takes half a second to load

    book = Workbook(write_only=True)
    sheet = book.create_sheet("prices")
    sheet.append(HEADER)
    for price in prices:
        cells = (for_xml(cell) if isinstance(cell, str) else cell for cell in _cells(price))
        sheet.append([_safe_cell(sheet, cell) for cell in cells])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _cells(price: Price) -> Sequence[str | Decimal]:
    lead = Decimal(price.lead_days.numerator) / Decimal(price.lead_days.denominator)
    lost = Decimal(price.deposit_lost.numerator) / Decimal(price.deposit_lost.denominator)
    return (
        price.part, Decimal(price.cash_hundredths) / 100, price.currency, price.condition, price.dated.isoformat(),
        price.supplier, lead, Decimal(price.deposit_hundredths) / 100, lost,
    )  # fmt: skip


def _safe_cell(sheet: Any, cell: str | Decimal) -> object:
    if not isinstance(cell, str) or not cell.startswith(STARTS_A_FORMULA):
        return cell
    from openpyxl.cell import WriteOnlyCell

    text = WriteOnlyCell(sheet, cell)
    text.data_type = "s"
    text.quotePrefix = True
    return text

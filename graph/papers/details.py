"""What the shop adds to an answer before it becomes a paper. Everything left out is a line to write on."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.papers.lengths import BOTH, check_units

MOST_CHARACTERS = 4_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Details:
    """Who, what and under which terms. `dated`: ISO date. `limit_hundredths`: the customer's, None if not given.

    `tax_percent`: what the shop adds to every price, None where it states none.
    `address`: of the build record's page, for its QR code. `quoted`: stale prices and deposits in words.
    """

    number: str
    dated: str
    shop: str = ""
    customer: str = ""
    vehicle: str = ""
    wish: str = ""
    identified_by: str = ""
    exclusions: tuple[str, ...] = ()
    limit_hundredths: int | None = None
    valid_until: str = ""
    deposit_asked: str = ""
    warranty: str = ""
    approval: str = ""
    address: str = ""
    quoted: tuple[str, ...] = ()
    units: str = BOTH
    tax_percent: Fraction | None = None

    def __post_init__(self) -> None:
        check_units(self.units)
        problems = []
        if not self.number.strip():
            problems.append(Problem("number", "expected the shop's number of the job"))
        if self.limit_hundredths is not None and self.limit_hundredths < 0:
            problems.append(Problem("limit", "expected 0 or more"))
        if self.tax_percent is not None and not 0 <= self.tax_percent <= 100:
            problems.append(Problem("tax", "expected 0 to 100 percent"))
        try:
            date.fromisoformat(self.dated)
        except ValueError:
            problems.append(Problem("dated", f"expected a date such as 2026-03-31, found {self.dated!r}"))
        if self.address and not self.address.startswith(("https://", "http://")):
            problems.append(Problem("address", f"expected an http or https address, found {self.address!r}"))
        for each in fields(self):
            value = getattr(self, each.name)
            if isinstance(value, str) and len(value) > MOST_CHARACTERS:
                problems.append(Problem(each.name, f"{len(value):,} characters, at most {MOST_CHARACTERS:,}"))
        if problems:
            raise InvalidInput(problems)

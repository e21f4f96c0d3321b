"""What is measured on every job, as a sheet: on which side, from which datum, with which tool (common practice)."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache

from graph.catalogue.house import FACTS_FOLDER

BOX_SIDE = ("gearbox", "both")


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """One reading of the sheet. `side`: engine, gearbox or both."""

    side: str
    what: str
    datum: str
    tool: str
    source: str


@cache
def measuring_sheet() -> tuple[ToMeasure, ...]:
    """The rows, in the order of the sheet."""
    with (FACTS_FOLDER / "kinds" / "measuring_sheet.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(ToMeasure(**row) for row in csv.DictReader(lines))

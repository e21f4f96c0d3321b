"""Why one piece of work comes before another, as a fitter would say it: facts/kinds/work_reasons.csv.

A place (`at-pilot`), a kind of joint (`engine-face`) or a task (`housing-dialled-in`; `gearbox-out-and-in back` for
putting it back) comes before another one, and why. What a row says is common practice; arrows of the order of work
that have no row get the general reason of their sort (why_here.py).
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from functools import cache

from graph.catalogue.house import KINDS_FOLDER

FILE = KINDS_FOLDER / "work_reasons.csv"
BACK = " back"


@cache
def work_reasons() -> dict[tuple[str, str], str]:
    """By what comes first and what comes then: why."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        return {(row["first"], row["then"]): row["why"] for row in csv.DictReader(lines)}


def reason_of(first: Iterable[str], then: Iterable[str]) -> str:
    """The reason between two lines of work, each by the names that it goes by, the most particular first; "" for none.

    >>> reason_of(["at-pilot"], ["at-clutch-disc"])
    'the disc covers the bore that it sits in'
    """
    table, names = work_reasons(), tuple(then)
    return next((table[one, other] for one in first for other in names if (one, other) in table), "")

"""Reads what the trade's table of worn parts says of parts that lie open. Every row names its source."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from pathlib import Path

from graph.costing.priors import KINDS, PRIORS, fraction_in, table_rows
from graph.errors import InvalidFacts, Problem
from graph.exact import HUNDREDTHS
from graph.wear.model import WearRow

OPEN = KINDS / "while_it_is_out.csv"
YES, NO = "yes", "no"


@cache
def wear_table() -> tuple[WearRow, ...]:
    """The table that comes with the program, read once."""
    return load_wear(OPEN, PRIORS)


def load_wear(path: Path, priors: Path) -> tuple[WearRow, ...]:
    """The rows, in the order of the file; labels, tests and limits from the table of priors.

    Raises InvalidFacts with file and line of every bad row.
    """
    faults: list[Problem] = []
    known = {row["fault"]: row for _, row in table_rows(priors)}
    rows, seen = [], set[tuple[str, str]]()
    for where, row in table_rows(path):
        at = (row["fault"], row["position"])
        if row["fault"] not in known:
            faults.append(Problem(f"{where}, column fault", f"no fault {row['fault']!r} in {priors.name}"))
        elif at in seen:
            faults.append(Problem(where, "said twice"))
        else:
            seen.add(at)
            rows.append(_row(where, row, known[row["fault"]], faults))
    if faults:
        raise InvalidFacts(faults)
    return tuple(rows)


def _row(where: str, row: Mapping[str, str], prior: Mapping[str, str], faults: list[Problem]) -> WearRow:
    hours = fraction_in(where, row, "hours", faults) if row["hours"] else None
    yearly = fraction_in(where, row, "yearly", faults) or Fraction(0)
    if not 0 <= yearly <= 1:
        faults.append(Problem(f"{where}, column yearly", f"expected 0 to 1, found {row['yearly']!r}"))
    if not row["source"]:
        faults.append(Problem(where, 'no source: name one, or write "common practice"'))
    return WearRow(
        row["fault"], prior["label"], row["position"], row["renews"], row["kind"], row["needs"],
        None if hours is None else int(hours * HUNDREDTHS), _yes(where, row, "seen", faults), yearly,
        _yes(where, row, "piece", faults), prior["always_replace"] == YES, prior["cheap_test"], prior["sign_or_limit"],
        row["source"],
    )  # fmt: skip


def _yes(where: str, row: Mapping[str, str], column: str, faults: list[Problem]) -> bool:
    if row[column] not in (YES, NO):
        faults.append(Problem(f"{where}, column {column}", f"expected yes or no, found {row[column]!r}"))
    return row[column] == YES

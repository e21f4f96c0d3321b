"""What makes a returned core worth its deposit, or worthless (facts/kinds/core_conditions.csv)."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from functools import cache

from graph.answer import words
from graph.answer.model.work import PartLine
from graph.catalogue.house import KINDS_FOLDER


@cache
def _conditions() -> tuple[str, ...]:
    with (KINDS_FOLDER / "core_conditions.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(f"{row['label']} ({row['look']})" for row in csv.DictReader(lines))


def core_terms(parts: Iterable[PartLine]) -> tuple[str, ...]:
    """The list, headed by the parts whose deposit it is about; empty where no deposit is in the sum."""
    owed = [part.label for part in parts if part.deposit_hundredths]
    if not owed:
        return ()
    first = f"The old part goes back for {words.listed(owed)}; its deposit is lost unless it is:"
    return (first, *_conditions())

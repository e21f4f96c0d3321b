"""Costly cases that take turns: some of them every day, other ones every day; all of them with LAYSHAFT_ALL_TURNS."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date
from typing import TypeVar

Case = TypeVar("Case")


def todays(cases: Sequence[Case], days: int) -> list[Case]:
    """Every `days`th of the cases, so that each has its turn within that many days."""
    if os.environ.get("LAYSHAFT_ALL_TURNS"):
        return list(cases)
    return list(cases[date.today().toordinal() % days :: days])

"""Costly cases that take turns: some of them every day, other ones every day; all of them with LAYSHAFT_ALL_TURNS."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TypeVar

import pytest

Case = TypeVar("Case")


def todays(cases: Sequence[Case], days: int) -> list[Case]:
    """Every `days`th of the cases, so that each has its turn within that many days."""
    if os.environ.get("LAYSHAFT_ALL_TURNS"):
        return list(cases)
    return list(cases[date.today().toordinal() % days :: days])


def without_those_of_other_days(items: Sequence[pytest.Item]) -> tuple[list[pytest.Item], list[pytest.Item]]:
    """The tests of today, and those of files marked `takes_turns` whose turn is another day. Asked for by name, one is
    always run."""
    kept: list[pytest.Item] = []
    rested: list[pytest.Item] = []
    seen: dict[Path, int] = {}
    for item in items:
        mark = item.get_closest_marker("takes_turns")
        if mark is None or os.environ.get("LAYSHAFT_ALL_TURNS"):
            kept.append(item)
            continue
        place = seen[item.path] = seen.get(item.path, -1) + 1
        (kept if (place + date.today().toordinal()) % mark.args[0] == 0 else rested).append(item)
    return kept, rested

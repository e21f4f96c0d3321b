"""The lines that stand on every job sheet, read from their tables."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

TEMPLATES = Path(__file__).resolve().parent / "templates"


@cache
def rows_of(name: str) -> tuple[dict[str, str], ...]:
    """The rows of `templates/NAME.csv`: settings, safety_lines, sublet_sketch, used_up."""
    with (TEMPLATES / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(lines))

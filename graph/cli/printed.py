"""Lines that the commands print."""

from __future__ import annotations

from collections.abc import Iterable


def print_lines(head: str, lines: Iterable[str]) -> None:
    """Each line by itself, set in, behind `head`."""
    for line in lines:
        print(f"  {head}{line}")

"""Hours of fitting as a shop's record has them, in place of those of the facts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from graph.conversion.document import Candidate, Conversion, Link

Fitted = TypeVar("Fitted", Candidate, Link)


def with_fitting_hours(
    conversion: Conversion, learnt: Callable[[str, int], int] | None
) -> tuple[Conversion, dict[str, int]]:
    """The document with the hours of candidates and links as learnt, and by their ids the hours that they had."""
    choices = [
        *(c for p in conversion.positions for c in p.candidates),
        *(k for j in conversion.joints for k in j.links),
    ]
    book = {choice.id: choice.hours_hundredths for choice in choices if choice.hours_hundredths}
    if learnt is None or not book:
        return conversion, book

    hours = {name: learnt(name, stated) for name, stated in book.items()}

    def moved(choice: Fitted) -> Fitted:
        return replace(choice, hours_hundredths=hours[choice.id]) if choice.id in hours else choice

    positions = tuple(replace(p, candidates=tuple(map(moved, p.candidates))) for p in conversion.positions)
    joints = tuple(replace(j, links=tuple(map(moved, j.links))) for j in conversion.joints)
    return replace(conversion, positions=positions, joints=joints), book

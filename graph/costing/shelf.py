"""What a job takes off the shelf. A count says how many lie there; a taking lessens the count that stands before it.

Takings are notes of the job's closing: taken back with it, the pieces lie on the shelf again, whatever other jobs took
meanwhile. A later count speaks for itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from graph.costing.prices import StockItem


@dataclass(frozen=True, slots=True)
class FromShelf:
    """A part that the plan takes off the shelf, and the position it is for."""

    part: str
    position: str


def parts_used(planned: Iterable[FromShelf], built: Iterable[tuple[str, str]]) -> list[str]:
    """The parts that may have come off the shelf. `built`: (position, part) as built, which overrules the plan.

    >>> parts_used([FromShelf("plate-20", "plate"), FromShelf("bell", "bell housing")], [("Plate", "plate-15")])
    ['bell', 'plate-15']
    """
    fitted = {position.casefold(): part for position, part in built}
    kept = [each.part for each in planned if each.position.casefold() not in fitted]
    return list(dict.fromkeys([*kept, *fitted.values()]))


def takings(parts: Iterable[str], shelf: Sequence[StockItem]) -> list[tuple[str, Mapping[str, object]]]:
    """Part and note body of what is taken: one piece of each part that the shelf holds, the cheapest first."""
    found: list[tuple[str, Mapping[str, object]]] = []
    for part in parts:
        items = [item for item in shelf if item.part == part and item.quantity]
        if items:
            item = min(items, key=lambda each: each.book_hundredths)
            found.append((part, {"taken": 1, "condition": item.condition, "place": item.place}))
    return found

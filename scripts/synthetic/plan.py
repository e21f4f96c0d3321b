"""Who shares which interface: the trade as cells of one engine family and the gearbox families built for it.

Interfaces are shared as in the trade: a pattern (bolt face, spline, clutch) has about fifty cells, a few patterns
have hundreds, and their number grows with the trade. Bearings are the few standard sizes that everybody uses.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from random import Random

PARTS_PER_CELL = 54  # measured over many cells; only the size of the trade hangs on it
CELLS_PER_PATTERN = 50
SKEW = 1.4  # how much commoner the commonest pattern is

# Deep groove ball bearings, bore x outer diameter x width in mm. Source: ISO 15, dimension series 02 and 03.
BALL_BEARINGS = {
    "6205": (25, 52, 15), "6206": (30, 62, 16), "6207": (35, 72, 17), "6208": (40, 80, 18), "6209": (45, 85, 19),
    "6305": (25, 62, 17), "6306": (30, 72, 19), "6307": (35, 80, 21), "6308": (40, 90, 23), "6309": (45, 100, 25),
}  # fmt: skip
PILOT_BEARINGS = {
    "6201": (12, 32, 10), "6202": (15, 35, 11), "6203": (17, 40, 12), "6204": (20, 47, 14), "6301": (12, 37, 12),
    "6302": (15, 42, 13), "6303": (17, 47, 14),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cell:
    """One engine family with its interfaces. `face` and the others are pattern numbers."""

    number: int
    face: int
    starter: int
    spline: int
    clutch: int
    pilot: str
    gearboxes: int

    @property
    def engine(self) -> str:
        return f"e{self.number}"

    def gearbox(self, place: int) -> str:
        return f"g{self.number}{'abc'[place]}"


class Plan:
    """The whole layout for `parts` parts and a seed."""

    def __init__(self, parts: int, seed: int):
        self.seed = seed
        self.count = max(3, round(parts / PARTS_PER_CELL))
        self.patterns = max(2, self.count // CELLS_PER_PATTERN)

    @cached_property
    def cells(self) -> list[Cell]:
        """Every cell, in order."""
        return [self._cell(number) for number in range(self.count)]

    @cached_property
    def _by_face(self) -> dict[int, list[int]]:
        found: dict[int, list[int]] = {}
        for cell in self.cells:
            found.setdefault(cell.face, []).append(cell.number)
        return found

    def partner(self, cell: Cell) -> Cell:
        """Another cell on the same bolt face; the next one where none shares it."""
        sharing = self._by_face[cell.face]
        other = sharing[(sharing.index(cell.number) + 1) % len(sharing)]
        return self.cells[other if other != cell.number else (cell.number + 1) % self.count]

    def stranger(self, cell: Cell) -> Cell:
        """A cell on another bolt face, for which somebody makes a plate; the next one where all share one face."""
        start = (cell.number * 7 + 3) % self.count
        for step in range(self.count):
            other = self.cells[(start + step) % self.count]
            if other.face != cell.face:
                return other
        return self.cells[(cell.number + 1) % self.count]

    def _cell(self, number: int) -> Cell:
        dice = self.dice("cell", number)
        face, spline, clutch = (int(self.patterns * dice.random() ** SKEW) for _ in range(3))
        return Cell(
            number=number,
            face=face,
            starter=2 * face + (dice.random() < 0.3),
            spline=spline,
            clutch=clutch,
            pilot=dice.choice(sorted(PILOT_BEARINGS)),
            gearboxes=1 + number % 2,
        )

    def dice(self, what: str, number: int) -> Random:
        """Chance of its own for each thing, so that no thing depends on how many come before it."""
        return Random(f"{self.seed}/{what}/{number}")

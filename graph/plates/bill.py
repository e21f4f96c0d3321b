"""What making a plate comes to, counted off its design: the blank by weight, holes, turned diameters, faces.

The shop's rates are prices of operations, a piece or a kilogram; what an hour of each costs is theirs to say. A plate
is priced so only where the shop has a rate for all four: one that is missing is not a price of nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.plates.model import PlatePiece
from graph.plates.outline import extent_um

BLANK, HOLE, BORE, FACE = "plate-blank", "plate-hole", "plate-bore", "plate-face"
PLATE_RATES = {
    BLANK: "plate: a kilogram of blank",
    HOLE: "plate: a hole drilled, tapped, reamed or counterbored",
    BORE: "plate: a diameter bored or turned",
    FACE: "plate: a face milled or ground",
}
FACES = 2
WHOLE_MM3, WHOLE_KG = 10**9, 10**9  # cubic micrometres in a cubic millimetre; cubic millimetres in a cubic metre


@dataclass(frozen=True, slots=True)
class PlateCount:
    """So many of an operation: pieces, or kilograms of blank."""

    operation: str
    count: Fraction
    unit: str

    def text(self) -> str:
        """`22 holes`, `8.87 kg of blank`."""
        number = f"{float(self.count):.2f}" if self.count.denominator != 1 else str(self.count)
        return f"{number} {self.unit}"


def count_work(pieces: Sequence[PlatePiece], material: str, stock_mm: int = 0) -> tuple[PlateCount, ...]:
    """What all pieces want. `stock_mm`: of a plate of one piece that is made thicker, 0 for as designed."""
    density = get_elasticity(load_drive_tables(), material).density_kg_m3
    blank = sum((_blank_kg(piece, stock_mm or piece.stock_mm, density) for piece in pieces), Fraction(0))
    holes = sum(1 + (hole.head_um > 0) for piece in pieces for hole in piece.holes)
    bores = sum(sum(map(bool, (piece.bore_um, piece.register_um, piece.spigot_um))) for piece in pieces)
    return (
        PlateCount(BLANK, blank, "kg of blank"), PlateCount(HOLE, Fraction(holes), "holes and counterbores"),
        PlateCount(BORE, Fraction(bores), "bored or turned diameters"),
        PlateCount(FACE, Fraction(FACES * len(pieces)), "faces"),
    )  # fmt: skip


def _blank_kg(piece: PlatePiece, stock_mm: int, density_kg_m3: Fraction) -> Fraction:
    """Of the rectangle that the outline is cut from."""
    left, low, right, top = extent_um(piece.outline)
    volume_mm3 = Fraction((right - left) * (top - low) * stock_mm * 1000, WHOLE_MM3)
    return volume_mm3 * density_kg_m3 / WHOLE_KG

"""What making a plate comes to, counted off its design: the blank by weight, holes, turned diameters, faces.

The shop's rates are prices of operations, a piece or a kilogram; what an hour of each costs is theirs to say. A plate
is priced so only where the shop has a rate for all four: one that is missing is not a price of nothing. Its screws,
dowels and the cutting of its outline have rates of their own; where one lacks, the price is "at least". Turned parts
(graph/made) and work on the customer's own parts go by the same rates, and by one more for bronze.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.plates.model import PlatePiece
from graph.plates.outline import extent_um, length_mm

BLANK, HOLE, BORE, FACE = "plate-blank", "plate-hole", "plate-bore", "plate-face"
PLATE_RATES = {
    BLANK: "plate: a kilogram of blank",
    HOLE: "plate: a hole drilled, tapped, reamed or counterbored",
    BORE: "plate: a diameter bored or turned",
    FACE: "plate: a face milled or ground",
}
SCREW, OUTLINE = "plate-screw", "plate-outline"
BESIDE_RATES = {  # without these a plate's price is "at least"
    SCREW: "plate: a screw, bolt or dowel for it",
    OUTLINE: "plate: a metre of outline cut",
}
BRONZE, SET_UP = "bronze-blank", "part-set-up"
FLYWHEEL_BOLTS, BALANCE = "flywheel-bolts", "balance-flywheel"
RATES = (
    PLATE_RATES
    | BESIDE_RATES
    | {  # a turned part of steel goes by the plate's
        BRONZE: "made parts: a kilogram of bearing bronze",
        SET_UP: "work on a part of the customer's own: setting it up on the machine",
        FLYWHEEL_BOLTS: "made parts: a set of longer flywheel bolts",
        BALANCE: "made parts: flywheel and cover balanced with a spacer",
    }
)
FACES, MM_PER_M = 2, 1000
# What work on a part of the customer's own counts as, where the shop has no price for just that work.
OWN_PART_WORK: Mapping[str, tuple[tuple[str, int], ...]] = {
    "mill-starter-pad": ((FACE, 1),), "turn-shoulder": ((FACE, 1),), "turn-nose": ((BORE, 1), (FACE, 1)),
    "bore-housing": ((BORE, 1),), "turn-bush": ((BORE, 1),), "redrill-hole": ((HOLE, 2),), "open-hole": ((HOLE, 1),),
    "open-thread": ((HOLE, 1),), "fit-dowels": ((HOLE, 2),),
}  # fmt: skip
UNITS = {
    FLYWHEEL_BOLTS: "set of longer flywheel bolts",
    BALANCE: "balancing of flywheel and cover",
    SET_UP: "setting up",
    HOLE: "holes and counterbores",
    SCREW: "screws, bolts and dowels",
    OUTLINE: "m of outline cut",
    BORE: "bored or turned diameters",
    FACE: "faces",
}
WHOLE_MM3, WHOLE_KG = 10**9, 10**9  # cubic micrometres in a cubic millimetre; cubic millimetres in a cubic metre


@dataclass(frozen=True, slots=True)
class PlateCount:
    """So many of an operation: pieces, or kilograms of blank."""

    operation: str
    count: Fraction
    unit: str

    def text(self) -> str:
        """`22 holes`, `8.866 kg of blank`: grams, so that a line adds up as it is printed."""
        number = f"{float(self.count):.3f}" if self.count.denominator != 1 else str(self.count)
        return f"{number} {self.unit}"


def count_work(pieces: Sequence[PlatePiece], material: str, stock_mm: int = 0) -> tuple[PlateCount, ...]:
    """What all pieces want. `stock_mm`: of a plate of one piece that is made thicker, 0 for as designed."""
    density = get_elasticity(load_drive_tables(), material).density_kg_m3
    blank = sum((_blank_kg(piece, stock_mm or piece.stock_mm, density) for piece in pieces), Fraction(0))
    holes = sum(1 + (hole.head_um > 0) for piece in pieces for hole in piece.holes)
    bores = sum(sum(map(bool, (piece.bore_um, piece.register_um, piece.spigot_um))) for piece in pieces)
    return (
        PlateCount(BLANK, blank, "kg of blank"), PlateCount(HOLE, Fraction(holes), UNITS[HOLE]),
        PlateCount(BORE, Fraction(bores), UNITS[BORE]), PlateCount(FACE, Fraction(FACES * len(pieces)), UNITS[FACE]),
    )  # fmt: skip


def count_beside(pieces: Sequence[PlatePiece]) -> tuple[PlateCount, ...]:
    """What a plate wants besides: a screw, bolt or dowel for each of its holes (one that goes through two pieces
    counts once), and metres of outline."""
    fasteners = {hole.id for piece in pieces for hole in piece.holes}
    millimetres = sum(length_mm(piece.outline) for piece in pieces)
    return (
        PlateCount(SCREW, Fraction(len(fasteners)), UNITS[SCREW]),
        PlateCount(OUTLINE, Fraction(millimetres, MM_PER_M), UNITS[OUTLINE]),
    )  # fmt: skip


def count_own_work(operation: str) -> tuple[PlateCount, ...]:
    """What work on a part of the customer's own counts as, with setting it up; nothing where it is not counted so."""
    counts = OWN_PART_WORK.get(operation, ())
    return tuple(PlateCount(rate, Fraction(count), UNITS[rate]) for rate, count in ((SET_UP, 1), *counts) if counts)


def _blank_kg(piece: PlatePiece, stock_mm: int, density_kg_m3: Fraction) -> Fraction:
    """Of the rectangle that the outline is cut from."""
    left, low, right, top = extent_um(piece.outline)
    volume_mm3 = Fraction((right - left) * (top - low) * stock_mm * 1000, WHOLE_MM3)
    return volume_mm3 * density_kg_m3 / WHOLE_KG

"""Bearing seats and the rings that sit on them: what a seat is, which classes are usual, which size a ring has.

Classes: facts/standards/bearing_seat_classes.csv (common practice of bearing makers' fit tables); rings: ISO 492
class Normal.
"""

from __future__ import annotations

from dataclasses import dataclass

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.lengths import require_positive
from graph.fits.limits import Material, ring_dimension
from graph.fits.model import Dimension, show_nm
from graph.fits.tables import Bearing, Tables
from graph.fits.tables_drive import DriveTables, SeatClasses

ROTATING, STANDING = "ring turns; normal load", "ring stands"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One seat of a bearing. `side`: shaft or housing. `measured`: None if nobody has. `duty`: how the ring runs.

    `family`: steel, steel or iron, light alloy (which classes are usual). `material`: its expansion.
    """

    side: str
    measured: Dimension | None
    duty: str
    family: str
    material: Material
    stock: Dimension | None = None  # wall that may be machined away, per side

    def __post_init__(self) -> None:
        if self.side not in ("shaft", "housing"):
            raise InvalidInput([Problem("side", f"expected shaft or housing, found {self.side!r}")])
        require_positive([self.measured, self.stock])


def get_seat_classes(drive: DriveTables, seat: Seat, size_nm: int) -> SeatClasses:
    """The usual classes for a seat of that size. Raises NotFound where the table has none, naming its rows."""
    for row in drive.seats:
        if (row.seat, row.duty, row.material) == (seat.side, seat.duty, seat.family) and (
            row.over_nm < size_nm <= row.incl_nm or size_nm == row.over_nm
        ):
            return row
    known = sorted({f"{row.seat}, {row.duty}, {row.material}" for row in drive.seats if row.seat == seat.side})
    raise NotFound("seat class", f"{seat.side}, {seat.duty}, {seat.family} at {show_nm(size_nm)}", known)


def bearing_ring(tables: Tables, bearing: Bearing, side: str) -> Dimension:
    """The ring that meets a seat: the bore for a shaft, the outside diameter for a housing, class Normal."""
    if side == "shaft":
        return ring_dimension(tables, "bearing bore", "inner", "d_mp", bearing.bore_nm, bearing.bore_nm)
    return ring_dimension(tables, "bearing outside diameter", "outer", "D_mp", bearing.od_nm, bearing.od_nm)


def bearing_width(tables: Tables, bearing: Bearing) -> Dimension:
    """The width with the deviations of ISO 492 class Normal (the range goes by the bore)."""
    return ring_dimension(tables, "bearing width", "inner", "width B_s", bearing.bore_nm, bearing.width_nm)

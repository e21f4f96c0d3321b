"""What making a part comes to: the round it is turned from by weight, turned diameters, faces, holes.

Counted for the shop's rates (graph/plates/bill.py). The round is sawn 3 mm longer and is 3 mm thicker than the part
(common practice). What is not known is not counted, and named: a price without it is "at least".
"""

from __future__ import annotations

from fractions import Fraction

from graph.fits.model import NM_PER_MM
from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.made.model import DISC, OUTSIDE, MadePart
from graph.plates.bill import BORE, FACE, HOLE, UNITS, WHOLE_KG, PlateCount

PI = Fraction(3_141_592_654, 1_000_000_000)
STOCK_NM = 3 * NM_PER_MM


def count_made(part: MadePart) -> tuple[tuple[PlateCount, ...], tuple[str, ...]]:
    """What is counted, and what cannot be counted yet."""
    kind = part.kind
    counts = [PlateCount(BORE, Fraction(kind.turned), UNITS[BORE]), PlateCount(FACE, Fraction(kind.faces), UNITS[FACE])]
    lacks: list[str] = []
    outside, along = part.size(OUTSIDE), part.along
    if outside.known and along.known:
        unit = f"kg of {kind.material}"
        counts.insert(0, PlateCount(kind.blank, blank_kg(part), unit))
    else:
        lacks.append("the blank's weight")
    if kind.shape == DISC and part.holes:
        counts.append(PlateCount(HOLE, Fraction(len(part.holes)), UNITS[HOLE]))
    elif kind.shape == DISC:
        lacks.append("the holes")
    counts += [PlateCount(one, Fraction(1), UNITS[one]) for one in kind.also]
    return tuple(counts), tuple(lacks)


def blank_kg(part: MadePart) -> Fraction:
    """The weight of the round that it is turned from."""
    return _round_kg(part, part.size(OUTSIDE).middle_nm + STOCK_NM, part.along.middle_nm + STOCK_NM)


def _round_kg(part: MadePart, across_nm: int, long_nm: int) -> Fraction:
    density = get_elasticity(load_drive_tables(), part.kind.material).density_kg_m3
    across, long = Fraction(across_nm, NM_PER_MM), Fraction(long_nm, NM_PER_MM)
    return PI * across**2 / 4 * long * density / WHOLE_KG

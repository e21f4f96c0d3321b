"""The limits of an adapter plate, each with where it comes from. Whole micrometres unless a name says else."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.threads import ENGAGEMENT

STOCK_MM = (10, 12, 15, 16, 18, 20, 22, 25, 30)  # rolled plate as commonly stocked
COMMON_PRACTICE = "common practice"
WALL_UM = 5_000
FLOOR_UM = 3_000
STEP_UM = 500
PLACE_UM = 100
DOWEL_DEPTH = Fraction(3, 2)
RUNOUT_PITCHES = 3
RECESS_UM = 5_000
MATERIALS = ("steel", "light alloy")
EDGE_FACTOR = {"steel": Fraction(3, 2), "light alloy": Fraction(2)}
YIELD_MPA = {"steel": Fraction(235), "light alloy": Fraction(125)}
MOST_HOLES = 48
SOURCES = {
    "clearance hole": "ISO 273, medium series; coarse where the places are not sure enough for it",
    "counterbore": "ISO 4762 socket head, DIN 974-1 counterbore, head flush",
    "floor under a head": f"0.4 d of plate stays under a flush head, {COMMON_PRACTICE}",
    "thread": f"ISO 261; tapping drill d - P, {COMMON_PRACTICE}",
    "inch clearance hole": "ASME B18.2.8, normal; loose where the places are not sure enough for it",
    "inch counterbore": "ASME B18.3 socket head and its counterbore, head flush",
    "inch thread": f"ASME B1.1; tapping drill d - P, {COMMON_PRACTICE}",
    "engagement": f"1 d in steel, 2 d in light alloy, {COMMON_PRACTICE}",
    "edge distance": f"axis to edge at least 1.5 d in steel, 2 d in light alloy, {COMMON_PRACTICE}",
    "wall between holes": f"rim to rim at least 5 mm, {COMMON_PRACTICE}",
    "blind hole": f"3 mm of metal beyond it, 3 pitches for the drill point, dowel holes 1.5 d deep, {COMMON_PRACTICE}",
    "thickness": f"rolled plate as commonly stocked, milled in steps of 0.5 mm, {COMMON_PRACTICE}",
    "weight": "density as in facts/standards/elastic_constants.csv",
    "register": "H7 bore and f7 spigot, ISO 286-2; 5 mm deep or high, common practice",
    "hub register": "H7 bore over the spigot and h7 spigot in the bore, as read (ISO 286-2); 5 mm deep or high, "
    "common practice",
    "yield strength": "S235 (EN 10025-2) and EN AW-5083 O (EN 485-2), from memory",
}


@dataclass(frozen=True, slots=True)
class PlateRules:
    """What holds for a plate of one material. Raises InvalidInput for a material that plates are not made of here."""

    material: str = "steel"

    def __post_init__(self) -> None:
        if self.material not in MATERIALS:
            said = f"expected {' or '.join(MATERIALS)}, found {self.material!r}"
            raise InvalidInput([Problem("material", said)])

    @property
    def edge_factor(self) -> Fraction:
        """Least distance from a hole's axis to an edge, in diameters of its screw or pin."""
        return EDGE_FACTOR[self.material]

    def engaged_um(self, size_um: int) -> int:
        """How much thread a screw of that diameter wants in the plate."""
        return up(ENGAGEMENT[self.material] * size_um)


def up(value: Fraction | int) -> int:
    """The next whole micrometre that is not less.

    >>> up(Fraction(5, 2)), up(4)
    (3, 4)
    """
    return -((-value.numerator) // value.denominator)


def to_step(um: Fraction | int) -> int:
    """The next half millimetre that is not less.

    >>> to_step(14_000), to_step(14_001)
    (14000, 14500)
    """
    return up(Fraction(um) / STEP_UM) * STEP_UM

"""Faces of published sizes: flywheel housings of SAE J617 (ISO 7648).

The holes stand on their circle at equal distances and straddle the vertical (from memory). Their threads are inch as
tabled, metric on newer housings: which of them, whoever asks must say.
"""

from __future__ import annotations

from math import cos, pi, sin

from graph.errors import NotFound
from graph.fits.pattern import CLEARANCE, THREAD, Face, Hole
from graph.fits.sae import J617
from graph.fits.tables_drive import FlywheelHousing, load_drive_tables

SAE = "sae:"
PLACE_NM = 100_000  # a drilled and tapped hole on its circle, common practice
CLEARANCE_NM = {"3/8-16": 11_000_000, "7/16-14": 12_500_000, "1/2-13": 13_500_000}  # usual drills, common practice


def is_standard(name: str) -> bool:
    """Is it the name of a published face, such as `sae:3`?"""
    return name.strip().casefold().startswith(SAE)


def housing_of(name: str) -> FlywheelHousing:
    """The housing of a name such as `sae:3` or `sae:1/2`. Raises NotFound naming the tabled ones."""
    number = name.strip()[len(SAE) :].strip()
    rows = {row.number: row for row in load_drive_tables().housings}
    if number not in rows:
        raise NotFound(f"{J617} housing", name, [f"{SAE}{known}" for known in rows])
    return rows[number]


def housing_face(housing: FlywheelHousing, *, engine: bool) -> Face:
    """The engine's housing (tapped holes), or a gearbox that is made for it (clearance holes)."""
    holes = []
    for n in range(housing.holes):
        angle = 2 * pi * (n + 0.5) / housing.holes
        size = f"{housing.thread_inch} or metric" if engine else ""
        holes.append(
            Hole(
                id=f"{n + 1}", x_nm=round(housing.bolt_circle_nm / 2 * sin(angle)),
                y_nm=round(housing.bolt_circle_nm / 2 * cos(angle)), diameter_nm=CLEARANCE_NM[housing.thread_inch],
                use=THREAD if engine else CLEARANCE, thread=size,
            )
        )  # fmt: skip
    return Face(
        id=f"{SAE}{housing.number}", label=f"housing SAE No. {housing.number}", holes=tuple(holes),
        axis="register axis", seen_from="rear", uncertainty_nm=PLACE_NM, evidence_rank=5,
    )  # fmt: skip

"""Made parts for the tests: kinds with readings typed in, no catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, radians, sin

from graph.fits.model import Dimension, FinishedSize
from graph.fits.pattern import THREAD, Face, Hole
from graph.fits.tables import load_tables
from graph.made.design import MadeWanted, design_made
from graph.made.kinds import (
    BEARING_SLEEVE_IN_HOUSING,
    BEARING_SPACER,
    FLYWHEEL_SPACER,
    NOSE_EXTENSION,
    NOSE_SLEEVE,
    PILOT_BUSH,
)
from graph.made.model import INSIDE, OUTSIDE, THICKNESS, MadeKind, MadePart, MadeRefused
from graph.plates.model import ThicknessWindow

MM = 1_000_000


def reading(nominal_nm: int, spread_nm: int) -> Dimension:
    """A length read within so much either way."""
    return Dimension(
        name="reading", nominal_nm=nominal_nm, low_nm=nominal_nm - spread_nm, high_nm=nominal_nm + spread_nm,
        uncertainty_nm=spread_nm,
    )  # fmt: skip


def design(kind: MadeKind, found: Mapping[str, Dimension], **wanted: object) -> MadePart | MadeRefused:
    """The kind with readings by quantity; those left out are not known."""
    readings = {one: found.get(one[1]) for one in kind.readings}
    names = {one: one[1] for one in kind.readings}
    asked = {"mates": ("one", "other"), "readings": readings, "names": names, "face_name": "the flange"} | wanted
    return design_made(load_tables(), MadeWanted(kind=kind, **asked))  # type: ignore[arg-type]


def flange(radius_mm: float = 38, holes: int = 6) -> Face:
    """M10 threads on a circle."""
    places = [(f"k{n}", radius_mm * cos(radians(360 / holes * n)), radius_mm * sin(radians(360 / holes * n)))
              for n in range(holes)]  # fmt: skip
    return Face(
        id="flange", label="flange", axis="crank axis", seen_from="rear", uncertainty_nm=50_000,
        holes=tuple(Hole(id=name, x_nm=round(x * MM), y_nm=round(y * MM), diameter_nm=10 * MM, use=THREAD, thread="M10")
                    for name, x, y in places),
    )  # fmt: skip


def whole(found: MadePart | MadeRefused) -> MadePart:
    """The part, which must be there with all its sizes."""
    assert isinstance(found, MadePart), found.text()
    assert not found.measure
    return found


def a_bush() -> MadePart:
    """28 in the crank, 17 on the nose, 20 deep and 19 behind."""
    readings = {
        "crank-bore": reading(28 * MM, 5_000), "nose-diameter": reading(17 * MM, 5_000),
        "crank-bore-depth": reading(20 * MM, 50_000),
    }  # fmt: skip
    window = ThicknessWindow(15_000, 23_000, "pilot overlap", "shoulder to pilot bearing")
    return whole(design(PILOT_BUSH, readings, size_nm=19 * MM, window=window))


def a_spacer(size_nm: int = 5 * MM) -> MadePart:
    """Register and spigot of 50, six M10 on a circle of 38."""
    readings = {"crank-register": reading(50 * MM, 5_000), "flywheel-bore": reading(50 * MM, 5_000)}
    return whole(design(FLYWHEEL_SPACER, readings, size_nm=size_nm, face=flange()))


def a_sleeve() -> MadePart:
    """105 outside, 100 inside, for a ring 25 wide."""
    decided = (FinishedSize(OUTSIDE, 105 * MM, 54_000, 76_000, "r6"), FinishedSize(INSIDE, 100 * MM, -35_000, 0, "K7"))
    return whole(design(BEARING_SLEEVE_IN_HOUSING, {"bearing-width": reading(25 * MM, 60_000)}, decided=decided))


def a_bearing_spacer() -> MadePart:
    """2 thick, between journal 45 and a quarter of the section of a 45 x 85 bearing."""
    found = {
        "journal-diameter": reading(45 * MM, 2_000), "bearing-bore": reading(45 * MM, 6_000),
        "bearing-outside-diameter": reading(85 * MM, 8_000),
    }  # fmt: skip
    decided = (FinishedSize(THICKNESS, 2 * MM, -20_000, 20_000),)
    return whole(design(BEARING_SPACER, found, decided=decided))


def a_nose_extension() -> MadePart:
    """8 past a nose of 17, in a pilot of 17.05."""
    found = {"nose-diameter": reading(17 * MM, 5_000), "pilot-inside": reading(17_050_000, 5_000)}
    return whole(design(NOSE_EXTENSION, found, size_nm=8 * MM))


def a_nose_sleeve() -> MadePart:
    """From a nose of 17 to a pilot of 20, 16 long."""
    found = {
        "nose-diameter": reading(17 * MM, 5_000), "pilot-inside": reading(20 * MM, 5_000),
        "pilot-length": reading(16 * MM, 50_000),
    }  # fmt: skip
    return whole(design(NOSE_SLEEVE, found))


ALL_PARTS = {
    "bush": a_bush, "spacer": a_spacer, "sleeve": a_sleeve, "bearing spacer": a_bearing_spacer,
    "nose extension": a_nose_extension, "nose sleeve": a_nose_sleeve,
}  # fmt: skip

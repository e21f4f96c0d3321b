"""Holes of a part as somebody has read them that cannot stand so: on each other, in its opening, beyond its rim.

A part is not drilled by a reading that is wrong. A ring dowel about its own screw is one hole of two steps and stands.
What only breaks through an edge may be so (a notch) and is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import hypot

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_UM
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face, Hole
from graph.plates.holes import SAME_AXIS_UM
from graph.plates.model import PlateReason, mm

CHECK = "check the places"


def check_edges(rim_um: int | None, opening_um: int | None) -> None:
    """Raises InvalidInput for a rim that is no wider than the opening inside it."""
    if rim_um is None or opening_um is None or rim_um > opening_um:
        return
    said = f"a rim of {mm(rim_um)} mm about an opening of {mm(opening_um)} mm leaves no metal"
    raise InvalidInput([
        Problem("rim", f"{said}: expected more than {mm(opening_um)} mm, both as diameters"),
        Problem("opening", f"{said}: expected less than {mm(rim_um)} mm, both as diameters"),
    ])  # fmt: skip


def on_each_other(face: Face, path: str, what: str) -> Iterator[PlateReason]:
    """Every two holes of the face that overlap as read. `what`: what they are called (old holes)."""
    doubt_nm = SAME_AXIS_UM * NM_PER_UM + 2 * face.uncertainty_nm
    for a, b in combinations(face.holes, 2):
        apart = (a.x_nm - b.x_nm) ** 2 + (a.y_nm - b.y_nm) ** 2
        if 4 * apart >= (a.diameter_nm + b.diameter_nm) ** 2 or (apart <= doubt_nm**2 and _is_ring(a, b)):
            continue
        yield PlateReason(path, f"{what} {a.id} and {b.id} of {face.label} lie on each other", CHECK)


def _is_ring(a: Hole, b: Hole) -> bool:
    """Is one of them the recess of a ring dowel about the other, its screw's hole?"""
    ring, screw = (a, b) if a.use == DOWEL else (b, a)
    return ring.use == DOWEL and screw.use in (CLEARANCE, THREAD) and ring.diameter_nm > screw.diameter_nm


def off_the_part(face: Face, rim_um: int | None, opening_um: int | None) -> Iterator[PlateReason]:
    """Old holes whose axis lies in the opening or beyond the rim, further than their places may be wrong."""
    for hole in face.holes:
        out, doubt = hypot(hole.x_nm, hole.y_nm), face.uncertainty_nm
        if opening_um is not None and out + doubt < opening_um * NM_PER_UM / 2:
            said = f"old hole {hole.id} of {face.label} lies inside the opening of {mm(opening_um)} mm"
            yield PlateReason("opening", f"{said}: its place or the opening is read wrongly", CHECK)
        if rim_um is not None and out - doubt > rim_um * NM_PER_UM / 2:
            said = f"old hole {hole.id} of {face.label} lies beyond the rim of {mm(rim_um)} mm"
            yield PlateReason("rim", f"{said}: its place or the rim is read wrongly", CHECK)


def through_an_edge(face: Face, rim_um: int | None, opening_um: int | None) -> Iterator[str]:
    """What is to be looked at: old holes that break through an edge as read."""
    for hole in face.holes:
        out, half = hypot(hole.x_nm, hole.y_nm), hole.diameter_nm / 2
        for name, size, breaks in (
            ("opening", opening_um, opening_um is not None and out - half < opening_um * NM_PER_UM / 2),
            ("rim", rim_um, rim_um is not None and out + half > rim_um * NM_PER_UM / 2),
        ):
            if size is not None and breaks:
                said = f"old hole {hole.id} of {face.label} breaks through the {name} of {mm(size)} mm as read"
                yield f"{said}: look whether it does, else read its place and the {name} again"

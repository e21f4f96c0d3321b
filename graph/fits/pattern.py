"""Bolt faces: holes about the crank axis, and by how much two hole axes may miss each other.

Coordinates are whole nanometres from the face's axis (the crank axis on the engine, the input shaft axis on the
box), x to the right and y up, as seen from one side. Two faces that are put together face each other, so one of
them must be read in mirror image: `seen_from` says from where each was measured, and `as_seen_from` mirrors it.

How far axes may miss each other (positional tolerance formulas of ASME Y14.5 appendix B; ISO 1101 position):
floating fastener (two clearance holes) T = H - F for each part; fixed fastener (clearance hole on thread, or a
dowel pressed into one part) T = (H - F) / 2 for each part. T is the diameter of each axis's zone, so two axes
may be T apart: (H1 - F)/2 + (H2 - F)/2 floating, (H - F)/2 fixed. Oil and water holes are not fasteners.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM, show_nm

THREAD = "thread"
CLEARANCE = "clearance"
DOWEL = "dowel"
OTHER = "other"  # oil, water, inspection holes: looked at, never bolted
USES = (THREAD, CLEARANCE, DOWEL, OTHER)
SIDES = ("rear", "front")  # looking from the gearbox towards the engine, or from the engine towards the gearbox
LARGEST_HOLE_NM = 500 * NM_PER_MM
LARGEST_RADIUS_NM = 2_000 * NM_PER_MM
MOST_HOLES = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """One hole. `diameter_nm`: of the clearance or dowel hole as drilled; of a thread, its nominal size.

    `edge_nm`: from the hole's axis to the nearest edge of the part, None while not measured.
    `load`: a bolt there carries load and may not be left out. `thread`: its name (`M10x1.5`), for the list.
    """

    id: str
    x_nm: int
    y_nm: int
    diameter_nm: int
    use: str = CLEARANCE
    thread: str = ""
    load: bool = True
    edge_nm: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """A bolt face. `axis` is the datum of its coordinates; `uncertainty_nm` of each hole's place, either way."""

    id: str
    label: str
    holes: tuple[Hole, ...]
    axis: str
    seen_from: str
    uncertainty_nm: int
    evidence_rank: int = 9

    def __post_init__(self) -> None:
        problems = list(_face_problems(self))
        if problems:
            raise InvalidInput(problems)


def as_seen_from(face: Face, side: str) -> Face:
    """The same face read from `side` (rear or front): mirrored left to right where it was measured from the other."""
    if side not in SIDES:
        raise InvalidInput([Problem("seen_from", f"expected rear or front, found {side!r}")])
    if side == face.seen_from:
        return face
    holes = tuple(replace(hole, x_nm=-hole.x_nm) for hole in face.holes)
    return replace(face, holes=holes, seen_from=side)


def fixed_fastener_nm(hole_nm: int, fastener_nm: int) -> Fraction:
    """Zone diameter for each part, clearance hole on a fixed fastener: T = (H - F) / 2 (ASME Y14.5, appendix B)."""
    return Fraction(hole_nm - fastener_nm, 2)


def floating_fastener_nm(hole_nm: int, fastener_nm: int) -> int:
    """Zone diameter for each part, two clearance holes and a loose fastener: T = H - F (ASME Y14.5, appendix B)."""
    return hole_nm - fastener_nm


def allowed_miss_nm(a: Hole, b: Hole, bolt_nm: int | None = None) -> Fraction | None:
    """How far the two axes may be apart so that the fastener still enters; None where they never join.

    `bolt_nm`: diameter of the bolt between two clearance holes, which the faces do not say. Two dowel holes take
    a pin of the smaller size. Negative: the hole is smaller than its fastener.

    >>> m10 = Hole(id="a", x_nm=0, y_nm=0, diameter_nm=10_000_000, use=THREAD)
    >>> allowed_miss_nm(m10, Hole(id="b", x_nm=0, y_nm=0, diameter_nm=11_000_000))
    Fraction(500000, 1)
    """
    uses = {a.use, b.use}
    if uses == {DOWEL}:
        return fixed_fastener_nm(max(a.diameter_nm, b.diameter_nm), min(a.diameter_nm, b.diameter_nm))
    if uses == {THREAD, CLEARANCE}:
        hole, screw = (a, b) if a.use == CLEARANCE else (b, a)
        return fixed_fastener_nm(hole.diameter_nm, screw.diameter_nm)
    if uses == {CLEARANCE} and bolt_nm is not None:
        each = floating_fastener_nm(a.diameter_nm, bolt_nm), floating_fastener_nm(b.diameter_nm, bolt_nm)
        return Fraction(sum(each), 2) if min(each) >= 0 else Fraction(min(each), 2)
    return None


def _face_problems(face: Face) -> Iterable[Problem]:
    where = f"face {face.id}"
    if not face.axis.strip():
        yield Problem(f"{where}.axis", "no datum; say which axis the coordinates start from (crank axis)")
    if face.seen_from not in SIDES:
        yield Problem(f"{where}.seen_from", f"expected rear or front, found {face.seen_from!r}")
    if face.uncertainty_nm <= 0:
        yield Problem(f"{where}.uncertainty", "no place is exact; state the uncertainty of the holes' places")
    if not face.holes:
        yield Problem(f"{where}.holes", "no holes; measure at least one")
    if len(face.holes) > MOST_HOLES:
        yield Problem(f"{where}.holes", f"at most {MOST_HOLES} holes, found {len(face.holes)}")
    seen: set[str] = set()
    for hole in face.holes:
        if hole.id in seen:
            yield Problem(f"{where}.holes[{hole.id}]", "this id is used twice; name each hole once")
        seen.add(hole.id)
        yield from _hole_problems(hole, f"{where}.holes[{hole.id}]")


def _hole_problems(hole: Hole, where: str) -> Iterable[Problem]:
    if hole.use not in USES:
        yield Problem(f"{where}.use", f"expected {', '.join(USES)}, found {hole.use!r}")
    if not 0 < hole.diameter_nm <= LARGEST_HOLE_NM:
        found = show_nm(hole.diameter_nm)
        yield Problem(f"{where}.diameter", f"expected above 0 and at most {show_nm(LARGEST_HOLE_NM)}, found {found}")
    if max(abs(hole.x_nm), abs(hole.y_nm)) > LARGEST_RADIUS_NM:
        yield Problem(f"{where}.x, y", f"further than {show_nm(LARGEST_RADIUS_NM)} from the axis; check the unit")
    if hole.edge_nm is not None and 2 * hole.edge_nm <= hole.diameter_nm:
        edge, across = show_nm(hole.edge_nm), show_nm(hole.diameter_nm)
        yield Problem(f"{where}.edge", f"{edge} from axis to edge leaves no wall about a hole of {across}")

"""Sublet sketches from dimensions alone: shoulder, housing, journal sleeve, pilot ring and pilot bush.

Used for joints of the graph and for what-ifs alike. A seat's finished sizes are those that the check decided on
(`Work.sizes`). Tolerances without a source are common practice: 0 to +0.05 mm on a located length, -0.01 to +0.01 mm
on a size that is copied.
"""

from __future__ import annotations

from collections.abc import Iterable

from graph.fits.model import NM_PER_MM, Dimension, FinishedSize, Work
from graph.fits.pilot import BUSH_CLEARANCE_NM, PRESS_NM
from graph.fits.seats import Seat
from graph.fits.sketch import BORED_HOUSING, SHAFT_SHOULDER, SLEEVE, Sketch, SketchDimension

LENGTH_TOLERANCE_NM = 50_000
COPIED_NM = 10_000
ASK = "as found; ask before cutting if it is not what was told"
ASK_RADIUS = (
    "leave the radius that is there, no undercut, no sharp corner; ask before cutting: nobody has stated the bearing's "
    "chamfer, which the radius must not exceed"
)
CASE_HARD = "case-hardened: ground, or turned with carbide or CBN"
OUTSIDE, INSIDE = "outside diameter", "inside diameter"


def shoulder_sketch(work: Work, width_nm: int, radius_nm: int | None, shaft: str, bearing: str) -> Sketch | None:
    """The shoulder that a bearing of that width wants; None where the work does not say how much comes off.

    `radius_nm`: the bearing's chamfer, which the shoulder's radius must not exceed; asked for in words where unknown.
    """
    if work.amount is None:
        return None
    dimension = SketchDimension(
        place="datum to shoulder", nominal_nm=width_nm, upper_nm=LENGTH_TOLERANCE_NM, lower_nm=0,
        remove_nm=int(work.amount.value * NM_PER_MM),
    )  # fmt: skip
    return Sketch(
        kind=SHAFT_SHOULDER, part=shaft, operation=work.text, material=ASK, hardness=CASE_HARD,
        datum="near side of the ring groove", dimensions=(dimension,),
        leave_alone=("journal", "ring groove", "gear teeth", "seal land"), radius_nm=radius_nm,
        radius_words=ASK_RADIUS if radius_nm is None else "", mating_part=bearing,
    )  # fmt: skip


def seat_sketch(seat: Seat, work: Work, owner: str, bearing: str) -> Sketch | None:
    """A housing to be bored or sleeved, or a journal to be ground or sleeved; None for work without finished sizes."""
    if not work.sizes:
        return None
    sizes = tuple(_finished(size) for size in work.sizes)
    if work.operation == "bore-housing":
        return Sketch(
            kind=BORED_HOUSING, part=owner, operation=work.text, material=f"{seat.family}, {ASK}", hardness="soft",
            datum="bore and front face of the case", dimensions=sizes,
            leave_alone=("front face", "dowel holes"), mating_part=bearing,
        )  # fmt: skip
    if work.operation != "fit-sleeve":
        return None
    if seat.side == "housing":
        datum, heat = "bore of the case, finished in place", "the case is warmed for the sleeve; the sleeve stays cold"
        alone: tuple[str, ...] = ("the case's bore",)
    else:
        datum, alone = "journal of the shaft, finished in place", ("the journal", "fillet radius", "seal land")
        heat = "sleeve may be warmed to go on; the hardened shaft stays cold"
    return Sketch(
        kind=SLEEVE, part=f"sleeve for {owner}", operation=work.text, material="steel", hardness="soft", datum=datum,
        dimensions=sizes, leave_alone=alone, mating_part=bearing, heat_limit=heat,
    )  # fmt: skip


def pilot_sketch(
    work: Work,
    *,
    crank_bore: Dimension | None = None,
    outside: Dimension | None = None,
    inside: Dimension | None = None,
    nose: Dimension | None = None,
    owner: str = "crankshaft",
    mate: str = "",
) -> Sketch | None:
    """The ring between crank bore and pilot (`make-sleeve`), or a bush (`make-bush`, `turn-bush`, `ream-bush`).

    A size that decides the joint comes from its counterpart with the rule's allowance; the other one is copied from
    the pilot as it is. None for other work, or where no size is known.
    """
    if work.operation == "make-sleeve" and crank_bore is not None and outside is not None:
        held = _allowed(INSIDE, outside.nominal_nm, (-PRESS_NM[1], -PRESS_NM[0]))
        sizes = [_allowed(OUTSIDE, crank_bore.nominal_nm, PRESS_NM), held]
        return _ring(work, f"pilot sleeve for {owner}", "steel", sizes, "the crank's bore", mate)
    if work.operation not in ("make-bush", "turn-bush", "ream-bush"):
        return None
    sizes = []
    if crank_bore is not None:
        sizes.append(_allowed(OUTSIDE, crank_bore.nominal_nm, PRESS_NM))
    elif outside is not None and work.operation != "ream-bush":
        sizes.append(_copied(OUTSIDE, outside))
    if nose is not None:
        sizes.append(_allowed(INSIDE, nose.nominal_nm, BUSH_CLEARANCE_NM))
    elif inside is not None and work.operation == "make-bush":
        sizes.append(_copied(INSIDE, inside))
    if not sizes:
        return None
    return _ring(work, f"pilot bush for {owner}", "bearing bronze", sizes, "the nose's surface", mate)


def _ring(work: Work, part: str, material: str, sizes: Iterable[SketchDimension], alone: str, mate: str) -> Sketch:
    found = tuple(sizes)
    finish = "; bore proved after it is pressed in, for it closes" if material == "bearing bronze" else ""
    return Sketch(
        kind=SLEEVE, part=part, operation=work.text, material=material, hardness="soft",
        datum=f"axis of the {found[0].place}", dimensions=found, leave_alone=(alone,), mating_part=mate,
        surface=f"turned fine; length as the pilot that is sent along; both ends chamfered 0.5 mm{finish}",
    )  # fmt: skip


def _allowed(place: str, size_nm: int, allowance_nm: tuple[int, int]) -> SketchDimension:
    return SketchDimension(place=place, nominal_nm=size_nm, lower_nm=allowance_nm[0], upper_nm=allowance_nm[1])


def _copied(place: str, size: Dimension) -> SketchDimension:
    return SketchDimension(
        place=place, nominal_nm=size.nominal_nm, lower_nm=-COPIED_NM, upper_nm=COPIED_NM, as_read=size.as_read
    )


def _finished(size: FinishedSize) -> SketchDimension:
    return SketchDimension(
        place=size.place, nominal_nm=size.nominal_nm, upper_nm=size.upper_nm, lower_nm=size.lower_nm, fit=size.fit
    )

"""From readings to a made part: every size with its limits, or which limit stands in the way.

What nobody has measured stays unknown and says so; a reading too doubtful to leave a tolerance, a wall too thin, a
length outside its window are refused, each with what to move.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import isqrt

from graph.errors import InvalidInput
from graph.fits.model import NM_PER_MM, NM_PER_UM, Dimension, FinishedSize, bare_mm, show_nm, weakest
from graph.fits.pattern import DOWEL, OTHER, Face, Hole, as_seen_from
from graph.fits.tables import Tables
from graph.fits.threads import clearance_words, get_clearance_hole
from graph.made.model import (
    DISC,
    INSIDE,
    OPENING,
    OUTSIDE,
    RECESS,
    REGISTER,
    SPIGOT,
    STANDS,
    THICKNESS,
    MadeHole,
    MadeKind,
    MadePart,
    MadeRefused,
    MadeSize,
    Reading,
    Readings,
    Take,
)
from graph.plates.metric import thread_of
from graph.plates.model import PlateReason, ThicknessWindow

LEAST_TOLERANCE_NM = 10_000  # what a lathe holds without grinding, common practice
EDGE = Fraction(3, 2)  # of a hole from its axis to the rim, common practice
RIM_STEP_NM = NM_PER_MM // 2
ROUNDING_NM = 2_000  # places written to a micrometre make no rim half a millimetre wider
RIM_TOLERANCE_NM = 200_000
DEEPEST_RECESS_NM, RECESS_TOLERANCE_NM, STANDS_LESS_NM = 3 * NM_PER_MM, 200_000, 500_000
CHAIN_SPARE_NM = 500_000  # lengths of the chains that state no uncertainty, common practice
LEAST_SPIGOT_NM = NM_PER_MM  # of a disc, so that its broken edge leaves it something to centre on, common practice
COMMON_PRACTICE = "common practice"


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeWanted:
    """What is asked for. `readings`: of the parts that hold the positions, None where nobody has taken one; `names`:
    each reading in words. `decided`: sizes that the joint's check decided; `size_nm`: along the axis, in the datum of
    what the chains count, within `window`; `face`: whose holes a disc has (`face_name` in words)."""

    kind: MadeKind
    mates: tuple[str, ...]
    readings: Readings
    names: Mapping[Reading, str]
    decided: Sequence[FinishedSize] = ()
    size_nm: int | None = None
    window: ThicknessWindow = field(default_factory=ThicknessWindow)
    face: Face | None = None
    face_name: str = ""
    undecided: str = ""
    seat_um: int | None = None


def design_made(tables: Tables, wanted: MadeWanted) -> MadePart | MadeRefused:
    """The part, with sizes unknown where a reading is missing; or every limit that stands in its way."""
    kind = wanted.kind
    reasons: list[PlateReason] = []
    sizes = [_decided(kind, one) for one in wanted.decided if one.place in kind.decided]
    if wanted.undecided:
        sizes = [MadeSize(name=one, measure=(wanted.undecided,)) for one in kind.decided]
    for take in kind.takes:
        found = _taken(tables, wanted, take)
        if isinstance(found, PlateReason):
            reasons.append(found)
        else:
            sizes.append(found)
    if kind.along is not None:
        reasons += _outside_window(wanted)
        sizes.append(_along(wanted))
    holes: tuple[MadeHole, ...] = ()
    if kind.shape == DISC:
        holes, rim = _holes(tables, wanted)
        sizes += [rim, *_register_depths(sizes)]
    ranks = weakest(one for one in wanted.readings.values() if one is not None)
    part = MadePart(
        kind=kind, mates=wanted.mates, sizes=tuple(sizes), holes=holes, window=wanted.window,
        chosen_nm=wanted.size_nm, evidence_rank=ranks, doubts=tuple(_doubts(wanted)),
    )  # fmt: skip
    reasons += _walls(part)
    return MadeRefused(tuple(reasons)) if reasons else part


def _decided(kind: MadeKind, one: FinishedSize) -> MadeSize:
    return MadeSize(
        name=one.place, low_nm=one.nominal_nm + one.lower_nm, high_nm=one.nominal_nm + one.upper_nm, fit=one.fit,
        taken=show_nm(one.nominal_nm), source=f"as the check of the joint has it{' (ISO 286-2)' if one.fit else ''}",
    )  # fmt: skip


def _taken(tables: Tables, wanted: MadeWanted, take: Take) -> MadeSize | PlateReason:
    lacks = tuple(wanted.names[one] for one in take.of if wanted.readings.get(one) is None)
    if lacks:
        return MadeSize(name=take.name, fit=take.fit, source=take.source, measure=lacks)
    found = [reading for one in take.of if (reading := wanted.readings[one]) is not None]
    words = " and ".join(f"{wanted.names[one]} {_read(reading)}" for one, reading in zip(take.of, found, strict=True))
    try:
        low, high = take.limits(tables, found)
    except InvalidInput as fault:  # a size outside the table of classes
        return PlateReason(take.name, fault.problems[0].message, "state another class or size for it")
    if high - low < LEAST_TOLERANCE_NM:
        said = f"{take.name}: {words} leaves {show_nm(max(high - low, 0))} of tolerance ({take.source}), at least "
        return PlateReason(take.name, f"{said}{show_nm(LEAST_TOLERANCE_NM)} is wanted", "measure it more closely")
    low, high = -(-low // NM_PER_UM) * NM_PER_UM, high // NM_PER_UM * NM_PER_UM  # whole micrometres, inwards
    if low <= 0:
        return PlateReason(take.name, f"{take.name}: nothing is left of it by {words}", "look at the readings")
    return MadeSize(name=take.name, low_nm=low, high_nm=high, fit=take.fit, taken=words, source=take.source)


def _read(reading: Dimension) -> str:
    if reading.low_nm == reading.high_nm:
        return show_nm(reading.nominal_nm)
    return f"{bare_mm(reading.low_nm)} to {show_nm(reading.high_nm)}"


def _along(wanted: MadeWanted) -> MadeSize:
    along = wanted.kind.along
    assert along is not None
    lacks = () if wanted.size_nm is not None else (f"the lengths that the {along.name} is chosen from",)
    seat = wanted.readings.get(along.to_seat) if along.to_seat else None
    if along.to_seat and seat is None:
        lacks = (*lacks, wanted.names[along.to_seat])
    if lacks or wanted.size_nm is None:
        return MadeSize(name=along.name, measure=lacks, source="length chains")
    total = wanted.size_nm + (seat.nominal_nm if seat else 0) + along.plus_nm
    taken = f"{wanted.names[along.to_seat]} {_read(seat)} {along.seat_from} and " if seat and along.to_seat else ""
    return MadeSize(
        name=along.name, low_nm=total - along.tolerance_nm, high_nm=total + along.tolerance_nm,
        taken=f"{taken}{along.counted.format(size=show_nm(wanted.size_nm))}",
        source=f"length chains; tolerance {COMMON_PRACTICE}",
    )  # fmt: skip


def _doubts(wanted: MadeWanted) -> Iterator[str]:
    """A seat that was read elsewhere than the length chains have it, one of the two being wrong."""
    along = wanted.kind.along
    seat = wanted.readings.get(along.to_seat) if along and along.to_seat else None
    if along is None or along.to_seat is None or seat is None or wanted.seat_um is None:
        return
    noted = wanted.seat_um * NM_PER_UM
    if seat.low_nm - CHAIN_SPARE_NM <= noted <= seat.high_nm + CHAIN_SPARE_NM:
        return
    said = f"{wanted.names[along.to_seat]} {_read(seat)}, but the length chains have it {show_nm(noted)}"
    yield f"{said} {along.seat_from}: one of the two is wrong. Measure it again from there before it is made."


def _outside_window(wanted: MadeWanted) -> Iterator[PlateReason]:
    along, size, window = wanted.kind.along, wanted.size_nm, wanted.window
    assert along is not None
    low, high = window.low_um, window.high_um
    if low is not None and high is not None and low > high:
        said = f"no {along.name} serves: {window.low_by} wants at least {show_nm(low * NM_PER_UM)}, {window.high_by} at"
        yield PlateReason(along.name, f"{said} most {show_nm(high * NM_PER_UM)}", "move one of the two")
        return
    if size is None:
        return
    if low is not None and size - along.tolerance_nm < low * NM_PER_UM:
        said = f"{along.name} {show_nm(size)} within {show_nm(along.tolerance_nm)}: {window.low_by} wants at least "
        yield PlateReason(along.name, f"{said}{show_nm(low * NM_PER_UM)}", "make it longer")
    if high is not None and size + along.tolerance_nm > high * NM_PER_UM:
        said = f"{along.name} {show_nm(size)} within {show_nm(along.tolerance_nm)}: {window.high_by} wants at most "
        yield PlateReason(along.name, f"{said}{show_nm(high * NM_PER_UM)}", "make it shorter")


def _holes(tables: Tables, wanted: MadeWanted) -> tuple[tuple[MadeHole, ...], MadeSize]:
    """The disc's holes, and its rim about them."""
    if wanted.face is None:
        return (), MadeSize(name=OUTSIDE, measure=(f"the places of the holes of {wanted.face_name}",))
    bolted = [one for one in as_seen_from(wanted.face, "rear").holes if one.use != OTHER]
    holes = [_hole(tables, one) for one in bolted]
    odd = tuple(
        f"the screw of hole {one.id} of {wanted.face_name}"
        for one, hole in zip(bolted, holes, strict=True) if hole is None
    )  # fmt: skip
    known = tuple(hole for hole in holes if hole is not None)
    if odd or not known:
        return known, MadeSize(name=OUTSIDE, measure=odd or (f"the places of the holes of {wanted.face_name}",))
    reach = max(_radius_nm(one.x_nm, one.y_nm) + -(-EDGE.numerator * one.drill_nm // EDGE.denominator) for one in known)
    least = -(-(2 * reach - ROUNDING_NM) // RIM_STEP_NM) * RIM_STEP_NM
    return known, MadeSize(
        name=OUTSIDE, low_nm=least, high_nm=least + RIM_TOLERANCE_NM, taken=f"holes of {wanted.face_name}",
        source=f"1.5 times the hole from its axis to the rim, {COMMON_PRACTICE}",
    )  # fmt: skip


def _radius_nm(x_nm: int, y_nm: int) -> int:
    """Of a place, rounded up to a nanometre."""
    square = x_nm * x_nm + y_nm * y_nm
    root = isqrt(square)
    return root if root * root == square else root + 1


def _hole(tables: Tables, hole: Hole) -> MadeHole | None:
    """A clearance hole for the screw (ISO 273 medium), or a reamed one for the dowel; None for an unknown screw."""
    if hole.use == DOWEL:
        size = hole.diameter_nm
        return MadeHole(hole.id, hole.x_nm, hole.y_nm, size, f"dowel {show_nm(size)} H7, reamed with the crankshaft")
    thread = thread_of(hole)
    if thread is None:
        return None
    size = get_clearance_hole(tables, thread).medium_nm
    what = f"through {show_nm(size)} for {thread.name} ({clearance_words(thread)})"
    return MadeHole(hole.id, hole.x_nm, hole.y_nm, size, what)


def _register_depths(sizes: Iterable[MadeSize]) -> tuple[MadeSize, ...]:
    """How deep a disc's register is and how high its spigot: half the thickness, 3 mm at the most."""
    thick = next((one for one in sizes if one.name == THICKNESS), None)
    if thick is None or thick.low_nm is None:
        return (MadeSize(name=RECESS, measure=thick.measure if thick else ()),)
    deep = min(DEEPEST_RECESS_NM, thick.low_nm // 2 // 100_000 * 100_000)
    high = deep - STANDS_LESS_NM
    source = f"half the thickness, at most 3 mm; the spigot 0.5 mm less, {COMMON_PRACTICE}"
    found = [MadeSize(name=RECESS, low_nm=deep, high_nm=deep + RECESS_TOLERANCE_NM, source=source)]
    if high > RECESS_TOLERANCE_NM:
        found.append(MadeSize(name=STANDS, low_nm=high - RECESS_TOLERANCE_NM, high_nm=high, source=source))
    return tuple(found)


def _walls(part: MadePart) -> Iterator[PlateReason]:
    least = part.kind.least_wall_nm
    outside, along = part.size(OUTSIDE), part.along
    longest = part.kind.longest
    if longest and outside.high_nm and along.low_nm and along.low_nm > longest * outside.high_nm:
        said = f"{along.text()} is more than {float(longest):g} times the outside diameter: it would bend and wear"
        yield PlateReason(along.name, said, "take a longer shaft or another pilot")
    if part.kind.shape == DISC:
        yield from _disc_walls(part, least)
        return
    inside = part.size(INSIDE)
    if outside.low_nm is None or inside.high_nm is None:
        return
    wall = (outside.low_nm - inside.high_nm) // 2
    if wall < least:
        said = f"wall {show_nm(wall)} between {inside.text()} and {outside.text()}, at least {show_nm(least)} is wanted"
        yield PlateReason("wall", said, "bore the hole larger, or take a part that fits as it is")


def _disc_walls(part: MadePart, least: int) -> Iterator[PlateReason]:
    widest = max((one.high_nm or 0 for one in (part.size(REGISTER), part.size(SPIGOT))), default=0)
    thick, stands = part.along, part.size(STANDS)
    if thick.low_nm is not None and (stands.low_nm is None or stands.low_nm < LEAST_SPIGOT_NM):
        recess = part.size(RECESS)
        said = f"{thick.text()} leaves a register {show_nm(recess.low_nm or 0)} deep and a spigot"
        said += f" {show_nm(stands.low_nm or 0)} high, at least {show_nm(LEAST_SPIGOT_NM)} is wanted"
        least = 2 * (LEAST_SPIGOT_NM + STANDS_LESS_NM + RECESS_TOLERANCE_NM)
        least += part.kind.along.tolerance_nm if part.kind.along else 0
        yield PlateReason(THICKNESS, said, f"make it at least {show_nm(least)} thick, or do without it")
    opening = part.size(OPENING)
    if opening.low_nm is not None and opening.low_nm <= 0:
        yield PlateReason(OPENING, "no land is left inside the register", "look at the readings")
    for hole in part.holes if widest else ():
        square = hole.x_nm**2 + hole.y_nm**2
        wall = isqrt(square) - hole.drill_nm // 2 - widest // 2
        if wall < least:
            said = f"wall {show_nm(wall)} between hole {hole.id} and the register, at least {show_nm(least)} is wanted"
            yield PlateReason("wall", said, "take another register, or a hub adaptor with holes elsewhere")

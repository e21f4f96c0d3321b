"""From the holes of two faces to the holes of a plate between them.

Where a part has a thread, the plate has a clearance hole (ISO 273) with the head sunk in its other side (ISO 4762,
DIN 974-1). Where a part has a clearance hole, the plate has a thread. A dowel's hole is reamed to its size. Oil and
water holes are not bolted: they are told of, never made.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import isqrt

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.model import NM_PER_UM, show_nm
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD, Face, Hole, as_seen_from
from graph.fits.tables import Tables, load_tables
from graph.fits.threads import (
    HOLE_READING_NM,
    NamedThread,
    get_clearance_hole,
    get_thread,
    is_inch,
    least_plate_nm,
)  # fmt: skip
from graph.plates import model
from graph.plates.metric import named_thread_of
from graph.plates.model import BOLT, BOTH, ENGINE, GEARBOX, SCREW, TAPPED, PlateHole
from graph.plates.rules import (
    DOWEL_DEPTH,
    FLOOR_UM,
    MOST_HOLES,
    PLACE_UM,
    RUNOUT_PITCHES,
    WALL_UM,
    PlateRules,
    up,
)  # fmt: skip

SAME_AXIS_UM = 200  # a ring dowel about a bolt: one axis, as read
DOWELS_MISS_UM = 50  # between the axes of two dowels that one reamed hole can take
LOOSE_NM = 500_000  # how much wider than the coarse series a stated screw's hole may be, common practice
REAR = "rear"


@dataclass(frozen=True, slots=True)
class Sided:
    """A face as the plate sees it: which side, seen from the rear, with its uncertainty and the stated thread."""

    face: Face
    side: str
    thread: str

    @property
    def place_um(self) -> int:
        """How far off a hole may be read."""
        return up(Fraction(self.face.uncertainty_nm, NM_PER_UM))

    @property
    def letter(self) -> str:
        """A for the engine's pattern, B for the gearbox's."""
        return "A" if self.side == ENGINE else "B"


def sided(face: Face, side: str, thread: str) -> Sided:
    """The face, seen from the rear. Raises InvalidInput for more holes than a plate is designed for."""
    bolted = [hole for hole in face.holes if hole.use != OTHER]
    if len(bolted) > MOST_HOLES:
        said = f"at most {MOST_HOLES} bolted holes of one face, found {len(bolted)}; leave out those not used"
        raise InvalidInput([Problem(f"{side}.holes", said)])
    return Sided(as_seen_from(face, REAR), side, thread)


def plate_holes(one: Sided, rules: PlateRules, thickness_um: int, *, blind: bool) -> tuple[PlateHole, ...]:
    """The plate's holes for one side. `blind`: threads and dowel holes no deeper than they must be.

    Raises InvalidInput naming every hole whose thread no table has.
    """
    tables = load_tables()
    _check_stated(tables, one)
    problems: list[Problem] = []
    found: list[PlateHole] = []
    for hole in one.face.holes:
        if hole.use == OTHER:
            continue
        named = None if hole.use == DOWEL else _named(tables, one, hole, problems)
        made = _plain(one, hole, thickness_um)
        if named is not None and hole.use == THREAD:
            made = _screw(tables, one, made, named)
        elif named is not None:
            made = tapped(made, named)
        found.append(_blind(made, rules, named, thickness_um) if blind and made.use != SCREW else made)
    if problems:
        raise InvalidInput(tuple(dict.fromkeys(problems)))
    return tuple(found)


def least_um(holes: Iterable[PlateHole], rules: PlateRules) -> tuple[int, str]:
    """The least plate that these want, and which hole wants it: flush heads and engagement."""
    least, why = 0, ""
    for hole in holes:
        if hole.use == SCREW:
            thread = get_thread(load_tables(), hole.thread).thread
            wanted = up(Fraction(least_plate_nm(thread), NM_PER_UM))
            words = f"a flush {thread.name} head with 0.4 d of plate under it ({hole.id})"
        elif hole.use == TAPPED:
            wanted, words = rules.engaged_um(hole.size_um), f"the thread engaged by {hole.thread} ({hole.id})"
        else:
            continue
        if wanted > least:
            least, why = wanted, words
    return least, why


def _named(tables: Tables, one: Sided, hole: Hole, problems: list[Problem]) -> NamedThread | None:
    """The hole's screw: as it names it, else as stated for the face, else by its size."""
    where = f"{one.side}.holes[{hole.id}].thread"
    own = named_thread_of(hole)
    try:
        stated = get_thread(tables, one.thread) if one.thread else None
    except NotFound as error:
        problems.append(Problem(f"{one.side}_thread", str(error)))
        return None
    named = own if own is not None and hole.thread else stated or own
    if named is not None and named.assumed and stated is not None and stated.thread == named.thread:
        named = stated  # the hole names its screw, the face its pitch
    if named is None:
        told = hole.thread or show_nm(hole.diameter_nm)
        said = f"{told} is no hole of ISO 261 or 273, and inch screws are not drawn here unless they are named: gauge a"
        words = f"{said} hole of this face, and state its screw (3/8-16 UNC), or a metric one only if it passes freely"
        problems.append(Problem(f"{one.side}_thread", words))
    elif hole.use == CLEARANCE and hole.diameter_nm < named.thread.diameter_nm:
        said = f"a hole of {show_nm(hole.diameter_nm)} lets no {named.thread.name} through"
        problems.append(Problem(where if hole.thread else f"{one.side}_thread", f"{said} ({hole.id})"))
        return None
    elif own is not None and not hole.thread and _is_another(tables, hole, named, own):
        said = f"{hole.id}, {show_nm(hole.diameter_nm)}, is a hole of {own.thread.name} and not of {named.thread.name}"
        problems.append(Problem(f"{one.side}_thread", f"{said}: gauge it, and name its screw at the hole itself"))
        return None
    return named


def _is_another(tables: Tables, hole: Hole, named: NamedThread, own: NamedThread) -> bool:
    """Is the hole one for the screw of its size and not for the stated one: too wide for it, or of another thread?"""
    if named.thread == own.thread:
        return False
    if hole.use == CLEARANCE:
        return hole.diameter_nm > get_clearance_hole(tables, named.thread).coarse_nm + LOOSE_NM
    core = named.tapping_nm - HOLE_READING_NM
    return not core <= hole.diameter_nm <= named.thread.diameter_nm + 2 * HOLE_READING_NM


def _check_stated(tables: Tables, one: Sided) -> None:
    """Raises InvalidInput where a screw is stated for a face of which every hole names another."""
    screws = [hole for hole in one.face.holes if hole.use in (CLEARANCE, THREAD)]
    own = [named_thread_of(hole) for hole in screws]
    if not one.thread or not screws or not all(hole.thread for hole in screws) or None in own:
        return
    stated = get_thread(tables, one.thread)
    names = [found for found in own if found is not None]
    alike = (found.thread == stated.thread and found.pitch_nm == stated.pitch_nm for found in names)
    if any(alike) or any(found.assumed and found.thread == stated.thread for found in names):
        return
    told = ", ".join(sorted({found.name for found in names}))
    said = f"every hole of this face names its own screw ({told}), none is {stated.name}: leave it out, or put right"
    raise InvalidInput([Problem(f"{one.side}_thread", f"{said} the face")])


def _plain(one: Sided, hole: Hole, thickness_um: int) -> PlateHole:
    """The hole as it stands in the face, right through, before it is known what it becomes."""
    return PlateHole(
        id=f"{one.letter}-{hole.id}", side=one.side, use=model.DOWEL, load=hole.load, thread="",
        x_um=round(Fraction(hole.x_nm, NM_PER_UM)), y_um=round(Fraction(hole.y_nm, NM_PER_UM)),
        size_um=hole.diameter_nm // NM_PER_UM, drill_um=hole.diameter_nm // NM_PER_UM, from_um=0, to_um=thickness_um,
        mate_um=hole.diameter_nm // NM_PER_UM, threaded_mate=hole.use == THREAD, place_um=one.place_um,
    )  # fmt: skip


def _screw(tables: Tables, one: Sided, hole: PlateHole, named: NamedThread) -> PlateHole:
    drill, series = clearance_um(tables, named, one.place_um)
    return with_head(
        replace(hole, drill_um=drill, series=series), named, GEARBOX if one.side == ENGINE else ENGINE
    )  # fmt: skip


def with_head(hole: PlateHole, named: NamedThread, head_side: str) -> PlateHole:
    """The hole for a screw whose head is sunk in that side."""
    thread = named.thread
    return replace(
        hole, use=SCREW, thread=named.name, size_um=thread.diameter_nm // NM_PER_UM, pitch_assumed=named.assumed,
        head_um=thread.counterbore_nm // NM_PER_UM, head_deep_um=thread.head_height_nm // NM_PER_UM,
        head_side=head_side,
    )  # fmt: skip


def clearance_um(tables: Tables, named: NamedThread, place_um: int) -> tuple[int, str]:
    """The hole that lets the screw in wherever it truly is: medium, or coarse for places read less surely (ISO 273; for
    inch screws normal and loose, ASME B18.2.8)."""
    holes = get_clearance_hole(tables, named.thread)
    medium, coarse = ("normal", "loose") if is_inch(named.thread.name) else ("medium", "coarse")
    for size_nm, series in ((holes.medium_nm, medium), (holes.coarse_nm, coarse)):
        if size_nm - named.thread.diameter_nm >= 2 * (place_um + PLACE_UM) * NM_PER_UM:
            return size_nm // NM_PER_UM, series
    return holes.coarse_nm // NM_PER_UM, "too small"


def tapped(hole: PlateHole, named: NamedThread) -> PlateHole:
    """The hole with that thread in it, as deep as it is."""
    return replace(
        hole, use=TAPPED, thread=named.name, size_um=named.thread.diameter_nm // NM_PER_UM,
        drill_um=named.tapping_nm // NM_PER_UM, pitch_assumed=named.assumed,
    )  # fmt: skip


def _blind(hole: PlateHole, rules: PlateRules, named: NamedThread | None, thickness_um: int) -> PlateHole:
    """The same, no deeper from its own side than it must be."""
    deep = up(DOWEL_DEPTH * hole.size_um)
    if named is not None:
        deep = rules.engaged_um(hole.size_um) + RUNOUT_PITCHES * named.pitch_nm // NM_PER_UM
    start, end = _depth(hole.side, deep, thickness_um)
    return replace(hole, from_um=start, to_um=end)


def _depth(side: str, deep_um: int, thickness_um: int) -> tuple[int, int]:
    """From where to where: right through, or so deep from its own side if metal is left beyond."""
    if deep_um + FLOOR_UM > thickness_um:
        return 0, thickness_um
    return (0, deep_um) if side == ENGINE else (thickness_um - deep_um, thickness_um)


def need_um(a: PlateHole, b: PlateHole) -> Fraction:
    """How far the two axes must be apart at least: half of both spaces and a wall, wherever they share a depth."""
    needed = 0
    for one in a.spaces:
        for other in b.spaces:
            if one.from_um - other.to_um < FLOOR_UM and other.from_um - one.to_um < FLOOR_UM:
                needed = max(needed, one.diameter_um + other.diameter_um + 2 * WALL_UM)
    return Fraction(needed, 2)


def apart_squared(a: PlateHole, b: PlateHole) -> int:
    """The square of the distance of the axes, in square micrometres."""
    return (a.x_um - b.x_um) ** 2 + (a.y_um - b.y_um) ** 2


def stands(a: PlateHole, b: PlateHole) -> bool:
    """Is there enough wall between the two? A ring dowel about its own screw is one hole of two steps."""
    apart = apart_squared(a, b)
    if apart >= need_um(a, b) ** 2:
        return True
    ringed = {a.use, b.use} in ({model.DOWEL, SCREW}, {model.DOWEL, TAPPED}) and a.side == b.side
    ring, inner = (a, b) if a.use == model.DOWEL else (b, a)
    return ringed and apart <= SAME_AXIS_UM**2 and ring.drill_um > max(inner.drill_um, inner.size_um)


def wall_um(a: PlateHole, b: PlateHole) -> int | None:
    """What stands between the rims, rounded down; None where they share no depth."""
    need = need_um(a, b)
    return isqrt(apart_squared(a, b)) - up(need) + WALL_UM if need else None


def allowed_um(a: PlateHole, b: PlateHole) -> Fraction | None:
    """How far the axes, as read, may be apart so that one bolt or pin goes through both parts wherever they truly are;
    None for two that never share one. Dowels are reamed with the parts together, so their places count as read."""
    room = room_um(a, b)
    return room if room is None or a.use == model.DOWEL else room - a.place_um - b.place_um


def room_um(a: PlateHole, b: PlateHole) -> Fraction | None:
    """How far the axes may truly be apart; None for two that never share a bolt or pin.

    Fixed fastener (H - F) / 2; two clearance holes (Ha + Hb) / 2 - F (ASME Y14.5, appendix B).
    """
    if {a.side, b.side} != {ENGINE, GEARBOX} or a.size_um != b.size_um:
        return None
    if a.use == b.use == model.DOWEL:
        return Fraction(DOWELS_MISS_UM)
    if model.DOWEL in (a.use, b.use) or (a.threaded_mate and b.threaded_mate):
        return None
    if a.threaded_mate or b.threaded_mate:
        screw, plain = (a, b) if a.threaded_mate else (b, a)
        return Fraction(plain.mate_um - screw.size_um, 2) if screw.thread else None
    return Fraction(a.mate_um + b.mate_um, 2) - a.size_um


def merged(engine: Sequence[PlateHole], gearbox: Sequence[PlateHole], thickness_um: int) -> tuple[PlateHole, ...]:
    """All holes of a plate: where two fall together one bolt goes right through both parts."""
    left = list(gearbox)
    found: list[PlateHole] = []
    for a in engine:
        partner = next((b for b in left if _together(a, b)), None)
        if partner is None:
            found.append(a)
            continue
        left.remove(partner)
        found.append(_through(a, partner, thickness_um))
    return (*found, *left)


def _together(a: PlateHole, b: PlateHole) -> bool:
    allowed = allowed_um(a, b)
    return allowed is not None and allowed >= 0 and apart_squared(a, b) <= allowed**2


def _through(a: PlateHole, b: PlateHole, thickness_um: int) -> PlateHole:
    """The one hole: on the axis of the thread; of two clearance holes or dowels half way."""
    tables = load_tables()
    base = b if b.threaded_mate else a
    both = replace(
        base, id=f"{a.id}+{b.id.removeprefix('B-')}", side=BOTH, from_um=0, to_um=thickness_um, load=a.load or b.load,
        head_um=0, head_deep_um=0, head_side="", place_um=a.place_um + b.place_um,
        miss_um=isqrt(apart_squared(a, b)), room_um=int(room_um(a, b) or 0),
    )  # fmt: skip
    if not (a.threaded_mate or b.threaded_mate):
        both = replace(both, x_um=(a.x_um + b.x_um) // 2, y_um=(a.y_um + b.y_um) // 2)
    if a.use == model.DOWEL:
        return both
    drill, series = clearance_um(tables, get_thread(tables, base.thread), 0)
    return replace(both, use=BOLT, drill_um=drill, series=series)


def conflicts(holes: Sequence[PlateHole]) -> list[tuple[PlateHole, PlateHole]]:
    """Every two holes with too little between them."""
    return [
        (a, b) for n, a in enumerate(holes) for b in holes[n + 1 :] if not stands(a, b)
    ]  # fmt: skip

"""What a design says beside its drawing: figures with sources, what turns, cautions, what to measure, bending."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, cos, hypot, sin, tau

from graph.errors import InvalidInput
from graph.fits.limits import get_deviation
from graph.fits.model import NM_PER_UM, CheckResult
from graph.fits.pattern_check import CAUTION_DOWELS, DOWELS_WANTED
from graph.fits.plate_bending import CAUTION as CAUTION_BENDING
from graph.fits.plate_bending import Strip, check_plate_bending
from graph.fits.tables import load_tables
from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.fits.threads import is_inch
from graph.plates.holes import Sided
from graph.plates.model import (
    BOLT,
    BOTH,
    DOWEL,
    ENGINE,
    GEARBOX,
    SCREW,
    TAPPED,
    PlateFigure,
    PlateHole,
    PlatePiece,
    PlateWanted,
    mm,
)  # fmt: skip
from graph.plates.outline import points_mm
from graph.plates.rules import PLACE_UM, RECESS_UM, SOURCES, YIELD_MPA

CAUTION_PAPER = (
    "Print the drawing at 1:1, measure its check scale, and lay it on both parts before anything is cut: it is made of "
    "readings, not of the makers' drawings."
)
CAUTION_DEPTH = "Prove the length chains with depth readings before cutting: everything behind the plate moves with it."
CAUTION_RULES = (
    "A changed drive line may need inspection, approval or notice to the insurer: local rules decide. Have cutting, "
    "drilling and lifting done or supervised by somebody trained for it."
)
CAUTION_FRAME = (
    "The plate is part of the machine's frame: it must be calculated and approved by a qualified engineer before it "
    "carries anything. "
)


@dataclass(frozen=True, slots=True)
class PlateWords:
    """The words of a design."""

    figures: tuple[PlateFigure, ...]
    turns: tuple[str, ...]
    cautions: tuple[str, ...]
    measure: tuple[str, ...]
    bending: CheckResult | None


def design_words(
    wanted: PlateWanted, pieces: Sequence[PlatePiece], angle: float, engine: Sided, gearbox: Sided
) -> PlateWords:
    """All that is to be said of the pieces."""
    holes = [hole for piece in pieces for hole in piece.holes]
    return PlateWords(
        figures=tuple(_figures(wanted, pieces)), turns=_turns(angle),
        cautions=tuple(_cautions(wanted, holes)), measure=tuple(_measure(holes, engine, gearbox)),
        bending=_bending(wanted, pieces),
    )  # fmt: skip


def _turns(angle: float) -> tuple[str, ...]:
    if not angle:
        return ()
    told = f"by {abs(angle):.2f} degrees"
    return (
        f"the gearbox leans {told}: lever, tunnel and its oil level with it",
        f"the gearbox's mount turns {told} about the shaft",
        f"a starter on the bell housing turns {told} about the ring gear: look for room; one on the block stays",
    )


def _figures(wanted: PlateWanted, pieces: Sequence[PlatePiece]) -> Iterable[PlateFigure]:
    for piece in pieces:
        blank = piece.thickness_um + (RECESS_UM if piece.spigot_um else 0)
        made = "as rolled, faces ground or milled" if piece.stock_mm * 1000 == blank else "milled down"
        yield PlateFigure(
            f"{piece.name}: thickness", f"{mm(piece.thickness_um)} mm, from {piece.stock_mm} mm plate, {made}",
            SOURCES["thickness"],
        )  # fmt: skip
        if piece.least_wall_um is not None:
            yield PlateFigure(
                f"{piece.name}: least wall", f"{mm(piece.least_wall_um)} mm", SOURCES["wall between holes"]
            )
        yield PlateFigure(
            f"{piece.name}: edge distance", f"{mm(piece.least_edge_um)} mm or more", SOURCES["edge distance"]
        )
        yield PlateFigure(f"{piece.name}: opening", f"{mm(piece.bore_um)} mm", _opening_source(wanted))
        yield PlateFigure(
            f"{piece.name}: weight", f"{piece.grams / 1000:.2f} kg of {wanted.rules.material}", SOURCES["weight"]
        )
        yield from _centring(piece)
        for hole in _one_of_each(piece.holes):
            yield from _hole_figures(wanted, piece, hole)


def _opening_source(wanted: PlateWanted) -> str:
    if wanted.bore_um:
        return "as asked for"
    return "as wide as the holes leave it: shaft, clutch and flywheel must pass, so state the opening that they want"


def _centring(piece: PlatePiece) -> Iterable[PlateFigure]:
    spigot = "h7" if piece.hub else "f7"
    for name, size_um, cls in (("register", piece.register_um, "H7"), ("spigot", piece.spigot_um, spigot)):
        if size_um:
            deep, high = f"deep from the {piece.register_side}'s side", f"high on the {piece.spigot_side}'s side"
            where = deep if name == "register" else high
            yield PlateFigure(
                f"{piece.name}: {name}", f"{mm(size_um)} mm {cls}{_limits(cls, size_um)}, {mm(RECESS_UM)} mm {where}",
                SOURCES["hub register" if piece.hub else "register"],
            )  # fmt: skip


def _limits(cls: str, size_um: int) -> str:
    try:
        found = get_deviation(load_tables(), cls, size_um * NM_PER_UM)
    except InvalidInput:
        return " (size beyond the table: limits to be agreed)"
    low, high = (size_um + Fraction(nm, NM_PER_UM) for nm in (found.lower_nm, found.upper_nm))
    return f" ({mm(low)} to {mm(high)})"


def _one_of_each(holes: Sequence[PlateHole]) -> list[PlateHole]:
    """One hole of each sort, the first of its kind."""
    known = {(hole.side, hole.use, hole.thread, hole.drill_um): hole for hole in reversed(holes)}
    return list(reversed(known.values()))


def _hole_figures(wanted: PlateWanted, piece: PlatePiece, hole: PlateHole) -> Iterable[PlateFigure]:
    name = f"{piece.name}: {hole.thread or 'dowel'} of {'both' if hole.side == BOTH else 'the ' + hole.side}"
    if hole.side == "joining":
        name = f"{piece.name}: {hole.thread or 'dowel'} between the pieces"
    if hole.use == DOWEL:
        yield PlateFigure(name, f"reamed {mm(hole.drill_um)} mm H7, {_deep(hole, piece)}", SOURCES["blind hole"])
    elif hole.use == TAPPED:
        yield PlateFigure(name, f"tapping drill {mm(hole.drill_um)} mm, {_deep(hole, piece)}", _source(hole, "thread"))
        engaged = min(piece.thickness_um, hole.to_um - hole.from_um)
        want = wanted.rules.engaged_um(hole.size_um)
        yield PlateFigure(
            f"{name}, engaged", f"{mm(engaged)} mm of thread, at least {mm(want)} wanted", SOURCES["engagement"]
        )
        if hole.side in (ENGINE, GEARBOX):
            yield PlateFigure(
                f"{name}, screws", f"as long as the {hole.side}'s flange and {mm(want)} to {mm(engaged)} mm more",
                "a longer screw reaches what lies behind",
            )  # fmt: skip
    elif hole.use == BOLT:
        yield PlateFigure(name, f"{mm(hole.drill_um)} mm right through both parts", _source(hole, "clearance hole"))
    elif hole.use == SCREW:
        yield from _screw_figures(piece, hole, name)


def _source(hole: PlateHole, what: str) -> str:
    """Whose figure it is, for metric and inch screws."""
    return SOURCES[f"inch {what}" if is_inch(hole.thread) else what]


def _screw_figures(piece: PlatePiece, hole: PlateHole, name: str) -> Iterable[PlateFigure]:
    floor = piece.thickness_um - hole.head_deep_um
    yield PlateFigure(name, f"{mm(hole.drill_um)} mm through ({hole.series})", _source(hole, "clearance hole"))
    head = f"counterbore {mm(hole.head_um)} x {mm(hole.head_deep_um)} mm from the {hole.head_side}'s side"
    yield PlateFigure(f"{name}, head", head, _source(hole, "counterbore"))
    yield PlateFigure(f"{name}, under the head", f"{mm(floor)} mm of plate", SOURCES["floor under a head"])
    if hole.side in (ENGINE, GEARBOX):
        long = mm(floor + hole.size_um * 3 // 2)
        told = f"at least {long} mm long under the head, no longer than the {hole.side}'s hole lets them"
        why = "1.5 d engaged as in cast iron; 2 d in light alloy, common practice"
        yield PlateFigure(f"{name}, screws", told, why)


def _deep(hole: PlateHole, piece: PlatePiece) -> str:
    if hole.to_um - hole.from_um >= piece.thickness_um:
        return "right through"
    return f"{mm(hole.to_um - hole.from_um)} mm deep from the {hole.side}'s side"


def _cautions(wanted: PlateWanted, holes: Sequence[PlateHole]) -> Iterable[str]:
    yield CAUTION_PAPER
    yield CAUTION_DEPTH
    if wanted.frame:
        yield CAUTION_FRAME + CAUTION_BENDING
    centred_by = (wanted.register_um, wanted.spigot_um) if wanted.hub else (wanted.spigot_um, wanted.register_um)
    for side, centred in zip((ENGINE, GEARBOX), centred_by, strict=True):
        dowels = sum(hole.use == DOWEL and hole.side in (side, BOTH) for hole in holes)
        if dowels < DOWELS_WANTED and not centred:
            yield f"Nothing locates the {side}: {dowels} dowels and no register. {CAUTION_DOWELS}"
    if wanted.spigot_um:
        cut = sorted(hole.id for hole in holes
                     if 2 * hypot(hole.x_um, hole.y_um) - hole.widest_um < wanted.spigot_um)  # fmt: skip
        if cut:
            yield f"The spigot is cut by {', '.join(cut)}: what is left of its rim must still centre. Look first."
    yield CAUTION_RULES


def _measure(holes: Sequence[PlateHole], engine: Sided, gearbox: Sided) -> Iterable[str]:
    sides = {ENGINE: engine, GEARBOX: gearbox}
    dowels: list[str] = []
    for hole in holes:
        place = sides[hole.side].place_um if hole.side in sides else hole.place_um * (hole.side == BOTH)
        slack = hole.drill_um - hole.size_um
        if hole.use == SCREW and place and slack < 2 * (place + PLACE_UM):
            gives = mm(slack // 2)
            yield f"the place of {hole.id} more closely: it is read to {mm(place)} mm, the hole gives {gives} mm"
        if hole.use == TAPPED and place and hole.mate_um - hole.size_um < 2 * (place + PLACE_UM):
            yield (
                f"the place of {hole.id} more closely: it is read to {mm(place)} mm, the part's hole gives "
                f"{mm(max(hole.mate_um - hole.size_um, 0) // 2)} mm"
            )
        if hole.side == BOTH and hole.use != DOWEL:
            yield (
                f"{hole.id} more closely on both parts: one bolt is to go through both and the plate; as read the two "
                f"axes miss each other by {mm(hole.miss_um)} mm, within {mm(hole.place_um)} mm, and the holes give "
                f"{mm(hole.room_um)} mm"
            )
        if hole.use == DOWEL and place:
            dowels.append(hole.id)
    if dowels:
        yield (
            f"the places of the dowels {', '.join(dowels)} more closely, or transfer them off the part with the plate "
            f"clamped on it: they are read to {mm(max(engine.place_um, gearbox.place_um))} mm, and a pair reamed H7 "
            "goes on only within some 0.02 mm, common practice"
        )
    assumed = sorted(hole.id for hole in holes if hole.pitch_assumed)
    if assumed:
        yield f"the pitch of {', '.join(assumed)} with a thread gauge: coarse is assumed"


def _bending(wanted: PlateWanted, pieces: Sequence[PlatePiece]) -> CheckResult | None:
    """A first look at the widest span between the engine's bolts, of the piece that is the thinnest."""
    if wanted.force_n is None:
        return None
    thin = min(pieces, key=lambda piece: piece.thickness_um)
    rigid = [hole for piece in pieces for hole in piece.holes if hole.side in (ENGINE, BOTH) and hole.use != DOWEL]
    strip = Strip(
        span_nm=_widest_span_um(rigid) * NM_PER_UM, width_nm=_narrowest_um(thin) * NM_PER_UM,
        thickness_nm=thin.thickness_um * NM_PER_UM, yield_mpa=YIELD_MPA[wanted.rules.material],
    )  # fmt: skip
    return check_plate_bending(strip, wanted.force_n, get_elasticity(load_drive_tables(), wanted.rules.material))


def _widest_span_um(holes: Sequence[PlateHole]) -> int:
    """The widest gap between two neighbours about the axis; twice the radius of a single one."""
    around = sorted(holes, key=lambda hole: atan2(hole.y_um, hole.x_um))
    gaps = [
        round(hypot(a.x_um - b.x_um, a.y_um - b.y_um))
        for a, b in zip(around, (*around[1:], *around[:1]), strict=True)
    ]  # fmt: skip
    return max((gap for gap in gaps if gap), default=0) or max(
        (round(2 * hypot(hole.x_um, hole.y_um)) for hole in holes), default=1
    )


def _narrowest_um(piece: PlatePiece) -> int:
    """The least width of the ring between opening and outline, looked at in every degree."""
    points = points_mm(piece.outline)
    reach = [max(x * cos(turn) + y * sin(turn) for x, y in points) for turn in (tau * n / 360 for n in range(360))]
    return max(round(min(reach) * 1000) - piece.bore_um // 2, 1)

"""Can a plate join two faces, and which is it? Tried in this order: upright and drilled through; holes no deeper than
they must be; the gearbox turned; holes left out that carry nothing; a plate of two pieces. The first that stands is
the design; where none does, every reason is told with what to move.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import isqrt

from graph.fits.pattern import OTHER
from graph.plates.clocking import Pairing, angles
from graph.plates.holes import apart_squared, conflicts, least_um, merged, plate_holes, room_um, sided, stands, wall_um
from graph.plates.model import (
    ENGINE,
    GEARBOX,
    PlateDesign,
    PlateHole,
    PlatePiece,
    PlateReason,
    PlateRefused,
    PlateWanted,
    ThicknessWindow,
    mm,
)  # fmt: skip
from graph.plates.pieces import opening_um, piece
from graph.plates.rules import RECESS_UM, STOCK_MM, WALL_UM, to_step
from graph.plates.two_pieces import DEEP_UM, TwoPieces
from graph.plates.words import design_words

MOST_PAIRS_TOLD = 6
TURN_STEP_DEG = 15.0  # of a plate in two pieces, which hardly ever needs to turn


def design_plate(wanted: PlateWanted) -> PlateDesign | PlateRefused:
    """The plate, or why there is none. Raises InvalidInput for faces that no plate can be asked for."""
    return _Designer(wanted).result()


@dataclass(frozen=True, slots=True)
class _OnePlate:
    """A plate of one piece that stands."""

    angle_deg: float
    thickness_um: int
    holes: tuple[PlateHole, ...]
    bore_um: int
    left_out: tuple[str, ...]
    solved: tuple[str, ...]


class _Designer:
    """Goes through the ways to make a plate, and remembers why each did not do."""

    def __init__(self, wanted: PlateWanted):
        self.wanted, self.rules = wanted, wanted.rules
        self.engine = sided(wanted.engine, ENGINE, wanted.engine_thread)
        self.gearbox = sided(wanted.gearbox, GEARBOX, wanted.gearbox_thread)
        self.reasons: list[PlateReason] = []

    def result(self) -> PlateDesign | PlateRefused:
        deep = [plate_holes(one, self.rules, DEEP_UM, blind=False) for one in (self.engine, self.gearbox)]
        if not deep[0] or not deep[1]:
            side = ENGINE if not deep[0] else GEARBOX
            return PlateRefused((PlateReason(side, f"no bolted hole is measured on the {side}'s face", "measure it"),))
        least, why = least_um((*deep[0], *deep[1]), self.rules)
        options = thicknesses(self.wanted, least)
        if not options:
            self.reasons.append(_too_thin(self.wanted.window, least, why))
        found = next(self._one_piece(options), None) if options else None
        if found is not None:
            one = piece(
                self.wanted, "plate", found.thickness_um, found.bore_um, found.holes, spigot=True, register=True
            )
            return self._design((one,), found.angle_deg, found.solved, found.left_out, ())
        return self._of_two()

    def _of_two(self) -> PlateDesign | PlateRefused:
        if self.wanted.pieces < 2:
            self.reasons.append(PlateReason("pieces", "a plate of two pieces was not asked for", "allow two pieces"))
            return PlateRefused(tuple(self.reasons))
        two = TwoPieces(self.wanted, self.engine, self.gearbox)
        for angle, pieces, order in two.made(_steps(self.wanted.lean_deg)):
            solved = ("both patterns do not stand in one plate: two pieces", *_turned_words(angle))
            return self._design(pieces, angle, solved, (), order)
        return PlateRefused(tuple(dict.fromkeys((*self.reasons, *two.reasons))))

    def _design(
        self, pieces: tuple[PlatePiece, ...], angle: float, solved: tuple[str, ...], left_out: tuple[str, ...],
        order: tuple[str, ...],
    ) -> PlateDesign:  # fmt: skip
        words = design_words(self.wanted, pieces, angle, self.engine, self.gearbox)
        others = [hole.id for face in (self.wanted.engine, self.wanted.gearbox) for hole in face.holes
                  if hole.use == OTHER]  # fmt: skip
        measure = (*self.wanted.unread, *words.measure)
        if others:
            measure += (f"whether {', '.join(others)} (oil, water, inspection) must pass the plate or be closed by it",)
        return PlateDesign(
            wanted=self.wanted, pieces=pieces, angle_deg=angle, solved=solved, left_out=left_out, order=order,
            turns=words.turns, figures=words.figures, cautions=words.cautions, measure=measure, bending=words.bending,
        )  # fmt: skip

    def _one_piece(self, options: Sequence[int]) -> Iterator[_OnePlate]:
        """Plates of one piece that stand, the plainest first."""
        holes = (*self.wanted.engine.holes, *self.wanted.gearbox.holes)
        for leave_out in (False, True)[: 1 if all(hole.load for hole in holes) else 2]:
            for turned in (False, True)[: 1 if self.wanted.lean_deg <= 0 else 2]:
                yield from self._at(options[0], blind=False, turned=turned, leave_out=leave_out)
                # the thicker, the more room beyond a blind hole: where the thickest does not do, no other does
                thickest = next(self._at(max(options), blind=True, turned=turned, leave_out=leave_out), None)
                for thickness in options if thickest is not None else ():
                    yield from self._at(thickness, blind=True, turned=turned, leave_out=leave_out)

    def _at(self, thickness: int, *, blind: bool, turned: bool, leave_out: bool) -> Iterator[_OnePlate]:
        engine, gearbox = (plate_holes(one, self.rules, thickness, blind=blind) for one in (self.engine, self.gearbox))
        bound = [[hole for hole in side if hole.load or not leave_out] for side in (engine, gearbox)]
        if turned and any(map(_hopeless, bound)):
            return
        for angle in angles(Pairing(*bound), self.wanted.lean_deg) if turned else (0.0,):
            holes = merged(engine, [hole.turned(angle) for hole in gearbox], thickness)
            found = self._standing(holes, angle, thickness, blind=blind, leave_out=leave_out)
            if found is not None:
                yield found

    def _standing(
        self, holes: tuple[PlateHole, ...], angle: float, thickness: int, *, blind: bool, leave_out: bool
    ) -> _OnePlate | None:
        clashes = conflicts(holes)
        gone: set[str] = set()
        if clashes and leave_out:
            gone = _dispensable(clashes)
            holes = tuple(hole for hole in holes if hole.id not in gone)
            clashes = conflicts(holes)
        if clashes:
            if not (angle or blind or leave_out):
                self.reasons += _clash_reasons(clashes, self.wanted.lean_deg)
            return None
        bore, reasons = opening_um(self.wanted, holes)
        if reasons:
            self.reasons += [reason for reason in reasons if reason not in self.reasons]
            return None
        solved = [*_turned_words(angle)]
        if blind:
            solved.append("holes no deeper than they must be, so that others pass beyond their ends")
        if gone:
            solved.append(f"left out, as they carry no load: {', '.join(sorted(gone))}")
        return _OnePlate(angle, thickness, holes, bore, tuple(sorted(gone)), tuple(solved))


def _hopeless(side: Sequence[PlateHole]) -> bool:
    """Do two holes of one pattern stand in each other's way even without heads? Then no turn helps."""
    bare = [replace(hole, head_um=0) for hole in side]
    return any(not stands(a, b) for n, a in enumerate(bare) for b in bare[n + 1 :])


def _dispensable(clashes: Sequence[tuple[PlateHole, PlateHole]]) -> set[str]:
    """Holes without load, one for each clash where there is one."""
    gone: set[str] = set()
    for a, b in clashes:
        if {a.id, b.id} & gone:
            continue
        spare = [hole.id for hole in (b, a) if not hole.load]
        gone.update(spare[:1])
    return gone


def _clash_reasons(clashes: Sequence[tuple[PlateHole, PlateHole]], lean_deg: float) -> list[PlateReason]:
    move = (
        f"no angle within {lean_deg:g} degrees either way makes room" if lean_deg > 0
        else "allow the gearbox to be turned, or a plate of two pieces"
    )  # fmt: skip
    found = [
        _near_miss(a, b) or PlateReason(
            "holes", f"{a.id} and {b.id}: {mm(wall_um(a, b) or 0)} mm between their rims, at least {mm(WALL_UM)} mm "
            "wanted", move,
        )
        for a, b in clashes[:MOST_PAIRS_TOLD]
    ]  # fmt: skip
    more = len(clashes) - MOST_PAIRS_TOLD
    return [*found, PlateReason("holes", f"and {more} more pairs", move)] if more > 0 else found


def _near_miss(a: PlateHole, b: PlateHole) -> PlateReason | None:
    """Of two that one bolt could go through, were their places read more closely."""
    room, apart = room_um(a, b), isqrt(apart_squared(a, b))
    if room is None or apart > room:
        return None
    doubt = a.place_um + b.place_um
    said = f"{a.id} and {b.id} miss each other by {mm(apart)} mm within {mm(doubt)} mm: one bolt through both parts has"
    return PlateReason("holes", f"{said} {mm(room)} mm", "measure both places more closely")


def _turned_words(angle: float) -> tuple[str, ...]:
    if not angle:
        return ()
    way = "anticlockwise" if angle > 0 else "clockwise"
    return (f"the gearbox is turned {abs(angle):.2f} degrees {way}, seen from the gearbox",)


def _steps(lean_deg: float) -> list[float]:
    """Upright, then steps either way within the lean."""
    count = int(lean_deg // TURN_STEP_DEG)
    return [0.0, *(sign * step * TURN_STEP_DEG for step in range(1, count + 1) for sign in (1, -1))]


def thicknesses(wanted: PlateWanted, least_um_: int) -> tuple[int, ...]:
    """The thicknesses to try, the one to prefer first: stock from the thinnest, then milled; none where none serves."""
    window = wanted.window
    low, extra = max(window.low_um or 0, least_um_), RECESS_UM if wanted.spigot_um else 0
    high = STOCK_MM[-1] * 1000 - extra
    if window.high_um is not None:
        high = min(high, window.high_um)
    if low > high:
        return ()
    stock = [size * 1000 - extra for size in STOCK_MM if low <= size * 1000 - extra <= high]
    milled = [to_step(low) if to_step(low) <= high else low, high // 500 * 500 if high // 500 * 500 >= low else high]
    return tuple(dict.fromkeys((*stock, *milled)))


def _too_thin(window: ThicknessWindow, least: int, why: str) -> PlateReason:
    if window.low_um is not None and window.high_um is not None and window.low_um > window.high_um:
        low, high = f"{mm(window.low_um)} mm ({window.low_by})", f"{mm(window.high_um)} mm ({window.high_by})"
        what = f"the window is empty: at least {low}, at most {high}"
        ends = dict.fromkeys((window.low_by, window.high_by))
        return PlateReason("thickness", what, f"move {' or '.join(ends)}")
    if window.high_um is not None and window.high_um < least:
        what = f"at least {mm(least)} mm is wanted for {why}, the window ends at {mm(window.high_um)} mm"
        return PlateReason("thickness", what, f"move {window.high_by or 'that limit'}, or take a lower head")
    what = f"at least {mm(max(least, window.low_um or 0))} mm is wanted, rolled plate is stocked to {STOCK_MM[-1]} mm"
    return PlateReason("thickness", what, "take two pieces or forged plate")

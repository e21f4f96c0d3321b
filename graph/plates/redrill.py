"""New holes among the old ones of a part that another is to bolt to: a flywheel, a flange, a starter's pad.

The pattern that is met stays as it is; the part that is drilled gets a hole for each of its bolts and dowels. Where
both turn (flywheel on crankshaft) the pattern stands at the angle that uses most old holes as they are and else leaves
the most metal. A new hole too near to an old one, to the rim or to the opening is refused with what is in its way; an
edge that nobody has measured is asked for, never taken as far off. Limits are a plate's (graph/plates/rules.py).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import atan2, degrees, hypot, isqrt

from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_UM
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD, Face, Hole, allowed_miss_nm, as_seen_from
from graph.fits.tables import load_tables
from graph.fits.threads import get_thread
from graph.plates import model
from graph.plates.holes import DOWELS_MISS_UM, Sided, apart_squared, clearance_um, plate_holes, sided, stands, wall_um
from graph.plates.model import ENGINE, GEARBOX, PlateHole, PlateReason, mm
from graph.plates.old_holes import check_edges, off_the_part, on_each_other, through_an_edge
from graph.plates.rules import WALL_UM, PlateRules

REAR = "rear"
STEP_DEG, TURN_DEG = 0.5, 360.0
THROUGH_UM = 1_000  # nominal: all these holes share their depth
SAME_CIRCLE_UM = 1_000
ROUND_UM = 10  # walls nearer to each other than this count as equal when angles are weighed
MOST_TOLD = 8
PLUG = "another part, an adaptor between the two, or old holes plugged and drilled over by somebody who answers for it"


@dataclass(frozen=True, slots=True, kw_only=True)
class RedrillWanted:
    """What is asked for: `drilled` gets the pattern of `kept`. `turn_deg`: the pattern turned anticlockwise by so much,
    seen from the gearbox; None: chosen where both turn (`turns`), else 0. `rim_um`, `opening_um`: diameters of the
    drilled part about its axis, None: nobody has measured them. `thread`: the screw of holes that name none."""

    drilled: Face
    kept: Face
    rules: PlateRules = field(default_factory=PlateRules)
    turn_deg: float | None = None
    turns: bool = False
    rim_um: int | None = None
    opening_um: int | None = None
    thread: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Redrilled:
    """A part that can be drilled. Places from its own axis, seen from the gearbox, in micrometres.

    `new`: what is drilled; `old`: what stands there; `served`: (new, old) where an old hole does as it is. `least`: the
    least wall, between which two (None: there are no old holes near). `measure`: what is not known, so not proven.
    """

    wanted: RedrillWanted
    new: tuple[PlateHole, ...]
    old: tuple[PlateHole, ...]
    served: tuple[tuple[str, str], ...]
    angle_deg: float
    least: tuple[int, str, str] | None
    measure: tuple[str, ...]

    @property
    def title(self) -> str:
        """What stands over a drawing."""
        return f"New holes in {self.wanted.drilled.label}, for {self.wanted.kept.label}"

    @property
    def proven(self) -> bool:
        """Is everything known that its limits ask for?"""
        return not self.measure


@dataclass(frozen=True, slots=True)
class RedrillRefused:
    """Why it cannot be drilled so: which hole stands in the way of which, and what to move."""

    reasons: tuple[PlateReason, ...]


def design_redrill(wanted: RedrillWanted) -> Redrilled | RedrillRefused:
    """The holes to drill, or every reason against them. Raises InvalidInput for faces that no table serves, and for a
    rim within the opening."""
    check_edges(wanted.rim_um, wanted.opening_um)
    drilled, kept = as_seen_from(wanted.drilled, REAR), as_seen_from(wanted.kept, REAR)
    misread = [
        *on_each_other(drilled, "drilled", "old holes"), *on_each_other(kept, "kept", "holes"),
        *off_the_part(drilled, wanted.rim_um, wanted.opening_um),
    ]  # fmt: skip
    if misread:
        return RedrillRefused(tuple(_few(misread)))
    pattern = _pattern(wanted, drilled)
    if not pattern:
        return RedrillRefused((PlateReason("kept", f"no bolted hole is measured on {kept.label}", "measure it"),))
    old = tuple(_old(hole, drilled) for hole in drilled.holes)
    pairs = {hole.id: hole for hole in drilled.holes}
    known = {f"N-{hole.id}": hole for hole in kept.holes}
    bolt = _Serving(known, pairs, drilled.uncertainty_nm + kept.uncertainty_nm)
    angle = _angle(wanted, pattern, old, bolt)
    turned = [hole.turned(angle) for hole in pattern]
    served = dict(_served(turned, old, bolt))
    new = tuple(hole for hole in turned if hole.id not in served)
    near = [*_too_near(new, old, drilled), *_edges(wanted, new)]
    if near:
        return RedrillRefused(tuple(_few(near)))
    walls = [(wall, a.id, b.id) for a, b in _pairs(new, old) if (wall := wall_um(a, b)) is not None]
    return Redrilled(
        wanted=wanted, new=new, old=old, served=tuple(served.items()), angle_deg=angle, least=min(walls, default=None),
        measure=tuple(_measure(wanted, new, old, walls)),
    )  # fmt: skip


def _asked_for(wanted: RedrillWanted) -> tuple[Sided, tuple[PlateHole, ...]]:
    """The kept face and its holes as a plate's. Raises InvalidInput at the fields of this question."""
    try:
        one = sided(wanted.kept, ENGINE, wanted.thread)
        return one, plate_holes(one, wanted.rules, THROUGH_UM, blind=False)
    except InvalidInput as error:
        own = {f"{ENGINE}_thread": "thread"}
        raise InvalidInput(
            Problem(own.get(each.path, re.sub(rf"^{ENGINE}\.", "kept.", each.path)), each.message)
            for each in error.problems
        ) from None


def _pattern(wanted: RedrillWanted, drilled: Face) -> tuple[PlateHole, ...]:
    """The holes that the kept face asks for, not turned yet: right through for its threads; for its plain holes a
    thread where the drilled part's own are threads, else right through; reamed for its dowels."""
    tapped = any(hole.use == THREAD for hole in drilled.holes)
    one, holes = _asked_for(wanted)
    found = []
    for hole in holes:
        made = replace(hole, id=f"N-{hole.id.removeprefix('A-')}", head_um=0, head_deep_um=0, head_side="")
        if hole.use == model.TAPPED and not tapped:
            named = get_thread(load_tables(), hole.thread)
            drill, series = clearance_um(load_tables(), named, one.place_um)
            made = replace(made, use=model.BOLT, drill_um=drill, series=series)
        elif hole.use == model.SCREW:
            made = replace(made, use=model.BOLT)
        found.append(made)
    return tuple(found)


def _old(hole: Hole, face: Face) -> PlateHole:
    size = hole.diameter_nm // NM_PER_UM
    use = {THREAD: model.TAPPED, CLEARANCE: model.BOLT, DOWEL: model.DOWEL, OTHER: OTHER}[hole.use]
    return PlateHole(
        id=f"O-{hole.id}", side=GEARBOX, use=use, x_um=hole.x_nm // NM_PER_UM, y_um=hole.y_nm // NM_PER_UM,
        thread=hole.thread, size_um=size, drill_um=size, from_um=0, to_um=THROUGH_UM,
        place_um=-(-face.uncertainty_nm // NM_PER_UM),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Serving:
    """Which old hole does for a new one as it is: `kept` by the new hole's id, `drilled` by its own, how far off the
    places of both may be together."""

    kept: dict[str, Hole]
    drilled: dict[str, Hole]
    doubt_nm: int

    def does(self, new: PlateHole, old: PlateHole) -> bool:
        """Does the bolt or pin of the new hole go through the old one wherever both truly are?"""
        met, own = self.kept[new.id], self.drilled[old.id.removeprefix("O-")]
        apart = isqrt(apart_squared(new, old))
        if met.use == own.use == DOWEL:
            return met.diameter_nm == own.diameter_nm and apart <= DOWELS_MISS_UM
        if own.use == THREAD and own.diameter_nm != new.size_um * NM_PER_UM:
            return False
        screw = new.size_um * NM_PER_UM
        if met.use == THREAD:  # its own size, also where the hole was measured at the tapping drill's
            met = replace(met, diameter_nm=screw)
        allowed = allowed_miss_nm(met, own, screw)
        return allowed is not None and apart * NM_PER_UM <= allowed - self.doubt_nm


def _served(new: Sequence[PlateHole], old: Sequence[PlateHole], serving: _Serving) -> Iterator[tuple[str, str]]:
    for one in new:
        found = next((other.id for other in old if serving.does(one, other)), None)
        if found is not None:
            yield one.id, found


def _angle(wanted: RedrillWanted, new: Sequence[PlateHole], old: Sequence[PlateHole], serving: _Serving) -> float:
    """The angle asked for; else, where both turn, the one that uses most old holes and leaves the most metal."""
    if wanted.turn_deg is not None:
        return wanted.turn_deg
    if not wanted.turns:
        return 0.0
    tried = {n * STEP_DEG for n in range(round(TURN_DEG / STEP_DEG))}
    tried |= {round(_between(a, b), 6) for a in new for b in old if _one_circle(a, b)}
    ways = sorted((one - TURN_DEG if one > TURN_DEG / 2 else one for one in tried), key=lambda one: (abs(one), one < 0))
    return max(ways, key=lambda one: _worth([hole.turned(one) for hole in new], old, serving))


def _between(new: PlateHole, old: PlateHole) -> float:
    return degrees(atan2(old.y_um, old.x_um) - atan2(new.y_um, new.x_um)) % TURN_DEG


def _one_circle(a: PlateHole, b: PlateHole) -> bool:
    return abs(hypot(a.x_um, a.y_um) - hypot(b.x_um, b.y_um)) <= SAME_CIRCLE_UM


def _worth(turned: Sequence[PlateHole], old: Sequence[PlateHole], serving: _Serving) -> tuple[bool, int, int]:
    """Does it stand, how many old holes does it use, how much metal does it leave? The first of equals is the least
    turned."""
    served = dict(_served(turned, old, serving))
    drilled = [one for one in turned if one.id not in served]
    walls = [hypot(a.x_um - b.x_um, a.y_um - b.y_um) - (a.widest_um + b.widest_um) / 2
             for a in drilled for b in old]  # fmt: skip
    least = round(min(walls, default=10 * WALL_UM) / ROUND_UM)
    holds = least >= WALL_UM / ROUND_UM
    return holds, len(served) if holds else 0, least


def _pairs(new: Sequence[PlateHole], old: Sequence[PlateHole]) -> Iterator[tuple[PlateHole, PlateHole]]:
    """Every two holes of which at least one is new."""
    for number, one in enumerate(new):
        yield from ((one, other) for other in (*new[number + 1 :], *old))


def _too_near(new: Sequence[PlateHole], old: Sequence[PlateHole], drilled: Face) -> Iterator[PlateReason]:
    for a, b in _pairs(new, old):
        if stands(a, b):
            continue
        wall = wall_um(a, b) or 0
        told = f"{mm(wall)} mm between their rims, at least {mm(WALL_UM)} mm wanted"
        if wall < 0:
            told = f"they overlap by {mm(-wall)} mm; at least {mm(WALL_UM)} mm of metal must stay between them"
        yield PlateReason(b.id, f"{a.id} and {b.id} of {drilled.label}: {told}", PLUG)


def _edges(wanted: RedrillWanted, new: Sequence[PlateHole]) -> Iterator[PlateReason]:
    """New holes too near to the rim or to the opening."""
    for one in new:
        square, keep = one.x_um**2 + one.y_um**2, one.edge_um(wanted.rules)
        out, into = isqrt(square) + (isqrt(square) ** 2 < square), isqrt(square)
        for name, size, room in (
            ("rim", wanted.rim_um, None if wanted.rim_um is None else wanted.rim_um // 2 - out),
            ("opening", wanted.opening_um, None if wanted.opening_um is None else into - -(-wanted.opening_um // 2)),
        ):  # fmt: skip
            if size is not None and room is not None and room < keep:
                said = f"{mm(room)} mm from its axis to the {name} of {mm(size)} mm, at least {mm(keep)} mm wanted"
                if room < 0:
                    where = f"{mm(-room)} mm {'beyond' if name == 'rim' else 'inside'} the {name} of {mm(size)} mm"
                    said = f"its axis lies {where}; it must lie {mm(keep)} mm within the metal"
                yield PlateReason(name, f"{one.id}: {said}", "another part, or an adaptor between the two")


def _few(reasons: list[PlateReason]) -> list[PlateReason]:
    more = len(reasons) - MOST_TOLD
    return [*reasons[:MOST_TOLD], PlateReason("holes", f"and {more} more", "")] if more > 0 else reasons


def _measure(
    wanted: RedrillWanted, new: Sequence[PlateHole], old: Sequence[PlateHole], walls: Sequence[tuple[int, str, str]]
) -> Iterator[str]:
    """What is not known: edges, and places read too roughly for the wall that is left."""
    label = wanted.drilled.label
    if not new:
        return
    keep = max(one.edge_um(wanted.rules) for one in new)
    yield from through_an_edge(wanted.drilled, wanted.rim_um, wanted.opening_um)
    if wanted.rim_um is None:
        yield f"the rim of {label}: every new hole wants {mm(keep)} mm from its axis to the nearest edge outside it"
    if wanted.opening_um is None:
        yield f"the opening of {label}: every new hole wants {mm(keep)} mm from its axis to the nearest edge inside it"
    places = {one.id: one.place_um for one in (*new, *old)}
    for wall, one, other in walls:
        doubt = places[one] + places[other]
        if wall < WALL_UM + doubt:
            yield f"the places of {one} and {other} more closely: {mm(wall)} mm within {mm(doubt)} mm stay between them"

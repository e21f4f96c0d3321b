"""One plate to be cut, from its holes: opening, register, spigot, outline, weight, least wall and edge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from math import isqrt, pi

from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.plates.holes import wall_um
from graph.plates.model import Corner, PlateHole, PlatePiece, PlateReason, PlateWanted, mm
from graph.plates.outline import Disc, area_mm2, band
from graph.plates.rules import FLOOR_UM, RECESS_UM, STOCK_MM, WALL_UM, PlateRules, up

SMALLEST_BORE_UM = 20_000  # less lets no shaft through
LEDGE_UM = 2_000  # of plate behind a register's recess, common practice


def _room_um(holes: Sequence[PlateHole], keep: Callable[[PlateHole], int]) -> int:
    """The widest circle about the axis that stays `keep` away from every hole's axis."""
    return 2 * min((isqrt(hole.x_um**2 + hole.y_um**2) - keep(hole) for hole in holes), default=0)


def opening_um(wanted: PlateWanted, holes: Sequence[PlateHole]) -> tuple[int, tuple[PlateReason, ...]]:
    """The opening, and what stands against it: a hole too near to it or to the register, or no room for a shaft.

    Where none is asked for it is as wide as holes, register and spigot leave it, in whole millimetres.
    """
    rules, register, asked = wanted.rules, wanted.register_um, wanted.bore_um
    room = _room_um(holes, lambda hole: hole.edge_um(rules))
    if register is not None:
        about = _room_um(holes, _clear_of_recess_um)
        if register > about:
            return 0, (_refused("register", register, about, holes, _clear_of_recess_um),)
        room = min(room, register - 2 * LEDGE_UM)
    if wanted.spigot_um is not None:
        room = min(room, wanted.spigot_um - 2 * WALL_UM)
    room = room // 1000 * 1000
    if asked is not None and asked > room:
        return asked, (_refused("opening", asked, room, holes, lambda hole: hole.edge_um(rules)),)
    if asked is None and room < SMALLEST_BORE_UM:
        what = f"an opening of {mm(max(room, 0))} mm is left about the axis, too little for a shaft"
        return 0, (PlateReason("holes", what, "leave out holes near the axis that carry nothing"),)
    return (room if asked is None else asked), ()


def _clear_of_recess_um(hole: PlateHole) -> int:
    """From a hole's axis to the rim of a shallow recess, which is no edge: half of it and the metal of a floor."""
    return up(Fraction(hole.widest_um, 2)) + FLOOR_UM


def _refused(
    path: str, size_um: int, room_um: int, holes: Sequence[PlateHole], keep: Callable[[PlateHole], int]
) -> PlateReason:
    near = sorted(hole.id for hole in holes if _room_um([hole], keep) < size_um)
    by = f"leaves too little metal at {', '.join(near)}" if near else "leaves no ledge in the register or spigot"
    what = f"{'an opening' if path == 'opening' else 'a register'} of {mm(size_um)} mm {by}"
    return PlateReason(path, what, f"at most {mm(max(room_um, 0))} mm does")


def piece(
    wanted: PlateWanted,
    name: str,
    thickness_um: int,
    bore_um: int,
    holes: Sequence[PlateHole],
    *,
    spigot: bool,
    register: bool,
) -> PlatePiece:
    """The piece with its outline and weight. `spigot`, `register`: this piece carries them."""
    rules = wanted.rules
    ring = up(Fraction(bore_um, 2)) + up(rules.edge_factor * 10_000)
    if spigot and wanted.spigot_um:
        ring = max(ring, up(Fraction(wanted.spigot_um, 2)) + WALL_UM)
    outline = band([Disc(0, 0, ring), *(Disc(hole.x_um, hole.y_um, hole.edge_um(rules)) for hole in holes)])
    walls = [found for n, a in enumerate(holes) for b in holes[n + 1 :] if (found := wall_um(a, b)) is not None]
    spigot_um = (wanted.spigot_um or 0) if spigot else 0
    register_um = (wanted.register_um or 0) if register else 0
    blank = thickness_um + (RECESS_UM if spigot_um else 0)
    return PlatePiece(
        name=name, thickness_um=thickness_um, stock_mm=next((mm_ for mm_ in STOCK_MM if mm_ * 1000 >= blank), 0),
        spigot_um=spigot_um, register_um=register_um if register_um > bore_um else 0, bore_um=bore_um,
        outline=outline, holes=tuple(holes), least_wall_um=min(walls, default=None),
        grams=_grams(rules, outline, thickness_um, bore_um, spigot_um, register_um, holes),
        least_edge_um=min((hole.edge_um(rules) for hole in holes), default=0), hub=wanted.hub,
    )  # fmt: skip


def _grams(
    rules: PlateRules, outline: Sequence[Corner], thickness_um: int, bore_um: int, spigot_um: int, register_um: int,
    holes: Sequence[PlateHole],
) -> int:  # fmt: skip
    """Outline times thickness, less what is drilled, with spigot and recess."""

    def disc(diameter_um: int, high_um: int) -> float:
        return pi / 4 * (diameter_um / 1000) ** 2 * high_um / 1000

    volume = (area_mm2(outline) * thickness_um / 1000) - disc(bore_um, thickness_um)
    if spigot_um:
        volume += disc(spigot_um, RECESS_UM) - disc(bore_um, RECESS_UM)
    if register_um > bore_um:
        volume -= disc(register_um, RECESS_UM) - disc(bore_um, RECESS_UM)
    for hole in holes:
        volume -= disc(hole.drill_um, hole.to_um - hole.from_um)
        if hole.head_um:
            volume -= disc(hole.head_um, hole.head_deep_um) - disc(hole.drill_um, hole.head_deep_um)
    density = get_elasticity(load_drive_tables(), rules.material).density_kg_m3
    return round(volume * float(density) / 1e6)

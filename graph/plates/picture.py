"""A piece of a plate as an SVG, to be looked at: never cut from this, the DXF is for that.

Form tells the holes apart: a thread has an open ring (ISO 6410), a dowel stands in a square, a counterbore is a second
circle, dashed where it is in the engine's side.
"""

from __future__ import annotations

from graph.fits.svg import Drawing
from graph.plates.hole_table import centring_words, hole_words
from graph.plates.model import DOWEL, ENGINE, TAPPED, PlateHole, PlatePiece, mm
from graph.plates.outline import extent_um, points_mm

WIDTH, MARGIN = 420.0, 22.0


def piece_svg(piece: PlatePiece, prefix: str = "plate") -> str:
    """The SVG of a piece, seen from the gearbox's side."""
    left, low, right, top = (um / 1000 for um in extent_um(piece.outline))
    scale = (WIDTH - 2 * MARGIN) / max(right - left, top - low)
    words = [f"{hole.id}: {hole_words(hole)}, at {mm(hole.x_um)}, {mm(hole.y_um)}" for hole in piece.holes]
    words = [*centring_words(piece), *words]
    description = f"Opening {mm(piece.bore_um)} mm. {'. '.join(words)}."
    title = f"{piece.name}, {mm(piece.thickness_um)} mm thick, seen from the gearbox"
    drawing = Drawing(WIDTH, (top - low) * scale + 2 * MARGIN, title, description, prefix)

    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return MARGIN + (x_mm - left) * scale, MARGIN + (top - y_mm) * scale

    drawing.polygon([at(x, y) for x, y in points_mm(piece.outline, 0.05)])
    centre = at(0, 0)
    sides = ((piece.register_um, piece.register_side), (piece.spigot_um, piece.spigot_side))
    centring = ((size_um, "dashed" if side == ENGINE else "full") for size_um, side in sides)
    for size_um, style in ((piece.bore_um, "full"), *centring):
        if size_um:
            drawing.circle(*centre, size_um / 2000 * scale, style)
    drawing.line(centre[0] - 18, centre[1], centre[0] + 18, centre[1], "chain", 0.8)
    drawing.line(centre[0], centre[1] - 18, centre[0], centre[1] + 18, "chain", 0.8)
    for hole in piece.holes:
        _hole(drawing, hole, at(hole.x_um / 1000, hole.y_um / 1000), centre, scale)
    return drawing.markup()


def _hole(
    drawing: Drawing, hole: PlateHole, place: tuple[float, float], centre: tuple[float, float], scale: float
) -> None:
    x, y = place
    radius = hole.drill_um / 2000 * scale
    drawing.circle(x, y, radius)
    if hole.head_um:
        drawing.circle(x, y, hole.head_um / 2000 * scale, "dashed" if hole.head_side == ENGINE else "full", 1.0)
    if hole.use == TAPPED:
        ring = radius + 3
        start, end = f"{x + ring:.2f} {y:.2f}", f"{x:.2f} {y + ring:.2f}"
        drawing.path(f"M {start} A {ring:.2f} {ring:.2f} 0 1 0 {end}", weight=0.8)
    if hole.use == DOWEL:
        half = radius + 3
        drawing.polygon(
            [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)], "full", 1.0
        )
    inward_x, inward_y = centre[0] - x, centre[1] - y
    length = (inward_x**2 + inward_y**2) ** 0.5 or 1.0
    away = hole.widest_um / 2000 * scale + 14
    drawing.text(x + away * inward_x / length, y + away * inward_y / length + 4, hole.id, "middle", 12)

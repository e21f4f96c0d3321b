"""A design, or a refusal, as plain values for JSON. Lengths in mm, to the micrometre."""

from __future__ import annotations

from typing import Any

from graph.fits.as_json import result_as_json
from graph.plates.hole_table import depth_words, hole_words
from graph.plates.model import PlateDesign, PlateHole, PlatePiece, PlateRefused, ThicknessWindow
from graph.plates.outline import extent_um

Json = dict[str, Any]


def plate_as_json(found: PlateDesign | PlateRefused) -> Json:
    """`verdict` is designed or refused; with a refusal only `reasons` says anything."""
    if isinstance(found, PlateRefused):
        reasons = [{"path": one.path, "what": one.what, "move": one.move} for one in found.reasons]
        return {"verdict": "refused", "reasons": reasons, "design": None}
    return {"verdict": "designed", "reasons": [], "design": _design(found)}


def _design(found: PlateDesign) -> Json:
    return {
        "thickness_mm": found.thickness_um / 1000, "angle_deg": found.angle_deg,
        "material": found.wanted.rules.material, "window": window_as_json(found.wanted.window),
        "solved": list(found.solved), "left_out": list(found.left_out), "turns": list(found.turns),
        "order": list(found.order), "pieces": [_piece(piece) for piece in found.pieces],
        "figures": [{"name": one.name, "value": one.value, "source": one.source} for one in found.figures],
        "measure": list(found.measure), "cautions": list(found.cautions),
        "bending": None if found.bending is None else result_as_json(found.bending),
    }  # fmt: skip


def window_as_json(window: ThicknessWindow) -> Json:
    """The window with what binds it; null where nothing does."""
    low, high = (None if um is None else um / 1000 for um in (window.low_um, window.high_um))
    return {"low_mm": low, "high_mm": high, "low_by": window.low_by, "high_by": window.high_by}


def _piece(piece: PlatePiece) -> Json:
    left, low, right, top = extent_um(piece.outline)
    wall = piece.least_wall_um
    return {
        "name": piece.name, "thickness_mm": piece.thickness_um / 1000, "stock_mm": piece.stock_mm,
        "bore_mm": piece.bore_um / 1000, "register_mm": piece.register_um / 1000 or None,
        "spigot_mm": piece.spigot_um / 1000 or None,
        "register_side": piece.register_side if piece.register_um else None,
        "spigot_side": piece.spigot_side if piece.spigot_um else None, "weight_kg": piece.grams / 1000,
        "width_mm": (right - left) / 1000, "height_mm": (top - low) / 1000,
        "least_wall_mm": None if wall is None else wall / 1000,
        "outline": [[corner.x_um / 1000, corner.y_um / 1000, corner.bulge] for corner in piece.outline],
        "holes": [_hole(hole, piece) for hole in piece.holes],
    }  # fmt: skip


def _hole(hole: PlateHole, piece: PlatePiece) -> Json:
    return {
        "id": hole.id, "side": hole.side, "use": hole.use, "x_mm": hole.x_um / 1000, "y_mm": hole.y_um / 1000,
        "thread": hole.thread, "drill_mm": hole.drill_um / 1000, "from_mm": hole.from_um / 1000,
        "to_mm": hole.to_um / 1000, "counterbore_mm": hole.head_um / 1000 or None,
        "counterbore_depth_mm": hole.head_deep_um / 1000 or None, "head_side": hole.head_side or None,
        "words": f"{hole_words(hole)}, {depth_words(hole, piece)}",
    }  # fmt: skip

"""The table of a piece's holes, in the same words on the page, in the drawing and on paper."""

from __future__ import annotations

from collections.abc import Iterator

from graph.plates.model import BOLT, DOWEL, SCREW, PlateHole, PlatePiece, mm

TABLE_HEAD = ("hole", "x mm", "y mm", "drill mm", "what", "depth")


def table_rows(piece: PlatePiece) -> Iterator[tuple[str, str, str, str, str, str]]:
    """One row for each hole: name, place, drill, what it is, how deep."""
    for hole in piece.holes:
        yield (
            hole.id, mm(hole.x_um), mm(hole.y_um), mm(hole.drill_um), hole_words(hole), depth_words(hole, piece)
        )  # fmt: skip


def hole_words(hole: PlateHole) -> str:
    """`clearance for M10x1.5, counterbore 18.000 x 10.000 from the gearbox's side`."""
    if hole.use == DOWEL:
        return f"ream {mm(hole.drill_um)} H7"
    if hole.use == SCREW:
        sunk = f"counterbore {mm(hole.head_um)} x {mm(hole.head_deep_um)} from the {hole.head_side}'s side"
        return f"clearance for {hole.thread}, {sunk}"
    if hole.use == BOLT:
        return f"clearance for a {hole.thread} bolt through both parts"
    return f"tap {hole.thread}"


def depth_words(hole: PlateHole, piece: PlatePiece) -> str:
    """`through`, or how deep from which side."""
    deep = hole.to_um - hole.from_um
    return "through" if deep >= piece.thickness_um else f"{mm(deep)} from the {hole.side}'s side"


def centring_words(piece: PlatePiece) -> tuple[str, ...]:
    """`register 50.005 H7, the engine's side`, and the spigot's; those that it has."""
    found = (("register", piece.register_um, "H7", piece.register_side),
             ("spigot", piece.spigot_um, "h7" if piece.hub else "f7", piece.spigot_side))  # fmt: skip
    return tuple(f"{name} {mm(size_um)} {cls}, the {side}'s side" for name, size_um, cls, side in found if size_um)


def tolerance_words(piece: PlatePiece, material: str) -> tuple[str, str]:
    """How near thickness and places come out, on every drawing alike (common practice)."""
    thick = f"thickness {mm(piece.thickness_um)} +/- 0.100, {material}; opening {mm(piece.bore_um)}"
    return thick, "dashed: from the engine's side. Holes placed within 0.1 of the axis; edges broken 0.5"

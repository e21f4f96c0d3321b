"""What is said of new holes in a part: on the page, by the command, beside the drawing and in JSON alike."""

from __future__ import annotations

from typing import Any

from graph.plates.hole_table import hole_words
from graph.plates.model import TAPPED, PlateHole, mm
from graph.plates.redrill import Redrilled, RedrillRefused
from graph.plates.rules import SOURCES

Json = dict[str, Any]
NEW_HEAD = ("Hole", "x mm", "y mm", "Drill mm", "What")
OLD_HEAD = ("Old hole", "x mm", "y mm", "Diameter mm", "What becomes of it")
CAUTIONS = (
    "Locate the part on its register or on dowels, not on the paper: that shows a mistake, it is no drilling jig.",
    "What turns is balanced again after it is drilled: a flywheel or propshaft out of balance comes apart.",
    "Hardened or cast parts: a crack from an old hole to a new one ends in a burst. Look with dye before it is used.",
    "Check every place against both parts before cutting. Guard the machine. Local rules decide about use on the road.",
)


def new_rows(found: Redrilled) -> tuple[tuple[str, str, str, str, str], ...]:
    """A row for each hole to be drilled."""
    return tuple((one.id, mm(one.x_um), mm(one.y_um), mm(one.drill_um), _new_words(found, one)) for one in found.new)


def _new_words(found: Redrilled, hole: PlateHole) -> str:
    if hole.use != TAPPED:
        return hole_words(hole)
    return f"{hole_words(hole)}, at least {mm(found.wanted.rules.engaged_um(hole.size_um))} mm of thread"


def old_rows(found: Redrilled) -> tuple[tuple[str, str, str, str, str], ...]:
    """A row for each hole that is there."""
    used = {old: new for new, old in found.served}
    return tuple(
        (one.id, mm(one.x_um), mm(one.y_um), mm(one.drill_um),
         f"used as it is, for {used[one.id]}" if one.id in used else "stays, not used")
        for one in found.old
    )  # fmt: skip


def note_lines(found: Redrilled) -> tuple[str, ...]:
    """How the pattern stands, what is drilled, how much metal stays."""
    wanted, lines = found.wanted, []
    if found.angle_deg:
        way = "anticlockwise" if found.angle_deg > 0 else "clockwise"
        turned = f"the pattern of {wanted.kept.label} is turned {abs(found.angle_deg):.2f} degrees {way}"
        lines.append(f"{turned}, seen from the gearbox: timing marks and a sensor's ring turn with what is bolted on")
    lines.append(f"{len(found.new)} new holes, {len(found.served)} old ones used as they are")
    if not found.new:
        lines.append("nothing has to be drilled")
    if found.least is not None:
        wall, one, other = found.least
        lines.append(f"least wall {mm(wall)} mm, between {one} and {other} ({SOURCES['wall between holes']})")
    lines.append(f"edges: {SOURCES['edge distance']}; {wanted.rules.material}")
    for name, size in (("rim", wanted.rim_um), ("opening", wanted.opening_um)):
        lines.append(f"{name}: {f'{mm(size)} mm' if size is not None else 'not measured'}")
    lines.append(
        f"places from the {wanted.drilled.axis}, seen from the gearbox; mirror them to drill from the other side"
    )
    return tuple(lines)


def redrill_as_json(found: Redrilled | RedrillRefused) -> Json:
    """`verdict`: designed, to measure (drawn, but not proven) or refused with its reasons."""
    if isinstance(found, RedrillRefused):
        reasons = [{"path": one.path, "what": one.what, "move": one.move} for one in found.reasons]
        return {"verdict": "refused", "reasons": reasons, "measure": [], "design": None}
    wanted = found.wanted
    design = {
        "title": found.title, "angle_deg": found.angle_deg, "material": wanted.rules.material,
        "rim_mm": None if wanted.rim_um is None else wanted.rim_um / 1000,
        "opening_mm": None if wanted.opening_um is None else wanted.opening_um / 1000,
        "new": [_hole(one, row[-1]) for one, row in zip(found.new, new_rows(found), strict=True)],
        "old": [_hole(one, row[-1]) for one, row in zip(found.old, old_rows(found), strict=True)],
        "used_as_they_are": [{"new": new, "old": old} for new, old in found.served],
        "least_wall_mm": None if found.least is None else found.least[0] / 1000,
        "notes": list(note_lines(found)), "cautions": list(CAUTIONS),
    }  # fmt: skip
    verdict = "designed" if found.proven else "to measure"
    return {"verdict": verdict, "reasons": [], "measure": list(found.measure), "design": design}


def _hole(hole: PlateHole, words: str) -> Json:
    return {
        "id": hole.id, "use": hole.use, "x_mm": hole.x_um / 1000, "y_mm": hole.y_um / 1000,
        "thread": hole.thread or None, "diameter_mm": hole.drill_um / 1000, "words": words,
    }  # fmt: skip

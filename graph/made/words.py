"""A made part in words, for drawing, page and command alike: what a machinist must be told."""

from __future__ import annotations

from graph.fits.model import NM_PER_MM, bare_mm, show_nm
from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.made.model import DISC, INSIDE, OPENING, OUTSIDE, SEAT, MadePart, MadeSize
from graph.plates.bill import WHOLE_KG

CHECK = "Check every size against the parts before cutting. Guard the machine."
ROAD = "Local rules decide whether a car so altered may be used on the road; ask before it is built."
SIZE_HEAD = ("Size", "Limits mm", "Fit", "From", "Source")
HOLE_HEAD = ("Hole", "x mm", "y mm", "What")


def size_rows(part: MadePart) -> tuple[tuple[str, str, str, str, str], ...]:
    """A row for each size."""
    return tuple((one.name, limits_of(one), one.fit, one.taken, one.source) for one in part.sizes)


def limits_of(size: MadeSize) -> str:
    """`28.016 to 28.045`, or what to measure."""
    if size.low_nm is None or size.high_nm is None:
        return f"not known: measure {' and '.join(size.measure)}"
    return f"{bare_mm(size.low_nm)} to {bare_mm(size.high_nm)}"


def hole_rows(part: MadePart) -> tuple[tuple[str, str, str, str], ...]:
    """A row for each hole of a disc, seen from the gearbox."""
    return tuple((one.id, bare_mm(one.x_nm), bare_mm(one.y_nm), one.what) for one in part.holes)


def note_lines(part: MadePart) -> tuple[str, ...]:
    """Material, datum, edges, surface, weight and which length was chosen, one line a matter."""
    kind, seat = part.kind, part.size(SEAT)
    weight = f"weight about {weight_g(part)} g" if not part.measure else ""
    lines = (
        f"material: {kind.material}; {kind.hardness}", f"datum: {kind.datum}",
        f"all edges broken {show_nm(kind.edge_break_nm)}", f"surface: {kind.surface}" if kind.surface else "",
        f"goes between {' and '.join(part.mates)}", part.chosen_text(), weight,
        f"to be turned on the shaft: {seat.text()}" if seat.known else "",
    )  # fmt: skip
    return tuple(filter(None, lines))


def caution_lines(part: MadePart) -> tuple[str, ...]:
    """What can hurt somebody or spoil the part."""
    return (*part.doubts, *part.kind.cautions, CHECK, ROAD)


def weight_g(part: MadePart) -> int:
    """Finished weight in grams, holes of a disc left aside."""
    density = get_elasticity(load_drive_tables(), part.kind.material).density_kg_m3
    inner = OPENING if part.kind.shape == DISC else INSIDE
    outside, inside, long = (part.size(OUTSIDE), part.size(inner), part.along)
    area = (outside.middle_nm**2 - inside.middle_nm**2) * 3.141592653589793 / 4
    return round(area * long.middle_nm / NM_PER_MM**3 * float(density) / WHOLE_KG * 1000)

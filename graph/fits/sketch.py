"""The sublet sketch: everything a machine shop must be told, and a refusal to send anything less.

What it carries: part, material, hard or soft, datum, every dimension with tolerance and fit, run-out to the datum,
radius to leave, surface, what must not be touched, mating part sent along, heat limit, quantity, date, who answers,
price cap. The commonest fault is a size without its fit (common practice), so a dimension without tolerance is an
error here. `sketch_text` gives the words; the drawing is in `graph.fits.sketch_svg`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from graph.errors import InvalidInput, Problem
from graph.fits.model import show_nm
from graph.fits.pattern import Face

SHAFT_SHOULDER = "turned shaft shoulder"
BORED_HOUSING = "bored housing"
SLEEVE = "sleeve"
PLATE = "plate with holes"

# where each kind can be dimensioned; the letters stand on the drawing
PLACES = {
    SHAFT_SHOULDER: ("seat diameter", "datum to shoulder", "shoulder diameter"),
    BORED_HOUSING: ("bore diameter", "bore depth", "shoulder opening"),
    SLEEVE: ("outside diameter", "inside diameter", "length"),
    PLATE: ("thickness", "register diameter", "flatness"),
}
KINDS = tuple(PLACES)
CAUTION = "Check every dimension against the part before cutting. Guard the machine; a burst sleeve or bearing flies."


@dataclass(frozen=True, slots=True, kw_only=True)
class SketchDimension:
    """One dimension to be made: place on the drawing, nominal size and deviations in nanometres, and the fit's name.

    Upper and lower deviation are signed (k6 on 40 mm: +18 and +2 micrometres). `remove_nm`: what comes off, if known.
    """

    place: str
    nominal_nm: int
    upper_nm: int
    lower_nm: int
    fit: str = ""
    as_read: str = ""
    remove_nm: int | None = None

    def text(self) -> str:
        """`seat diameter 40.000 mm k6 (40.002 mm to 40.018 mm); take 2.000 mm off`."""
        fit = f" {self.fit}" if self.fit else ""
        limits = f"{show_nm(self.nominal_nm + self.lower_nm)} to {show_nm(self.nominal_nm + self.upper_nm)}"
        read = f", read as {self.as_read}" if self.as_read else ""
        off = f"; take {show_nm(self.remove_nm)} off" if self.remove_nm else ""
        return f"{self.place} {show_nm(self.nominal_nm)}{fit} ({limits}{read}){off}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """A sublet sketch. Lengths in nanometres.

    `radius_nm`: to be left at the shoulder (None where there is none); `radius_words`: where nobody knows it.
    `face`: the holes of a plate; `hole_notes`: how each sort of them is drilled, bored or tapped. Raises InvalidInput
    with every fault: no datum, no dimension, a place that the kind does not have, no tolerance, a radius missing where
    there is a shoulder, nothing said of what to leave alone.
    """

    kind: str
    part: str
    operation: str
    material: str
    hardness: str
    datum: str
    dimensions: tuple[SketchDimension, ...]
    leave_alone: tuple[str, ...]
    radius_nm: int | None = None
    radius_words: str = ""
    runout_nm: int | None = None
    surface: str = ""
    mating_part: str = ""
    heat_limit: str = ""
    balance: bool = False
    quantity: int = 1
    due: str = ""
    contact: str = ""
    price_cap: str = ""
    face: Face | None = None
    hole_notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        problems = list(_problems(self))
        if problems:
            raise InvalidInput(problems)


def sketch_lines(sketch: Sketch) -> tuple[str, ...]:
    """What the sketch says, one line a matter, in the order a machinist asks."""
    lines = [
        f"{sketch.operation}: {sketch.part} ({sketch.kind}), {sketch.quantity} off",
        f"material: {sketch.material}; {sketch.hardness}",
        f"datum: {sketch.datum}",
        *(f"{letter}: {dimension.text()}" for letter, dimension in lettered(sketch)),
    ]
    if sketch.radius_nm is not None:
        lines.append(f"leave radius {show_nm(sketch.radius_nm)} at the shoulder, no undercut, no sharp corner")
    elif sketch.radius_words:
        lines.append(sketch.radius_words)
    if sketch.runout_nm is not None:
        lines.append(f"run-out to the datum at most {show_nm(sketch.runout_nm)}")
    if sketch.face is not None:
        lines += [*_hole_lines(sketch.face), *sketch.hole_notes]
    lines.append(f"do not touch: {', '.join(sketch.leave_alone)}")
    lines.append(f"mating part sent along: {sketch.mating_part or 'no'}")
    optional = (
        ("surface", sketch.surface), ("heat limit", sketch.heat_limit), ("balance", "yes" if sketch.balance else ""),
        ("wanted by", sketch.due), ("questions to", sketch.contact), ("price cap", sketch.price_cap),
    )  # fmt: skip
    return (*lines, *(f"{label}: {value}" for label, value in optional if value), CAUTION)


def sketch_text(sketch: Sketch) -> str:
    """The sketch in words, one line a matter."""
    return "\n".join(sketch_lines(sketch))


def lettered(sketch: Sketch) -> tuple[tuple[str, SketchDimension], ...]:
    """The dimensions with the letters that stand on the drawing: A for the kind's first place, and so on."""
    letters = {place: chr(ord("A") + index) for index, place in enumerate(PLACES[sketch.kind])}
    found = ((letters[dimension.place], dimension) for dimension in sketch.dimensions)
    return tuple(sorted(found, key=lambda pair: pair[0]))


def _hole_lines(face: Face) -> list[str]:
    head = f"holes from the {face.axis}, seen from the {face.seen_from}, each within {show_nm(face.uncertainty_nm)}:"
    return [head] + [
        f"hole {hole.id}: {show_nm(hole.x_nm)} right, {show_nm(hole.y_nm)} up, "
        f"{hole.thread or 'diameter ' + show_nm(hole.diameter_nm)}, {hole.use}"
        for hole in face.holes
    ]


def _problems(sketch: Sketch) -> Iterable[Problem]:
    if sketch.kind not in PLACES:
        yield Problem("kind", f"expected {', '.join(KINDS)}, found {sketch.kind!r}")
        return
    for name in ("part", "operation", "material", "hardness", "datum"):
        if not getattr(sketch, name).strip():
            yield Problem(name, "is empty; a machinist must be told (hard or soft, from which face or axis)")
    if not sketch.leave_alone:
        yield Problem("leave_alone", "say what must not be touched (seal lands, teeth, ground faces)")
    if sketch.quantity < 1:
        yield Problem("quantity", f"expected at least 1, found {sketch.quantity}")
    if not sketch.dimensions:
        yield Problem("dimensions", "none; say what to make, with its tolerance")
    if sketch.kind == SHAFT_SHOULDER and sketch.radius_nm is None and not sketch.radius_words:
        yield Problem("radius", "state the radius to leave at the shoulder: a sharp corner breaks shafts")
    if sketch.radius_nm is not None and sketch.radius_nm <= 0:
        yield Problem("radius", "expected a radius above zero")
    if sketch.runout_nm is not None and sketch.runout_nm <= 0:
        yield Problem("runout", "a run-out of zero cannot be made; state what may be")
    if sketch.kind == PLATE and sketch.face is None:
        yield Problem("face", "a plate with holes needs its holes")
    yield from _dimension_problems(sketch)


def _dimension_problems(sketch: Sketch) -> Iterable[Problem]:
    sizes = {dimension.place: dimension for dimension in sketch.dimensions}
    if len(sizes) < len(sketch.dimensions):
        yield Problem("dimensions", "one place is given twice")
    for dimension in sketch.dimensions:
        where = f"dimensions[{dimension.place}]"
        if dimension.place not in PLACES[sketch.kind]:
            yield Problem(where, f"a {sketch.kind} has {', '.join(PLACES[sketch.kind])}")
        if dimension.upper_nm <= dimension.lower_nm:
            yield Problem(where, "no tolerance between the deviations; a size without its fit cannot be made")
        if dimension.nominal_nm + dimension.lower_nm <= 0:
            yield Problem(where, f"expected a size above zero, found {show_nm(dimension.nominal_nm)}")
        if dimension.remove_nm is not None and dimension.remove_nm <= 0:
            yield Problem(where, "what comes off is above zero")
    outside, inside = sizes.get("outside diameter"), sizes.get("inside diameter")
    if outside and inside and inside.nominal_nm >= outside.nominal_nm:
        yield Problem("dimensions", "the inside diameter is not smaller than the outside; are they exchanged?")
    seat, shoulder = sizes.get("seat diameter"), sizes.get("shoulder diameter")
    if seat and shoulder and shoulder.nominal_nm <= seat.nominal_nm:
        yield Problem("dimensions", "the shoulder's diameter is not larger than the seat's; are they exchanged?")

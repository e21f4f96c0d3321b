"""The sublet sketch drawn: a plain section (not to scale) with lettered dimensions, all words beside it.

Line styles after ISO 128: full for visible edges, chain for axes, dashed for hidden edges. Holes of a plate are to
scale among themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

from graph.fits.model import show_nm
from graph.fits.pattern import THREAD, Face
from graph.fits.sketch import BORED_HOUSING, PLATE, SHAFT_SHOULDER, SLEEVE, Sketch, lettered, sketch_lines
from graph.fits.svg import Drawing

WIDTH, PICTURE, ROW, LETTER = 620.0, 340.0, 20.0, 7.0
_MIDDLE = 160.0  # height of the axis on the drawing


@dataclass(frozen=True, slots=True)
class PartSection:
    """A section without a piece of work: only its `datum`, empty where there is none, and a radius at the shoulder."""

    datum: str = ""
    radius_nm: int | None = None


def draw_section(drawing: Drawing, kind: str, marks: dict[str, str], datum: str) -> None:
    """The section of a shaft, a housing or a sleeve, with words at the dimension lines of these letters."""
    _DRAWN[kind](drawing, PartSection(datum), marks)


def sketch_svg(sketch: Sketch, prefix: str = "sketch") -> str:
    """The SVG of a sublet sketch, with its text as description and as legend."""
    lines = sketch_lines(sketch)
    width = max(WIDTH, 24 + LETTER * max(len(line) for line in lines))
    title = f"{sketch.operation}: {sketch.part}"
    drawing = Drawing(width, PICTURE + (len(lines) + 2) * ROW, title, " ".join(f"{line}." for line in lines), prefix)
    marks = {letter: f"{letter} {show_nm(dimension.nominal_nm)} {dimension.fit}".rstrip()
             for letter, dimension in lettered(sketch)}  # fmt: skip
    _DRAWN[sketch.kind](drawing, sketch, marks)
    drawing.text(12, PICTURE + ROW, "not to scale")
    for index, line in enumerate(lines, start=2):
        drawing.text(12, PICTURE + index * ROW, line, size=13)
    return drawing.markup()


def _shaft(drawing: Drawing, sketch: Sketch | PartSection, marks: dict[str, str]) -> None:
    """From the left: the seat, its shoulder with a radius, the thicker shaft; the datum face on the right."""
    left, step, right, seat, thick, radius = 90.0, 270.0, 470.0, 55.0, 90.0, 12.0
    up, down = _MIDDLE - seat, _MIDDLE + seat
    drawing.path(
        f"M {left} {down} L {left} {up} L {step - radius} {up} A {radius} {radius} 0 0 0 {step} {up - radius} "
        f"L {step} {_MIDDLE - thick} L {right} {_MIDDLE - thick} L {right} {_MIDDLE + thick} "
        f"L {step} {_MIDDLE + thick} L {step} {down + radius} A {radius} {radius} 0 0 0 {step - radius} {down} Z",
        weight=2.5,
    )
    _axis(drawing, left - 30, right + 30)
    _marked(drawing, marks, "A", (left + 60, up, left + 60, down))
    _marked(drawing, marks, "B", (step, _MIDDLE + thick + 40, right, _MIDDLE + thick + 40))
    _marked(drawing, marks, "C", (step + 60, _MIDDLE - thick, step + 60, _MIDDLE + thick))
    _datum(drawing, right, _MIDDLE + thick, sketch.datum)
    if sketch.radius_nm is not None:
        drawing.text(step - 20, up - 24, f"leave R {show_nm(sketch.radius_nm)}", "end")


def _housing(drawing: Drawing, sketch: Sketch | PartSection, marks: dict[str, str]) -> None:
    """A bore from the left face, its depth to a shoulder, the smaller opening behind it."""
    left, step, right, outside, bore, opening = 120.0, 330.0, 440.0, 130.0, 85.0, 55.0
    for sign in (-1, 1):
        edge = [(left, _MIDDLE + sign * bore), (step, _MIDDLE + sign * bore), (step, _MIDDLE + sign * opening),
                (right, _MIDDLE + sign * opening), (right, _MIDDLE + sign * outside),
                (left, _MIDDLE + sign * outside)]  # fmt: skip
        drawing.polygon(edge, weight=2.5)
        for x in range(int(left) + 10, int(right), 16):  # section lines
            y = bore if x < step else opening
            drawing.line(x, _MIDDLE + sign * (y + 2), min(x + 14, right), _MIDDLE + sign * (outside - 2), weight=0.5)
    _axis(drawing, left - 30, right + 30)
    _marked(drawing, marks, "A", (left + 60, _MIDDLE - bore, left + 60, _MIDDLE + bore))
    _marked(drawing, marks, "B", (left, _MIDDLE + outside + 30, step, _MIDDLE + outside + 30))
    _marked(drawing, marks, "C", (step + 40, _MIDDLE - opening, step + 40, _MIDDLE + opening))
    _datum(drawing, left, _MIDDLE - outside, sketch.datum)


def _sleeve(drawing: Drawing, sketch: Sketch | PartSection, marks: dict[str, str]) -> None:
    left, right, outside, inside = 150.0, 400.0, 110.0, 80.0
    for sign in (-1, 1):
        top, bottom = _MIDDLE + sign * outside, _MIDDLE + sign * inside
        drawing.polygon([(left, top), (right, top), (right, bottom), (left, bottom)], weight=2.5)
        for x in range(int(left), int(right) - 14, 16):
            drawing.line(x, bottom, x + 14, top, weight=0.5)
    for end in (left, right):
        drawing.line(end, _MIDDLE - inside, end, _MIDDLE + inside)
    _axis(drawing, left - 30, right + 30)
    _marked(drawing, marks, "A", (right + 60, _MIDDLE - outside, right + 60, _MIDDLE + outside))
    _marked(drawing, marks, "B", (left + 70, _MIDDLE - inside, left + 70, _MIDDLE + inside))
    _marked(drawing, marks, "C", (left, _MIDDLE + outside + 40, right, _MIDDLE + outside + 40))
    _datum(drawing, left, _MIDDLE - outside, sketch.datum)


def _plate(drawing: Drawing, sketch: Sketch | PartSection, marks: dict[str, str]) -> None:
    face = sketch.face if isinstance(sketch, Sketch) else None
    if face is None or not isinstance(sketch, Sketch):  # a Sketch of this kind always has one
        raise AssertionError("a plate without its face")
    register = next((d.nominal_nm for letter, d in lettered(sketch) if letter == "B"), 0)
    scale = _holes(drawing, face, 200.0, register)
    if register:
        drawing.circle(200, _MIDDLE, register * scale / 2, weight=2.5)
        drawing.text(200, _MIDDLE + 40, marks["B"], "middle", 12)
    left, thick = 440.0, 34.0
    drawing.polygon([(left, 20), (left + thick, 20), (left + thick, 300), (left, 300)], weight=2.5)
    _marked(drawing, marks, "A", (left, 318, left + thick, 318))
    if "C" in marks:
        drawing.text(left + thick + 12, 200, f"{marks['C']} (flat)")
    _datum(drawing, left, 20, sketch.datum)


def _holes(drawing: Drawing, face: Face, centre: float, register_nm: int) -> float:
    """The holes about their axis; what comes back is the scale, drawing units per nanometre."""
    reach = max(hypot(hole.x_nm, hole.y_nm) + hole.diameter_nm for hole in face.holes)
    scale = 130.0 / max(reach, register_nm / 2)
    drawing.line(centre - 20, _MIDDLE, centre + 20, _MIDDLE, "chain", 0.8)
    drawing.line(centre, _MIDDLE - 20, centre, _MIDDLE + 20, "chain", 0.8)
    for hole in face.holes:
        x, y = centre + hole.x_nm * scale, _MIDDLE - hole.y_nm * scale
        radius = max(hole.diameter_nm * scale / 2, 3.0)
        drawing.circle(x, y, radius)
        if hole.use == THREAD:
            drawing.circle(x, y, radius + 2.5, "dashed", 0.8)
        drawing.text(x, y - radius - 5, hole.id, "middle", 11)
    return scale


def _axis(drawing: Drawing, left: float, right: float) -> None:
    drawing.line(left, _MIDDLE, right, _MIDDLE, "chain", 0.8)


def _marked(drawing: Drawing, marks: dict[str, str], letter: str, ends: tuple[float, float, float, float]) -> None:
    """The dimension line of a letter, where the sketch dimensions that place."""
    if letter in marks:
        drawing.dimension(*ends, marks[letter])


def _datum(drawing: Drawing, x: float, y: float, words: str) -> None:
    """The datum's triangle (ISO 5459) with its words; nothing where there is no datum."""
    if not words:
        return
    drawing.polygon([(x, y), (x - 7, y - 14), (x + 7, y - 14)])
    drawing.text(x + 12, y - 6, f"datum: {words}", size=12)


_DRAWN: dict[str, Callable[[Drawing, Sketch | PartSection, dict[str, str]], None]] = {
    SHAFT_SHOULDER: _shaft,
    BORED_HOUSING: _housing,
    SLEEVE: _sleeve,
    PLATE: _plate,
}

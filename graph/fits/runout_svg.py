"""The four dial readings as a drawing: where the bore's centre stands, and which way a dowel has to push it.

Looking from the gearbox towards the engine. The offset is drawn many times larger than it is; the words carry the
figures, and the same words stand as the drawing's description.
"""

from __future__ import annotations

from math import cos, radians, sin

from graph.fits.runout import BoreOffset, DialReadings, DowelCure, show_both
from graph.fits.svg import Drawing

WIDTH, HEIGHT = 600.0, 430.0
RADIUS = 125.0
OFFSET = 32.0  # the drawn offset, whatever the true one
LABELS = 175.0  # how far from the middle the readings stand, clear of both circles


def runout_svg(readings: DialReadings, offset: BoreOffset, cure: DowelCure | None = None, prefix: str = "dial") -> str:
    """The SVG of a bore's offset, with the dowel's direction where there is a cure."""
    words = [f"The bore stands off the crank's axis: {offset.text()}. Total indicator reading {_tir(offset)}."]
    if cure is not None:
        words.append(
            f"Dowels of {show_both(cure.step_nm)}, turned {cure.from_vertical_deg:.0f} degrees from vertical, push "
            f"the housing towards {cure.clock_deg / 30 or 12:.1f} o'clock; "
            f"{show_both(round(cure.residual_tir_nm))} stay."
        )
    drawing = Drawing(WIDTH, HEIGHT + 44, "Dial readings, looking from the gearbox", " ".join(words), prefix)
    middle = (WIDTH / 2, HEIGHT / 2)
    drawing.circle(*middle, RADIUS)
    _cross(drawing, *middle, 14, "chain")
    hours = ((12, readings.h12_nm), (3, readings.h3_nm), (6, readings.h6_nm), (9, readings.h9_nm))
    for hour, value in hours:
        x, y = _at(middle, LABELS, hour * 30)
        anchor = {3: "start", 9: "end"}.get(hour, "middle")
        drawing.text(x, y - 4, f"{hour} o'clock", anchor)
        drawing.text(x, y + 14, show_both(value), anchor, 13)
    if offset.offset_nm > 0:
        x, y = _at(middle, OFFSET, offset.clock_deg)
        _cross(drawing, x, y, 10, "full")
        drawing.line(*middle, x, y)
        drawing.circle(x, y, RADIUS, "dashed")
    if cure is not None and offset.offset_nm > 0:
        start, end = _at(middle, 20, cure.clock_deg), _at(middle, 70, cure.clock_deg)
        drawing.line(*start, *end, weight=3)
        drawing.circle(*end, 6, weight=3)
    key = "full circle: about the crank's axis; dashed: the bore, its offset enlarged"
    drawing.text(middle[0], HEIGHT + 18, key, "middle", 13)
    drawing.text(middle[0], HEIGHT + 36, "thick line with a ring: the way the dowels push", "middle", 13)
    return drawing.markup()


def _tir(offset: BoreOffset) -> str:
    return show_both(round(offset.tir_nm))


def _at(middle: tuple[float, float], radius: float, clock_deg: float) -> tuple[float, float]:
    """A place at so many degrees clockwise from 12 o'clock."""
    return middle[0] + radius * sin(radians(clock_deg)), middle[1] - radius * cos(radians(clock_deg))


def _cross(drawing: Drawing, x: float, y: float, arm: float, style: str) -> None:
    drawing.line(x - arm, y, x + arm, y, style, 0.8)
    drawing.line(x, y - arm, x, y + arm, style, 0.8)

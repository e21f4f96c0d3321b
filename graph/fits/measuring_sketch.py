"""Where a quantity is measured, drawn beside its field: the part in section, one dimension line, the datum in words.

The sections are those of the sketches that go to a machine shop (`graph/fits/sketch_svg.py`), so that a thing looks
the same when it is measured and when it is made. A quantity that no section shows has no drawing.
"""

from __future__ import annotations

from graph.fits.sketch import BORED_HOUSING, SHAFT_SHOULDER, SLEEVE
from graph.fits.sketch_svg import draw_section
from graph.fits.svg import Drawing

WIDTH, HEIGHT = 620.0, 340.0
# The quantity -> the section that shows it, and the letter of its dimension line there (places of graph/fits/sketch).
_SHOWN = {
    "journal-diameter": (SHAFT_SHOULDER, "A"), "nose-diameter": (SHAFT_SHOULDER, "A"),
    "housing-bore": (BORED_HOUSING, "A"), "register-bore": (BORED_HOUSING, "A"), "crank-bore": (BORED_HOUSING, "A"),
    "starter-bore": (BORED_HOUSING, "A"),
    "bearing-outside-diameter": (SLEEVE, "A"), "pilot-outside": (SLEEVE, "A"), "register-diameter": (SLEEVE, "A"),
    "bearing-bore": (SLEEVE, "B"), "pilot-inside": (SLEEVE, "B"), "bearing-width": (SLEEVE, "C"),
}  # fmt: skip


def measuring_sketch(quantity: str, label: str, *, datum: str = "", tool: str = "", prefix: str = "") -> str:
    """The SVG of where a quantity is measured; empty for one that no section shows. `label`: its words."""
    if quantity not in _SHOWN:
        return ""
    kind, letter = _SHOWN[quantity]
    words = f"{label}, measured on a {kind}"
    words += f", from the {datum}" if datum else ""
    words += f", with {tool}" if tool else ""
    drawing = Drawing(WIDTH, HEIGHT, f"Where to measure: {label}", f"{words}. Not to scale.", prefix or quantity)
    draw_section(drawing, kind, {letter: label}, datum)
    return drawing.markup()

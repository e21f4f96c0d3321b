"""One bolt face as a drawing: every hole at its place about the axis, with its number and a list in words.

Form tells the uses apart as well as the words do, as in the overlay: a thread has an open ring outside its circle, a
dowel stands in a square.
"""

from __future__ import annotations

from graph.fits.model import show_nm
from graph.fits.overlay import WORDS
from graph.fits.pattern import DOWEL, THREAD, Face
from graph.fits.svg import Drawing

PICTURE = 460.0
MARGIN = 40.0


def list_holes(face: Face) -> tuple[str, ...]:
    """Each hole in words, in the order of the numbers in the drawing."""
    return tuple(
        f"{number}: {' '.join(filter(None, (WORDS[hole.use], hole.id, hole.thread)))}, {show_nm(hole.diameter_nm)}, "
        f"at {show_nm(hole.x_nm)} right, {show_nm(hole.y_nm)} up"
        for number, hole in enumerate(face.holes, start=1)
    )


def face_svg(face: Face, prefix: str = "face") -> str:
    """The SVG of the face as seen from where it was measured."""
    title = f"Bolt face of {face.label}, seen from the {face.seen_from}, about the {face.axis}"
    drawing = Drawing(PICTURE, PICTURE, title, ". ".join(list_holes(face)) + ".", prefix)
    reach = max(max(abs(hole.x_nm), abs(hole.y_nm)) + hole.diameter_nm / 2 for hole in face.holes)
    scale, centre = (PICTURE / 2 - MARGIN) / reach, PICTURE / 2
    drawing.line(centre - 18, centre, centre + 18, centre, "chain", 0.8)
    drawing.line(centre, centre - 18, centre, centre + 18, "chain", 0.8)
    for number, hole in enumerate(face.holes, start=1):
        x, y = centre + hole.x_nm * scale, centre - hole.y_nm * scale
        radius = max(hole.diameter_nm * scale / 2, 3.0)
        drawing.circle(x, y, radius)
        if hole.use == THREAD:  # three quarters of a ring, as threads are drawn (ISO 6410)
            ring = radius + 3
            drawing.path(f"M {x + ring:.2f} {y:.2f} A {ring:.2f} {ring:.2f} 0 1 0 {x:.2f} {y + ring:.2f}", weight=0.8)
        if hole.use == DOWEL:
            half = radius + 4
            corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
            drawing.polygon(corners, weight=1.0)
        away, length = radius + 14, ((x - centre) ** 2 + (y - centre) ** 2) ** 0.5 or 1.0
        place = (x + away * (x - centre) / length, y + away * (y - centre) / length + 5)
        drawing.text(*place, str(number), "middle")
    return drawing.markup()

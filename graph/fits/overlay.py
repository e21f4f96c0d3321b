"""Two bolt faces laid over each other at one clocking: an SVG with every pair, miss and dowel in words and mm.

Form tells the holes apart as well as the words do: face a full line, face b dashed; a thread has an open ring
outside its circle, a dowel stands in a square; a miss has a cross and a line between the two axes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from graph.fits.model import NM_PER_MM, show_nm
from graph.fits.pattern import CLEARANCE, DOWEL, OTHER, THREAD, Face, Hole, as_seen_from
from graph.fits.pattern_match import Clocking, Pair
from graph.fits.svg import Drawing

PICTURE = 560.0
MARGIN = 40.0
ROW = 20.0
LETTER = 7.0  # width of an average letter of the legend, so that no row runs out of the drawing
WORDS = {THREAD: "thread", CLEARANCE: "clearance hole", DOWEL: "dowel", OTHER: "hole, not bolted"}


@dataclass(frozen=True, slots=True)
class OverlayRow:
    """One line of the legend: the number beside the hole, what is there, and in words whether it lines up."""

    number: int
    state: str  # lines up, cannot tell, misses, alone
    text: str


def list_rows(a: Face, b: Face, clocking: Clocking) -> tuple[OverlayRow, ...]:
    """What the drawing says, in the drawing's order: pairs lined up, misses, then holes alone."""
    rows: list[OverlayRow] = []
    for pair in clocking.lined_up:
        state = _state(pair, clocking.uncertainty_nm)
        rows.append(OverlayRow(len(rows) + 1, state, f"{_names(a, b, pair)}: {_pair_words(pair, state)}"))
    for pair in clocking.near:
        rows.append(OverlayRow(len(rows) + 1, "misses", f"{_names(a, b, pair)}: {_pair_words(pair, 'misses')}"))
    for face, holes in ((a, clocking.left_a), (b, clocking.left_b)):
        for hole in holes:
            words = f"{WORDS[hole.use]} {hole.id} of {face.label}: alone, no hole opposite"
            rows.append(OverlayRow(len(rows) + 1, "alone", words))
    return tuple(rows)


def overlay_svg(a: Face, b: Face, clocking: Clocking, prefix: str = "overlay") -> str:
    """The SVG of both faces as seen from where face a was measured, face b turned to the clocking angle."""
    b = as_seen_from(b, a.seen_from)
    rows = list_rows(a, b, clocking)
    head = f"{b.label} turned {abs(clocking.angle_deg):.2f} degrees {_way(clocking.angle_deg)} on {a.label}"
    summary = f"{len(clocking.lined_up)} pairs together, {clocking.dowels} of dowels; {len(clocking.near)} near misses"
    description = f"Seen from the {a.seen_from}. {summary}. " + ". ".join(row.text for row in rows) + "."
    legend = _legend(a, b, head, summary, rows)
    width = max(PICTURE, 24 + LETTER * max(len(line) for line in legend))
    drawing = Drawing(width, PICTURE + (len(legend) + 1) * ROW, head, description, prefix)
    canvas = _Canvas(drawing, a, b, clocking.angle_deg)
    canvas.axis()
    for hole in a.holes:
        canvas.hole(hole, canvas.place_a(hole), "full")
    for hole in b.holes:
        canvas.hole(hole, canvas.place_b(hole), "dashed")
    for count, pair in enumerate(clocking.lined_up + clocking.near, start=1):
        canvas.label(canvas.place_a(pair.a), pair.a, str(count))
        if count > len(clocking.lined_up):
            canvas.miss(pair)
    count = len(clocking.lined_up) + len(clocking.near)
    for place, hole in canvas.alone(clocking):
        count += 1
        canvas.label(place, hole, str(count))
    for index, line in enumerate(legend, start=1):
        drawing.text(12, PICTURE + index * ROW, line, size=13)
    return drawing.markup()


class _Canvas:
    """Face coordinates to drawing coordinates, and the marks."""

    def __init__(self, drawing: Drawing, a: Face, b: Face, angle_deg: float):
        self.drawing = drawing
        self.cosine, self.sine = cos(radians(angle_deg)), sin(radians(angle_deg))
        reach = max(hypot(hole.x_nm, hole.y_nm) + hole.diameter_nm for hole in a.holes + b.holes)
        self.scale = (PICTURE / 2 - MARGIN) / reach
        self.centre_x, self.centre_y = drawing.width / 2, PICTURE / 2

    def place_a(self, hole: Hole) -> tuple[float, float]:
        return self._placed(hole.x_nm, hole.y_nm)

    def place_b(self, hole: Hole) -> tuple[float, float]:
        x = self.cosine * hole.x_nm - self.sine * hole.y_nm
        return self._placed(x, self.sine * hole.x_nm + self.cosine * hole.y_nm)

    def _placed(self, x_nm: float, y_nm: float) -> tuple[float, float]:
        return self.centre_x + x_nm * self.scale, self.centre_y - y_nm * self.scale

    def alone(self, clocking: Clocking) -> Iterable[tuple[tuple[float, float], Hole]]:
        for hole in clocking.left_a:
            yield self.place_a(hole), hole
        for hole in clocking.left_b:
            yield self.place_b(hole), hole

    def axis(self) -> None:
        arm = 18
        x, y = self.centre_x, self.centre_y
        self.drawing.line(x - arm, y, x + arm, y, "chain", 0.8)
        self.drawing.line(x, y - arm, x, y + arm, "chain", 0.8)

    def hole(self, hole: Hole, place: tuple[float, float], style: str) -> None:
        x, y = place
        radius = max(hole.diameter_nm * self.scale / 2, 3.0)
        self.drawing.circle(x, y, radius, style)
        if hole.use == THREAD:  # three quarters of a ring, as threads are drawn (ISO 6410)
            ring = radius + 3
            start, end = f"{x + ring:.2f} {y:.2f}", f"{x:.2f} {y + ring:.2f}"
            self.drawing.path(f"M {start} A {ring:.2f} {ring:.2f} 0 1 0 {end}", weight=0.8)
        if hole.use == DOWEL:
            half = radius + 4
            corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
            self.drawing.polygon(corners, style, 1.0)

    def label(self, place: tuple[float, float], hole: Hole, words: str) -> None:
        x, y = place
        away = max(hole.diameter_nm * self.scale / 2, 3.0) + 12
        out_x, out_y = x - self.centre_x, y - self.centre_y
        length = (out_x**2 + out_y**2) ** 0.5 or 1.0
        self.drawing.text(x + away * out_x / length, y + away * out_y / length + 5, words, "middle")

    def miss(self, pair: Pair) -> None:
        (ax, ay), (bx, by) = self.place_a(pair.a), self.place_b(pair.b)
        self.drawing.line(ax, ay, bx, by, weight=2.5)
        for sign in (1, -1):
            self.drawing.line(bx - 7, by - sign * 7, bx + 7, by + sign * 7, weight=2)


def _legend(a: Face, b: Face, head: str, summary: str, rows: tuple[OverlayRow, ...]) -> list[str]:
    keys = [
        head,
        summary,
        f"full line: {a.label}; dashed: {b.label}; seen from the {a.seen_from}",
        "open ring: thread; square: dowel; cross: misses",
    ]
    return keys + [f"{row.number}: {row.state}: {row.text}" for row in rows]


def _state(pair: Pair, uncertainty_nm: int) -> str:
    if pair.a.use == DOWEL:
        return "lines up"
    allowed = pair.allowed_nm or 0
    return "lines up" if pair.miss_nm + uncertainty_nm <= allowed else "cannot tell"


def _pair_words(pair: Pair, state: str) -> str:
    miss = f"{pair.miss_nm / NM_PER_MM:.2f} mm apart"
    if pair.allowed_nm is None:
        return f"{miss}; these two take no fastener as they are"
    if pair.a.use == DOWEL:
        return f"{miss}; prove a dowel with the dial gauge"
    more = "; measure the places more closely" if state == "cannot tell" else ""
    return f"{miss}, {float(pair.allowed_nm) / NM_PER_MM:.2f} mm allowed{more}"


def _names(a: Face, b: Face, pair: Pair) -> str:
    left = f"{WORDS[pair.a.use]} {pair.a.id}" + (f" {pair.a.thread}" if pair.a.thread else "")
    right = f"{WORDS[pair.b.use]} {pair.b.id}" + (f" {pair.b.thread}" if pair.b.thread else "")
    return f"{left} of {a.label} ({show_nm(pair.a.diameter_nm)}), {right} of {b.label} ({show_nm(pair.b.diameter_nm)})"


def _way(angle_deg: float) -> str:
    return "anticlockwise" if angle_deg > 0 else "clockwise"

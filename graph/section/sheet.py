"""A section as SVG: plain shapes and words, no script, no style sheet: page, paper and any program draw it alike.

The sheet is white wherever it lies. Colours never tell anything alone: every margin's state stands in words beside it,
and what is not known is hatched. Every shape says in `data-...` what it stands for, with its ends in millimetres.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from xml.etree import ElementTree as ET

from graph.fits.svg import NAMESPACE, clean, number
from graph.section.labels import LABEL_X, LINE, Label, wrapped
from graph.section.lanes import AXIS_X
from graph.section.layout import WIDTH, CutColumn, Shape, SheetPlan, plan_sheet
from graph.section.marks import SIZE as MARK
from graph.section.marks import marks_of
from graph.section.model import FREE, HOLDS, OUTSIDE, THIN, UNKNOWN, UNSURE, AssemblyCut, CutOffset

INK, QUIET, HATCH, WHITE = "#1b2026", "#4c5560", "#767b82", "#ffffff"
FITTED = "#0a5a55"
_FILLS = {
    "block": "#d9d6cc", "crank": "#cfd6dd", "bore": WHITE, "flywheel": "#b9c4cf", "ring": "#8f9aa6",
    "pilot": "#d8b98a", "cover": "#e6e9ec", "hub": "#c9d7c4", "between": "#efd9a7", "bell": "#d9d6cc",
    "case": "#d9d6cc", "shaft": "#f2f4f6", "nose": "#dfe5ea", "spline": "#c4ccd4", "release": "#d5cfe0",
    "pinion": "#8f9aa6", "allowed": "#dcebe2", "share": "#8f9aa6",
}  # fmt: skip
STATE_FILLS = {
    HOLDS: "#1b7f3b", THIN: "#b36b00", UNSURE: "#8a3ffc", OUTSIDE: "#b3261e", UNKNOWN: WHITE, FREE: "#2b5fa8",
}  # fmt: skip
EDGE = {"stroke": INK, "stroke-width": "0.9"}  # of every shape that says nothing else
UNEDGED = {"stroke": "none"}
STEP = 10.0  # between hatch lines
NUMBER_X = LABEL_X - 3.0  # where the numbers before the words end


def section_svg(cuts: Sequence[AssemblyCut], title: str, prefix: str = "section") -> str:
    """The drawing of one assembly or of several side by side, to one scale; `title` and what the pictures tell stand in
    it for those who cannot see it. `prefix` keeps ids apart on one page. Raises ValueError for nothing to draw."""
    if not cuts:
        raise ValueError("there is no assembly to draw")
    plan = plan_sheet(cuts)
    return _drawn(plan, plan.columns, title, " ".join(words_of(one) for one in cuts), prefix)


def section_svgs(cuts: Sequence[AssemblyCut], prefix: str, told: str) -> tuple[str, ...]:
    """Each assembly as a drawing of its own, all to one scale and with the block's face at one height. `told`: where
    the same stands in words beside them."""
    if not cuts:
        return ()
    plan = plan_sheet(cuts)
    return tuple(_drawn(plan, (one,), one.cut.title, told, f"{prefix}-{one.cut.when}") for one in plan.columns)


def _drawn(plan: SheetPlan, columns: Sequence[CutColumn], title: str, told: str, prefix: str) -> str:
    prefix = re.sub(r"[^A-Za-z0-9_-]", "-", prefix)
    width, height = WIDTH * len(columns), max(column.height for column in columns)
    root = ET.Element("svg", {
        "xmlns": NAMESPACE, "viewBox": f"0 0 {number(width)} {number(height)}", "width": number(width),
        "height": number(height), "role": "img", "aria-labelledby": f"{prefix}-title {prefix}-desc",
        "font-family": "system-ui, sans-serif", "font-size": "13", "fill": INK,
        "data-units-per-mm": f"{float(plan.scale):g}", "data-block-face-y": number(plan.block_y),
    })  # fmt: skip
    ET.SubElement(root, "title", {"id": f"{prefix}-title"}).text = clean(title)
    ET.SubElement(root, "desc", {"id": f"{prefix}-desc"}).text = clean(told)
    ET.SubElement(root, "rect", {"width": number(width), "height": number(height), "fill": WHITE})
    for place, column in enumerate(columns):
        group = ET.SubElement(root, "g", {
            "transform": f"translate({number(place * WIDTH)} 0)", "data-when": column.cut.when, **EDGE,
        })  # fmt: skip
        _column(group, column, plan)
    return ET.tostring(root, encoding="unicode")


def words_of(one: AssemblyCut) -> str:
    """The assembly in one paragraph: each piece, each gap."""
    return " ".join(f"{line.strip()}." for line in lines_of(one))


def lines_of(one: AssemblyCut) -> tuple[str, ...]:
    """What the drawing shows, line by line: title, remarks, the gaps with their margins, the pieces."""
    shares = [f"{', '.join(offset.words)}{_moved_by(offset)}" for offset in one.offsets]
    pieces = [
        f"{piece.name}: {piece.label}{' (fitted)' if piece.fitted else ''}; {piece.words}" for piece in one.pieces
    ]
    gaps = [", ".join(gap.words) for gap in one.gaps]
    return (one.title, *(f"  {line}" for line in (*one.remarks, *gaps, *shares, *pieces)))


def _moved_by(one: CutOffset) -> str:
    moved = "; ".join(f"{share.shift_um / 1000:+.1f} mm {share.label}" for share in one.shares)
    return f" ({moved})" if moved else ""


def _column(group: ET.Element, column: CutColumn, plan: SheetPlan) -> None:
    for shape in column.shapes:
        _shape(group, shape)
    axis = [(AXIS_X, column.axis[0], AXIS_X, column.axis[1])]
    _path(group, axis, 1.0, INK, dashes="12 3 3 3")
    _path(group, [(AXIS_X - 8, plan.block_y, 152, plan.block_y)], 0.8, INK, dashes="2 2")
    title = ET.SubElement(group, "g", {"font-size": "14", "font-weight": "bold"} | UNEDGED)
    for at, line in enumerate(wrapped(column.cut.title, 42, 2)):
        _text(title, 12, 20 + at * 17, line)
    by_the_way = ET.SubElement(group, "g", {"font-size": "12", "fill": QUIET} | UNEDGED)
    _text(by_the_way, 12, 57, "down: to scale")
    _text(by_the_way, 12, 72, "across: not to scale")
    _scale_bar(group, plan)
    if column.gauges_at:
        _path(group, [(AXIS_X - 8, column.gauges_at, 152, column.gauges_at)], 0.8, INK)
        _text(by_the_way, 12, column.axis[1] + 18, "behind: moved by")
        _text(by_the_way, 12, column.axis[1] + 32, "(line: as it is now)")
    _labels(group, column.labels)


def _scale_bar(group: ET.Element, plan: SheetPlan) -> None:
    mm = next((one for one in (50, 20, 100, 200) if 40 <= one * plan.scale <= 160), 50)
    end = LABEL_X + float(mm * plan.scale)
    bar = [(LABEL_X, 58.0, end, 58.0), (LABEL_X, 54.0, LABEL_X, 62.0), (end, 54.0, end, 62.0)]
    _path(group, bar, 1.5, INK)
    _text(ET.SubElement(group, "g", UNEDGED), end + 8, 62, f"{mm} mm")


def _shape(group: ET.Element, one: Shape) -> None:
    look, _, state = one.look.partition(" ")
    fill = STATE_FILLS[state] if look in ("gap", "marker") else _FILLS[look]
    fitted = state == "fitted"
    rect = {"x": number(one.x), "y": number(one.y), "width": number(one.width), "height": number(one.height)}
    rect |= {"fill": WHITE if one.hatched else fill}
    if fitted or look == "allowed":
        rect |= {"stroke": FITTED, "stroke-width": "2"} if fitted else UNEDGED
    if one.hatched:
        rect |= {"stroke-dasharray": "3 3", "data-hatched": "yes"}
    ET.SubElement(group, "rect", rect | {f"data-{key}": clean(value) for key, value in one.named})
    if one.hatched:
        _path(group, _hatching(one), 0.8, HATCH)
    if look == "spline":
        _path(group, ((one.x, y, one.x + one.width, y) for y in _rungs(one, 4.0)), 0.6, INK)
    for edge in one.torn:
        _torn(group, one, one.y if edge == "top" else one.y + one.height)


def _path(
    group: ET.Element, lines: Iterable[tuple[float, float, float, float]], width: float, stroke: str, dashes: str = ""
) -> None:
    drawn, at = "", (float("nan"), 0.0)
    for x1, y1, x2, y2 in lines:  # a line that begins where the last one ends goes on with it
        drawn += f"{'' if (x1, y1) == at else f'M{number(x1)} {number(y1)}'}L{number(x2)} {number(y2)}"
        at = (x2, y2)
    if drawn:
        look = {"d": drawn, "fill": "none", "stroke": stroke, "stroke-width": number(width)}
        ET.SubElement(group, "path", look | ({"stroke-dasharray": dashes} if dashes else {}))


def _rungs(one: Shape, step: float) -> Iterator[float]:
    y = one.y + step
    while y < one.y + one.height:
        yield y
        y += step


def _torn(group: ET.Element, one: Shape, y: float) -> None:
    """A zigzag over the edge: the piece goes on (break line of ISO 128)."""
    points, x, way = [(one.x, y)], one.x + 3, 3.0
    while x < one.x + one.width - 3:
        points.append((x, y + way))
        x, way = x + 6, -way
    points.append((one.x + one.width, y))
    _path(group, ((*a, *b) for a, b in pairwise(points)), 1.0, INK)


def _hatching(one: Shape) -> Iterator[tuple[float, float, float, float]]:
    """Lines at 45 degrees, cut off at the edges of the shape."""
    start = -one.height + STEP / 2
    while start < one.width:
        first, last = max(start, 0.0), min(start + one.height, one.width)
        if last > first:
            yield one.x + first, one.y + first - start, one.x + last, one.y + last - start
        start += STEP


def _labels(group: ET.Element, labels: Sequence[Label]) -> None:
    _numbers(group, labels)
    _path(group, ((x - 1.2, y, x + 1.2, y) for x, y in (one.spot for one in labels if one.spot)), 2.4, INK)
    loud = _text_group(group, LABEL_X + 13, {"font-size": "14", "font-weight": "bold"})
    plain = _text_group(group, LABEL_X, {"font-size": "13"})
    quiet = _text_group(group, LABEL_X, {"font-size": "13", "fill": QUIET})
    for label in labels:
        if label.state:
            place = {"x": number(LABEL_X), "y": number(label.y + 3), "width": "9", "height": "9"}
            ET.SubElement(group, "rect", place | {"fill": STATE_FILLS[label.state]})
        heard = len(label.lines) - label.quiet
        for at, line in enumerate(label.lines):
            first = at == 0 and bool(label.state)
            _text(loud if first else plain if at < heard else quiet, None, label.y + 13 + at * LINE, line)


def _numbers(group: ET.Element, labels: Sequence[Label]) -> None:
    """Each number twice: in the drawing, with a white edge that keeps it readable, and before its words."""
    edge = {"stroke": WHITE, "stroke-width": "2.4", "paint-order": "stroke", "stroke-linejoin": "round"}
    bold = {"font-size": number(MARK), "font-weight": "bold"}
    drawn = ET.SubElement(group, "g", bold | edge)
    listed = _text_group(group, NUMBER_X, bold | {"text-anchor": "end"})
    pointing = [one for one in labels if one.spot]
    for mark, label in zip(marks_of(labels), pointing, strict=True):
        _text(drawn, mark.x, mark.y, mark.text)
        _text(listed, None, label.y + 12, mark.text)


def _text_group(group: ET.Element, x: float, look: dict[str, str]) -> ET.Element:
    """A group for lines of text that all begin (or end) at `x`, which is then said once."""
    return ET.SubElement(group, "g", {"transform": f"translate({number(x)} 0)"} | look | UNEDGED)


def _text(group: ET.Element, x: float | None, y: float, words: str) -> None:
    """`x`: None where the group says it."""
    place = {} if x is None else {"x": f"{x:.0f}"}
    ET.SubElement(group, "text", place | {"y": f"{y:.0f}"}).text = clean(words)

"""A part and what it is joined to, as an SVG with links: the part in the middle, what points at it on the left.

Every edge carries its words, every neighbour is a link, and the same statements stand as a list on the page, so
nothing is told by place or form alone. The picture is bounded: beyond so many neighbours it says how many are left.
Lines and letters take the page's own colour (`currentColor`).
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree as ET

from api.pages.part_view import EdgeRow, PartView
from graph.fits.svg import NAMESPACE, clean, number

MOST_ON_A_SIDE = 7
WIDTH = 960.0
BOX = 250.0
ROW = 62.0
TALL = 46.0
LETTERS = 30  # that fit into a box
EDGE_LETTERS = 26


def picture_of(view: PartView) -> str:
    """The picture's markup; empty for a part that nothing is said of."""
    left, right = _sides(view)
    if not left and not right:
        return ""
    shown_left, shown_right = left[:MOST_ON_A_SIDE], right[:MOST_ON_A_SIDE]
    hidden = len(left) + len(right) - len(shown_left) - len(shown_right)
    rows = max(len(shown_left), len(shown_right), 1)
    height = rows * ROW + 24 + (24 if hidden else 0)
    root = ET.Element("svg", {
        "xmlns": NAMESPACE, "viewBox": f"0 0 {number(WIDTH)} {number(height)}", "role": "group",
        "aria-label": f"{view.part.label} and its neighbours; the same as the lists on this page", "class": "picture",
        "fill": "none", "stroke": "currentColor", "stroke-width": "1.5", "font-family": "sans-serif", "font-size": "15",
    })  # fmt: skip
    middle = rows * ROW / 2 + 12
    for side, shown in (("left", shown_left), ("right", shown_right)):
        for place, row in enumerate(shown):
            y = middle + (place - (len(shown) - 1) / 2) * ROW
            _edge(root, row, side, middle, y)
            _box(root, row.other.label, row.other.href, 2 if side == "left" else WIDTH - BOX - 2, y)
    _box(root, view.part.label, "", (WIDTH - BOX) / 2, middle, weight="3")
    if hidden:
        _text(root, WIDTH / 2, height - 8, f"{hidden} more in the lists on this page")
    return ET.tostring(root, encoding="unicode")


def _sides(view: PartView) -> tuple[list[EdgeRow], list[EdgeRow]]:
    """One row per neighbour and verb, in the order of the page's groups, a few of every group first."""
    groups: list[Sequence[EdgeRow]] = [group.rows[: 2 * MOST_ON_A_SIDE] for group in view.groups]
    turns = [row for place in range(2 * MOST_ON_A_SIDE) for rows in groups for row in rows[place : place + 1]]
    left: dict[tuple[str, str], EdgeRow] = {}
    right: dict[tuple[str, str], EdgeRow] = {}
    for row in turns:
        if not row.other.label:
            continue
        (right if row.outward else left).setdefault((row.verb, row.other.id), row)
    return list(left.values()), list(right.values())


def _edge(root: ET.Element, row: EdgeRow, side: str, middle: float, y: float) -> None:
    """A line with an arrow head at its target and the verb beside it."""
    near = (WIDTH - BOX) / 2 if side == "left" else (WIDTH + BOX) / 2
    far = BOX + 2 if side == "left" else WIDTH - BOX - 2
    dashes = {"stroke-dasharray": "6 4"} if row.kind in ("does-not-fit", "excludes") else {}
    ends = {"x1": number(far), "y1": number(y), "x2": number(near), "y2": number(middle)}
    ET.SubElement(root, "line", ends | dashes)
    at_x, at_y, way = (near, middle, 1) if side == "left" else (far, y, 1)
    tail = number(at_x - 9 * way)
    head = f"{number(at_x)},{number(at_y)} {tail},{number(at_y - 4)} {tail},{number(at_y + 4)}"
    if row.kind not in ("fits", "requires-machining", "does-not-fit", "excludes"):
        ET.SubElement(root, "polygon", {"points": head, "fill": "currentColor"})
    share = 0.3  # nearer to the neighbour, where the lines are still apart
    x, height = far + (near - far) * share, y + (middle - y) * share
    words = row.verb if len(row.verb) <= EDGE_LETTERS else row.verb[: EDGE_LETTERS - 1] + "\N{HORIZONTAL ELLIPSIS}"
    _text(root, x, height - 5, words, size="13", halo=True)


def _box(root: ET.Element, label: str, href: str, x: float, y: float, weight: str = "1.5") -> None:
    parent = ET.SubElement(root, "a", {"href": href}) if href else ET.SubElement(root, "g")
    ET.SubElement(parent, "title").text = clean(label)
    ET.SubElement(parent, "rect", {
        "x": number(x), "y": number(y - TALL / 2), "width": number(BOX), "height": number(TALL), "rx": "4",
        "class": "box", "stroke-width": weight,
    })  # fmt: skip
    lines = _wrapped(label)
    for place, line in enumerate(lines):
        _text(parent, x + BOX / 2, y + 5 + (place - (len(lines) - 1) / 2) * 17, line)


def _wrapped(label: str) -> list[str]:
    """At most two lines; what does not fit is cut (the title has it whole)."""
    lines = [""]
    for word in clean(label)[:200].split():
        if len(lines[-1]) + len(word) + 1 <= LETTERS:
            lines[-1] = f"{lines[-1]} {word}".strip()
        else:
            lines.append(word)
    lines = [line for line in lines if line][:3]
    if len(lines) > 2:
        lines = [lines[0], lines[1] + "\N{HORIZONTAL ELLIPSIS}"]
    return [line if len(line) <= LETTERS else line[: LETTERS - 1] + "\N{HORIZONTAL ELLIPSIS}" for line in lines] or [
        "?"
    ]


def _text(root: ET.Element, x: float, y: float, words: str, size: str = "15", halo: bool = False) -> None:
    attributes = {
        "x": number(x), "y": number(y), "text-anchor": "middle", "font-size": size, "fill": "currentColor",
        "stroke": "none",
    }  # fmt: skip
    if halo:
        attributes["class"] = "edge-words"
    ET.SubElement(root, "text", attributes).text = clean(words)

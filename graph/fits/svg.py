"""Plain SVG drawings: valid XML, no script, no outside references, readable by a screen reader.

Every drawing has a title and a description (W3C SVG 2, WCAG 2.2 text alternatives). Lines and letters take the
page's text colour (`currentColor`), so that they stay legible on light and dark; nothing is told by colour.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from xml.etree import ElementTree as ET

NAMESPACE = "http://www.w3.org/2000/svg"
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, production Char
LINE_STYLES = {"full": "", "dashed": "6 4", "chain": "14 4 3 4"}  # ISO 128: visible, hidden, axis


def clean(text: str) -> str:
    """The text without characters that XML 1.0 forbids."""
    return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


def number(value: float) -> str:
    """A coordinate with at most two decimals, never an exponent."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Drawing:
    """An SVG being drawn, in units of its own view box, y downwards. `prefix` keeps ids apart on one page."""

    def __init__(self, width: float, height: float, title: str, description: str, prefix: str = "drawing"):
        prefix = re.sub(r"[^A-Za-z0-9_-]", "-", prefix)
        self.width, self.height = width, height
        self.root = ET.Element(
            "svg",
            {
                "xmlns": NAMESPACE, "viewBox": f"0 0 {number(width)} {number(height)}", "role": "img",
                "aria-labelledby": f"{prefix}-title {prefix}-desc", "fill": "none", "stroke": "currentColor",
                "stroke-width": "1.5", "font-family": "sans-serif", "font-size": "14",
            },
        )  # fmt: skip
        self._named("title", f"{prefix}-title", title)
        self._named("desc", f"{prefix}-desc", description)

    def line(self, x1: float, y1: float, x2: float, y2: float, style: str = "full", weight: float = 1.5) -> None:
        """A straight line."""
        ends = {"x1": number(x1), "y1": number(y1), "x2": number(x2), "y2": number(y2)}
        self._add("line", ends | _stroke(style, weight))

    def circle(self, x: float, y: float, radius: float, style: str = "full", weight: float = 1.5) -> None:
        """A circle."""
        place = {"cx": number(x), "cy": number(y), "r": number(radius)}
        self._add("circle", place | _stroke(style, weight))

    def polygon(self, points: Sequence[tuple[float, float]], style: str = "full", weight: float = 1.5) -> None:
        """A closed outline."""
        corners = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self._add("polygon", {"points": corners} | _stroke(style, weight))

    def path(self, commands: str, style: str = "full", weight: float = 1.5) -> None:
        """A path of SVG commands made by this package (never text from outside)."""
        self._add("path", {"d": commands} | _stroke(style, weight))

    def text(self, x: float, y: float, words: str, anchor: str = "start", size: float = 14) -> None:
        """One line of words; `anchor` is start, middle or end."""
        attributes = {
            "x": number(x), "y": number(y), "text-anchor": anchor, "font-size": number(size),
            "fill": "currentColor", "stroke": "none",
        }  # fmt: skip
        self._add("text", attributes).text = clean(words)

    def arrow(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """A thin line with an arrow head at both ends, as a dimension line has."""
        self.line(x1, y1, x2, y2, weight=0.8)
        length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        if not length:
            return
        dx, dy = (x2 - x1) / length, (y2 - y1) / length
        for x, y, way in ((x1, y1, 1), (x2, y2, -1)):
            base_x, base_y = x + way * 8 * dx, y + way * 8 * dy
            self.polygon([(x, y), (base_x - 3 * dy, base_y + 3 * dx), (base_x + 3 * dy, base_y - 3 * dx)], weight=0.8)

    def dimension(self, x1: float, y1: float, x2: float, y2: float, words: str) -> None:
        """A dimension line with its words: above a level line, to the right of an upright one."""
        self.arrow(x1, y1, x2, y2)
        if abs(x2 - x1) >= abs(y2 - y1):
            self.text((x1 + x2) / 2, (y1 + y2) / 2 - 5, words, "middle")
        else:
            self.text((x1 + x2) / 2 + 6, (y1 + y2) / 2 - 14, words)  # above the middle, where an axis may run

    def markup(self) -> str:
        """The drawing as text, to be put in a page or a file."""
        return ET.tostring(self.root, encoding="unicode")

    def _named(self, tag: str, identity: str, words: str) -> None:
        self._add(tag, {"id": identity}).text = clean(words)

    def _add(self, tag: str, attributes: dict[str, str]) -> ET.Element:
        return ET.SubElement(self.root, tag, attributes)


def _stroke(style: str, weight: float) -> dict[str, str]:
    dashes = LINE_STYLES[style]
    return ({"stroke-dasharray": dashes} if dashes else {}) | {"stroke-width": number(weight)}

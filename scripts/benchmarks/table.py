"""What a bench hands back, as text, JSON and a drawing."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from html import escape
from math import isfinite, log10
from typing import Any


@dataclass(frozen=True)
class Table:
    """A title, column heads, rows of text, notes below; `bars`: label -> seconds, for the drawing."""

    title: str
    heads: tuple[str, ...]
    rows: list[tuple[str, ...]]
    notes: tuple[str, ...] = ()
    bars: dict[str, float] = field(default_factory=dict)

    def as_text(self) -> str:
        """Columns in line, heads first."""
        lines = [self.heads, *self.rows]
        widths = [max(len(line[place]) for line in lines) for place in range(len(self.heads))]
        shown = ["  ".join(_aligned(line, widths)).rstrip() for line in lines]
        rule = "  ".join("-" * width for width in widths)
        return "\n".join([self.title, "", shown[0], rule, *shown[1:], *(["", *self.notes] if self.notes else [])])

    def as_json(self) -> dict[str, Any]:
        """All of it, plain."""
        return asdict(self)

    def as_svg(self) -> str:
        """The bars on a logarithmic scale: a tenfold time is one step longer."""
        bars = {label: seconds for label, seconds in self.bars.items() if isfinite(seconds) and seconds > 0}
        if not bars:
            return ""
        least = min(log10(seconds) for seconds in bars.values()) - 0.3
        step = 420 / max(0.5, max(log10(seconds) for seconds in bars.values()) - least)
        height = 46 + 24 * len(bars)
        drawn = [
            _bar(place, label, seconds, (log10(seconds) - least) * step)
            for place, (label, seconds) in enumerate(bars.items())
        ]
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 840 {height}" font-family="sans-serif">',
                f"<title>{escape(self.title)}</title>",
                f'<text x="10" y="22" font-size="15" fill="currentColor">{escape(self.title)} (logarithmic)</text>',
                *drawn,
                "</svg>\n",
            ]
        )


def _aligned(line: tuple[str, ...], widths: list[int]) -> list[str]:
    first, *others = [(text, width) for text, width in zip(line, widths, strict=True)]
    return [first[0].ljust(first[1]), *(text.rjust(width) for text, width in others)]


def _bar(place: int, label: str, seconds: float, length: float) -> str:
    top = 40 + 24 * place
    text = f'font-size="12" fill="currentColor" y="{top + 13}"'
    return (
        f'<text x="10" {text}>{escape(label)}</text>'
        f'<rect x="270" y="{top}" width="{length:.1f}" height="17" fill="#4a7ba6"/>'
        f'<text x="{276 + length:.1f}" {text}>{seconds * 1000:.3g} ms</text>'
    )

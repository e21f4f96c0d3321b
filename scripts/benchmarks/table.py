"""What a bench hands back, as Markdown, JSON and a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from math import isfinite
from typing import Any

from scripts.benchmarks.drawing import drawing_of


@dataclass(frozen=True)
class Table:
    """A title, column heads, rows of text, notes below; `bars`: label -> seconds, for the drawing."""

    title: str
    heads: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    notes: tuple[str, ...] = ()
    bars: dict[str, float] = field(default_factory=dict)

    def as_text(self) -> str:
        """A Markdown table whose columns also stand in line as plain text, numbers to the right."""
        lines = [self.heads, *self.rows]
        widths = [max(len(line[place]) for line in lines) for place in range(len(self.heads))]
        rule = "|".join(["", "-" * (widths[0] + 2), *("-" * (width + 1) + ":" for width in widths[1:]), ""])
        shown = [_in_line(line, widths) for line in lines]
        return "\n".join(
            [f"## {self.title}", "", shown[0], rule, *shown[1:], *(["", *self.notes] if self.notes else [])]
        )

    def as_json(self) -> dict[str, Any]:
        """All of it, plain."""
        return asdict(self)

    def as_svg(self, footer: str = "") -> str:
        """Its times as a drawing, on a logarithmic scale; of `bars` where it has them, empty where there is neither."""
        bars = {label: seconds for label, seconds in self.bars.items() if isfinite(seconds) and seconds > 0}
        if not bars:
            return drawing_of(self.title, self.heads, self.rows, footer)
        names = dict.fromkeys(label.rpartition(" ")[2] for label in bars)
        groups = dict.fromkeys(label.rpartition(" ")[0] for label in bars)
        if len(names) * len(groups) > len(bars):  # not every one of these for every one of those
            return drawing_of(
                self.title, ("", "median"), [(label, _exactly(value)) for label, value in bars.items()], footer
            )
        rows = [(group, *(_exactly(bars.get(f"{group} {name}", 0)) for name in names)) for group in groups]
        return drawing_of(self.title, ("", *names), rows, footer)


def _exactly(seconds: float) -> str:
    return f"{seconds * 1000:.6f} ms" if seconds else "-"


def _in_line(line: Sequence[str], widths: list[int]) -> str:
    first, *others = [(text, width) for text, width in zip(line, widths, strict=True)]
    return f"| {first[0].ljust(first[1])} | " + " | ".join(text.rjust(width) for text, width in others) + " |"

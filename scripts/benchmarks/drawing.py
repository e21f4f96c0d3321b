"""Draws a bench's table as SVG: curves where the first column is a size, else bars; times on a logarithmic scale.

What is drawn follows from the table: columns whose cells are all times ("1.2 ms") are the series; a first column of
numbers ("10,000"), or of a name and a number ("positions 8", a panel for each name), is the horizontal axis; further
columns of words ("clock", "search") make a panel for each of their values. A table without times has no drawing.
Colours are those of Okabe and Ito (2008), which the colour-blind tell apart, the blue a little lighter; text and
ground follow the reader's light or dark scheme.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, log10

COLOURS = ("#1f83c9", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#7f7f7f")
WIDTH, LEFT, RIGHT = 860, 64, 16
PANEL_HEIGHT, ACROSS = 200, 3
BAR, GAP, LABELS = 14, 12, 190
STYLE = (
    "svg{background:#fff}text{font:12px sans-serif;fill:#1f2328}.title{font-size:15px;font-weight:600}"
    ".small{font-size:11px;fill:#59636e}.grid{stroke:#d1d9e0}.ground{fill:#fff}"
    "@media(prefers-color-scheme:dark){svg{background:#0d1117}text{fill:#e6edf3}.small{fill:#9198a1}"
    ".grid{stroke:#3d444d}.ground{fill:#0d1117}}"
)
Points = list[tuple[float, float]]


@dataclass
class Panel:
    """One pair of axes: a name, and for each series its points (size, seconds)."""

    name: str
    series: dict[str, Points]


@dataclass(frozen=True)
class Scale:
    """A logarithmic axis from `low` to `high` over `length` units of the drawing."""

    low: float
    high: float
    length: float

    def at(self, value: float) -> float:
        """The distance of a value from the axis' beginning."""
        return log10(value / self.low) / log10(self.high / self.low) * self.length


def drawing_of(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], footer: str = "") -> str:
    """The SVG text; empty for a table without times. `footer`: on what it was measured."""
    times = {place: [seconds_of(row[place]) for row in rows] for place in range(1, len(heads))}
    drawn = [place for place, found in times.items() if any(found) and all(_is_time(row[place]) for row in rows)]
    if not rows or not drawn:
        return ""
    names = {place: _series_name(heads, place) for place in drawn}
    if all(_size_of(row[0]) for row in rows):
        return _curves(title, heads[0], _panels(rows, names), footer)
    groups = {row[0]: {names[place]: seconds_of(row[place]) or 0.0 for place in drawn} for row in rows}
    return _bars(title, groups, list(names.values()), footer)


def seconds_of(cell: str) -> float | None:
    """
    >>> seconds_of("1.2 ms"), seconds_of("12.3 s"), seconds_of("-"), seconds_of("203,000/s")
    (0.0012, 12.3, None, None)
    """
    found = re.fullmatch(r"([\d.]+) (µs|ms|s)", cell)
    return None if not found else float(found[1]) / {"µs": 1e6, "ms": 1e3, "s": 1}[found[2]]


def _is_time(cell: str) -> bool:
    return cell == "-" or seconds_of(cell) is not None


def _size_of(cell: str) -> tuple[str, float] | None:
    """`("positions", 8.0)` of "positions 8", `("", 10000.0)` of "10,000"."""
    found = re.fullmatch(r"(?:(\D*\S) )?([\d,]+(?:\.\d+)?)", cell)
    return None if not found else (found[1] or "", float(found[2].replace(",", "")))


def _series_name(heads: Sequence[str], place: int) -> str:
    """A head that stands twice is told apart by the one before it: "CP-SAT worst"."""
    return heads[place] if heads.count(heads[place]) == 1 else f"{heads[place - 1]} {heads[place]}"


def _panels(rows: Sequence[Sequence[str]], names: dict[int, str]) -> list[Panel]:
    panels: dict[str, Panel] = {}
    for row in rows:
        name, size = _size_of(row[0]) or ("", 0.0)
        words = [cell for place, cell in enumerate(row) if place and place not in names and _is_word(cell)]
        panel = panels.setdefault(", ".join(filter(None, [name, *words])), Panel("", {}))
        for place, series in names.items():
            if seconds := seconds_of(row[place]):
                panel.series.setdefault(series, []).append((size, seconds))
    return [Panel(name, panel.series) for name, panel in panels.items()]


def _is_word(cell: str) -> bool:
    return cell.isalpha()


# Curves


def _curves(title: str, across: str, panels: list[Panel], footer: str) -> str:
    wide = min(ACROSS + (len(panels) >= 8), len(panels))
    width = (WIDTH - (LEFT + RIGHT) * wide) / wide
    every = [y for panel in panels for points in panel.series.values() for _, y in points]
    up = _around(every, PANEL_HEIGHT)
    names = list(dict.fromkeys(name for panel in panels for name in panel.series))
    lines = _legend(names)
    for number, panel in enumerate(panels):
        left, top = LEFT + number % wide * (width + LEFT + RIGHT), 84 + number // wide * (PANEL_HEIGHT + 64)
        lines += [f'<g transform="translate({left:.0f} {top})">', *_panel(panel, across, width, up, names), "</g>"]
    return _page(title, lines, 84 + ceil(len(panels) / wide) * (PANEL_HEIGHT + 64), footer)


def _panel(panel: Panel, across: str, width: float, up: Scale, names: list[str]) -> list[str]:
    sizes = sorted({x for points in panel.series.values() for x, _ in points})
    steep = sizes[0] > 0 and sizes[-1] / sizes[0] >= 50
    along = Scale(sizes[0], sizes[-1], width) if steep else None
    span = (sizes[-1] - sizes[0]) or 1.0

    def x_of(size: float) -> float:
        return along.at(size) if along else (size - sizes[0]) / span * width

    lines = [_text(0, -8, panel.name)] if panel.name else []
    for seconds in _ticks(up):
        y = PANEL_HEIGHT - up.at(seconds)
        lines.append(f'<line class="grid" x1="0" x2="{width:.0f}" y1="{y:.1f}" y2="{y:.1f}"/>')
        lines.append(_text(-6, y + 4, _in_units(seconds), 'class="small" text-anchor="end"'))
    for size in sizes:
        lines.append(_text(x_of(size), PANEL_HEIGHT + 16, _count(size), 'class="small" text-anchor="middle"'))
    lines.append(_text(width / 2, PANEL_HEIGHT + 32, panel.name.split(",")[0] if across == "size" else across,
                       'class="small" text-anchor="middle"'))  # fmt: skip
    for name, points in panel.series.items():
        colour = COLOURS[names.index(name) % len(COLOURS)]
        placed = [(x_of(x), PANEL_HEIGHT - up.at(y)) for x, y in sorted(points)]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in placed)
        lines.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>')
        lines += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colour}"/>' for x, y in placed]
    return lines


# Bars


def _bars(title: str, groups: dict[str, dict[str, float]], names: list[str], footer: str) -> str:
    length = WIDTH - LABELS - 90
    along = _around([value for group in groups.values() for value in group.values() if value > 0], length)
    height = [BAR * len(names) + GAP] * len(groups)
    bottom = 84 + sum(height)
    lines = _legend(names)
    for seconds in _ticks(along):
        x = LABELS + along.at(seconds)
        lines.append(f'<line class="grid" x1="{x:.1f}" x2="{x:.1f}" y1="76" y2="{bottom - GAP + 4}"/>')
        lines.append(_text(x, bottom + 6, _in_units(seconds), 'class="small" text-anchor="middle"'))
    top = 84
    for label, group in groups.items():
        lines.append(_text(LABELS - 8, top + BAR * len(names) / 2 + 4, label, 'text-anchor="end"'))
        for place, name in enumerate(names):
            if (seconds := group.get(name, 0.0)) > 0:
                lines += _bar(LABELS, top + BAR * place, along.at(seconds), COLOURS[place % len(COLOURS)], seconds)
        top += BAR * len(names) + GAP
    return _page(title, lines, bottom + 16, footer)


def _bar(left: float, top: float, length: float, colour: str, seconds: float) -> list[str]:
    drawn = f'<rect x="{left}" y="{top}" width="{max(length, 1):.1f}" height="{BAR - 2}" fill="{colour}"/>'
    return [drawn, _text(left + max(length, 1) + 4, top + BAR - 4, _in_units(seconds), 'class="small"')]


# What both need


def _around(values: Sequence[float], length: float) -> Scale:
    """From the step of 1, 2, 5 below the least to the one above the most."""
    low, high = min(values) * 0.95, max(values) * 1.05
    steps = [
        mantissa * 10.0**power for power in range(floor(log10(low)), ceil(log10(high)) + 1) for mantissa in (1, 2, 5)
    ]
    return Scale(max(step for step in steps if step <= low), min(step for step in steps if step >= high), length)


def _ticks(scale: Scale) -> list[float]:
    """Powers of ten, or 1, 2, 5 of them where there would be fewer than three."""
    powers = range(floor(log10(scale.low)) - 1, ceil(log10(scale.high)) + 1)
    for mantissas in ((1,), (1, 2, 5)):
        found = [m * 10.0**power for power in powers for m in mantissas]
        found = [value for value in found if scale.low * 0.999 <= value <= scale.high * 1.001]
        if len(found) >= 3:
            break
    return found


def _legend(names: list[str]) -> list[str]:
    lines, x = [], 16.0
    for place, name in enumerate(names):
        lines.append(f'<rect x="{x:.0f}" y="42" width="12" height="12" fill="{COLOURS[place % len(COLOURS)]}"/>')
        lines.append(_text(x + 17, 52, name))
        x += 40 + 7.2 * len(name)
    return lines


def _page(title: str, lines: list[str], height: float, footer: str) -> str:
    whole = height + (22 if footer else 0)
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {whole:.0f}" role="img">',
            f"<title>{escape(title)}</title><style>{STYLE}</style>",
            f'<rect class="ground" width="{WIDTH}" height="{whole:.0f}"/>',
            _text(16, 26, f"{title} (time, logarithmic)", 'class="title"'),
            *lines,
            *([_text(16, whole - 8, footer, 'class="small"')] if footer else []),
            "</svg>\n",
        ]
    )


def _text(x: float, y: float, text: str, attributes: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" {attributes}>{escape(text)}</text>'


def _in_units(seconds: float) -> str:
    """
    >>> [_in_units(seconds) for seconds in (0.00002, 0.0123, 0.5, 30)]
    ['20 µs', '12.3 ms', '500 ms', '30 s']
    """
    factor, unit = (1e6, "µs") if seconds < 0.0001 else (1e3, "ms") if seconds < 1 else (1, "s")
    return f"{float(f'{seconds * factor:.3g}'):g} {unit}"


def _count(size: float) -> str:
    exact = log10(size) if size >= 1000 else 0.0
    return f"10{'⁰¹²³⁴⁵⁶⁷⁸⁹'[round(exact)]}" if exact and exact == round(exact) else f"{size:,g}"

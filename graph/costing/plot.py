"""A spread drawn as SVG: how likely the cost is to stay within each amount.

The picture is self-contained, without script, and reads without colour: the curve is a line, the median, the
90th percentile and the limit differ by dash pattern and carry their words. `role="img"` with title and description.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from xml.sax.saxutils import escape

from graph.costing.spread import BlurredSpread, Spread
from graph.errors import InvalidInput, Problem

WIDTH, HEIGHT = 640, 320
LEFT, RIGHT, TOP, BOTTOM = 56, 16, 64, 44
MOST_POINTS = 200
DASHES = {"median": "6 3", "90 %": "2 3", "limit": "10 4 2 4"}


@dataclass(frozen=True, slots=True)
class _Axes:
    low: float
    high: float

    def x(self, amount: float) -> float:
        """Pixels from the left of an amount."""
        return LEFT + (amount - self.low) / (self.high - self.low) * (WIDTH - LEFT - RIGHT)


def _y(chance: float) -> float:
    return TOP + (1 - chance) * (HEIGHT - TOP - BOTTOM)


def plot_spread(spread: Spread | BlurredSpread, currency: str, limit: Fraction | None = None) -> str:
    """The spread as an SVG document. `limit`: the customer's, in currency units. Raises InvalidInput below 0."""
    if limit is not None and limit < 0:
        raise InvalidInput([Problem("limit", f"expected 0 or more, found {limit}")])
    points, not_above, marks = _read(spread)
    if limit is not None:
        marks = [*marks, ("limit", float(limit))]
    ends = [points[0], points[-1], *(amount for _, amount in marks)]
    margin = 0.05 * (max(ends) - min(ends)) or 1.0
    axes = _Axes(min(ends) - margin, max(ends) + margin)
    steps = isinstance(spread, Spread)
    body = [_frame(axes, currency), _curve(axes, points, not_above, steps), *_marks(axes, marks)]
    return _document(_description(marks, not_above, currency), body)


def _read(spread: Spread | BlurredSpread) -> tuple[list[float], Callable[[float], float], list[tuple[str, float]]]:
    marks = [("median", float(spread.quantile(Fraction(1, 2)))), ("90 %", float(spread.quantile(Fraction(9, 10))))]  # type: ignore[arg-type]
    if isinstance(spread, BlurredSpread):
        low = float(spread.faults.amounts[0]) + float(spread.money_steps[0])
        high = float(spread.faults.amounts[-1]) + float(spread.money_steps[-1])
        grid = [low + (high - low) * step / MOST_POINTS for step in range(MOST_POINTS + 1)]
        return grid, spread.not_above, marks
    amounts = [float(amount) for amount in spread.amounts]
    thin = max(1, len(amounts) // MOST_POINTS)
    kept = sorted({*amounts[::thin], amounts[-1]})
    return kept, lambda amount: float(1 - spread.exceeds(Fraction(amount))), marks


def _curve(axes: _Axes, points: Sequence[float], not_above: Callable[[float], float], steps: bool) -> str:
    before = 0.0
    corners = [(LEFT * 1.0, _y(0.0))]
    for amount in points:
        chance = not_above(amount)
        if steps:
            corners.append((axes.x(amount), _y(before)))
        corners.append((axes.x(amount), _y(chance)))
        before = chance
    corners.append((WIDTH - RIGHT * 1.0, _y(before)))
    line = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    return f'<polyline points="{line}" fill="none" stroke="#111" stroke-width="2"/>'


def _marks(axes: _Axes, marks: Sequence[tuple[str, float]]) -> list[str]:
    drawn = []
    for row, (name, amount) in enumerate(marks):
        x, y = axes.x(amount), 18 + 15 * row
        anchor = "start" if x < WIDTH / 2 else "end"
        shift = 4 if anchor == "start" else -4
        drawn.append(
            f'<line x1="{x:.1f}" y1="{y - 10}" x2="{x:.1f}" y2="{HEIGHT - BOTTOM}" stroke="#111" '
            f'stroke-dasharray="{DASHES[name]}"/>'
            f'<text x="{x + shift:.1f}" y="{y}" text-anchor="{anchor}">{name}: {amount:,.2f}</text>'
        )
    return drawn


def _frame(axes: _Axes, currency: str) -> str:
    base = HEIGHT - BOTTOM
    parts = [f'<path d="M{LEFT} {TOP}V{base}H{WIDTH - RIGHT}" fill="none" stroke="#555"/>']
    for quarter in range(5):
        y = _y(quarter / 4)
        parts.append(f'<line x1="{LEFT}" y1="{y:.1f}" x2="{WIDTH - RIGHT}" y2="{y:.1f}" stroke="#ddd"/>')
        parts.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{25 * quarter} %</text>')
        amount = axes.low + (axes.high - axes.low) * quarter / 4
        place = "middle" if 0 < quarter < 4 else "start" if quarter == 0 else "end"
        parts.append(f'<text x="{axes.x(amount):.1f}" y="{base + 16}" text-anchor="{place}">{amount:,.0f}</text>')
    label = escape(f"cost in {currency}" if currency else "cost")
    parts.append(f'<text x="{(LEFT + WIDTH - RIGHT) / 2}" y="{HEIGHT - 8}" text-anchor="middle">{label}</text>')
    return "".join(parts)


def _description(marks: Sequence[tuple[str, float]], not_above: Callable[[float], float], currency: str) -> str:
    said = [f"{name} {amount:,.2f} {currency}".rstrip() for name, amount in marks]
    over = [f"chance of exceeding the limit {1 - not_above(amount):.1%}" for name, amount in marks if name == "limit"]
    return "Chance that the cost stays within each amount: " + ", ".join([*said, *over]) + "."


def _document(description: str, body: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        'aria-labelledby="spread-title spread-description" font-family="sans-serif" font-size="12">'
        f'<title id="spread-title">Spread of the cost</title><desc id="spread-description">{escape(description)}</desc>'
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>{"".join(body)}</svg>'
    )

"""Where everything of a section is drawn: the axis down the sheet, so that a telephone holds it at a scale that shows
a gap of three millimetres; lengths to one scale along it, widths by convention.

Units are the drawing's own. All columns of one sheet share the scale and the line of the block's face.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.section import lanes
from graph.section.labels import (
    LINE,
    Label,
    label_of_gap,
    label_of_offset,
    label_of_piece,
    label_of_remark,
    label_of_rest,
    spread,
)
from graph.section.model import BELL, BOX_FACE, CASE, NOSE, PROP, SHAFT, TAIL, AssemblyCut, CutGap, CutPiece

WIDTH = 390.0
TALLEST = 700  # of what is to scale
SCALES = tuple(Fraction(one).limit_denominator(100) for one in ("5", "4", "3", "2.5", "2", "1.5", "1", "0.75", "0.5"))
SMALLEST = Fraction(1, 4)  # then it is as tall as it must be
STUB = 16.0  # of a piece of which one end is not known
BEYOND = 26.0  # of a piece that goes on beyond the picture
HEAD = 86.0
MOST_MM = 2000  # a length beyond this is not an assembly that stands in a workshop; it is said, not drawn
BAR = 5.0


@dataclass(frozen=True, slots=True)
class Shape:
    """A rectangle of the drawing. `look`: which (graph/section/sheet.py); `named`: what it stands for, as data of the
    element; `hatched`: its length is not known; `torn`: the edges ("top", "bottom") at which it goes on."""

    x: float
    y: float
    width: float
    height: float
    look: str
    named: tuple[tuple[str, str], ...] = ()
    hatched: bool = False
    torn: tuple[str, ...] = ()


@dataclass(slots=True)
class CutColumn:
    """One assembly laid out: `shapes` from back to front, `labels` with where they point, and its `height`."""

    cut: AssemblyCut
    shapes: list[Shape] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    height: float = 0.0
    axis: tuple[float, float] = (0.0, 0.0)
    gauges_at: float = 0.0


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """All columns of a sheet. `scale`: units a millimetre; `block_y`: the line of the block's face."""

    columns: tuple[CutColumn, ...]
    scale: Fraction
    block_y: float
    height: float


def plan_sheet(cuts: Sequence[AssemblyCut]) -> SheetPlan:
    """The sheet of these assemblies, side by side."""
    lows, highs = zip(*(_extent(one) for one in cuts), strict=True)
    low, high = min(lows), max(highs)
    scale = next((one for one in SCALES if (high - low) * one / 1000 <= TALLEST), SMALLEST)
    block_y = round(HEAD + BEYOND - float(low * scale / 1000), 2)
    first = tuple(_CutLayout(one, scale, block_y).laid_out() for one in cuts)
    # A case of no stated length is drawn as long as the longest shaft needs it, and alike in all columns: a difference
    # would look like one of the parts.
    case = max(_hatched_cases(first), default=lanes.CASE_LENGTH)
    columns = tuple(_CutLayout(one, scale, block_y, case).laid_out() for one in cuts)
    return SheetPlan(columns, scale, block_y, max(column.height for column in columns))


def _hatched_cases(columns: Iterable[CutColumn]) -> Iterator[float]:
    for column in columns:
        for shape in column.shapes:
            if shape.hatched and ("piece", CASE) in shape.named:
                yield shape.height


def _extent(cut: AssemblyCut) -> tuple[int, int]:
    pieces = [one for one in cut.pieces if one.datum != BOX_FACE]
    ends = [0, *_ends(pieces), *_ends(cut.gaps)]
    return min(ends), max(ends)


def _ends(spans: Iterable[CutPiece | CutGap]) -> list[int]:
    """The known ends that can be drawn."""
    return [end for one in spans for end in (one.from_um, one.to_um) if end is not None and _drawable(end)]


def _drawable(end: int | None) -> bool:
    return end is not None and abs(end) <= MOST_MM * 1000


class _CutLayout:
    """Lays out one assembly."""

    def __init__(self, cut: AssemblyCut, scale: Fraction, block_y: float, case: float = lanes.CASE_LENGTH):
        self.cut, self.scale, self.block_y, self.case = cut, scale, block_y, case
        self.out = CutColumn(cut)
        self.not_drawn: list[str] = []
        self.box_y = self._box_y()

    def _y(self, um: int, datum: str = "") -> float:
        zero = self.box_y if datum == BOX_FACE else self.block_y
        return zero + float(um * self.scale / 1000)

    def _box_y(self) -> float:
        """The gearbox's face where its place is not known: behind everything that is, with room for the shaft."""
        _, high = _extent(self.cut)
        ahead = -min([0, *_ends(one for one in self.cut.pieces if one.datum == BOX_FACE)])
        return self.block_y + float((high + ahead) * self.scale / 1000) + 3 * STUB

    def laid_out(self) -> CutColumn:
        """The whole column."""
        order = {name: at for at, name in enumerate(lanes.ORDER)}
        for piece in sorted(self.cut.pieces, key=lambda one: order.get(one.name, 0)):
            self._piece(piece)
        for gap in self.cut.gaps:
            self._gap(gap)
        bottom = self._behind(max([self.block_y + 2 * STUB, *(one.y + one.height for one in self.out.shapes)]))
        self.out.axis = (HEAD - 8, bottom)
        bottom = self._gauges(bottom)
        if self.not_drawn:
            self.out.labels.append(label_of_rest(self.not_drawn))
        self.out.labels += [label_of_remark(text) for text in self.cut.remarks]
        self.out.labels = spread(self.out.labels, HEAD - 4)
        ends = [bottom, *(one.y + len(one.lines) * LINE for one in self.out.labels)]
        self.out.height = max(ends) + 14
        return self.out

    def _piece(self, one: CutPiece) -> None:
        lane = lanes.LANES.get(one.name)
        first, last = one.from_um, one.to_um
        if lane is None or one.name in (TAIL, PROP) or not all(end is None or _drawable(end) for end in (first, last)):
            self._label(one, None)
            return
        if first is not None and last is not None:
            self._rect(one, lane, self._y(first, one.datum), self._y(last, one.datum))
        elif last is not None:
            size = BEYOND if "front" in one.goes_on else STUB
            top = HEAD if "front" in one.goes_on else self._y(last, one.datum) - size
            self._rect(one, lane, top, self._y(last, one.datum), known=False)
        elif first is not None:
            size = self.case if one.name == CASE else STUB
            top = self._y(first, one.datum)
            self._rect(one, lane, top, max(top + size, self._shaft_end() + 30 if one.name == CASE else 0), known=False)
        elif one.name == BELL:
            self._rect(one, lane, self.block_y, self.box_y, known=False)
        else:
            self._label(one, None)

    def _shaft_end(self) -> float:
        return max((shape.y + shape.height for shape in self.out.shapes if shape.look == "shaft"), default=0.0)

    def _rect(self, one: CutPiece, lane: lanes.Lane, top: float, bottom: float, *, known: bool = True) -> None:
        top, bottom = min(top, bottom), max(top, bottom)
        goes = {"front": "top", "rear": "bottom"}
        self.out.shapes.append(Shape(
            lane.x, top, lane.width, bottom - top, f"{lane.look} fitted" if one.fitted else lane.look,
            (("piece", one.name), ("part", one.part), ("from-mm", _mm(one.from_um)), ("to-mm", _mm(one.to_um))),
            hatched=not known and not one.goes_on, torn=tuple(goes[end] for end in one.goes_on),
        ))  # fmt: skip
        self._finish(one, lane, top, bottom)
        self._label(one, (lane.x + lane.width - 2, (max(top, HEAD + 4) + bottom) / 2))

    def _finish(self, one: CutPiece, lane: lanes.Lane, top: float, bottom: float) -> None:
        """What makes a piece known at a glance: the housing's rear wall, the shaft's step behind its nose."""
        look = f"{lane.look} fitted" if one.fitted else lane.look
        if one.name == BELL and bottom - top > lanes.WALL:
            self.out.shapes.append(Shape(lanes.WALL_X, bottom - lanes.WALL, lane.x - lanes.WALL_X, lanes.WALL, look))
        if one.name == NOSE:
            shaft = next((each for each in self.cut.pieces if (each.name, each.part) == (SHAFT, one.part)), None)
            if shaft is not None and shaft.to_um is not None and _drawable(shaft.to_um):
                end = self._y(shaft.to_um, shaft.datum)
                self.out.shapes.append(Shape(lane.x + lane.width, bottom, lanes.STEP, end - bottom, look))

    def _label(self, one: CutPiece, spot: tuple[float, float] | None) -> None:
        if spot is None and one.name not in (TAIL, PROP):
            self.not_drawn.append(one.name)
        else:
            self.out.labels.append(label_of_piece(one, spot))

    def _gap(self, gap: CutGap) -> None:
        first, last = gap.from_um, gap.to_um
        if first is None or last is None or not (_drawable(first) and _drawable(last)):
            self.out.labels.append(label_of_gap(gap, None))
            return
        x = lanes.GAPS.get(gap.chain, lanes.GAP_ELSEWHERE)
        top, bottom = sorted((self._y(first), self._y(last)))
        self.out.shapes.append(Shape(x, top, BAR, bottom - top, f"gap {gap.state}", (
            ("gap", gap.chain), ("from-mm", _mm(first)), ("to-mm", _mm(last)), ("value-mm", _mm(gap.value_um)),
            ("margin-mm", _mm(gap.margin_um)), ("state", gap.state),
        )))  # fmt: skip
        self.out.labels.append(label_of_gap(gap, (x + BAR / 2, (top + bottom) / 2)))

    def _behind(self, y: float) -> float:
        """What stands behind the case: of no known length, in its order."""
        for one in sorted(self.cut.pieces, key=lambda piece: piece.name == PROP):
            if one.name in (TAIL, PROP):
                lane = lanes.LANES[one.name]
                size = 2 * STUB
                named = (("piece", one.name), ("part", one.part), ("from-mm", ""), ("to-mm", ""))
                look = f"{lane.look} fitted" if one.fitted else lane.look
                self.out.shapes.append(Shape(lane.x, y, lane.width, size, look, named, hatched=True, torn=("bottom",)))
                found = next(label for label in self.out.labels if label.of == (one.name, one.part))
                found.spot = (lane.x + lane.width - 2, y + size / 2)
                y += size
        return y

    def _gauges(self, y: float) -> float:
        """Lever, mount and propshaft: how far each has moved, to the same scale, and by what."""
        known = [one for one in self.cut.offsets if one.value_um is not None and abs(one.value_um) <= MOST_MM * 1000]
        self.out.labels += [label_of_offset(one, None) for one in self.cut.offsets if one not in known]
        if not known:
            return y
        ends = [0]
        for one in known:
            ends += [end for end in (one.low_um, one.high_um, one.value_um) if end is not None]
            ends += _steps(share.shift_um for share in one.shares)
        zero = y + 46 - float(min(ends) * self.scale / 1000)
        self.out.gauges_at = zero
        for place, one in enumerate(known):
            x = lanes.GAUGES_X + place * lanes.GAUGE_WIDTH
            if one.low_um is not None and one.high_um is not None:
                self._bar(x, zero, one.low_um, one.high_um, 30, "allowed", (("allowed", one.chain),))
            start = 0
            for at, share in enumerate(one.shares):
                end = start + share.shift_um
                self._bar(x + 3 + at % 5 * 5, zero, start, end, 4, "share", (("share", one.chain),))
                start = end
            value = one.value_um or 0
            named = (("offset", one.chain), ("value-mm", _mm(value)), ("margin-mm", _mm(one.margin_um)),
                     ("state", one.state))  # fmt: skip
            top = zero + float(value * self.scale / 1000)
            self.out.shapes.append(Shape(x - 3, top - 1.5, 36, 3, f"marker {one.state}", named))
            self.out.labels.append(label_of_offset(one, (x + 33, top)))
        return zero + float(max(ends) * self.scale / 1000) + 10

    def _bar(self, x: float, zero: float, first: int, last: int, width: float, look: str,
             named: tuple[tuple[str, str], ...]) -> None:  # fmt: skip
        low, high = sorted((first, last))
        named = (*named, ("from-mm", _mm(first)), ("to-mm", _mm(last)))
        top, tall = zero + float(low * self.scale / 1000), float((high - low) * self.scale / 1000)
        self.out.shapes.append(Shape(x, top, width, tall, look, named))


def _steps(shares: Iterable[int]) -> Iterator[int]:
    at = 0
    for share in shares:
        at += share
        yield at


def _mm(um: int | None) -> str:
    """Millimetres, exactly; empty for what is not known.

    >>> _mm(3900), _mm(-25000), _mm(None)
    ('3.9', '-25', '')
    """
    if um is None:
        return ""
    whole, rest = divmod(abs(um), 1000)
    return f"{'-' if um < 0 else ''}{whole}{f'.{rest:03d}'.rstrip('0') if rest else ''}"

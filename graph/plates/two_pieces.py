"""A plate of two pieces, where both patterns do not stand in one: each piece has one, screws hold them together.

The first piece goes on the engine with flush heads, the second covers them and has the gearbox's pattern. The screws
between the two want a place where neither pattern is, and hands that reach their heads: from the gearbox's side, or
from the engine's if the second piece is on the gearbox already. Where both parts have threads no side is free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import ceil, hypot

import numpy as np
from numpy.typing import NDArray

from graph.fits.model import NM_PER_UM
from graph.fits.tables import load_tables
from graph.fits.threads import NamedThread, get_thread, least_plate_nm
from graph.plates.holes import Sided, clearance_um, conflicts, least_um, need_um, plate_holes, tapped, with_head
from graph.plates.model import (
    DOWEL,
    ENGINE,
    GEARBOX,
    JOINING,
    SCREW,
    PlateHole,
    PlatePiece,
    PlateReason,
    PlateWanted,
    ThicknessWindow,
    mm,
)  # fmt: skip
from graph.plates.pieces import opening_um, piece
from graph.plates.rules import STOCK_MM, PlateRules, to_step, up

LEAST_SCREWS = 4
DOWELS = 2
DEEP_UM = 1_000_000  # deeper than any plate: to see what the holes want before the thickness is known
RING_STEP_UM = 1_000


class TwoPieces:
    """Tries a plate of two pieces: `pieces` where it succeeds, `reasons` where not."""

    def __init__(self, wanted: PlateWanted, engine: Sided, gearbox: Sided):
        self.wanted, self.rules, self.engine, self.gearbox = wanted, wanted.rules, engine, gearbox
        self.reasons: tuple[PlateReason, ...] = ()

    def made(self, angles: Sequence[float]) -> Iterator[tuple[float, tuple[PlatePiece, ...], tuple[str, ...]]]:
        """For each angle at which it can be made: the angle, the two pieces and how they go together."""
        first, second = (plate_holes(one, self.rules, DEEP_UM, blind=False) for one in (self.engine, self.gearbox))
        heads = self._heads_on(first, second)
        if not heads or not self._stand_alone(first, second):
            return
        thread = _smallest(first, second)
        least = self._leasts(first, second, thread, heads)
        sizes = thicknesses_of_two(self.wanted.window, *least)
        if sizes is None:
            what = f"two pieces want at least {mm(sum(least))} mm ({mm(least[0])} and {mm(least[1])} mm)"
            self.reasons = (PlateReason("thickness", what, _move(self.wanted.window)),)
            return
        holes = [plate_holes(one, self.rules, size, blind=False)
                 for one, size in zip((self.engine, self.gearbox), sizes, strict=True)]  # fmt: skip
        for angle in angles:
            turned = [hole.turned(angle) for hole in holes[1]]
            found = self._joined(holes[0], turned, thread, heads, sizes)
            if found is not None:
                yield angle, found, order_words(heads)

    def _heads_on(self, first: Sequence[PlateHole], second: Sequence[PlateHole]) -> str:
        """The side from which the joining screws go in; empty where none is free."""
        if all(hole.use != SCREW for hole in second):
            return GEARBOX
        if all(hole.use != SCREW for hole in first):
            return ENGINE
        what = "both parts have threads, so both pieces are screwed on from between them"
        self.reasons = (PlateReason("pieces", what, "no hand reaches the screws that would hold the two together"),)
        return ""

    def _stand_alone(self, first: Sequence[PlateHole], second: Sequence[PlateHole]) -> bool:
        """Has either pattern room for itself?"""
        found = [*conflicts(first), *conflicts(second)]
        self.reasons = tuple(
            PlateReason("holes", f"{a.id} and {b.id} of one pattern stand too close for their own heads and threads",
                        "leave one out") for a, b in found
        )  # fmt: skip
        return not found

    def _leasts(
        self, first: Sequence[PlateHole], second: Sequence[PlateHole], thread: NamedThread, heads: str
    ) -> tuple[int, int]:
        flush = up(Fraction(least_plate_nm(thread.thread), NM_PER_UM))
        engaged = self.rules.engaged_um(thread.thread.diameter_nm // NM_PER_UM)
        wants = (engaged, flush) if heads == GEARBOX else (flush, engaged)
        return (
            max(least_um(first, self.rules)[0], wants[0]), max(least_um(second, self.rules)[0], wants[1])
        )  # fmt: skip

    def _joined(
        self, first: Sequence[PlateHole], second: Sequence[PlateHole], thread: NamedThread, heads: str,
        sizes: tuple[int, int],
    ) -> tuple[PlatePiece, ...] | None:  # fmt: skip
        bore, reasons = opening_um(self.wanted, (*first, *second))
        if reasons:
            self.reasons = reasons
            return None
        count = max(LEAST_SCREWS, min(sum(hole.load for hole in side) for side in (first, second)))
        makers = [
            _Joining(self.rules, thread, size, ENGINE if n == 0 else GEARBOX, heads) for n, size in enumerate(sizes)
        ]
        places = _places(self.rules, bore, (first, second), makers, count + DOWELS)
        if places is None:
            what = f"no {count} places are left for the screws and {DOWELS} for the dowels that join two pieces"
            self.reasons = (PlateReason("pieces", what, "allow the gearbox to be turned, or leave out holes"),)
            return None
        dowels = {0, len(places) // 2}
        return tuple(
            piece(
                self.wanted, f"{name} piece", size, bore,
                (*own, *(maker.hole(n, place, dowel=n in dowels) for n, place in enumerate(places, start=0))),
                spigot=(n == 0) != self.wanted.hub, register=(n == 1) != self.wanted.hub,
            )
            for n, (name, size, own, maker) in enumerate(
                zip((ENGINE, GEARBOX), sizes, (first, second), makers, strict=True)
            )
        )  # fmt: skip


class _Joining:
    """The joining screws and dowels as one piece has them."""

    def __init__(self, rules: PlateRules, thread: NamedThread, thickness_um: int, piece_side: str, heads: str):
        self.thread, self.thickness_um, self.heads = thread, thickness_um, heads
        self.has_heads = piece_side == heads
        self.size = thread.thread.diameter_nm // NM_PER_UM
        self.drill, self.series = clearance_um(load_tables(), thread, 0)

    def hole(self, number: int, place: tuple[int, int], *, dowel: bool) -> PlateHole:
        """The hole at a place."""
        plain = PlateHole(
            id=f"J-{'d' if dowel else ''}{number + 1}", side=JOINING, use=DOWEL, thread="", x_um=place[0],
            y_um=place[1], size_um=self.size, drill_um=self.size, from_um=0, to_um=self.thickness_um,
        )  # fmt: skip
        if dowel:
            return plain
        if self.has_heads:
            return with_head(replace(plain, drill_um=self.drill, series=self.series), self.thread, self.heads)
        return tapped(plain, self.thread)


def _smallest(first: Sequence[PlateHole], second: Sequence[PlateHole]) -> NamedThread:
    """The smallest thread of either pattern, with its coarse pitch; M8 where neither has one."""
    sizes = [hole.size_um for hole in (*first, *second) if hole.thread]
    return get_thread(load_tables(), f"M{min(sizes, default=8_000) // 1000}")


def _places(
    rules: PlateRules, bore_um: int, patterns: Sequence[Sequence[PlateHole]], makers: Sequence[_Joining], count: int
) -> list[tuple[int, int]] | None:
    """One place in each of `count` equal sectors, as near to the sector's middle and as far out as can be."""
    probes = [maker.hole(0, (0, 0), dowel=False) for maker in makers]
    least = up(Fraction(bore_um, 2)) + max(probe.edge_um(rules) for probe in probes)
    most = max(ceil(hypot(hole.x_um, hole.y_um)) for holes in patterns for hole in holes)
    radii = np.arange(least, max(most, least) + 1, RING_STEP_UM)
    spot = radii[:, None] * np.exp(1j * np.radians(np.arange(360.0)))[None, :]
    free = np.ones(spot.shape, dtype=bool)
    for probe, holes in zip(probes, patterns, strict=True):
        for hole in holes:
            free &= np.abs(spot - complex(hole.x_um, hole.y_um)) >= float(need_um(probe, hole)) + 2
    between = max(float(need_um(probe, probe)) for probe in probes) + 2
    for turn in range(0, ceil(360 / count), 3):
        found = _one_in_each(spot, free, count, turn, between)
        if found is not None:
            return found
    return None


def _one_in_each(
    spot: NDArray[np.complex128], free: NDArray[np.bool_], count: int, turn: int, between: float
) -> list[tuple[int, int]] | None:
    found: list[complex] = []
    degrees = np.arange(360)
    for sector in range(count):
        off = np.abs((degrees - turn - sector * 360 / count + 180) % 360 - 180)
        there = free & (off <= 180 / count)[None, :]
        for other in found:
            there &= np.abs(spot - other) >= between
        if not there.any():
            return None
        cost = np.where(there, off[None, :] * 1e6 - np.abs(spot), np.inf)
        found.append(complex(spot.flat[int(np.argmin(cost))]))
    return [(round(place.real), round(place.imag)) for place in found]


def thicknesses_of_two(window: ThicknessWindow, first_um: int, second_um: int) -> tuple[int, int] | None:
    """The thinnest two plates that do: both stock, else the second milled; None where the window is less."""
    low, high = window.low_um or 0, window.high_um if window.high_um is not None else 2 * STOCK_MM[-1] * 1000
    stock = [size * 1000 for size in STOCK_MM]
    pairs = [
        (a + b, a, b) for a, b in product(stock, stock)
        if a >= first_um and b >= second_um and low <= a + b <= high
    ]  # fmt: skip
    if pairs:
        return min(pairs)[1:]
    total = max(low, first_um + second_um)
    total = to_step(total) if to_step(total) <= high else total
    first = next((size for size in stock if first_um <= size <= total - second_um), first_um)
    return (first, total - first) if total <= high and total - first <= stock[-1] and first <= stock[-1] else None


def _move(window: ThicknessWindow) -> str:
    if window.high_um is None:
        return "that is more than rolled plate as stocked gives"
    return f"the window ends at {mm(window.high_um)} mm: move {window.high_by or 'that limit'}"


def order_words(heads: str) -> tuple[str, ...]:
    """How a plate of two pieces goes together."""
    if heads == GEARBOX:
        return (
            "the engine piece on the engine, its heads flush",
            "the gearbox piece on it, dowelled, screwed from the gearbox's side with flush heads",
            "the gearbox last; its screws no longer than its flange and the gearbox piece",
        )
    return (
        "the gearbox piece on the gearbox, its heads flush",
        "the engine piece on it, dowelled, screwed from the engine's side with flush heads",
        "both on the engine last; its screws no longer than its flange and the engine piece",
    )

"""How thick a plate, spacer or shim may be: what the length chains leave between the parts around.

Each chain's sum lies between the least and the most that the parts around can make of it (interval arithmetic: the
least and the most of every position, and of what notes put inside a joint, taken apart from each other). A thickness
outside the window that follows cannot serve any route; inside it the search decides. A chain of which nothing is
known, or that has no limit, does not bind.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from operator import add

from graph.catalogue.model import SHIFTS, Edge
from graph.catalogue.terms import ChainKind
from graph.lookups.index import CatalogueIndex
from graph.plates.model import ThicknessWindow

STEP_UM = 500  # what a shop mills or grinds to without asking (common practice)
MOST_SIZES = 12
MOST_VALUES = 400


@dataclass(frozen=True, slots=True)
class RoomSpan:
    """The least and the most of a sum, in whole micrometres."""

    least_um: int = 0
    most_um: int = 0

    def __add__(self, other: RoomSpan) -> RoomSpan:
        return RoomSpan(self.least_um + other.least_um, self.most_um + other.most_um)


@dataclass(frozen=True, slots=True)
class Room:
    """Per chain kind, what the parts around make of it; chains of which nothing is known are not in it."""

    sums: Mapping[str, RoomSpan]
    kinds: Mapping[str, ChainKind]
    values: Mapping[str, frozenset[int]] = field(default_factory=dict)  # each sum by itself, where they are few
    terms: Sequence[Sequence[Mapping[str, int]]] = ()  # what each place can add, one of each

    def window_um(self, signs: Mapping[str, int]) -> tuple[int, int] | None:
        """The thicknesses, both ends included, that some choice of parts allows; None where one end is open.

        `signs`: per chain, whether a thickness adds to it (1) or takes from it (-1).
        """
        lows: list[int] = []
        highs: list[int] = []
        for chain, sign in signs.items():
            kind, span = self.kinds.get(chain), self.sums.get(chain)
            if kind is None or span is None:
                continue
            if kind.low_um is not None:
                (lows if sign > 0 else highs).append(sign * (kind.low_um - span.most_um))
            if kind.high_um is not None:
                (highs if sign > 0 else lows).append(sign * (kind.high_um - span.least_um))
        return (max(lows), min(highs)) if lows and highs else None

    def windows(self, signs: Mapping[str, int]) -> tuple[ThicknessWindow, ...]:
        """The window of every combination of parts by itself, those that leave one; nothing where they are too many."""
        bound = [chain for chain in signs if chain in self.sums and chain in self.kinds]
        bound = [chain for chain in bound if (self.kinds[chain].low_um, self.kinds[chain].high_um) != (None, None)]
        sums = {tuple(self.kinds[chain].start_um for chain in bound)}
        for term in self.terms:
            shares = {tuple(found.get(chain, 0) for chain in bound) for found in term}
            sums = {tuple(map(add, total, share)) for total in sums for share in shares}
            if len(sums) > MOST_VALUES:
                return ()
        windows = (self._window_at(signs, dict(zip(bound, total, strict=True))) for total in sorted(sums) if bound)
        return tuple(dict.fromkeys(windows))

    def window_with(self, signs: Mapping[str, int], um: int) -> ThicknessWindow | None:
        """The narrowest window of a combination of parts in which the size lies; None where none has it."""
        holding = [
            one for one in self.windows(signs)
            if one.low_um is not None and one.high_um is not None and one.low_um <= um <= one.high_um
        ]  # fmt: skip
        return min(holding, key=lambda one: ((one.high_um or 0) - (one.low_um or 0), one.low_um or 0), default=None)

    def _window_at(self, signs: Mapping[str, int], sums: Mapping[str, int]) -> ThicknessWindow:
        at = replace(self, sums={chain: RoomSpan(um, um) for chain, um in sums.items()})
        return window_of(at, signs)

    def centring_um(self, signs: Mapping[str, int], step_um: int = STEP_UM) -> tuple[int, ...]:
        """The thicknesses that bring a sum outside its two limits to their middle, to the nearest step; above zero.

        Nothing where the sums are too many to tell apart.
        """
        found = set()
        for chain, sign in signs.items():
            kind = self.kinds.get(chain)
            if kind is None or kind.low_um is None or kind.high_um is None:
                continue
            middle = (kind.low_um + kind.high_um) // 2
            for value in self.values.get(chain, ()):
                size = round(sign * (middle - value) / step_um) * step_um
                if not kind.low_um <= value <= kind.high_um and size > 0:
                    found.add(size)
        return tuple(sorted(found))


def sizes_um(window: tuple[int, int] | None, step_um: int = STEP_UM) -> tuple[int, ...]:
    """Thicknesses above zero in steps within the window: all of them, or those next to its middle if they are many.

    >>> sizes_um((14_000, 15_500))
    (14000, 14500, 15000, 15500)
    """
    if window is None:
        return ()
    first = max(-(-window[0] // step_um), 1)
    found = [step * step_um for step in range(first, window[1] // step_um + 1)]
    middle = (window[0] + window[1]) // 2
    return tuple(sorted(sorted(found, key=lambda um: (abs(um - middle), um))[:MOST_SIZES]))


def window_of(room: Room, signs: Mapping[str, int]) -> ThicknessWindow:
    """The same as `Room.window_um`, with the chains that bind by name; open where nothing does."""
    lows: list[tuple[int, str]] = []
    highs: list[tuple[int, str]] = []
    for chain, sign in signs.items():
        kind, span = room.kinds.get(chain), room.sums.get(chain)
        if kind is None or span is None:
            continue
        if kind.low_um is not None:
            (lows if sign > 0 else highs).append((sign * (kind.low_um - span.most_um), kind.label))
        if kind.high_um is not None:
            (highs if sign > 0 else lows).append((sign * (kind.high_um - span.least_um), kind.label))
    low, low_by = max(lows, default=(None, ""))
    high, high_by = min(highs, default=(None, ""))
    return ThicknessWindow(low, high, low_by, high_by)


def joined(windows: Iterable[ThicknessWindow]) -> tuple[ThicknessWindow, ...]:
    """As few windows as say the same: those that touch are one. None of them is empty.

    >>> [one.text() for one in joined([ThicknessWindow(4, 9, "a", "b"), ThicknessWindow(6, 12, "c", "d")])]
    ['0.004 mm (a) to 0.012 mm (d)']
    """
    found: list[ThicknessWindow] = []
    for one in sorted(windows, key=lambda one: (one.low_um is not None, one.low_um or 0)):
        last = found[-1] if found else None
        if last is None or (last.high_um is not None and one.low_um is not None and one.low_um > last.high_um):
            found.append(one)
        elif last.high_um is not None and (one.high_um is None or one.high_um > last.high_um):
            found[-1] = replace(last, high_um=one.high_um, high_by=one.high_by)
    return tuple(found)


def room_around(
    index: CatalogueIndex,
    places: Mapping[str, Iterable[str]],
    units: Iterable[str],
    measured: Iterable[Edge],
    fixed: Mapping[str, str],
    sized: str,
    made: Mapping[str, Iterable[str]],
) -> Room:
    """The room that the parts at their places leave for a thing to be sized at the joint kind `sized`.

    `fixed`: places where one part is meant. `measured`: computed shifts of the parts. `made`: per joint kind, parts to
    be made that may stand inside it, as computed.
    """
    computed: dict[str, list[Edge]] = {}
    for edge in measured:
        computed.setdefault(edge.source, []).append(edge)

    def moves(source: str) -> dict[str, int]:
        found: dict[str, int] = {}
        for edge in (*index.side_effects(source), *computed.get(source, ())):
            if edge.kind == SHIFTS:
                found[edge.target] = found.get(edge.target, 0) + edge.shift_um
        return found

    terms = [[moves(unit)] for unit in units]
    for place, parts in places.items():
        held = (fixed[place],) if place in fixed else tuple(parts)
        if held:
            terms.append([moves(part) for part in held])
    terms += [[{}, *map(moves, inside)] for inside in _inside(index, places, sized, made)]
    kinds = {
        id_: kind
        for id_, kind in index.catalogue.chain_kinds.items()
        if all(place in places for place in kind.positions)
    }
    known = {chain for term in terms for found in term for chain in found}
    sums = {chain: _sum(kinds[chain], terms) for chain in sorted(known & set(kinds))}
    return Room(sums, kinds, {chain: _values(kinds[chain], terms) for chain in sums}, terms)


def _sum(kind: ChainKind, terms: Iterable[list[dict[str, int]]]) -> RoomSpan:
    total = RoomSpan(kind.start_um, kind.start_um)
    for term in terms:
        values = [found.get(kind.id, 0) for found in term]
        total += RoomSpan(min(values), max(values))
    return total


def _values(kind: ChainKind, terms: Iterable[list[dict[str, int]]]) -> frozenset[int]:
    """Every sum that one thing of each term makes; empty where they are more than MOST_VALUES."""
    sums = {kind.start_um}
    for term in terms:
        shares = {found.get(kind.id, 0) for found in term}
        sums = {total + share for total in sums for share in shares}
        if len(sums) > MOST_VALUES:
            return frozenset()
    return frozenset(sums)


def _inside(
    index: CatalogueIndex, places: Mapping[str, Iterable[str]], sized: str, made: Mapping[str, Iterable[str]]
) -> Iterable[tuple[str, ...]]:
    """Per other joint, the parts that notes put inside it next to a part around, and those to be made for it."""
    for joint in index.catalogue.joint_kinds.values():
        if joint.id == sized or not joint.via_kinds or any(place not in places for place in joint.between):
            continue
        ends = [part for place in joint.between for part in places[place]]
        found = {other for part in ends for other in index.statements_inside(part, joint.id)}
        found.update(made.get(joint.id, ()))
        if found:
            yield tuple(sorted(found))

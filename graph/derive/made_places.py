"""Made parts that hold a place of their own: a pilot bush between crankshaft and nose, of the length the chains want.

Proposed where the shop's rates price it (graph/derive/made_prices.py), between every two parts around that are not of
one unit and of which one is found or in hand, the sizes from what is measured of both. Its length serves every
combination of parts around: as few lengths as do, each in the middle of what they leave. A part of which a reading is
missing is proposed for the parts of the units and those in hand only; it costs "at least" what is counted, and routes
with it are assumed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import product

from graph.catalogue.model import FITS, Catalogue, Edge, Part
from graph.derive.chains import list_moves
from graph.derive.edges import Made, not_whole, part_by
from graph.derive.made import NO_WINDOW, MadeBetween, design_between, readings_between, result_of
from graph.derive.made_prices import WorkPrice, price_design
from graph.derive.measured import Measured
from graph.derive.room import STEP_UM, Room
from graph.derive.signs import signs_of
from graph.fits.model import NM_PER_UM, CheckResult
from graph.lookups.findings import COMPUTED, EVIDENCE
from graph.made.kinds import MADE_KINDS
from graph.made.model import MadeKind, MadePart, MadeRefused
from graph.plates.model import ThicknessWindow

MADE = f"{COMPUTED}made-"
MADE_ID = re.compile(r"--(?P<size>m?\d+|open)--(?P<place>in|out)$")
OPEN = "open"  # in place of a size that nobody can tell yet
MOST_LENGTHS = 4
MOST_PAIRS = 60  # of parts, of a kind
RoomFor = Callable[[Mapping[str, str]], Room]  # the room that is left where these positions are held so


def list_made_places(
    measured: Measured, places: Mapping[str, Iterable[str]], homes: Mapping[str, str], near: frozenset[str],
    room_for: RoomFor,
) -> Made:  # fmt: skip
    """All such parts around. `near`: parts in hand; with those found in the units they may be measured in part only."""
    total = Made()
    for kind in MADE_KINDS.values():
        if not kind.place or kind.place not in places or kind.blank not in measured.catalogue.operation_prices:
            continue
        if any(place not in places for place in kind.between):
            continue
        ends = [tuple(places[place]) for place in kind.between]
        for pair in _pairs(ends, homes, near)[:MOST_PAIRS]:
            between = MadeBetween(kind, dict(zip(kind.between, pair, strict=True)))
            at_hand = all(part in homes or part in near for part in pair)
            total += _between(measured, between, at_hand, room_for)
    return total


def _pairs(
    ends: Sequence[Sequence[str]], homes: Mapping[str, str], near: frozenset[str]
) -> list[tuple[str, ...]]:  # fmt: skip
    """The pairs not of one unit of which one at least is found or in hand, those first of which both are."""
    found = []
    for pair in product(*ends):
        here = sum(part in homes or part in near for part in pair)
        home = homes.get(pair[0])
        if here and not (home is not None and home == homes.get(pair[1])):
            found.append((-here, pair))
    return [pair for _, pair in sorted(found)]


def _between(measured: Measured, between: MadeBetween, at_hand: bool, room_for: RoomFor) -> Made:
    taken = [reading for take in between.kind.takes for reading in take.of]
    readings = readings_between(measured, between)
    known = [one for one in taken if readings[one] is not None]
    if not known or (len(known) < len(taken) and not at_hand):
        return Made()
    total = Made()
    for size_nm, window in _lengths(measured.catalogue, between, room_for):
        total += made_between(measured, between, size_nm, window)[0]
    return total


def _lengths(
    catalogue: Catalogue, between: MadeBetween, room_for: RoomFor
) -> Iterator[tuple[int | None, ThicknessWindow]]:
    along = between.kind.along
    if along is None:
        yield None, NO_WINDOW
        return
    room = room_for({**between.holders, between.kind.place: ""})
    found = list_lengths(room.windows(signs_of(catalogue, along.moves)), along.tolerance_nm // NM_PER_UM)
    for window, um in found[:MOST_LENGTHS]:
        yield um * NM_PER_UM, window
    if not found:
        yield None, NO_WINDOW


def list_lengths(windows: Iterable[ThicknessWindow], spare_um: int) -> list[tuple[ThicknessWindow, int]]:
    """As few lengths as serve all windows, each with what is common to those that it serves; windows too narrow for
    the tolerance serve none, and those that nothing binds say nothing. The length is the middle, to half a millimetre
    where that lies within; where one end is open, the first half millimetre within."""
    common: list[ThicknessWindow] = []
    usable = (one for one in windows if (one.low_um, one.high_um) != (None, None))
    for window in sorted(usable, key=_from_below):
        if not _fits(window, spare_um):
            continue
        both = _both(common[-1], window) if common else window
        if common and _fits(both, spare_um):
            common[-1] = both
        else:
            common.append(window)
    return [(window, choose_um(window, spare_um)) for window in common]


def _from_below(window: ThicknessWindow) -> tuple[bool, int, bool, int]:
    low, high = window.low_um, window.high_um
    return low is not None, low or 0, high is None, high or 0


def _fits(window: ThicknessWindow, spare_um: int) -> bool:
    return window.low_um is None or window.high_um is None or window.high_um - window.low_um >= 2 * spare_um


def _both(one: ThicknessWindow, other: ThicknessWindow) -> ThicknessWindow:
    lows = [(w.low_um, w.low_by) for w in (one, other) if w.low_um is not None]
    highs = [(w.high_um, w.high_by) for w in (one, other) if w.high_um is not None]
    low, low_by = max(lows, default=(None, ""))
    high, high_by = min(highs, default=(None, ""))
    return ThicknessWindow(low, high, low_by, high_by)


def choose_um(window: ThicknessWindow, spare_um: int) -> int:
    """Which length is taken of a window that is bound at one end at least.

    >>> choose_um(ThicknessWindow(15_000, 23_000), 50), choose_um(ThicknessWindow(15_100, 15_300), 50)
    (19000, 15200)
    >>> choose_um(ThicknessWindow(15_100, None), 50), choose_um(ThicknessWindow(None, 23_000), 50)
    (15500, 22500)
    """
    low, high = window.low_um, window.high_um
    if low is not None and high is not None:
        middle = (low + high) // 2
        stepped = round(middle / STEP_UM) * STEP_UM
        return stepped if low + spare_um <= stepped <= high - spare_um else middle
    if low is not None:
        return -(-(low + spare_um) // STEP_UM) * STEP_UM
    assert high is not None
    return (high - spare_um) // STEP_UM * STEP_UM


def made_between(
    measured: Measured, between: MadeBetween, size_nm: int | None, window: ThicknessWindow = NO_WINDOW
) -> tuple[Made, CheckResult | None, MadePart | None]:
    """The part with its edges and what it moves, its working and its design; nothing where it cannot be made or has no
    rates."""
    design = design_between(measured, between, size_nm=size_nm, window=window)
    if isinstance(design, MadeRefused):
        return Made(), None, None
    priced = price_design(measured.index, design)
    kind = between.kind
    result = result_of(design, measured.catalogue.joint_kinds[kind.closes[0]].label)
    if priced is None:
        return Made(), result, design
    return _laid(measured.catalogue, between, design, priced, result), result, design


def _laid(catalogue: Catalogue, between: MadeBetween, design: MadePart, priced: WorkPrice, result: CheckResult) -> Made:
    kind, size = between.kind, design.chosen_nm
    name = f"{MADE}{kind.id}--{'--'.join(between.ends)}--{_size_word(size)}"
    part = part_by(catalogue, f"{name}--part", kind.part_kind, result.work[0], priced, _label(design))
    ends = ((between.ends[0], part.id), (part.id, between.ends[1]))
    joints = (kind.closes[0], kind.closes[-1])
    edges = [
        Edge(
            id=f"{name}--{place}", kind=FITS, source=one, target=other, joint=joint, evidence=EVIDENCE,
            reason=f"computed: {result.summary}", caution=" ".join(result.cautions),
            check_when_fitted=(*kind.cautions, *kind.to_confirm) if place == "in" else (),  # told at its fitting
        )
        for place, (one, other), joint in zip(("in", "out"), ends, joints, strict=True)
    ]  # fmt: skip
    if priced.lacks:
        edges[0] = not_whole(edges[0], priced)
    return Made((*edges, *_moves(catalogue, kind, part, size)), (part,))


def _moves(catalogue: Catalogue, kind: MadeKind, part: Part, size_nm: int | None) -> tuple[Edge, ...]:
    if kind.along is None or size_nm is None:
        return ()
    reason = f"{kind.along.name} of {part.label}"
    return list_moves(
        catalogue, part.id, kind.along.moves, size_nm, EVIDENCE, uncertainty_nm=kind.along.tolerance_nm, reason=reason
    )


def _label(design: MadePart) -> str:
    sizes = " x ".join(f"{one.middle_nm / 1e6:.1f}" if one.known else "?" for one in design.sizes)
    return f"{design.kind.label.capitalize()}, {sizes} mm, made, {' to '.join(design.mates)}"


def _size_word(size_nm: int | None) -> str:
    if size_nm is None:
        return OPEN
    um = size_nm // NM_PER_UM
    return f"m{-um}" if um < 0 else str(um)


def find_made(measured: Measured, edge_id: str) -> tuple[Edge, CheckResult, MadeBetween] | None:
    """The edge of a made part that an id names, with its working: `computed-made-<kind>--<first>--<second>--<size>`."""
    for between, size in _named(measured, edge_id):
        made, result, _ = made_between(measured, between, size)
        edge = next((one for one in made.edges if one.id == edge_id), None)
        if edge is not None and result is not None:
            return edge, result, between
    return None


def kind_of_made(part_id: str) -> MadeKind | None:
    """Which kind of made part an id names; None for other parts."""
    kinds = (kind for kind in MADE_KINDS.values() if kind.place)
    return next((kind for kind in kinds if part_id.startswith(f"{MADE}{kind.id}--")), None)


def made_length_nm(measured: Measured, part_id: str) -> int | None:
    """How long a made part is that an id names, in the middle of its limits; None for other parts, and where it is not
    known yet."""
    for between, size in _named(measured, f"{part_id.removesuffix('--part')}--in"):
        design = design_between(measured, between, size_nm=size)
        if isinstance(design, MadePart) and design.along.known:
            return design.along.middle_nm
    return None


def _named(measured: Measured, edge_id: str) -> Iterator[tuple[MadeBetween, int | None]]:
    """What an id may name: the two parts, and the size."""
    match = MADE_ID.search(edge_id)
    if match is None or not edge_id.startswith(MADE):
        return
    said = match["size"]
    size = None if said == OPEN else (-int(said[1:]) if said.startswith("m") else int(said)) * NM_PER_UM
    for kind in MADE_KINDS.values():
        stem = f"{MADE}{kind.id}--"
        if not kind.place or not edge_id.startswith(stem):
            continue
        pieces = edge_id[len(stem) : match.start()].split("--")
        for cut in range(1, len(pieces)):
            pair = ("--".join(pieces[:cut]), "--".join(pieces[cut:]))
            if all(part in measured.catalogue.parts for part in pair):
                yield MadeBetween(kind, dict(zip(kind.between, pair, strict=True))), size

"""The section of a route: its pieces, gaps and offsets as `graph.section` draws them.

Every margin is the answer's own (`SideEffect`); every length is a part's, as stated or computed. What is not known is
said, and nothing is drawn for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from graph.answer import margins, words
from graph.answer.effects import limits
from graph.answer.ground import Ground
from graph.answer.model.fit import SideEffect
from graph.answer.section_faces import OTHER, SIGNS, STARTER, Faces
from graph.answer.section_parts import Gathered, own_engine, parts_as_found, parts_of_route, with_own_lengths
from graph.answer.section_pieces import pieces_of
from graph.search.result import Route
from graph.section.changes import changes_between
from graph.section.model import (
    AFTER,
    BEFORE,
    FREE,
    HOLDS,
    OUTSIDE,
    THIN,
    UNKNOWN,
    UNSURE,
    AssemblyCut,
    CutGap,
    CutOffset,
    CutShare,
    LongSection,
)

OFFSETS = ("lever-offset", "mount-offset", "prop-length")
NOTHING_DRAWN = "There is no section to draw: nobody has stated or measured a length of these parts along the axis."
_STATES = {
    "holds": HOLDS, "holds as stated": HOLDS, "thin: measure again": THIN, "not sure: measure again": UNSURE,
    margins.NOT_KNOWN: UNKNOWN, "no limit": FREE,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class _JudgedLength:
    """A dimension as the answer has it, or as it is reckoned for the gearbox as found."""

    chain: str
    label: str
    value_um: int | None
    low_um: int | None
    high_um: int | None
    margin_um: int | None
    surely: str


def section_of(ground: Ground, route: Route, moved: Sequence[SideEffect]) -> LongSection | None:
    """The section of the route, `moved` being its dimensions. None for a document that came without its reading."""
    if ground.reading is None:
        return None
    gathered = parts_of_route(ground, route)
    if ground.index is not None:
        gathered = with_own_lengths(ground.index, gathered, ground.conversion.gearbox)
    judged = {one.chain: _of_answer(one) for one in moved}
    title = f"{ground.part_label(ground.conversion.gearbox)} behind {ground.part_label(ground.conversion.engine)}"
    after = _cut(AFTER, f"After: {title}", gathered, judged, ())
    before = _before(ground)
    changes = changes_between(before, after) if before is not None else ()
    return LongSection(after=after, before=before, says="" if after.has_lengths else NOTHING_DRAWN, changes=changes)


def _of_answer(effect: SideEffect) -> _JudgedLength:
    return _JudgedLength(
        effect.chain, effect.label, effect.value_um, effect.low_um, effect.high_um, effect.margin_um, effect.how_surely
    )


def _before(ground: Ground) -> AssemblyCut | None:
    """The gearbox as it was found, the same for every route of the answer."""
    kept = ground.kept
    key = ("section", "before")
    if key not in kept:
        kept[key] = _as_found(ground)
    found: AssemblyCut | None = kept[key]
    return found


def _as_found(ground: Ground) -> AssemblyCut | None:
    if ground.index is None:
        return None
    gearbox = ground.conversion.gearbox
    engine, why = own_engine(ground.index, gearbox)
    found = parts_as_found(ground.index, *((engine, gearbox) if engine else (gearbox,)))
    gathered = with_own_lengths(ground.index, found, gearbox)
    faces = Faces(gathered.held)
    judged = {chain: _reckoned(ground, faces, gathered, chain) for chain in SIGNS} if engine else {}
    behind = f"behind {ground.part_label(engine)}" if engine else "by itself"
    title = f"Before: {ground.part_label(gearbox)} as found, {behind}"
    return _cut(BEFORE, title, gathered, {chain: one for chain, one in judged.items() if one}, (f"{why}.",))


def _reckoned(ground: Ground, faces: Faces, gathered: Gathered, chain: str) -> _JudgedLength | None:
    """What the chain comes to with the parts as found; None where a part that has a say in it states nothing."""
    kind = ground.catalogue.chain_kinds.get(chain)
    front, rear = faces.engine_face(chain), faces.box_side_face(chain)
    if kind is None or front is None or rear is None:
        return None
    value = kind.start_um + sum(part.shifts_um.get(chain, 0) for part in faces.held)
    below = None if kind.low_um is None else value - kind.low_um
    above = None if kind.high_um is None else kind.high_um - value
    margin = min((m for m in (below, above) if m is not None), default=None)
    edges = tuple(edge for edge in gathered.edges if edge.target == chain and (edge.shift_um or edge.uncertainty_um))
    surely = margins.how_surely(margin, margins.doubt_of(ground, edges))
    return _JudgedLength(chain, kind.label, value, kind.low_um, kind.high_um, margin, surely)


def _cut(
    when: str, title: str, gathered: Gathered, judged: Mapping[str, _JudgedLength], remarks: tuple[str, ...]
) -> AssemblyCut:
    faces = Faces(gathered.held)
    gaps = tuple(_gap(faces, judged[chain]) for chain in SIGNS if chain in judged)
    offsets = tuple(_offset(faces, judged[chain]) for chain in OFFSETS if chain in judged)
    pieces = pieces_of(faces, {gap.chain: gap for gap in gaps}, behind=when == AFTER)
    told = [text for gap in gaps if (text := _otherwise(faces, gap))]
    return AssemblyCut(
        when=when, title=title, pieces=pieces, gaps=gaps, offsets=offsets, remarks=(*remarks, *told, *faces.torn)
    )


def _gap(faces: Faces, one: _JudgedLength) -> CutGap:
    """The gap between its two faces. Where the parts place only one of them, the other lies as far from it as the
    answer's value says; so the picture cannot differ from the answer."""
    sign = SIGNS[one.chain]
    front, rear = faces.engine_face(one.chain), faces.box_side_face(one.chain)
    if one.value_um is not None:
        if front is not None:
            rear = front - sign * one.value_um
        elif rear is not None:
            front = rear + sign * one.value_um
    else:
        front = rear = None
    first, last = (rear, front) if sign == 1 else (front, rear)
    return CutGap(
        chain=one.chain, label=one.label, state=_state(one), words=_words(one), value_um=one.value_um,
        margin_um=one.margin_um, low_um=one.low_um, high_um=one.high_um, from_um=first, to_um=last,
    )  # fmt: skip


def _otherwise(faces: Faces, gap: CutGap) -> str:
    """That something else adds to the gap than the pieces drawn, where it does."""
    stacked = faces.box_side_face(gap.chain)
    drawn = gap.from_um if SIGNS[gap.chain] == 1 else gap.to_um
    if stacked is None or drawn is None or stacked == drawn:
        return ""
    others = [one.label for one in faces.held if one.shifts_um.get(gap.chain) and not _is_piece(one.role)]
    why = f" ({words.listed(others)})" if others else ""
    away = words.millimetres(abs(drawn - stacked))
    return f"{gap.label}: counted with {away} that belongs to no piece drawn here{why}"


def _is_piece(role: str) -> bool:
    return role not in (OTHER, STARTER)


def _state(one: _JudgedLength) -> str:
    if one.margin_um is not None and one.margin_um < 0:
        return OUTSIDE
    return _STATES[one.surely]


def _words(one: _JudgedLength) -> tuple[str, ...]:
    """`pilot overlap 13.0 mm`, `thin: measure again; margin 1.0 mm`, `allowed from 12.0 mm`."""
    allowed = f"allowed {limits(one.low_um, one.high_um)}"
    if one.value_um is None:
        return f"{one.label}: not known", allowed
    outside = one.margin_um is not None and one.margin_um < 0
    surely = f"outside its limit by {words.millimetres(-(one.margin_um or 0))}" if outside else one.surely
    margin = "" if one.margin_um is None or outside else f"; margin {words.millimetres(one.margin_um)}"
    return f"{one.label} {words.millimetres(one.value_um)}", f"{surely}{margin}", allowed


def _offset(faces: Faces, one: _JudgedLength) -> CutOffset:
    shares = tuple(
        CutShare(part.label, part.shifts_um[one.chain]) for part in faces.held if part.shifts_um.get(one.chain)
    )
    rest = 0 if one.value_um is None else one.value_um - sum(share.shift_um for share in shares)
    if rest:
        shares = (CutShare("where it starts", rest), *shares)
    return CutOffset(
        chain=one.chain, label=one.label, state=_state(one), words=_words(one), value_um=one.value_um,
        margin_um=one.margin_um, low_um=one.low_um, high_um=one.high_um, shares=shares,
    )  # fmt: skip

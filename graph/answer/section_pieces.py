"""The pieces of a section, from the faces of the assembly: each with its ends, its own name and its length in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from graph.answer import section_faces as at
from graph.answer import words
from graph.answer.section_faces import Faces, HeldPart, added
from graph.section import model as cut
from graph.section.model import CutGap, CutPiece

NO_LENGTH = "length not stated"
_BEHIND = {
    "at-input-bearing": cut.BEARING, "at-tail-housing": cut.TAIL, "at-lever": cut.LEVER, "at-prop-shaft": cut.PROP,
}  # fmt: skip
_ON_THE_BOX = (cut.SHAFT, cut.NOSE, cut.SPLINE, cut.RELEASE, cut.RELEASE_SPACER, cut.CASE)


def pieces_of(faces: Faces, gaps: Mapping[str, CutGap], *, behind: bool) -> tuple[CutPiece, ...]:
    """The pieces from the engine rearwards. `gaps`: where the answer's dimensions lie; `behind`: also what the vehicle
    holds."""
    found = [*_engine(faces), *_clutch(faces), *_housing(faces), *_gearbox(faces, gaps)]
    for part in faces.held:
        name = _BEHIND.get(part.place)
        if name and (behind or name != cut.PROP):
            found.append(_piece(part, name, None, None, _own_words(part, name)))
    if faces.box_face is None:
        found = [_from_box(faces, one) for one in found]
    return tuple(found)


def _own_words(part: HeldPart, name: str) -> str:
    nowhere = "place along the axis not stated"
    if part.own_um is None:
        return nowhere
    of = "wide" if name == cut.BEARING else "from the case's rear face to the output flange"
    return f"{words.millimetres(part.own_um)} {of}; {nowhere}"


def _piece(part: HeldPart, name: str, first: int | None, last: int | None, said: str = "", brief: str = "") -> CutPiece:
    stated = first is not None and last is not None
    length = words.millimetres(last - first) if first is not None and last is not None else NO_LENGTH
    return CutPiece(
        name=name, label=part.label, part=part.part, from_um=first, to_um=last, words=said or length,
        brief=brief or (f"{name} {length}" if stated else f"{name}: {length}"), fitted=part.fitted,
    )  # fmt: skip


def _engine(faces: Faces) -> Iterator[CutPiece]:
    """Block and crankshaft go on forwards; the bore's bottom and the flange are what of them has a place."""
    held_block = [one for one in faces.held if one.place == "at-block"]
    for part in held_block:
        said = "its rear face is where lengths begin"
        yield replace(_piece(part, cut.BLOCK, None, 0, said, "block: 0 is its rear face"), goes_on=("front",))
    for part in faces.of(at.CRANK):
        flange, bottom = faces.flange, faces.only(at.CRANK, "bottom")
        said = NO_LENGTH if flange is None else f"flange {_behind_block(flange)}"
        brief = f"crank flange at {_at(flange)}"
        yield replace(_piece(part, cut.CRANK, None, flange, said, brief), goes_on=("front",))
        deep = added(flange, None if bottom is None else -bottom)
        said = "depth not stated" if deep is None else f"{words.millimetres(deep)} deep from the flange"
        brief = f"{cut.BORE}: {said}" if deep is None else f"{cut.BORE} {words.millimetres(deep)} deep"
        yield _piece(part, cut.BORE, bottom, flange, said, brief)
    for part in faces.of(at.PILOT):
        rear = faces.only(at.PILOT, "rear")
        wide = "width not stated" if part.own_um is None else f"{words.millimetres(part.own_um)} wide"
        said = "place not stated" if rear is None else f"rear face {_behind_block(rear)}; {wide}"
        front = added(rear, None if part.own_um is None else -part.own_um)
        brief = f"{cut.PILOT} to {_at(rear)}{', width not stated' if part.own_um is None else ''}"
        yield _piece(part, cut.PILOT, front, rear, said, brief)


def _behind_block(um: int) -> str:
    side = "behind" if um >= 0 else "ahead of"
    return f"{words.millimetres(abs(um))} {side} the block face"


def _at(um: int | None) -> str:
    return "? (not stated)" if um is None else words.millimetres(um)


def _clutch(faces: Faces) -> Iterator[CutPiece]:
    front = faces.flange
    for part in faces.of(at.FLYWHEEL_SPACER):
        rear = added(front, faces.length(part, "thickness"))
        yield _piece(part, cut.SPACER, front, rear)
        front = rear
    for part in faces.of(at.FLYWHEEL):
        yield _piece(part, cut.FLYWHEEL, faces.seat, faces.friction)
        ring = faces.ring_rear
        said = "place not stated" if ring is None else f"rear edge {_behind_block(ring)}; width not stated"
        yield _piece(part, cut.RING, None, ring, said, f"{cut.RING} to {_at(ring)}, width not stated")
    for part in faces.of(at.DISC):
        first, last = (added(faces.friction, faces.length(part, end)) for end in ("front", "rear"))
        yield _piece(part, cut.HUB, first, last)
    for part in faces.of(at.COVER):
        yield _piece(part, cut.COVER, faces.friction, added(faces.friction, faces.length(part, "fingers")))


def _housing(faces: Faces) -> Iterator[CutPiece]:
    front: int | None = 0
    for part in faces.of(at.PLATE):
        rear = added(front, faces.length(part, "depth"))
        yield _piece(part, cut.PLATE, front, rear)
        front = rear
    for part in faces.of(at.BELL):
        yield _piece(part, cut.BELL, faces.bell_front, faces.box_face, "" if faces.box_face is not None else
                     "depth not stated")  # fmt: skip


def _gearbox(faces: Faces, gaps: Mapping[str, CutGap]) -> Iterator[CutPiece]:
    for part in faces.of(at.CASE):
        moved = faces.length(part, "depth")
        said = "length not stated"
        if moved:
            way = "further back" if moved > 0 else "further forward"
            said += f"; holds the shaft {words.millimetres(abs(moved))} {way}"
        yield _piece(part, cut.CASE, faces.box_face, None, said, f"{cut.CASE}: {NO_LENGTH}")
    for part in faces.of(at.SHAFT):
        yield from _shaft(faces, part)
    front = faces.box_face
    for part in faces.of(at.RELEASE_SPACER):
        ahead = added(front, faces.length(part, "face"))
        yield _piece(part, cut.RELEASE_SPACER, ahead, front)
        front = ahead
    for part in faces.of(at.RELEASE):
        yield _piece(part, cut.RELEASE, added(front, faces.length(part, "face")), front)
    for part in faces.of(at.STARTER):
        for name, chain in ((cut.PINION_REST, "starter-rest-gap"), (cut.PINION_OUT, "starter-mesh-width")):
            gap = gaps.get(chain)
            edge = None if gap is None else gap.to_um if chain == "starter-rest-gap" else gap.from_um
            said = "place not stated" if edge is None else f"front edge {_behind_block(edge)}"
            brief = f"{'pinion at rest' if name == cut.PINION_REST else 'pinion out'} at {_at(edge)}"
            yield replace(_piece(part, name, edge, None, said, brief), goes_on=("rear",))


def _shaft(faces: Faces, part: HeldPart) -> Iterator[CutPiece]:
    datum = faces.shaft_datum

    def face(feature: str) -> int | None:
        return added(datum, faces.length(part, feature))

    tip, shoulder = face("tip"), face("shoulder")
    out = faces.length(part, "tip")
    said = "stick-out not stated" if out is None else f"stands {words.millimetres(-out)} out"
    brief = f"{cut.SHAFT}: {said}" if out is None else f"shaft stands {words.millimetres(-out)} out"
    yield replace(_piece(part, cut.SHAFT, tip, datum, said, brief), goes_on=("rear",))
    yield _piece(part, cut.NOSE, tip, shoulder)
    yield _piece(part, cut.SPLINE, face("spline start"), face("spline end"))


def _from_box(faces: Faces, one: CutPiece) -> CutPiece:
    """Where the housing between is not known, what hangs on the gearbox is placed from the gearbox's own face."""
    if one.name not in _ON_THE_BOX:
        return one
    rest = [part for part in faces.held if part.role not in (at.BELL, at.PLATE)]
    alone = Faces([HeldPart(at.BELL, "", "", shifts_um={"release-gap": 0}), *rest])
    again = next((piece for piece in _gearbox(alone, {}) if (piece.name, piece.part) == (one.name, one.part)), one)
    return replace(again, datum=cut.BOX_FACE)

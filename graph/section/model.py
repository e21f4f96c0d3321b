"""What a section shows, in whole micrometres along the axis; rearwards counts plus.

Lengths come from outside, with their words. An end that is None is not stated, or the piece goes on beyond the picture
(`goes_on`): silence is never a length. Across the axis nothing is to scale.
"""

from __future__ import annotations

from dataclasses import dataclass

BLOCK_FACE, BOX_FACE = "block face", "gearbox face"

# Pieces, each with the lane in which it is drawn (graph/section/lanes.py).
BLOCK, CRANK, BORE, PILOT = "engine block", "crankshaft", "crank bore", "pilot bearing"
SPACER, FLYWHEEL, RING, HUB, COVER = "flywheel spacer", "flywheel", "ring gear", "clutch disc hub", "clutch cover"
PLATE, BELL, CASE, RELEASE = "plate", "bell housing", "gearbox case", "release bearing"
RELEASE_SPACER, NOSE, SPLINE, SHAFT = "release spacer", "nose", "clutch spline", "input shaft"
BEARING, TAIL, LEVER, PROP = "input bearing", "tail housing", "lever", "propshaft"
PINION_REST, PINION_OUT = "starter pinion at rest", "starter pinion out"

HOLDS, THIN, UNSURE, OUTSIDE, UNKNOWN, FREE = "holds", "thin", "not sure", "outside", "not known", "no limit"
STATES = (HOLDS, THIN, UNSURE, OUTSIDE, UNKNOWN, FREE)
BEFORE, AFTER = "before", "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """A piece of the section. `name`: what it is; `label`: the part's own name; `part`: its id, "" where none is known.

    `from_um`, `to_um`: front and rear end from `datum` (the block's rear face, or the gearbox's front mounting face
    where the housing between is not known); None: not stated. `goes_on`: the ends ("front", "rear") at which it goes
    on beyond the picture. `fitted`: not as found. `words`: its length, or what is not known of it; `brief`: the same in
    the drawing, with its name.
    """

    name: str
    label: str
    words: str
    brief: str
    part: str = ""
    datum: str = BLOCK_FACE
    from_um: int | None = None
    to_um: int | None = None
    goes_on: tuple[str, ...] = ()
    fitted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CutGap:
    """A dimension of the assembly with its margin. `from_um`, `to_um`: the two faces, front to rear by name and not by
    place (a gap below zero has its rear face in front); None: where it lies is not known.

    `state`: one of STATES; `words`: the same with value, limits and margin, in lines.
    """

    chain: str
    label: str
    state: str
    words: tuple[str, ...]
    value_um: int | None = None
    margin_um: int | None = None
    low_um: int | None = None
    high_um: int | None = None
    from_um: int | None = None
    to_um: int | None = None


@dataclass(frozen=True, slots=True)
class CutShare:
    """What moves something behind the gearbox, and by how much; rearwards is plus."""

    label: str
    shift_um: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOffset:
    """How far something behind the gearbox has moved from where the vehicle wants it, made of `shares`."""

    chain: str
    label: str
    state: str
    words: tuple[str, ...]
    value_um: int | None = None
    margin_um: int | None = None
    low_um: int | None = None
    high_um: int | None = None
    shares: tuple[CutShare, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyCut:
    """One assembly, cut along its axis. `when`: before or after; `title`: of what; `remarks`: what a reader must know
    of it, above all what is not known."""

    when: str
    title: str
    pieces: tuple[CutPiece, ...] = ()
    gaps: tuple[CutGap, ...] = ()
    offsets: tuple[CutOffset, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def has_lengths(self) -> bool:
        """Whether anything of it can be drawn to scale."""
        return any(one.from_um is not None and one.to_um is not None and one.from_um != one.to_um
                   for one in self.pieces)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class LongSection:
    """The assembly after a route, and the gearbox as it was found. `says`: why nothing is drawn; "" where it is.
    `changes`: what differs between the two, in words."""

    after: AssemblyCut
    before: AssemblyCut | None = None
    says: str = ""
    changes: tuple[str, ...] = ()

    def cuts(self, which: str = "") -> tuple[AssemblyCut, ...]:
        """Before and after, as far as there is something to draw; or only the one that is named."""
        if self.says:
            return ()
        both = (self.before, self.after)
        return tuple(one for one in both if one is not None and one.has_lengths and which in ("", one.when))

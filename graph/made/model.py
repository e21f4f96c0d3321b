"""What a made part is: one record for each kind, and one part of a kind with every size, its limits and where from.

Lengths in whole nanometres. A size whose reading nobody has taken is not known: it says what to measure.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.fits.model import Dimension, bare_mm, show_nm
from graph.fits.tables import Tables
from graph.plates.bill import BLANK
from graph.plates.model import PlateReason, ThicknessWindow

OUTSIDE, INSIDE, LENGTH, THICKNESS = "outside diameter", "inside diameter", "length", "thickness"
REGISTER, SPIGOT, OPENING = "register bore", "spigot diameter", "opening"
RECESS, STANDS, SEAT = "register depth", "spigot height", "seat on the nose"
RING, DISC = "ring", "disc"

Reading = tuple[str, str]  # a position kind, and a quantity of the part that holds it
Limits = tuple[int, int]  # the least and the most that a size may be made, nm


@dataclass(frozen=True, slots=True)
class Take:
    """How one size comes from readings: `of`, in the order in which `limits` gets them. `source`: of the allowance."""

    name: str
    of: tuple[Reading, ...]
    limits: Callable[[Tables, Sequence[Dimension]], Limits]
    source: str
    fit: str = ""


@dataclass(frozen=True, slots=True)
class Along:
    """The size that the length chains choose: its name, the quantity that it moves them by, how near it comes out.

    `counted`: what the chains count, in words, with {size}. `to_seat`: a reading that is added (from the datum of the
    quantity to where the part sits), if any; `plus_nm`: what it is longer than the chains count.
    `seat_from`: from where that reading is taken, in words; `seat_chain`: the chain that has the same place.
    """

    name: str
    moves: str
    tolerance_nm: int
    counted: str
    to_seat: Reading | None = None
    plus_nm: int = 0
    seat_from: str = ""
    seat_chain: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeKind:
    """One kind of made part, all that search, price, page and drawing ask of it.

    `part_kind`: what it is in the catalogue. `closes`: the joint kinds it closes, the first where it stands; `place`:
    the position it holds, empty where it stands inside the joint. `operation`: its work on the price list. `material`,
    `blank`: what it is of, and the rate for a kilogram. `shape`: ring or disc. `takes`: sizes from readings; `decided`:
    sizes that the joint's check decides; `along`: what the chains decide. `face`: a disc has the holes of the first
    part's bolt face there. `turned`, `faces`: what is counted at a rate each; `also`:
    what has to be paid with it, each a rate of its own. `least_wall_nm`: of a ring, or between
    a disc's register and its holes; `longest`: how many times its outside diameter it may be long, 0 for any.
    """

    id: str
    label: str
    part_kind: str
    closes: tuple[str, ...]
    between: tuple[str, str]
    operation: str
    works: tuple[str, ...] = ()
    place: str = ""
    material: str = "steel"
    blank: str = BLANK
    hardness: str = "soft"
    shape: str = RING
    takes: tuple[Take, ...] = ()
    decided: tuple[str, ...] = ()
    along: Along | None = None
    face: str = ""
    turned: int = 2
    also: tuple[str, ...] = ()
    faces: int = 2
    least_wall_nm: int = 1_000_000
    longest: Fraction = Fraction(0)
    edge_break_nm: int = 500_000
    datum: str = ""
    surface: str = ""
    to_confirm: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Every reading that its sizes take."""
        seat = (self.along.to_seat,) if self.along and self.along.to_seat else ()
        return tuple(dict.fromkeys((*(one for take in self.takes for one in take.of), *seat)))


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeSize:
    """One size. `low_nm`, `high_nm`: between which it is made; None: not known, `measure` says what is missing.

    `taken`: the readings it comes from, in words; `source`: of the allowance.
    """

    name: str
    low_nm: int | None = None
    high_nm: int | None = None
    fit: str = ""
    taken: str = ""
    source: str = ""
    measure: tuple[str, ...] = ()

    @property
    def middle_nm(self) -> int:
        """The middle of its limits, which is drawn. 0 where it is not known."""
        return 0 if self.low_nm is None or self.high_nm is None else (self.low_nm + self.high_nm) // 2

    @property
    def known(self) -> bool:
        """Is there a size to make?"""
        return self.low_nm is not None

    def text(self) -> str:
        """`outside diameter 28.015 mm to 28.046 mm`; `inside diameter not known: measure the nose`."""
        if self.low_nm is None or self.high_nm is None:
            return f"{self.name} not known: measure {' and '.join(self.measure)}"
        fit = f" {self.fit}" if self.fit else ""
        return f"{self.name}{fit} {bare_mm(self.low_nm)} to {show_nm(self.high_nm)}"


@dataclass(frozen=True, slots=True)
class MadeHole:
    """A hole of a disc: nm from its axis, x to the right and y up as seen from the gearbox."""

    id: str
    x_nm: int
    y_nm: int
    drill_nm: int
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MadePart:
    """One part to be made. `mates`: the labels of the parts it goes between. `window`: what the chains leave for its
    size along the axis, `chosen_nm` which was taken (None: not known); `doubts`: readings that contradict others."""

    kind: MadeKind
    mates: tuple[str, ...]
    sizes: tuple[MadeSize, ...]
    holes: tuple[MadeHole, ...] = ()
    window: ThicknessWindow = field(default_factory=ThicknessWindow)
    chosen_nm: int | None = None
    evidence_rank: int = 9
    doubts: tuple[str, ...] = ()

    def size(self, name: str) -> MadeSize:
        """The size of that name; one not known where the part has none."""
        return next((one for one in self.sizes if one.name == name), MadeSize(name=name))

    @property
    def along(self) -> MadeSize:
        """Its length or thickness."""
        return self.size(THICKNESS if self.kind.shape == DISC or self.size(THICKNESS).known else LENGTH)

    @property
    def measure(self) -> tuple[str, ...]:
        """Everything to be measured before it can be made."""
        return tuple(dict.fromkeys(what for one in self.sizes for what in one.measure))

    @property
    def title(self) -> str:
        """`Pilot bush, Pipit crankshaft to Sedge input shaft`."""
        return f"{self.kind.label.capitalize()}, {' to '.join(self.mates)}"

    def chosen_text(self) -> str:
        """Which size along the axis was taken out of which window; empty where the chains do not choose it."""
        if self.chosen_nm is None or self.kind.along is None:
            return ""
        bound = self.window.low_um is not None or self.window.high_um is not None
        window = f", chosen within {self.window.text()}" if bound else ""
        return f"{self.kind.along.counted.format(size=show_nm(self.chosen_nm))}{window}"


@dataclass(frozen=True, slots=True)
class MadeRefused:
    """Why such a part cannot be made: which limit stands in the way, and what to move."""

    reasons: tuple[PlateReason, ...]

    def text(self) -> str:
        """All reasons as one sentence."""
        return "; ".join(one.text() for one in self.reasons)


Readings = Mapping[Reading, Dimension | None]

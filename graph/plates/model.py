"""What a plate is asked to be, what comes of it, and why not where nothing does. Lengths in whole micrometres."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import cos, radians, sin

from graph.fits.model import CheckResult
from graph.fits.pattern import Face
from graph.plates.rules import WALL_UM, PlateRules, up

ENGINE, GEARBOX, BOTH, JOINING = "engine", "gearbox", "both", "joining"
SCREW, TAPPED, DOWEL, BOLT = "screw", "tapped", "dowel", "bolt"


@dataclass(frozen=True, slots=True)
class Bored:
    """A round space in the plate: its diameter, and from where to where, counted from the engine's side."""

    diameter_um: int
    from_um: int
    to_um: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateHole:
    """One hole of the plate.

    `side`: whose pattern (engine, gearbox, both, joining). `use`: screw (clearance, head sunk), tapped, dowel (reamed),
    bolt (clearance right through both parts). `size_um`: of the thread or pin; `drill_um`: what is drilled or reamed;
    `from_um`..`to_um`: how deep, counted from the engine's side; `head_side`: the side in which the head is sunk.
    `mate_um`: the hole in the part that it meets, for what may be missed; `load`: may not be left out. `place_um`: how
    far off its place may be read. Of one that both parts share: `miss_um` between the two axes as read, `room_um` what
    the holes give.
    """

    id: str
    side: str
    use: str
    x_um: int
    y_um: int
    thread: str
    size_um: int
    drill_um: int
    from_um: int
    to_um: int
    head_um: int = 0
    head_deep_um: int = 0
    head_side: str = ""
    mate_um: int = 0
    threaded_mate: bool = False
    load: bool = True
    pitch_assumed: bool = False
    series: str = ""
    place_um: int = 0
    miss_um: int = 0
    room_um: int = 0

    @property
    def spaces(self) -> tuple[Bored, ...]:
        """The spaces that it takes, for walls: a thread counts with its nominal diameter."""
        body = Bored(max(self.drill_um, self.size_um), self.from_um, self.to_um)
        if not self.head_um:
            return (body,)
        if self.head_side == GEARBOX:
            return (body, Bored(self.head_um, self.to_um - self.head_deep_um, self.to_um))
        return (body, Bored(self.head_um, self.from_um, self.from_um + self.head_deep_um))

    @property
    def widest_um(self) -> int:
        """Its largest diameter."""
        return max(space.diameter_um for space in self.spaces)

    def edge_um(self, rules: PlateRules) -> int:
        """From its axis to an edge, at least."""
        return max(up(rules.edge_factor * self.size_um), up(Fraction(self.widest_um, 2)) + WALL_UM)

    def turned(self, degrees: float) -> PlateHole:
        """The same, turned anticlockwise about the axis, to the nearest micrometre."""
        if not degrees:
            return self
        cosine, sine = cos(radians(degrees)), sin(radians(degrees))
        return replace(
            self, x_um=round(cosine * self.x_um - sine * self.y_um), y_um=round(sine * self.x_um + cosine * self.y_um)
        )


@dataclass(frozen=True, slots=True)
class ThicknessWindow:
    """How thick a plate may be, both ends included; None: nothing binds there. `low_by`, `high_by`: what binds."""

    low_um: int | None = None
    high_um: int | None = None
    low_by: str = ""
    high_by: str = ""

    def has(self, um: int) -> bool:
        """Does the size lie within?"""
        return (self.low_um is None or self.low_um <= um) and (self.high_um is None or um <= self.high_um)

    def text(self) -> str:
        """`14.000 mm (release gap) to 15.500 mm (starter rest gap)`."""
        low = "any" if self.low_um is None else f"{mm(self.low_um)} mm ({self.low_by})"
        high = "any" if self.high_um is None else f"{mm(self.high_um)} mm ({self.high_by})"
        return f"{low} to {high}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateWanted:
    """What is asked for.

    `engine`, `gearbox`: the two faces. `lean_deg`: how far the gearbox may be turned either way (0: it stays upright).
    `bore_um`: the opening about the shaft (None: as wide as the holes leave it); `register_um`: a spigot of the gearbox
    that is to centre in the plate; `spigot_um`: a register of the engine in which the plate is to centre.
    `hub`: an adaptor between parts that turn, which are centred the other way round: its register takes the spigot of
    the first part (a crankshaft's flange), its spigot goes into a bore of the second; `unread` names those of the two
    that nobody has measured. `engine_thread`, `gearbox_thread`: the thread of holes that name none. `frame`: the plate
    carries the machine (tractor); `force_n`: the load at mid-span for a first look at bending. `pieces`: 1 or 2.
    """

    engine: Face
    gearbox: Face
    window: ThicknessWindow = field(default_factory=ThicknessWindow)
    rules: PlateRules = field(default_factory=PlateRules)
    lean_deg: float = 0.0
    bore_um: int | None = None
    register_um: int | None = None
    spigot_um: int | None = None
    engine_thread: str = ""
    gearbox_thread: str = ""
    frame: bool = False
    force_n: Fraction | None = None
    pieces: int = 2
    hub: bool = False
    unread: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of a closed outline. `bulge`: tan of a quarter of the arc to the next corner, 0 for a straight line."""

    x_um: int
    y_um: int
    bulge: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlatePiece:
    """One plate to be cut. `stock_mm`: the rolled plate that it is milled from; `grams`: its weight, finished."""

    name: str
    thickness_um: int
    stock_mm: int
    spigot_um: int
    register_um: int
    bore_um: int
    outline: tuple[Corner, ...]
    holes: tuple[PlateHole, ...]
    grams: int
    least_wall_um: int | None
    least_edge_um: int
    hub: bool = False

    @property
    def register_side(self) -> str:
        """Whose side its register is bored in; its spigot stands on the other."""
        return ENGINE if self.hub else GEARBOX

    @property
    def spigot_side(self) -> str:
        """On whose side its spigot stands."""
        return GEARBOX if self.hub else ENGINE


@dataclass(frozen=True, slots=True)
class PlateFigure:
    """A figure of the design with where it comes from."""

    name: str
    value: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateDesign:
    """A plate that can be made. `angle_deg`: the gearbox turned anticlockwise, seen from the gearbox's side.

    `left_out`: holes that carry no load and had to go; `solved`: what had to be done about holes in each other's way;
    `turns`: what turns with the clocking; `order`: how a plate of two pieces goes together.
    """

    wanted: PlateWanted
    pieces: tuple[PlatePiece, ...]
    angle_deg: float
    solved: tuple[str, ...]
    left_out: tuple[str, ...]
    turns: tuple[str, ...]
    order: tuple[str, ...]
    figures: tuple[PlateFigure, ...]
    cautions: tuple[str, ...]
    measure: tuple[str, ...]
    bending: CheckResult | None

    @property
    def thickness_um(self) -> int:
        """Of all pieces together."""
        return sum(piece.thickness_um for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class PlateReason:
    """Why there is no plate: what stands against what, and what to move."""

    path: str
    what: str
    move: str

    def text(self) -> str:
        """Both as one sentence."""
        return f"{self.what}; {self.move}" if self.move else self.what


@dataclass(frozen=True, slots=True)
class PlateRefused:
    """No plate can be made as asked, with every reason."""

    reasons: tuple[PlateReason, ...]


def mm(um: int | Fraction) -> str:
    """Micrometres as millimetres with three places.

    >>> mm(4_200), mm(-50)
    ('4.200', '-0.050')
    """
    whole = round(um)
    sign = "-" if whole < 0 else ""
    return f"{sign}{abs(whole) // 1000}.{abs(whole) % 1000:03d}"

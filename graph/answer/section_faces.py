"""Where the faces of an assembly lie, added up from what each part adds to the length chains.

x is micrometres rearwards from the block's rear face. A chain is the way between a face on the engine's side and one on
the gearbox's (geometry, as in `graph.fits.length_sheet`); so what a part adds to a chain is a length of the part, seen
from the face before it. A part that states nothing has no length here; one that states two is not drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

# 1: engine's face less gearbox's face, -1: the other way round.
SIGNS = {
    "pilot-overlap": 1, "shoulder-to-bearing": -1, "tip-to-bore-bottom": -1, "release-gap": -1,
    "starter-rest-gap": -1, "starter-mesh-width": 1, "spline-spare-front": 1, "spline-spare-rear": -1,
}  # fmt: skip
_STARTER = ("starter-rest-gap", "starter-mesh-width")
_SPLINES = ("spline-spare-front", "spline-spare-rear")

CRANK, FLYWHEEL, FLYWHEEL_SPACER, COVER, DISC, PILOT = "crank", "flywheel", "flywheel spacer", "cover", "disc", "pilot"
PLATE, BELL, CASE, SHAFT, RELEASE, RELEASE_SPACER = "plate", "bell", "case", "shaft", "release", "release spacer"
STARTER, OTHER = "starter", "other"
ENGINE_ROLES = frozenset({CRANK, FLYWHEEL, FLYWHEEL_SPACER, COVER, DISC, PILOT})

_DEPTH = {**dict.fromkeys(("pilot-overlap", "shoulder-to-bearing", "tip-to-bore-bottom", *_SPLINES), "depth")}
FEATURES: Mapping[str, Mapping[str, str]] = {
    CRANK: {"tip-to-bore-bottom": "bottom", **dict.fromkeys(("release-gap", *_STARTER, *_SPLINES), "flange")},
    FLYWHEEL: {**dict.fromkeys(("release-gap", *_SPLINES), "face"), **dict.fromkeys(_STARTER, "ring")},
    FLYWHEEL_SPACER: dict.fromkeys(("release-gap", *_STARTER, *_SPLINES), "thickness"),
    COVER: {"release-gap": "fingers"},
    DISC: {"spline-spare-front": "front", "spline-spare-rear": "rear"},
    PILOT: {"pilot-overlap": "rear", "shoulder-to-bearing": "rear"},
    PLATE: {**_DEPTH, "release-gap": "depth"},
    BELL: {**_DEPTH, "release-gap": "depth"},
    CASE: _DEPTH,
    SHAFT: {
        "pilot-overlap": "tip", "tip-to-bore-bottom": "tip", "shoulder-to-bearing": "shoulder",
        "spline-spare-front": "spline start", "spline-spare-rear": "spline end",
    },
    RELEASE: {"release-gap": "face"},
    RELEASE_SPACER: {"release-gap": "face"},
}  # fmt: skip
ROLE_OF_PLACE = {
    "at-crank": CRANK, "at-flywheel": FLYWHEEL, "at-clutch-cover": COVER, "at-clutch-disc": DISC, "at-pilot": PILOT,
    "at-bell-housing": BELL, "at-gearbox-case": CASE, "at-input-shaft": SHAFT, "at-release-bearing": RELEASE,
    "at-starter": STARTER,
}  # fmt: skip
ROLE_OF_KIND = {
    "adapter-plate": PLATE, "housing-spacer": PLATE, "flywheel-spacer": FLYWHEEL_SPACER,
    "release-spacer": RELEASE_SPACER,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class HeldPart:
    """A part in the assembly: its `role`, and what it adds to each chain (micrometres), as stated or computed.

    `own_um`: a length of it that stands in no chain, where it is known: a bearing's width, a tail's length.
    """

    role: str
    part: str
    label: str
    place: str = ""
    fitted: bool = False
    shifts_um: Mapping[str, int] = field(default_factory=dict)
    own_um: int | None = None


class Faces:
    """The faces of one assembly; None is not known. `torn`: parts that state one length in two ways, in words."""

    def __init__(self, held: Iterable[HeldPart]):
        self.held = tuple(held)
        self.torn: dict[str, None] = {}

    def of(self, role: str) -> tuple[HeldPart, ...]:
        """The parts of that role, in the order of the assembly."""
        return tuple(one for one in self.held if one.role == role)

    def length(self, part: HeldPart, feature: str) -> int | None:
        """A length of one part: rearwards from the face before it."""
        own = FEATURES.get(part.role, {})
        way = 1 if part.role in ENGINE_ROLES else -1
        found = {way * SIGNS[chain] * um for chain, um in part.shifts_um.items() if own.get(chain) == feature}
        if len(found) > 1:
            said = ", ".join(f"{um / 1000:.3f} mm" for um in sorted(found))
            self.torn[f"{part.label}: its {feature} is stated in {len(found)} ways ({said}); it is not drawn"] = None
        return found.pop() if len(found) == 1 else None

    def sum_of(self, role: str, feature: str) -> int | None:
        """All parts of a role together; 0 where there is none of them, None where one of them does not say."""
        return added(*(self.length(one, feature) for one in self.of(role)))

    def only(self, role: str, feature: str) -> int | None:
        """The length of the one part of a role; None where there is none."""
        found = self.of(role)
        return self.length(found[0], feature) if len(found) == 1 else None

    @cached_property
    def flange(self) -> int | None:
        """The crankshaft's rear flange."""
        return self.only(CRANK, "flange")

    @cached_property
    def seat(self) -> int | None:
        """What the flywheel is bolted to: the flange, or a spacer on it."""
        return added(self.flange, self.sum_of(FLYWHEEL_SPACER, "thickness"))

    @cached_property
    def friction(self) -> int | None:
        """The flywheel's friction face."""
        return added(self.seat, self.only(FLYWHEEL, "face"))

    @cached_property
    def ring_rear(self) -> int | None:
        """The ring gear's rear edge."""
        return added(self.seat, self.only(FLYWHEEL, "ring"))

    @cached_property
    def bell_front(self) -> int | None:
        """The bell housing's front face: the block's, or that of the last plate."""
        return self.sum_of(PLATE, "depth")

    @cached_property
    def box_face(self) -> int | None:
        """The face that takes the gearbox."""
        return added(self.bell_front, self.sum_of(BELL, "depth") if self.of(BELL) else None)

    @cached_property
    def shaft_datum(self) -> int | None:
        """From where the shaft's lengths are taken: the gearbox's front mounting face, or where the case holds it."""
        return added(self.box_face, self.only(CASE, "depth"))

    def on_shaft(self, feature: str) -> int | None:
        """Tip, shoulder, spline start or spline end."""
        return added(self.shaft_datum, self.only(SHAFT, feature))

    def engine_face(self, chain: str) -> int | None:
        """The chain's face on the engine's side."""
        return self._engine_faces[chain]

    @cached_property
    def _engine_faces(self) -> Mapping[str, int | None]:
        friction, pilot = self.friction, self.only(PILOT, "rear")
        return {
            "pilot-overlap": pilot, "shoulder-to-bearing": pilot, "tip-to-bore-bottom": self.only(CRANK, "bottom"),
            "release-gap": added(friction, self.only(COVER, "fingers")),
            "starter-rest-gap": self.ring_rear, "starter-mesh-width": self.ring_rear,
            "spline-spare-front": added(friction, self.only(DISC, "front")),
            "spline-spare-rear": added(friction, self.only(DISC, "rear")),
        }  # fmt: skip

    def box_side_face(self, chain: str) -> int | None:
        """The chain's face on the gearbox's side: of the starter, where both it and what it is bolted to say theirs."""
        if chain in _STARTER:
            return self._pinion(chain)
        if chain == "release-gap":
            return added(self.box_face, self.sum_of(RELEASE_SPACER, "face"), self.only(RELEASE, "face"))
        return self.on_shaft(FEATURES[SHAFT][chain])

    def _pinion(self, chain: str) -> int | None:
        bound = [part for part in self.held if part.role in (STARTER, BELL)]
        if {part.role for part in bound if chain in part.shifts_um} != {STARTER, BELL}:
            return None
        return -SIGNS[chain] * sum(p.shifts_um.get(chain, 0) for p in self.held if p.role not in ENGINE_ROLES)


def added(*lengths: int | None) -> int | None:
    """The sum; None where one of them is not known.

    >>> added(1, 2), added(1, None)
    (3, None)
    """
    known: Sequence[int] = [one for one in lengths if one is not None]
    return sum(known) if len(known) == len(lengths) else None

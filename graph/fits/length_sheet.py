"""The measuring sheet of an engine and a gearbox, turned into the length chain of the joint between them.

Everything is brought to x: millimetres rearwards from the block's rear face. Each reading names the face it is
taken from (its datum), and a reading from another face is refused. Remedies and what they move:

    plate +t            everything on the gearbox rearwards by t; the starter too where it sits on the bell housing
    flywheel spacer +s  friction face, clutch fingers, disc hub, ring gear, bolt heads rearwards by s (and the pilot
                        bearing, where it sits in the flywheel)
    bearing shim +k     release bearing forwards by k
    pad milling +m      starter forwards by m
    pilot extension +e  rear face of the pilot bearing rearwards by e
    nose shortening +n  tip of the shaft rearwards by n
    flywheel reface +c  friction face, fingers and hub forwards by c

Rules are common practice and can be set: nose over 12 mm of a 16 mm bearing (three quarters), 3 mm from tip to the
bore's bottom, 2 mm from shoulder to bearing, spline spare 2 mm in front and 3 mm behind, hub 2 mm clear, release gap
3 to 5 mm, starter 2 to 4 mm clear at rest and meshing on 9 mm of 12 (three quarters).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields

from graph.errors import InvalidInput, Problem
from graph.fits.length_chain import BuildChains, Form, Requirement, reading, remedy
from graph.fits.lengths import basic
from graph.fits.model import NM_PER_MM, Dimension, Missing, show_nm

BLOCK_FACE = "block rear face"
FLANGE = "crank flange"
FRICTION_FACE = "flywheel friction face"
BELL_FACE = "bell housing front face"
BOX_FACE = "gearbox front mounting face"
TIP = "input shaft tip"

PLATE = "plate"
SPACER = "flywheel spacer"
SHIM = "bearing shim"
PAD_MILLING = "starter pad milling"
PILOT_EXTENSION = "pilot extension"
NOSE_SHORTENING = "nose shortening"
REFACE = "flywheel reface"

ON_BELL, ON_BLOCK = "bell housing", "block"
IN_CRANK, IN_FLYWHEEL = "crank", "flywheel"


NO_WEAR = basic("hub wear travel", "0 mm", source="not asked for")

# the face each reading is taken from; sizes stand alone
DATUMS = {
    "crank_flange": BLOCK_FACE,
    **dict.fromkeys(("bore_depth", "bearing_inset", "friction_face", "bolt_heads", "ring_front"), FLANGE),
    **dict.fromkeys(("fingers", "hub_front"), FRICTION_FACE),
    **dict.fromkeys(("bell_depth", "pinion_at_rest", "pinion_out"), BELL_FACE),
    **dict.fromkeys(("stick_out", "bearing_height"), BOX_FACE),
    **dict.fromkeys(("nose_length", "spline_start", "spline_end"), TIP),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineSide:
    """Readings on the engine; None is not measured. Rearwards from the datum counts plus, except bore depth, which
    is forwards from the flange, and bearing inset, forwards from the flange to the pilot bearing's rear face."""

    crank_flange: Dimension | None = None
    bore_depth: Dimension | None = None
    bearing_inset: Dimension | None = None
    bearing_width: Dimension | None = None
    friction_face: Dimension | None = None
    bolt_heads: Dimension | None = None
    fingers: Dimension | None = None
    hub_front: Dimension | None = None
    hub_length: Dimension | None = None
    ring_front: Dimension | None = None
    ring_width: Dimension | None = None
    hub_wear: Dimension = NO_WEAR
    pilot_in: str = IN_CRANK


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxSide:
    """Readings on gearbox, bell housing and starter; None is not measured.

    Bell depth: bell front face to the box's mounting face. Stick-out: forwards from that face to the tip. Spline
    start and end, nose length: rearwards from the tip. Bearing height: forwards from the mounting face to where the
    release bearing touches. Pinion: its front edge, rearwards from the bell's front face (the block's rear face
    where the starter sits on the block).
    """

    bell_depth: Dimension | None = None
    stick_out: Dimension | None = None
    nose_length: Dimension | None = None
    spline_start: Dimension | None = None
    spline_end: Dimension | None = None
    bearing_height: Dimension | None = None
    pinion_at_rest: Dimension | None = None
    pinion_out: Dimension | None = None
    starter_on: str = ON_BELL


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainRules:
    """The shop's rules, whole nanometres (see the module's head for where the figures come from)."""

    pilot_overlap_nm: int = 12 * NM_PER_MM
    tip_to_bottom_nm: int = 3 * NM_PER_MM
    shoulder_nm: int = 2 * NM_PER_MM
    spline_front_nm: int = 2 * NM_PER_MM
    spline_rear_nm: int = 3 * NM_PER_MM
    hub_nm: int = 2 * NM_PER_MM
    release_gap_nm: tuple[int, int] = (3 * NM_PER_MM, 5 * NM_PER_MM)
    starter_rest_nm: tuple[int, int] = (2 * NM_PER_MM, 4 * NM_PER_MM)
    starter_mesh_nm: int = 9 * NM_PER_MM


def chain_of(
    engine: EngineSide,
    box: BoxSide,
    rules: ChainRules | None = None,
    limits: Mapping[str, tuple[int, int]] | None = None,
) -> BuildChains:
    """The length chain of engine and box. What has not been measured leaves its requirements unknown, not out.

    `limits`: how far a remedy can go, such as 6 mm off the starter pad. Raises InvalidInput with every fault:
    datum missing or another face, impossible order of faces, negative sizes.
    """
    problems = [*_datum_problems(engine, box), *_order_problems(engine, box)]
    if problems:
        raise InvalidInput(problems)
    sheet = _Sheet(engine, box)
    rules = rules or ChainRules()
    build = sheet.requirement
    gap, rest = rules.release_gap_nm, rules.starter_rest_nm
    requirements = (
        build("pilot overlap", sheet.pilot_overlap, rules.pilot_overlap_nm),
        build("tip to bore bottom", sheet.tip_to_bottom, rules.tip_to_bottom_nm),
        build("shoulder to bearing", sheet.shoulder, rules.shoulder_nm),
        build("spline spare in front", sheet.spline_front, rules.spline_front_nm),
        build("spline spare behind", sheet.spline_rear, rules.spline_rear_nm),
        build("hub clearance", sheet.hub_clearance, rules.hub_nm),
        build("release gap", sheet.release_gap, *gap),
        build("starter rest gap", sheet.starter_rest, *rest),
        build("starter mesh", sheet.starter_mesh, rules.starter_mesh_nm),
    )
    return BuildChains(requirements=requirements, limits=dict(limits or {}))


class _Sheet:
    """Where every face lies, as forms in x. A reading that is lacking is noted for the requirement that asked."""

    def __init__(self, engine: EngineSide, box: BoxSide):
        self.engine, self.box = engine, box
        self._lacking: dict[str, Missing] = {}

    def requirement(
        self, name: str, forms: Callable[[], tuple[Form, ...]], low_nm: int, high_nm: int | None = None
    ) -> Requirement:
        self._lacking = {}
        built = forms()
        missing = tuple(Missing(item.name, name, item.datum) for item in self._lacking.values())
        return Requirement(
            name=name, forms=() if missing else built, low_nm=low_nm, high_nm=high_nm, missing=missing,
            source="chain of readings; limit common practice",
        )  # fmt: skip

    def _read(self, side: EngineSide | BoxSide, name: str) -> Form:
        dimension = getattr(side, name)
        if dimension is None:
            self._lacking[name] = Missing(name.replace("_", " "), datum=_datum_of(name, self.box))
            return Form()
        return reading(dimension)

    def _on_engine(self, name: str) -> Form:
        return self._read(self.engine, name)

    def _on_box(self, name: str) -> Form:
        return self._read(self.box, name)

    def _flange(self) -> Form:
        return self._on_engine("crank_flange")

    def _bearing_seat(self) -> Form:
        seat = self._flange() - self._on_engine("bearing_inset")
        return seat + remedy(SPACER) if self.engine.pilot_in == IN_FLYWHEEL else seat

    def _bearing_rear(self) -> Form:
        return self._bearing_seat() + remedy(PILOT_EXTENSION)

    def _bearing_front(self) -> Form:
        return self._bearing_seat() - self._on_engine("bearing_width")

    def _friction(self) -> Form:
        return self._flange() + self._on_engine("friction_face") + remedy(SPACER) - remedy(REFACE)

    def _hub_front(self) -> Form:
        return self._friction() + self._on_engine("hub_front")

    def _ring_front(self) -> Form:
        return self._flange() + self._on_engine("ring_front") + remedy(SPACER)

    def _ring_rear(self) -> Form:
        return self._ring_front() + self._on_engine("ring_width")

    def _box_face(self) -> Form:
        return remedy(PLATE) + self._on_box("bell_depth")

    def _drawn_tip(self) -> Form:
        """The tip as measured; spline and nose lengths start here, shortened or not."""
        return self._box_face() - self._on_box("stick_out")

    def _tip(self) -> Form:
        return self._drawn_tip() + remedy(NOSE_SHORTENING)

    def _shoulder(self) -> Form:
        return self._drawn_tip() + self._on_box("nose_length")

    def _pinion(self, name: str) -> Form:
        place = self._on_box(name) - remedy(PAD_MILLING)
        return place + remedy(PLATE) if self.box.starter_on == ON_BELL else place

    def pilot_overlap(self) -> tuple[Form, ...]:
        rears, fronts = (self._bearing_rear(), self._shoulder()), (self._bearing_front(), self._tip())
        return tuple(rear - front for rear in rears for front in fronts)

    def tip_to_bottom(self) -> tuple[Form, ...]:
        bottom = self._flange() - self._on_engine("bore_depth")
        return (self._tip() - bottom,)

    def shoulder(self) -> tuple[Form, ...]:
        return (self._shoulder() - self._bearing_rear(),)

    def spline_front(self) -> tuple[Form, ...]:
        worn = self._hub_front() - reading(self.engine.hub_wear)
        return (worn - self._drawn_tip() - self._on_box("spline_start"),)

    def spline_rear(self) -> tuple[Form, ...]:
        hub_rear = self._hub_front() + self._on_engine("hub_length")
        return (self._drawn_tip() + self._on_box("spline_end") - hub_rear,)

    def hub_clearance(self) -> tuple[Form, ...]:
        worn = self._hub_front() - reading(self.engine.hub_wear)
        bolts = self._flange() + self._on_engine("bolt_heads") + remedy(SPACER)
        return worn - bolts, worn - self._bearing_rear()

    def release_gap(self) -> tuple[Form, ...]:
        bearing = self._box_face() - self._on_box("bearing_height") - remedy(SHIM)
        return (bearing - self._friction() - self._on_engine("fingers"),)

    def starter_rest(self) -> tuple[Form, ...]:
        return (self._pinion("pinion_at_rest") - self._ring_rear(),)

    def starter_mesh(self) -> tuple[Form, ...]:
        return self._on_engine("ring_width"), self._ring_rear() - self._pinion("pinion_out")


def _datum_of(name: str, box: BoxSide) -> str:
    if name.startswith("pinion") and box.starter_on == ON_BLOCK:
        return BLOCK_FACE
    return DATUMS.get(name, "")


def _datum_problems(engine: EngineSide, box: BoxSide) -> list[Problem]:
    problems = []
    if engine.pilot_in not in (IN_CRANK, IN_FLYWHEEL):
        problems.append(Problem("engine.pilot_in", f"expected crank or flywheel, found {engine.pilot_in!r}"))
    if box.starter_on not in (ON_BELL, ON_BLOCK):
        problems.append(Problem("box.starter_on", f"expected bell housing or block, found {box.starter_on!r}"))
    for label, side in (("engine", engine), ("box", box)):
        for item in fields(side):
            dimension = getattr(side, item.name)
            wanted = _datum_of(item.name, box)
            if isinstance(dimension, Dimension) and wanted and dimension.datum != wanted:
                found = f"found {dimension.datum!r}; refer it to that face" if dimension.datum else "found no datum"
                problems.append(Problem(f"{label}.{item.name}.datum", f"expected from the {wanted}, {found}"))
    return problems


_POSITIVE = (
    "bore_depth", "bearing_width", "friction_face", "fingers", "hub_length", "ring_width", "bell_depth",
    "nose_length", "spline_end", "bearing_height",
)  # fmt: skip


def _order_problems(engine: EngineSide, box: BoxSide) -> list[Problem]:
    problems = []
    for label, side in (("engine", engine), ("box", box)):
        for item in fields(side):
            dimension = getattr(side, item.name)
            if isinstance(dimension, Dimension) and item.name in _POSITIVE and dimension.low_nm <= 0:
                text = f"must be above zero, found {show_nm(dimension.low_nm)} at the low limit"
                problems.append(Problem(f"{label}.{item.name}", text))
    for first, second in (("spline_start", "spline_end"), ("pinion_out", "pinion_at_rest")):
        near, far = getattr(box, first), getattr(box, second)
        if near is not None and far is not None and near.nominal_nm >= far.nominal_nm:
            text = f"{show_nm(near.nominal_nm)} lies behind {second} {show_nm(far.nominal_nm)}; are they exchanged?"
            problems.append(Problem(f"box.{first}", text))
    return problems

"""What a route puts together, checked from what is stated of its parts: hands, bolts, dowels, sensor, oil.

A check is begun once somebody has stated one of its quantities of a part on the route; from then on what is missing is
unknown and named. One that nobody has begun stands as a thing to look at at its step (the tasks' `check_when_fitted`)
and is none of the answer's doubts. Only the oil is always told: no box is filled without it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from graph.answer.ground import Ground
from graph.answer.model.fit import AssemblyCheck
from graph.catalogue.model import NEEDS, SHIFTS
from graph.derive.around import deriver_of
from graph.derive.joints.clutch import check_hub_clearance
from graph.derive.joints.faces import check_starter_side
from graph.derive.measured import Measured
from graph.fits.bolt_length import check_bolt_length
from graph.fits.dowels import check_dowels
from graph.fits.hand import check_input_hand, check_pinion_hand, check_tooth_pitch
from graph.fits.model import NM_PER_MM, NM_PER_UM, CheckResult, Dimension, Missing, Verdict, unknown
from graph.fits.oil import check_oil_kind, check_oil_level
from graph.fits.sensor_gap import check_sensor_gap
from graph.search.result import Route

BLOCK, CRANK, FLYWHEEL, HOUSING = "at-block", "at-crank", "at-flywheel", "at-bell-housing"
DISC, STARTER, SENSOR, RING = "at-clutch-disc", "at-starter", "at-crank-sensor", "at-synchro-ring-"
ENGINE_FACE, ON_CRANK = "engine-face", "flywheel-to-crank"
DRAINED = ("raised-and-drained",)
BEFORE, BOX_OUT, CLOSING, ON_MOUNTS = "before-ordering", "box-out", "before-closing", "on-its-mounts"


@dataclass(frozen=True)
class PickedParts:
    """The parts of one route, with what is stated of them."""

    ground: Ground
    route: Route
    measured: Measured

    def at(self, place: str) -> str:
        """The part at the place, "" where the route has none there that the catalogue knows."""
        pick = self.route.picks.get(place)
        if pick is None or self.ground.is_empty(pick):
            return ""
        part = self.ground.candidates[pick].part
        return part if part in self.ground.catalogue.parts else ""

    @property
    def vehicle(self) -> str:
        """The vehicle of the question, "" where none is named."""
        return self.ground.reading.question.unit_of("vehicle") if self.ground.reading else ""

    def begun(self, *wanted: tuple[str, str]) -> bool:
        """Has somebody stated one of these quantities of these parts?"""
        return any(part and self.measured.has_any(part, [quantity]) for part, quantity in wanted)

    def word(self, part: str, quantity: str) -> str | None:
        """What was seen of it; None where nobody looked."""
        found = self.measured.word(part, quantity) if part else None
        return found.text if found else None

    def length(self, part: str, quantity: str) -> Dimension | None:
        """The settled length; None where it is missing or in dispute."""
        return self.measured.length(part, quantity) if part else None

    def number(self, part: str, quantity: str) -> Fraction | None:
        """The settled count or angle; None where it is missing or in dispute."""
        found = self.measured.number(part, quantity) if part else None
        return found[0] if found else None

    def between(self, joint: str, kind: str) -> list[str]:
        """The parts of that kind that the route lays into the joint."""
        parts = self.ground.catalogue.parts
        links = (link for one, link in self.route.links.items() if self.ground.joints[one].kind == joint)
        found = (part for link in links for part in self.ground.links[link].via)
        return [part for part in found if part in parts and parts[part].kind == kind]

    def bolts_of(self, between: Iterable[str]) -> str:
        """The bolts that the route fits because what it lays between needs them; "" where the old ones are used."""
        index, parts = self.ground.index, self.ground.catalogue.parts
        fitted = {self.ground.candidates[pick].part for pick in self.route.picks.values()}
        fitted -= {self.ground.candidates[p].part for p in self.route.picks.values() if self.ground.is_empty(p)}
        needed = (edge.target for part in between for edge in (index.edges_at(part, NEEDS) if index else ()))
        return next((one for one in needed if one in fitted and parts[one].kind == "fastener-set"), "")

    def thickness(self, part: str, quantity: str) -> Dimension | None:
        """How thick a plate or spacer is: as measured, else by how much it is noted to move what it moves."""
        known = self.measured.catalogue.quantities.get(quantity)
        read = self.measured.length(part, quantity) if part in self.measured.catalogue.parts else None
        if read is not None or known is None or self.ground.index is None:
            return read
        moved = {
            abs(edge.shift_um or 0)
            for edge in self.ground.index.side_effects(part)
            if edge.kind == SHIFTS and edge.target in (*known.adds_to, *known.takes_from) and edge.shift_um
        }
        if len(moved) != 1:
            return None
        nm = moved.pop() * NM_PER_UM
        return Dimension(name=known.label, nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True, part=part)


def check_lines(ground: Ground, route: Route) -> tuple[AssemblyCheck, ...]:
    """The checks of this route, each with where the job is halted for it; none for a document without its reading."""
    parts = picked_parts(ground, route)
    return () if parts is None else tuple(_lines(parts))


def picked_parts(ground: Ground, route: Route) -> PickedParts | None:
    """The route's parts with their readings; None for a document that came without its reading."""
    if ground.index is None or ground.reading is None:
        return None
    key = ("measured", "")
    if key not in ground.kept:
        ground.kept[key] = deriver_of(ground.index).measured
    return PickedParts(ground, route, ground.kept[key])


def _lines(parts: PickedParts) -> Iterator[AssemblyCheck]:
    for check, label, stop, judge in _CHECKS:
        result = judge(parts)
        if result is not None:
            yield _line(check, label, stop, result)


def _line(check: str, label: str, stop: str, result: CheckResult) -> AssemblyCheck:
    told = result.summary
    verdict = Verdict.HOLDS if result.verdict is Verdict.HOLDS_WITH_WORK else result.verdict
    missing = tuple(item.name for item in result.measure)
    if verdict is Verdict.UNKNOWN and not told.startswith("unknown"):
        told = f"unknown: {told}; {', '.join(missing)}"
    return AssemblyCheck(
        check=check, label=label, verdict=str(verdict), words=told, stop=stop, measure=missing,
        working=tuple(f"{line.symbol} = {line.numbers} = {line.value}" for line in result.working.lines),
    )  # fmt: skip


def _hand(parts: PickedParts) -> CheckResult | None:
    engine, gearbox = parts.ground.conversion.engine, parts.ground.conversion.gearbox
    if not parts.begun((gearbox, "input-hand")):
        return None
    gears = parts.number(gearbox, "forward-gears")
    return check_input_hand(parts.word(engine, "engine-hand"), parts.word(gearbox, "input-hand"), gears)


def _starter_hand(parts: PickedParts) -> CheckResult | None:
    starter = parts.at(STARTER)
    if not parts.begun((starter, "pinion-turns")):
        return None
    engine = parts.word(parts.ground.conversion.engine, "engine-hand")
    return check_pinion_hand(engine, parts.word(starter, "pinion-turns"))


@dataclass(frozen=True, slots=True)
class BoltedJoint:
    """A joint held by bolts. `held`, `tapped`: places of what the heads clamp and of the thread; `between`: the kind
    laid between and the quantity of its thickness; the rest: quantities."""

    name: str
    joint: str
    held: str
    tapped: str
    between: tuple[str, str]
    length: str
    grip: str
    thread: str
    depth: str
    material: str = ""  # of the thread; "" a crankshaft, taken as steel


ON_FLANGE = BoltedJoint(
    "flywheel bolts", ON_CRANK, FLYWHEEL, CRANK, ("flywheel-spacer", "flywheel-spacer-thickness"),
    "flywheel-bolt-length", "flywheel-bolt-grip", "crank-thread", "crank-hole-depth",
)  # fmt: skip
ON_BLOCK = BoltedJoint(
    "housing bolts", ENGINE_FACE, HOUSING, BLOCK, ("adapter-plate", "plate-thickness"),
    "housing-bolt-length", "housing-bolt-grip", "block-thread", "block-hole-depth", "block-material",
)  # fmt: skip


def _flywheel_bolts(parts: PickedParts) -> CheckResult | None:
    return _bolts(parts, ON_FLANGE)


def _housing_bolts(parts: PickedParts) -> CheckResult | None:
    return _bolts(parts, ON_BLOCK)


def _bolts(parts: PickedParts, at: BoltedJoint) -> CheckResult | None:
    """Bolts that go through what was laid between lose its thickness of thread, unless it brings its own."""
    held, tapped = parts.at(at.held), parts.at(at.tapped)
    between = parts.between(at.joint, at.between[0])
    owner = parts.bolts_of(between) or held
    if not (held and tapped and parts.begun((owner, at.length), (held, at.grip), (tapped, at.depth))):
        return None
    thick = [parts.thickness(part, at.between[1]) for part in between]
    if None in thick:
        unmeasured = between[thick.index(None)]
        return unknown(at.name, [Missing(f"how thick {parts.ground.part_label(unmeasured)} is")])
    thread = parts.length(tapped, at.thread)
    return check_bolt_length(
        at.name, parts.length(owner, at.length), parts.length(held, at.grip), thread.nominal_nm if thread else None,
        parts.length(tapped, at.depth), parts.word(tapped, at.material) if at.material else "steel",
        next((one for one in thick if one is not None), None),
    )  # fmt: skip


def _dowels(parts: PickedParts) -> CheckResult | None:
    read = ((parts.at(BLOCK), "dowels-standing"), (parts.at(HOUSING), "dowel-holes"))
    if not parts.begun(*read):
        return None
    pins, holes = (parts.number(*one) for one in read)
    return check_dowels(pins, holes)


def _hub(parts: PickedParts) -> CheckResult | None:
    """Also where disc and flywheel came out of one engine: another pilot holder or other bolts may stand there now."""
    flywheel, disc = parts.at(FLYWHEEL), parts.at(DISC)
    if not (disc and parts.begun((flywheel, "bolt-head-depth"), (disc, "spring-front-reach"))):
        return None
    heads, hub = parts.length(flywheel, "bolt-head-depth"), parts.length(disc, "hub-front-reach")
    if heads is None or hub is None:
        missing = [(heads, "how far ahead of the friction face the flywheel's bolt heads end"),
                   (hub, "how far the disc's hub stands ahead of it, the disc the right way round")]  # fmt: skip
        return unknown("hub and springs", [Missing(name) for value, name in missing if value is None])
    return check_hub_clearance(heads, hub, parts.length(disc, "spring-front-reach"))


def _starter_side(parts: PickedParts) -> CheckResult | None:
    read = ((parts.at(HOUSING), "starter-side"), (parts.at(STARTER), "starter-side"))
    if not (parts.at(STARTER) and parts.begun(*read)):
        return None
    room, built = (parts.word(*one) for one in read)
    return check_starter_side(room, built)


def _starter_pitch(parts: PickedParts) -> CheckResult | None:
    read = ((parts.at(FLYWHEEL), "ring-gear-module"), (parts.at(STARTER), "pinion-module"))
    if not (parts.at(STARTER) and parts.begun(*read)):
        return None
    ring, pinion = (parts.length(*one) for one in read)
    return check_tooth_pitch(*(Fraction(one.nominal_nm, NM_PER_MM) if one else None for one in (ring, pinion)))


def _sensor(parts: PickedParts) -> CheckResult | None:
    """After a flywheel spacer only: without one the ring stays where it was."""
    sensor, spacers = parts.at(SENSOR), parts.between(ON_CRANK, "flywheel-spacer")
    if not (sensor and spacers):
        return None
    moved = parts.thickness(spacers[0], "flywheel-spacer-thickness")
    return check_sensor_gap(
        parts.word(sensor, "sensor-reads"), parts.length(sensor, "sensor-air-gap"), moved,
        parts.length(sensor, "sensor-ring-spare"),
    )  # fmt: skip


def _oil(parts: PickedParts) -> CheckResult | None:
    """By the rings that are fitted after this route, at every place that has one."""
    if not set(DRAINED) & set(parts.route.tasks):
        return None
    places = sorted(place for place in parts.route.picks if place.startswith(RING))
    rings = [(parts.at(place), place) for place in places if parts.at(place)]
    made_of = [(parts.ground.part_label(part), parts.word(part, "ring-material")) for part, _ in rings]
    return check_oil_kind(parts.word(parts.ground.conversion.gearbox, "oil-wanted"), made_of)


def _oil_level(parts: PickedParts) -> CheckResult | None:
    gearbox, vehicle = parts.ground.conversion.gearbox, parts.vehicle
    read = ((gearbox, "level-plug-behind"), (vehicle, "installed-angle"))
    if not parts.begun(*read, (gearbox, "designed-angle")):
        return None
    plug, angle = parts.length(*read[0]), parts.number(*read[1])
    designed = parts.number(gearbox, "designed-angle")
    if plug is None or angle is None or designed is None:
        missing = [
            (plug, "how far the level plug lies behind the middle of the oil space"),
            (angle, "how far the gearbox's rear stands below its front, as installed (name the vehicle)"),
            (designed, "the angle that it was made to stand at"),
        ]
        return unknown("oil level", [Missing(name) for value, name in missing if value is None])
    return check_oil_level(plug.nominal_nm, angle, designed)


_CHECKS: tuple[tuple[str, str, str, Callable[[PickedParts], CheckResult | None]], ...] = (
    ("hand", "hand of rotation", BEFORE, _hand),
    ("starter-hand", "starter's hand", BEFORE, _starter_hand),
    ("starter-side", "starter's side", BEFORE, _starter_side),
    ("starter-pitch", "pinion in the ring gear", BEFORE, _starter_pitch),
    ("hub", "disc's hub to the flywheel's bolts", BOX_OUT, _hub),
    ("flywheel-bolts", "flywheel bolts", BOX_OUT, _flywheel_bolts),
    ("housing-bolts", "housing bolts", BOX_OUT, _housing_bolts),
    ("dowels", "dowels, both faces", BOX_OUT, _dowels),
    ("sensor", "crankshaft sensor to its ring", BOX_OUT, _sensor),
    ("oil", "oil", CLOSING, _oil),
    ("oil-level", "oil level at the installed angle", ON_MOUNTS, _oil_level),
)
OIL = ("oil",)  # told, and no reason to doubt the route


def failing(lines: Iterable[AssemblyCheck]) -> tuple[AssemblyCheck, ...]:
    """The lines that fail."""
    return tuple(line for line in lines if line.verdict == Verdict.FAILS)


def to_confirm(lines: Iterable[AssemblyCheck]) -> tuple[str, ...]:
    """What to measure before money is spent; what fails is said before all else."""
    return tuple(
        f"{line.label}: {line.words}" for line in lines if line.verdict == Verdict.UNKNOWN and line.check not in OIL
    )

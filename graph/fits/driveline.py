"""Propshaft joint angles and critical speed. Length, slip and lever are in `graph.fits.propshaft`.

Angles in degrees, speeds in revolutions per minute, lengths in whole nanometres. Sources are named at each
function. Angles are measured last, with the mounts final and the suspension loaded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import acos, cos, degrees, pi, radians, sqrt, tan

from graph.errors import InvalidInput, Problem
from graph.fits.model import (
    Amount,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Working,
    bare_mm,
    list_missing,
    show_number,
    unknown,
)
from graph.fits.tables_drive import AngleLimit

JOINT_RULE = "each joint 0.5 to 3 deg, ends within 1 deg of each other: joint-maker's angle rules"
LEAST_ANGLE, SMOOTH_ANGLE, MOST_DIFFERENCE = Fraction(1, 2), Fraction(3), Fraction(1)
READING_DEG = Fraction(1, 10)  # an angle gauge, common practice
SPEED_PART = Fraction(75, 100)  # of the critical speed, common practice
PART_SOURCE = "three quarters of the critical speed, common practice"
SHAFT_CAUTION = "A propshaft that breaks or whips can kill: have it balanced, keep guards and loops in place."


def joint_angle_deg(side_a: float, plan_a: float, side_b: float, plan_b: float) -> float:
    """The true angle between two shafts from their slopes in side and plan view, all in degrees.

    Each shaft is the direction (1, tan plan, tan side); the angle follows from the scalar product (geometry).
    """
    for name, value in (("side_a", side_a), ("plan_a", plan_a), ("side_b", side_b), ("plan_b", plan_b)):
        if not -60 <= value <= 60:
            raise InvalidInput([Problem(name, f"expected -60 to 60 degrees, found {value}")])
    first = (1.0, tan(radians(plan_a)), tan(radians(side_a)))
    second = (1.0, tan(radians(plan_b)), tan(radians(side_b)))
    product = sum(a * b for a, b in zip(first, second, strict=True))
    lengths = sqrt(sum(a * a for a in first) * sum(b * b for b in second))
    return degrees(acos(max(-1.0, min(1.0, product / lengths))))


def fluctuation_rpm(speed_rpm: float, angle_deg: float) -> tuple[float, float]:
    """(lowest, highest) speed behind one universal joint: n cos b and n / cos b (kinematics of the Cardan joint)."""
    if not 0 <= angle_deg < 60:
        raise InvalidInput([Problem("angle_deg", f"expected 0 to below 60, found {angle_deg}")])
    return speed_rpm * cos(radians(angle_deg)), speed_rpm / cos(radians(angle_deg))


def angle_for_fluctuation_deg(part: float) -> float:
    """The joint angle whose total fluctuation (n_max - n_min)/n is `part`: 1/cos b - cos b = part."""
    if part < 0:
        raise InvalidInput([Problem("part", f"cannot be negative, found {part}")])
    return degrees(acos((-part + sqrt(part * part + 4)) / 2))


def get_angle_limit(limits: Sequence[AngleLimit], speed_rpm: Fraction | int) -> AngleLimit:
    """The limit for a propshaft speed: the row of that speed or the next higher one.

    Raises InvalidInput for a speed above the table.
    """
    if speed_rpm <= 0:
        raise InvalidInput([Problem("speed_rpm", f"must be above zero, found {show_number(Fraction(speed_rpm))}")])
    rows = sorted((row for row in limits if row.speed_rpm >= speed_rpm), key=lambda row: row.speed_rpm)
    if not rows:
        fastest = max(row.speed_rpm for row in limits)
        raise InvalidInput(
            [
                Problem(
                    "speed_rpm",
                    f"the table of joint angles ends at {fastest} 1/min, found {show_number(Fraction(speed_rpm))}",
                )
            ]
        )
    return rows[0]


def check_joint_angles(
    limits: Sequence[AngleLimit],
    front_deg: Fraction | None,
    rear_deg: Fraction | None,
    speed_rpm: Fraction | int,
    *,
    reading_deg: Fraction = READING_DEG,
) -> CheckResult:
    """Are the two joints of a propshaft within limits at its top speed, and equal within 1 degree?

    The ends cancel only with the yokes in phase; shafts parallel or crossing symmetrically. Above 3 degrees it
    still holds up to the table's limit, with a caution (vibration). `reading_deg`: uncertainty of the gauge; a limit
    that the readings lie across leaves it UNKNOWN.
    """
    joint = "joint angles"
    if front_deg is None or rear_deg is None:
        return unknown(
            joint,
            list_missing(
                [("the front joint's angle", front_deg, "loaded"), ("the rear joint's angle", rear_deg, "loaded")]
            ),
        )
    if reading_deg < 0:
        raise InvalidInput([Problem("reading", f"cannot be negative, found {show_number(reading_deg)}")])
    row = get_angle_limit(limits, speed_rpm)
    rooms = [
        _Room("front joint too straight", front_deg - LEAST_ANGLE, reading_deg),
        _Room("rear joint too straight", rear_deg - LEAST_ANGLE, reading_deg),
        _Room("front joint too steep", row.angle_deg - front_deg, reading_deg),
        _Room("rear joint too steep", row.angle_deg - rear_deg, reading_deg),
        _Room("ends unequal", MOST_DIFFERENCE - abs(front_deg - rear_deg), 2 * reading_deg),
    ]
    least = min(rooms, key=lambda room: room.room - room.doubt)
    verdict = Verdict.HOLDS
    if least.room < least.doubt:
        verdict = Verdict.FAILS if any(room.room < -room.doubt for room in rooms) else Verdict.UNKNOWN
    cautions = [SHAFT_CAUTION, "Check that both yokes are in phase."]
    if max(front_deg, rear_deg) > SMOOTH_ANGLE:
        cautions.append("Above 3 deg expect vibration.")
    if row.origin.confidence == "memory":
        cautions.append("The limit at this speed is from memory; check it before relying on it.")
    numbers = f"{show_number(front_deg)} and {show_number(rear_deg)} deg at {show_number(Fraction(speed_rpm))} 1/min"
    numbers += f", limit {show_number(row.angle_deg)} (of {row.speed_rpm} 1/min)"
    source = f"{JOINT_RULE}; {row.origin.source}"
    words = {Verdict.FAILS: f": {least.name}", Verdict.UNKNOWN: f": cannot tell ({least.name}), measure finer"}
    finer = (
        Missing("both joint angles finer", f"{least.name} lies within the gauge's {show_number(reading_deg)} deg"),
    )
    lines = [Line("angles", "0.5 <= angle <= limit; |front - rear| <= 1", numbers, "", source)]
    return CheckResult(
        joint=joint, verdict=verdict, margin=Amount(least.room - least.doubt, "deg"), binding=least.name,
        summary=numbers + words.get(verdict, ""), measure=finer if verdict is Verdict.UNKNOWN else (),
        working=Working((*lines, *(room.line() for room in rooms))), cautions=tuple(cautions),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Room:
    """How much is left to one limit, and how far the readings behind it may be out (degrees)."""

    name: str
    room: Fraction
    doubt: Fraction

    def line(self) -> Line:
        worst = self.room - self.doubt
        numbers = f"{show_number(self.room)} - {show_number(self.doubt)}"
        return Line(f"room, {self.name}", "nominal room - reading", numbers, f"{show_number(worst)} deg", JOINT_RULE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """A propshaft tube: length between joints, outside diameter, wall (nm); modulus (GPa), density (kg/m3)."""

    length_nm: int
    outer_nm: int
    wall_nm: int
    modulus_gpa: Fraction
    density_kg_m3: Fraction

    def __post_init__(self) -> None:
        faults = []
        for name in ("length_nm", "outer_nm", "wall_nm", "modulus_gpa", "density_kg_m3"):
            if getattr(self, name) <= 0:
                faults.append(Problem(name, f"must be above zero, found {getattr(self, name)}"))
        if self.wall_nm * 2 > self.outer_nm:
            faults.append(Problem("wall_nm", "twice the wall is more than the outside diameter"))
        if faults:
            raise InvalidInput(faults)


def critical_speed_rpm(tube: Tube) -> float:
    """First bending critical speed of a uniform tube on two simple supports.

    omega = pi^2 sqrt(E I / (rho A L^4)) (beam theory, Euler-Bernoulli). A lumped-mass model gives about 30 % less.
    """
    return (
        30
        / pi
        * pi**2
        * sqrt(float(tube.modulus_gpa) * 1e9 * _stiffness(tube) / float(tube.density_kg_m3))
        / (tube.length_nm / 1e9) ** 2
    )


def lumped_critical_speed_rpm(tube: Tube) -> float:
    """The same with all mass at mid-length: omega = sqrt(48 E I / (m L^3)); what some exercise books print."""
    return (
        30
        / pi
        * sqrt(48 * float(tube.modulus_gpa) * 1e9 * _stiffness(tube) / float(tube.density_kg_m3))
        / (tube.length_nm / 1e9) ** 2
    )


def _stiffness(tube: Tube) -> float:
    """I / A of a tube, in m2: (Do^2 + Di^2) / 16."""
    outer, inner = tube.outer_nm / 1e9, (tube.outer_nm - 2 * tube.wall_nm) / 1e9
    return (outer**2 + inner**2) / 16


def check_critical_speed(
    tube: Tube | None, speed_rpm: Fraction | int | None, *, part: Fraction = SPEED_PART
) -> CheckResult:
    """Does the propshaft turn below `part` (0.75, common practice) of its first critical speed?"""
    joint = "critical speed"
    if tube is None or speed_rpm is None:
        return unknown(
            joint,
            list_missing([("the propshaft tube", tube, "length, diameter, wall"), ("its top speed", speed_rpm, "")]),
        )
    critical = round(critical_speed_rpm(tube))
    limit, speed = critical * part, Fraction(speed_rpm)
    sizes = f"L {bare_mm(tube.length_nm)} mm, {bare_mm(tube.outer_nm)} x {bare_mm(tube.wall_nm)} mm"
    made = f"E {show_number(tube.modulus_gpa)} GPa, rho {show_number(tube.density_kg_m3)} kg/m3"
    lines = (
        Line(
            "n_crit", "30 pi sqrt(E (Do^2 + Di^2) / (16 rho L^4))", f"{sizes}, {made}", f"{critical} 1/min",
            "uniform beam on simple supports (beam theory)",
        ),
        Line(
            "with the mass at mid-length", "30 / pi sqrt(48 E I / (m L^3))", f"{sizes}, {made}",
            f"{round(lumped_critical_speed_rpm(tube))} 1/min", "what some pages print; lower than the shaft's own",
        ),
        Line(
            "allowed", "part x n_crit", f"{show_number(part)} x {critical}", f"{show_number(limit)} 1/min", PART_SOURCE
        ),
    )  # fmt: skip
    return CheckResult(
        joint=joint,
        verdict=Verdict.HOLDS if speed <= limit else Verdict.FAILS,
        summary=f"turns at {show_number(speed)}, critical {critical}, allowed {show_number(limit)} 1/min",
        margin=Amount(limit - speed, "1/min"),
        binding="critical speed",
        working=Working(lines),
        cautions=(SHAFT_CAUTION,),
    )

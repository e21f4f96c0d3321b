"""The published tables around the sizes: materials, bearing life and seats, torque, joints, splines, housings.

The same reader, units and promises as `graph.fits.tables`; kept apart only to keep both files short.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from graph.errors import NotFound
from graph.fits.limits import Material
from graph.fits.model import NM_PER_MM, NM_PER_THOU
from graph.fits.tables import STANDARDS, CsvRecord, Origin, read_records


@dataclass(frozen=True, slots=True)
class SeatClasses:
    """Which ISO 286 classes a bearing seat should have, usual class first."""

    seat: str  # shaft or housing
    duty: str
    material: str
    over_nm: int
    incl_nm: int
    classes: tuple[str, ...]
    origin: Origin


@dataclass(frozen=True, slots=True)
class LoadFactor:
    """e, X, Y of a deep groove ball bearing at one relative axial load f0 Fa / C0."""

    relative_load: Fraction
    e: Fraction
    x: Fraction
    y: Fraction
    origin: Origin


@dataclass(frozen=True, slots=True)
class SafetyGuide:
    """Guide value of static safety for an operation and a wanted performance."""

    operation: str
    performance: str
    s0_ball: Fraction
    s0_roller: Fraction
    origin: Origin


@dataclass(frozen=True, slots=True)
class AngleLimit:
    """The largest joint angle at a propshaft speed."""

    speed_rpm: int
    angle_deg: Fraction
    origin: Origin


@dataclass(frozen=True, slots=True)
class StraightSpline:
    """Straight-sided spline proportions as parts of the major diameter D."""

    teeth: int
    fit: str
    width: Fraction
    height: Fraction
    minor: Fraction
    origin: Origin


@dataclass(frozen=True, slots=True)
class FlywheelHousing:
    """A flywheel housing size of SAE J617: register, bolt circle, tapped holes."""

    number: str
    register_nm: int
    register_upper_nm: int
    bolt_circle_nm: int
    flange_od_nm: int
    holes: int
    thread_inch: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Flywheel:
    """A flywheel of SAE J620 by clutch size: pilot, bolt circle, depth; pilot bearing bore where tabled."""

    clutch_size: str
    pilot_nm: int
    bolt_circle_nm: int
    depth_nm: int | None
    pilot_bore_nm: int | None
    holes: int | None
    origin: Origin


@dataclass(frozen=True, slots=True)
class Elasticity:
    """What a part is made of, by the word used for it: modulus (GPa), Poisson's ratio, density (kg/m3)."""

    material: str
    modulus_gpa: Fraction
    poisson: Fraction
    density_kg_m3: Fraction
    origin: Origin


@dataclass(frozen=True, slots=True)
class InternalClearance:
    """ISO 5753-1 limits of a bore range, in nm: (least, most) of C2, CN, C3, C4, C5."""

    over_nm: int
    incl_nm: int
    limits_nm: tuple[tuple[int, int], ...]
    origin: Origin


@dataclass(frozen=True, slots=True)
class DriveTables:
    """All tables of this module."""

    materials: tuple[Material, ...]
    elasticities: tuple[Elasticity, ...]
    seats: tuple[SeatClasses, ...]
    load_factors: tuple[LoadFactor, ...]
    safety: tuple[SafetyGuide, ...]
    torque_factors: tuple[tuple[str, Fraction, str], ...]
    angles: tuple[AngleLimit, ...]
    straight_splines: tuple[StraightSpline, ...]
    housings: tuple[FlywheelHousing, ...]
    flywheels: tuple[Flywheel, ...]
    clearances: tuple[InternalClearance, ...]


@lru_cache(maxsize=4)
def load_drive_tables(folder: Path = STANDARDS) -> DriveTables:
    """The tables of a folder (default: those of this project), read once. Raises InvalidFacts."""
    return DriveTables(
        materials=tuple(
            Material(row.text("material"), row.number("alpha_um_per_m_K"), row.text("source"))
            for row in read_records("thermal_expansion", folder)
        ),
        elasticities=tuple(_elasticity(row) for row in read_records("elastic_constants", folder)),
        seats=tuple(_seat(row) for row in read_records("bearing_seat_classes", folder)),
        load_factors=tuple(_load_factor(row) for row in read_records("iso281_ball_bearing_load_factors", folder)),
        safety=tuple(_safety(row) for row in read_records("static_safety", folder)),
        torque_factors=tuple(
            (row.text("condition"), row.number("K"), row.text("source"))
            for row in read_records("torque_factors", folder)
        ),
        angles=tuple(
            AngleLimit(row.whole("driveshaft_rpm"), row.number("max_angle_deg"), row.origin())
            for row in read_records("joint_angle_limits", folder)
        ),
        straight_splines=tuple(_straight(row) for row in read_records("sae_straight_splines", folder)),
        housings=tuple(_housing(row) for row in read_records("sae_j617_flywheel_housings", folder)),
        flywheels=tuple(_flywheel(row) for row in read_records("sae_j620_flywheels", folder)),
        clearances=tuple(_clearance(row) for row in read_records("iso5753_clearance", folder)),
    )


def get_material(drive: DriveTables, name: str) -> Material:
    """The material of that name with its expansion. Raises NotFound naming the tabled ones."""
    for material in drive.materials:
        if material.name == name:
            return material
    raise NotFound("material", name, [material.name for material in drive.materials])


def get_elasticity(drive: DriveTables, name: str) -> Elasticity:
    """Modulus, Poisson's ratio and density of a material. Raises NotFound naming the tabled ones."""
    for elasticity in drive.elasticities:
        if elasticity.material == name:
            return elasticity
    raise NotFound("elastic constants", name, [elasticity.material for elasticity in drive.elasticities])


def _elasticity(row: CsvRecord) -> Elasticity:
    return Elasticity(
        row.text("material"), row.number("modulus_gpa"), row.number("poisson"), row.number("density_kg_m3"),
        row.origin(),
    )  # fmt: skip


def _seat(row: CsvRecord) -> SeatClasses:
    return SeatClasses(
        row.text("seat"), row.text("duty"), row.text("material"), row.nm("over_mm"), row.nm("incl_mm"),
        tuple(row.text("classes").split()), row.origin(),
    )  # fmt: skip


def _load_factor(row: CsvRecord) -> LoadFactor:
    return LoadFactor(
        row.number("f0_Fa_over_C0r"), row.number("e"), row.number("X_if_gt_e"), row.number("Y_if_gt_e"), row.origin()
    )


def _safety(row: CsvRecord) -> SafetyGuide:
    return SafetyGuide(
        row.text("operation"), row.text("performance"), row.number("s0_ball"), row.number("s0_roller"), row.origin()
    )


def _part_of_d(row: CsvRecord, column: str) -> Fraction:
    text = row.text(column)
    if not text.endswith(" D"):
        raise row.fault(column, f"expected a part of D such as 0.250 D, found {text!r}")
    return CsvRecord(row.file, row.line, {column: text.removesuffix(" D")}).number(column)


def _straight(row: CsvRecord) -> StraightSpline:
    found = StraightSpline(
        row.whole("splines"), row.text("fit"), _part_of_d(row, "width_W"), _part_of_d(row, "height_h"),
        _part_of_d(row, "minor_dia_d"), row.origin(),
    )  # fmt: skip
    if found.minor + 2 * found.height != 1:
        raise row.fault("minor_dia_d", "minor diameter and twice the height do not add up to D")
    return found


def _agree(row: CsvRecord, mm: str, inch: str, slack_nm: int) -> int:
    """The millimetre cell, once the inch cell is seen to say the same within the rounding of the page."""
    value = row.nm(mm)
    if abs(value - row.inch(inch)) > slack_nm:
        raise row.fault(mm, f"{row.text(mm)} mm and {row.text(inch)} in are different sizes")
    return value


def _housing(row: CsvRecord) -> FlywheelHousing:
    rounding = NM_PER_MM // 100
    found = FlywheelHousing(
        row.text("sae_no"),
        _agree(row, "register_dia_mm", "register_in", rounding),
        # the inch page prints the upper limit to a thou, the millimetre page to 0.01 mm
        _agree(row, "register_upper_mm", "register_in_max", 2 * NM_PER_THOU),
        _agree(row, "bolt_circle_mm", "bolt_circle_in", rounding),
        _agree(row, "flange_od_mm", "flange_od_in", rounding),
        row.whole("tapped_holes"),
        row.text("tapped_hole_inch"),
        row.origin(),
    )
    if not found.register_nm < found.register_upper_nm < found.bolt_circle_nm < found.flange_od_nm:
        raise row.fault("bolt_circle_mm", "expected register < bolt circle < flange diameter")
    return found


def _flywheel(row: CsvRecord) -> Flywheel:
    rounding = NM_PER_MM // 100
    bore = _agree(row, "pilot_bearing_bore_L_mm", "pilot_bearing_bore_L_in", 2 * rounding) if row.has(
        "pilot_bearing_bore_L_mm") else None  # fmt: skip
    found = Flywheel(
        row.text("clutch_size"),
        _agree(row, "pilot_dia_B_mm", "pilot_dia_B_in", rounding),
        _agree(row, "bolt_circle_C_mm", "bolt_circle_C_in", rounding),
        row.nm("depth_G_mm") if row.has("depth_G_mm") else None,
        bore,
        row.whole("tapped_holes") if row.has("tapped_holes") else None,
        row.origin(),
    )
    if found.bolt_circle_nm >= found.pilot_nm:
        raise row.fault("bolt_circle_C_mm", "expected the bolt circle inside the pilot diameter")
    return found


def _clearance(row: CsvRecord) -> InternalClearance:
    limits = tuple((row.um(f"{cls}_min_um"), row.um(f"{cls}_max_um")) for cls in ("c2", "cn", "c3", "c4", "c5"))
    for least, most in limits:
        if least >= most:
            raise row.fault("c2_min_um", "expected the least of each class below the most")
    return InternalClearance(row.nm("over_mm"), row.nm("incl_mm"), limits, row.origin())

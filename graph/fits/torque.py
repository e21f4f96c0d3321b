"""Torque: what a clutch, a gearbox and a bolted flange carry, and the tightening torque of a bolt.

Torques in newton metres, forces in newtons, lengths in whole nanometres. Sources: axial friction clutches in machine
design handbooks (uniform wear T = mu F N (ro + ri)/2; uniform pressure T = 2/3 mu F N (ro^3 - ri^3)/(ro^2 - ri^2));
T = K d F for bolts with ISO 898-1 proof loads; friction flange T = n mu F r.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.model import (
    Amount,
    CheckResult,
    Line,
    Verdict,
    Working,
    list_missing,
    require_above_zero,
    show_number,
    unknown,
)
from graph.fits.tables import Bolt, Tables

CLUTCH_SOURCE = "axial friction clutch, uniform wear, machine design handbooks"
BOLT_SOURCE = "T = K d F; ISO 898-1 proof load"
CLUTCH_RESERVE = Fraction(125, 100)  # capacity over engine torque, road use, common practice
NM_PER_M = 1_000_000_000
BOLT_CAUTION = (
    "Follow the maker's figure where there is one; angle-tightened (stretch) bolts are new each time and not done by K."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clutch:
    """A dry clutch: clamp load (N), friction coefficient, friction faces (2 per disc), inner and outer diameter."""

    clamp_n: Fraction
    friction: Fraction
    faces: int
    inner_nm: int
    outer_nm: int

    def __post_init__(self) -> None:
        faults = []
        if not 0 < self.inner_nm < self.outer_nm:
            faults.append(Problem("inner_nm", "the inner diameter must be above zero and below the outer one"))
        if not 0 < self.friction < 1:
            faults.append(Problem("friction", f"expected between 0 and 1, found {show_number(self.friction)}"))
        if self.clamp_n <= 0:
            faults.append(Problem("clamp_n", f"must be above zero, found {show_number(self.clamp_n)}"))
        if self.faces < 1:
            faults.append(Problem("faces", f"expected 1 or more (2 per disc), found {self.faces}"))
        if faults:
            raise InvalidInput(faults)


def clutch_capacity_nm(clutch: Clutch, *, worn: bool = True) -> Fraction:
    """The torque a clutch carries: uniform wear (run in, the lower value) or uniform pressure (new)."""
    outer, inner = Fraction(clutch.outer_nm, 2 * NM_PER_M), Fraction(clutch.inner_nm, 2 * NM_PER_M)
    force = clutch.friction * clutch.clamp_n * clutch.faces
    if worn:
        return force * (outer + inner) / 2
    return force * Fraction(2, 3) * (outer**3 - inner**3) / (outer**2 - inner**2)


def check_clutch(
    clutch: Clutch | None, engine_nm: Fraction | None, *, reserve: Fraction = CLUTCH_RESERVE
) -> CheckResult:
    """Does the clutch carry the engine's torque with a reserve (1.25 for the road, common practice)?"""
    joint = "clutch torque"
    if clutch is None or engine_nm is None:
        wanted = [
            ("the clutch (clamp load, facing diameters)", clutch, ""),
            ("the engine's greatest torque", engine_nm, ""),
        ]
        return unknown(joint, list_missing(wanted))
    require_above_zero(("engine_nm", engine_nm), ("reserve", reserve))
    capacity = clutch_capacity_nm(clutch)
    radii = f"({_mm(clutch.outer_nm)} + {_mm(clutch.inner_nm)}) mm / 4 / 1000"
    numbers = f"{show_number(clutch.friction)} x {show_number(clutch.clamp_n)} N x {clutch.faces} x {radii}"
    line = Line("T", "mu F N (Do + Di) / 4", numbers, f"{show_number(capacity, 1)} N m", CLUTCH_SOURCE)
    return _torque_result(joint, capacity, engine_nm * reserve, f"{show_number(reserve)} x engine torque", line)


def check_clutch_capacity(
    capacity_nm: Fraction | None, engine_nm: Fraction | None, *, reserve: Fraction = CLUTCH_RESERVE
) -> CheckResult:
    """Does a clutch of stated capacity carry the engine's torque with a reserve (1.25 for the road)?"""
    joint = "clutch torque"
    if capacity_nm is None or engine_nm is None:
        wanted = [("the clutch's torque capacity", capacity_nm, ""), ("the engine's greatest torque", engine_nm, "")]
        return unknown(joint, list_missing(wanted))
    require_above_zero(("capacity_nm", capacity_nm), ("engine_nm", engine_nm), ("reserve", reserve))
    numbers = f"{show_number(engine_nm)} N m x {show_number(reserve)}"
    load = engine_nm * reserve
    line = Line("load", "engine torque x reserve", numbers, f"{show_number(load, 1)} N m", "common practice")
    return _torque_result(joint, capacity_nm, load, f"{show_number(reserve)} x engine torque", line)


def check_gearbox_torque(
    rating_nm: Fraction | None, engine_nm: Fraction | None, *, first_multiplier: Fraction = Fraction(1)
) -> CheckResult:
    """Is the gearbox's input rating at least the engine's torque times `first_multiplier` (converter stall ratio)?"""
    joint = "gearbox torque"
    if rating_nm is None or engine_nm is None:
        wanted = [("the gearbox's torque rating", rating_nm, ""), ("the engine's greatest torque", engine_nm, "")]
        return unknown(joint, list_missing(wanted))
    require_above_zero(("rating_nm", rating_nm), ("engine_nm", engine_nm), ("first_multiplier", first_multiplier))
    load = engine_nm * first_multiplier
    numbers = f"{show_number(engine_nm)} N m x {show_number(first_multiplier)}"
    line = Line(
        "input torque", "engine torque x multiplication", numbers, f"{show_number(load)} N m", "common practice"
    )
    return _torque_result(joint, rating_nm, load, "engine torque at the input", line)


def _torque_result(joint: str, capacity: Fraction, load: Fraction, load_name: str, line: Line) -> CheckResult:
    holds = capacity >= load
    return CheckResult(
        joint=joint,
        verdict=Verdict.HOLDS if holds else Verdict.FAILS,
        summary=f"carries {show_number(capacity, 1)} N m, {load_name} is {show_number(load, 1)} N m",
        margin=Amount(capacity - load, "N m"),
        binding="torque",
        working=Working((line,)),
    )


def get_bolt(tables: Tables, thread: str, property_class: str) -> Bolt:
    """The tabled bolt of a thread (M10) and class (10.9). Raises NotFound naming what is tabled."""
    for bolt in tables.bolts:
        if (bolt.thread, bolt.property_class) == (thread, property_class):
            return bolt
    known = [f"{bolt.thread} {bolt.property_class}" for bolt in tables.bolts]
    near = [name for name in known if name.split()[0] == thread] or known[:3]
    raise NotFound("bolt", f"{thread} {property_class}", near)


def preload_n(bolt: Bolt, part: Fraction = Fraction(3, 4), *, from_stress: bool = False) -> Fraction:
    """Preload as part of the proof load (or of stress area x proof stress). Raises InvalidInput outside 0 to 0.9."""
    if not 0 < part <= Fraction(9, 10):
        raise InvalidInput(
            [Problem("part", f"expected above 0 and at most 0.9 of the proof load, found {show_number(part)}")]
        )
    return part * (bolt.stress_area_mm2 * bolt.proof_stress_mpa if from_stress else bolt.proof_load_n)


def tightening_torque_nm(preload: Fraction, diameter_nm: int, factor: Fraction) -> Fraction:
    """T = K d F. Raises InvalidInput unless all are above zero."""
    require_above_zero(("preload", preload), ("diameter_nm", Fraction(diameter_nm)), ("factor", factor))
    return factor * Fraction(diameter_nm, NM_PER_M) * preload


def get_torque_factor(factors: Sequence[tuple[str, Fraction, str]], condition: str) -> Fraction:
    """The nut factor K for a surface condition. Raises NotFound naming the tabled conditions."""
    for name, factor, _ in factors:
        if name == condition:
            return factor
    raise NotFound("surface condition", condition, [name for name, _, _ in factors])


def check_bolted_flange(
    bolt: Bolt | None,
    count: int,
    circle_nm: int,
    engine_nm: Fraction | None,
    *,
    friction: Fraction = Fraction(15, 100),
    part: Fraction = Fraction(3, 4),
    safety: Fraction = Fraction(2),
) -> CheckResult:
    """Do the bolts of a crank flange carry the torque by friction alone: n mu F r >= safety x torque?

    Dowels are not counted on; `safety` 2 covers the engine's torque peaks (common practice).
    """
    joint = "bolted flange"
    if bolt is None or engine_nm is None:
        return unknown(
            joint, list_missing([("the bolt's thread and class", bolt, ""), ("the engine's torque", engine_nm, "")])
        )
    require_above_zero(("count", Fraction(count)), ("circle_nm", Fraction(circle_nm)), ("engine_nm", engine_nm))
    force = preload_n(bolt, part)
    capacity = count * friction * force * Fraction(circle_nm, 2 * NM_PER_M)
    numbers = f"{count} x {show_number(friction)} x {show_number(force)} N x {_mm(circle_nm)} mm / 2 / 1000"
    line = Line("T", "n mu F r", numbers, f"{show_number(capacity, 1)} N m", f"friction flange; {BOLT_SOURCE}")
    result = _torque_result(joint, capacity, safety * engine_nm, f"{show_number(safety)} x engine torque", line)
    return CheckResult(
        joint=joint, verdict=result.verdict, summary=result.summary, margin=result.margin, binding=result.binding,
        working=result.working, cautions=(BOLT_CAUTION,),
    )  # fmt: skip


def _mm(nm: int) -> str:
    return show_number(Fraction(nm, 1_000_000))

"""The constant mesh: input shaft and layshaft."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from graph.derive.joints.record import Case, JointCheck
from graph.fits.mesh import Gear, check_pair
from graph.fits.model import NM_PER_MM, CheckResult, Missing, unknown

GEAR_NEEDS = ("gear-teeth", "gear-module", "gear-helix", "gear-hand")


def _mesh(case: Case) -> CheckResult:
    """Same module and helix, hands that run together, and the centre distance that the case has."""
    shaft, layshaft = (_gear(case, part) for part in case.parts)
    running = case.length(1, "centre-distance")
    if shaft is None or layshaft is None or running is None:
        return unknown("gear mesh", [Missing("both gears and the centre distance")])
    return replace(check_pair("the pair", shaft, layshaft, running), joint="gear mesh")


def _gear(case: Case, part: str) -> Gear | None:
    teeth, helix = case.measured.number(part, "gear-teeth"), case.measured.number(part, "gear-helix")
    module, hand = case.measured.length(part, "gear-module"), case.measured.word(part, "gear-hand")
    if teeth is None or helix is None or module is None or hand is None:
        return None
    pressure = case.measured.number(part, "gear-pressure-angle")
    rank = max(teeth[1], helix[1], module.evidence_rank, hand.evidence_rank)
    return Gear(
        teeth=int(teeth[0]), module_mm=Fraction(module.nominal_nm, NM_PER_MM), helix_deg=helix[0], hand=hand.text,
        pressure_deg=pressure[0] if pressure else None, evidence_rank=rank,
    )  # fmt: skip


CONSTANT_MESH = JointCheck(
    joint="constant-mesh", run=_mesh, source="centre distance of a helical pair with profile shift, terms of ISO 21771",
    needs=(*((side, quantity) for side in (0, 1) for quantity in GEAR_NEEDS), (1, "centre-distance")),
    what_ifs=("gear-mesh",),
)  # fmt: skip

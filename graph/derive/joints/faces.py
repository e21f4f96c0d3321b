"""Bolt faces and registers: housing, case, flywheel, cover, flange, tail, starter; and the housing dialled in."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from graph.derive.adaptors import FLANGE_ADAPTOR, HUB_ADAPTOR
from graph.derive.joints.record import COMMON_PRACTICE, Case, JointCheck, SizedRemedy, first_failing, within
from graph.derive.plate_sketch import plate_sketch
from graph.derive.plates import LEAN_DEG, PLATE_TOLERANCE_NM
from graph.fits.hand import check_tooth_pitch
from graph.fits.limits import check_fit
from graph.fits.model import (
    NM_PER_MM,
    WORST_EVIDENCE,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Work,
    Working,
    combine,
    list_missing,
    unknown,
    weakest,
)
from graph.fits.sketch import Sketch

REGISTER_PLAY_NM = 120_000  # H7/f7 at 100 to 180 mm: 0.043 to 0.123 mm (ISO 286), used parts
STARTER_PLAY_NM = 200_000
SPACING_NM = 500_000  # M10 in 11 mm holes: (11 - 10) / 2 either way (ASME Y14.5, fixed fastener)
SPACING_SOURCE = "ASME Y14.5 appendix B, fixed fastener: (H - F) / 2 either way, M10 in 11 mm"
PATTERN_SOURCE = "fastener formulas of ASME Y14.5 appendix B; slotting and drilling, common practice"
DIALLED = "car magazine and builder's article on bell alignment (1994)"
SLOTTED_OR_DRILLED = ("slot-hole", "open-hole", "redrill-hole")


def _register(case: Case) -> CheckResult:
    return check_fit(
        "case register", case.length(0, "register-bore"), case.length(1, "register-diameter"), low_nm=0,
        high_nm=REGISTER_PLAY_NM, why=f"sliding fit, about H7/g6 to H7/f7, {COMMON_PRACTICE}",
    )  # fmt: skip


def check_starter(
    bore: Dimension | None,
    register: Dimension | None,
    holes: Dimension | None,
    lugs: Dimension | None,
) -> CheckResult:
    """Does the starter's register go into its bore, and do its lugs (spacing) meet the holes?"""
    across, along = [(1, bore), (-1, register)], [(1, holes), (-1, lugs)]
    return combine(
        "starter on housing",
        [
            within("register", "bore less register", across, 0, STARTER_PLAY_NM, COMMON_PRACTICE),
            within("hole spacing", "difference of spacings", along, -SPACING_NM, SPACING_NM, SPACING_SOURCE),
        ],
    )


def check_starter_side(room: str | None, built: str | None, evidence_rank: int = WORST_EVIDENCE) -> CheckResult:
    """Is the starter built for the side on which the housing has its place? left or right, seen from the rear."""
    name = "starter's side"
    if room is None or built is None:
        return unknown(name, list_missing([
            ("the side on which the housing takes the starter", room, "seen from the rear"),
            ("the side that the starter is built for", built, "its solenoid must clear block and steering"),
        ]))  # fmt: skip
    holds = room == built
    found = "alike" if holds else "other side"
    line = Line("side", "housing against starter", f"{room} against {built}", found, COMMON_PRACTICE)
    summary = f"on the {room}" if holds else f"the housing takes it on the {room}, it is built for the {built}"
    verdict = Verdict.HOLDS if holds else Verdict.FAILS
    return CheckResult(
        joint=name, verdict=verdict, summary=summary, binding="side", working=Working((line,)),
        evidence_rank=evidence_rank,
    )  # fmt: skip


def _starter(case: Case) -> CheckResult:
    flange = check_starter(
        case.length(0, "starter-bore"), case.length(1, "starter-register"),
        *(case.length(side, "starter-hole-spacing") for side in (0, 1)),
    )  # fmt: skip
    sides = [case.measured.word(part, "starter-side") for part in case.parts]
    if not any(sides):
        return flange
    rank = max((seen.evidence_rank for seen in sides if seen), default=WORST_EVIDENCE)
    room, built = (seen.text if seen else None for seen in sides)
    side = check_starter_side(room, built, rank)
    return first_failing("starter on housing", [side, flange])


def _starter_mesh(case: Case) -> CheckResult:
    modules = [case.length(0, "ring-gear-module"), case.length(1, "pinion-module")]
    ring, pinion = (Fraction(one.nominal_nm, NM_PER_MM) if one else None for one in modules)
    return replace(check_tooth_pitch(ring, pinion), joint="starter mesh", evidence_rank=weakest(modules))


def _faces(case: Case, lean_deg: float = LEAN_DEG) -> CheckResult:
    a, b = (case.measured.face(part, case.joint) for part in case.parts)
    if a is None or b is None:
        return unknown("bolt face", [Missing("the places of the holes", "about the crank axis and the shaft axis")])
    from graph.fits.pattern_check import ALLOY_LIMITS, check_faces  # scipy takes a while to load; only faces need it

    return check_faces(a, b, from_deg=-lean_deg, to_deg=lean_deg, limits=ALLOY_LIMITS).result


def _case_face(case: Case) -> CheckResult:
    """Housing on case: the retainer's register centres them, which is a joint of its own."""
    return _without_dowels(_faces(case))


def _without_dowels(result: CheckResult) -> CheckResult:
    """Where a register or spigot centres the parts no dowels are asked for."""
    works = tuple(work for work in result.work if work.operation != "fit-dowels")
    if result.verdict is not Verdict.HOLDS_WITH_WORK or works:
        return replace(result, work=works, choices=(works,) if works else ())
    return replace(result, verdict=Verdict.HOLDS, work=(), choices=(), cautions=())


def _turned_faces(case: Case) -> CheckResult:
    """Faces that may stand at any angle and are centred by a spigot: flywheel on crank, cover, propshaft flange."""
    return _without_dowels(_faces(case, lean_deg=180.0))


def _alignment(case: Case) -> CheckResult:
    """Run-out is not in any drawing: where the parts were not built together, the housing is dialled in."""
    bell = case.measured.face(case.parts[1], ENGINE_FACE.joint)
    if bell is None:
        return unknown("concentricity", [Missing("the places of the holes", "about the shaft axis")])
    text = "dial the housing in to 0.13 mm total indicator reading and set its dowels"
    work = (Work("dial-in-housing", "bell housing", text, Amount(Fraction(13, 100), "mm")),)
    line = Line("TIR", "at most 0.005 in", "", "0.13 mm", DIALLED)
    return CheckResult(
        joint="concentricity", verdict=Verdict.HOLDS_WITH_WORK, summary=text, work=work, choices=(work,),
        working=Working((line,)), evidence_rank=bell.evidence_rank,
        cautions=("Clamp bolts do not locate: nothing carries load before the dowels are in.",),
    )  # fmt: skip


def _draw_plate(case: Case, work: Work, thickness_nm: int) -> Sketch | None:
    if work.operation != "make-plate" or work.weak or not thickness_nm:  # one turned or in two: the page draws it
        return None
    block, bell = (case.measured.face(part, case.joint) for part in case.parts)
    if block is None or bell is None:
        return None
    labels = [case.measured.part(part).label for part in case.parts]
    return plate_sketch(case.measured.tables, block, bell, thickness_nm, work.text, PLATE_TOLERANCE_NM, labels)


ENGINE_FACE = JointCheck(
    joint="engine-face", run=_faces, source=PATTERN_SOURCE, faces="engine-face", chain_needs=((1, "housing-depth"),),
    usual_work=SLOTTED_OR_DRILLED, sketch=_draw_plate, plates=True,
)  # fmt: skip
HOUSING_TO_CASE = JointCheck(
    joint="housing-to-case", run=_case_face, source=PATTERN_SOURCE, faces="housing-to-case",
    usual_work=SLOTTED_OR_DRILLED,
)  # fmt: skip
CLUTCH_TO_FLYWHEEL = JointCheck(
    joint="clutch-to-flywheel", run=_turned_faces, source=PATTERN_SOURCE, faces="clutch-to-flywheel"
)
FLYWHEEL_TO_CRANK = JointCheck(
    joint="flywheel-to-crank", run=_turned_faces, source=PATTERN_SOURCE, faces="flywheel-to-crank",
    adaptor=HUB_ADAPTOR,
    remedy=SizedRemedy(
        "flywheel-spacer-thickness", "make-flywheel-spacer", "flywheel-spacer",
        "make a flywheel spacer of {size}, located by spigot and dowel, with longer bolts", 12_000,
        ("balance flywheel and cover with the spacer", "crank sensor ring to re-set by the spacer's thickness",
         "new graded bolts, longer by the spacer, do not stand through the flange"),
    ),
)  # fmt: skip
PROP_FLANGE = JointCheck(
    joint="prop-flange", run=_turned_faces, source=PATTERN_SOURCE, faces="prop-flange", adaptor=FLANGE_ADAPTOR
)
TAIL_TO_CASE = JointCheck(joint="tail-to-case", run=_case_face, source=PATTERN_SOURCE, faces="tail-to-case")
CASE_REGISTER = JointCheck(
    joint="case-register", run=_register, source=f"sliding fit, about H7/g6 to H7/f7 (ISO 286), {COMMON_PRACTICE}",
    needs=((0, "register-bore"), (1, "register-diameter")), what_ifs=("fit",),
)  # fmt: skip
STARTER_TO_HOUSING = JointCheck(
    joint="starter-to-housing", run=_starter, source=f"spacing: {SPACING_SOURCE}; register: {COMMON_PRACTICE}",
    needs=((0, "starter-bore"), (0, "starter-hole-spacing"), (1, "starter-register"), (1, "starter-hole-spacing")),
    also=(((0, "starter-side"), (1, "starter-side")), ((1, "starter-side"), (0, "starter-side"))),
    what_ifs=("starter-register", "starter-side"), usual_work=("open-hole", "slot-hole"),
    remedy=SizedRemedy(
        "starter-pad-milled", "mill-starter-pad", "", "mill {size} off the starter's pad", 6_000,
        ("wall and thread left in the starter's pad",),
    ),
)  # fmt: skip
STARTER_MESH = JointCheck(
    joint="starter-mesh", run=_starter_mesh, source=f"one module: ISO 54; read over the tips, {COMMON_PRACTICE}",
    needs=((0, "ring-gear-module"), (1, "pinion-module")), what_ifs=("starter-pitch",),
    to_confirm=("pinion turned into the ring by hand, all round; it comes free again",),
)  # fmt: skip
HOUSING_ALIGNMENT = JointCheck(
    joint="housing-alignment", run=_alignment, source=DIALLED, faces=ENGINE_FACE.joint, what_ifs=("register",),
    dial=True,
)  # fmt: skip

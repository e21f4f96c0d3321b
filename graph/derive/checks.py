"""Which check decides which joint, and which quantities of which side it takes.

A check takes a `Case` (two parts and what is measured of them) and returns a CheckResult; what is missing stays None
and the verdict UNKNOWN. Limits without a source are common practice and say so in the working.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from graph.derive.measured import Measured
from graph.fits.axial import check_location
from graph.fits.bearing import check_seat
from graph.fits.limits import Material, check_fit
from graph.fits.mesh import Gear, check_pair
from graph.fits.model import (
    NM_PER_MM,
    Amount,
    CheckResult,
    Dimension,
    Line,
    Missing,
    Verdict,
    Work,
    Working,
    combine,
    show_nm,
    unknown,
    weakest,
)
from graph.fits.pilot import BALL, BUSH, ROLLER, Pilot, check_pilot
from graph.fits.seats import Seat
from graph.fits.spline import SplineEnd, check_form
from graph.fits.stack import judge, stack_up
from graph.fits.tables_drive import DriveTables, get_material

COMMON_PRACTICE = "common practice"
RUNNING_C = 80  # oil of a gearbox at work, common practice
LEAN_DEG = 2.0  # how far a gearbox may be turned in its place before lever and mount complain, common practice
REGISTER_PLAY_NM = 120_000  # H7/f7 at 100 to 180 mm: 0.043 to 0.123 mm (ISO 286), used parts
STARTER_PLAY_NM = 200_000
SPACING_NM = 500_000  # M10 in 11 mm holes: (11 - 10) / 2 either way (ASME Y14.5, fixed fastener)
FINGERS_NM = (2 * NM_PER_MM, 16 * NM_PER_MM)
THICKNESS_NM = 500_000
MATERIALS = {"light alloy": "aluminium casting alloy 356.0", "steel or iron": "gray cast iron G1800..G4000"}
SHAFT_STEEL = "alloy steel 4140 / 4340"
BEARING_STEEL = "bearing steel (through-hardened, 52100 / 100Cr6 type)"


@dataclass(frozen=True, slots=True)
class Case:
    """Two parts at a joint, first and second as the joint kind names its positions."""

    measured: Measured
    drive: DriveTables
    joint: str
    parts: tuple[str, str]

    def length(self, side: int, quantity: str) -> Dimension | None:
        """The settled length of one side."""
        return self.measured.length(self.parts[side], quantity)

    def word(self, side: int, quantity: str) -> str | None:
        """What was seen on one side."""
        found = self.measured.word(self.parts[side], quantity)
        return found.text if found else None

    def material(self, name: str) -> Material:
        """The published material."""
        return get_material(self.drive, name)

    @property
    def bearing_steel(self) -> Material:
        """What bearing rings are made of."""
        return self.material(BEARING_STEEL)


Need = tuple[int, str]


@dataclass(frozen=True, slots=True)
class JointCheck:
    """One joint kind's check. `needs`: (side, quantity) that it takes; `chain_needs`: lengths that the chains want.

    A chain need is met by a measurement or by a noted shift. `faces`: it compares the bolt faces at that joint kind.
    `same`: a count that must be alike on both sides. Joints that rule out most come first in JOINT_CHECKS.
    """

    run: Callable[[Case], CheckResult]
    needs: tuple[Need, ...] = ()
    chain_needs: tuple[Need, ...] = ()
    faces: str = ""
    to_confirm: tuple[str, ...] = ()
    same: str = ""


def within(
    joint: str, name: str, terms: Sequence[tuple[int, Dimension | None]], low: int | None, high: int | None, why: str
) -> CheckResult:
    """Does a signed sum of lengths lie between two limits (nm; None does not bind)?"""
    known = [(factor, length) for factor, length in terms if length is not None]
    if len(known) < len(terms):
        return unknown(joint, [Missing(name)])
    stack = stack_up(name, known)
    verdict, margin, missing = judge(stack, low, high)
    limits = " to ".join(show_nm(limit) if limit is not None else "any" for limit in (low, high))
    return CheckResult(
        joint=joint, verdict=verdict, summary=f"{name} {show_nm(stack.nominal_nm)}, wanted {limits}",
        margin=Amount.of_nm(margin), binding=name, values=(stack.span(),), measure=missing,
        working=Working((stack.line(name, why),)), evidence_rank=weakest([length for _, length in known]),
    )  # fmt: skip


def housing_seat(case: Case, part: str) -> Seat | None:
    """The bearing seat of a case, or None while its material has not been seen."""
    seen = case.measured.word(part, "housing-material")
    if seen is None:
        return None
    return Seat(
        side="housing", measured=case.measured.length(part, "housing-bore"), duty="ring stands", family=seen.text,
        material=case.material(MATERIALS[seen.text]),
    )  # fmt: skip


def shaft_seat(case: Case, part: str) -> Seat:
    """The bearing seat of a shaft."""
    return Seat(
        side="shaft", measured=case.measured.length(part, "journal-diameter"), duty="ring turns; normal load",
        family="steel", material=case.material(SHAFT_STEEL),
    )  # fmt: skip


def _bearing_in_housing(case: Case) -> CheckResult:
    seat, ring = housing_seat(case, case.parts[0]), case.length(1, "bearing-outside-diameter")
    if seat is None or ring is None:
        return unknown("bearing in housing", [Missing("the housing's material and the bearing's outside diameter")])
    return check_seat(
        case.measured.tables, case.drive, seat, ring, running_c=RUNNING_C, bearing_steel=case.bearing_steel
    )


def _bearing_on_shaft(case: Case) -> CheckResult:
    seat, ring = shaft_seat(case, case.parts[1]), case.length(0, "bearing-bore")
    if ring is None:
        return unknown("bearing on shaft", [Missing("the bearing's bore")])
    on_shaft = check_seat(
        case.measured.tables, case.drive, seat, ring, running_c=RUNNING_C, bearing_steel=case.bearing_steel
    )
    bearing = case.measured.bearing_of(case.measured.part(case.parts[0]))
    located = check_location(
        case.length(0, "bearing-width"), case.length(1, "shoulder-to-ring"),
        stock=case.length(1, "shoulder-stock"), chamfer_nm=bearing.chamfer_nm if bearing else None,
    )  # fmt: skip
    return combine("bearing on shaft", [on_shaft, located])


def _spline(case: Case) -> CheckResult:
    return check_form(_spline_end(case, 1), _spline_end(case, 0))


def _spline_end(case: Case, side: int) -> SplineEnd:
    part = case.parts[side]
    teeth, form = case.measured.number(part, "spline-teeth"), case.measured.word(part, "spline-form")
    angle, pitch = case.measured.number(part, "spline-pressure-angle"), case.length(side, "spline-pitch-diameter")
    ranks = [found[1] for found in (teeth, angle) if found] + ([form.evidence_rank] if form else [])
    return SplineEnd(
        teeth=int(teeth[0]) if teeth else None, form=form.text if form else None,
        pressure_angle_deg=angle[0] if angle else None, pitch=pitch,
        major=case.length(side, "spline-major"), minor=case.length(side, "spline-minor"),
        evidence_rank=max(ranks, default=9),
    )  # fmt: skip


def _disc_on_flywheel(case: Case) -> CheckResult:
    terms = [(1, case.length(0, "friction-face-diameter")), (-1, case.length(1, "disc-diameter"))]
    return within("disc on flywheel", "friction face less disc", terms, 0, None, COMMON_PRACTICE)


def _disc_in_cover(case: Case) -> CheckResult:
    across = [(1, case.length(0, "pressure-plate-diameter")), (-1, case.length(1, "disc-diameter"))]
    thick = [(1, case.length(1, "disc-thickness")), (-1, case.length(0, "cover-disc-thickness"))]
    return combine(
        "disc in cover",
        [
            within("diameter", "pressure plate less disc", across, 0, None, COMMON_PRACTICE),
            within(
                "thickness", "disc less what the cover is set for", thick, -THICKNESS_NM, THICKNESS_NM, COMMON_PRACTICE
            ),
        ],
    )


def _nose_in_pilot(case: Case) -> CheckResult:
    return check_pilot(
        case.measured.tables, _pilot(case, inside=case.length(0, "pilot-inside"), nose=case.length(1, "nose-diameter"))
    ).parts[1]


def _pilot_in_crank(case: Case) -> CheckResult:
    return check_pilot(
        case.measured.tables, _pilot(case, crank=case.length(0, "crank-bore"), outside=case.length(1, "pilot-outside"))
    ).parts[0]


def _pilot(
    case: Case,
    crank: Dimension | None = None,
    outside: Dimension | None = None,
    inside: Dimension | None = None,
    nose: Dimension | None = None,
) -> Pilot:
    pilot, shaft = case.parts if case.joint == "pilot-on-nose" else (case.parts[1], "")
    part = case.measured.part(pilot)
    is_bush = "pilot-bush" in case.measured.index.kinds_of(part.kind)
    rolling = BALL if case.measured.bearing_of(part) else ROLLER
    hardness = case.measured.word(shaft, "nose-hardness") if shaft else None
    return Pilot(
        crank_bore=crank, outside=outside, inside=inside, nose=nose, kind=BUSH if is_bush else rolling,
        nose_hardened=hardness.text == "hardened" if hardness else None,
    )  # fmt: skip


def _register(case: Case) -> CheckResult:
    return check_fit(
        "case register", case.length(0, "register-bore"), case.length(1, "register-diameter"), low_nm=0,
        high_nm=REGISTER_PLAY_NM, why=f"sliding fit, about H7/g6 to H7/f7, {COMMON_PRACTICE}",
    )  # fmt: skip


def _starter(case: Case) -> CheckResult:
    register = [(1, case.length(0, "starter-bore")), (-1, case.length(1, "starter-register"))]
    spacing = [(1, case.length(0, "starter-hole-spacing")), (-1, case.length(1, "starter-hole-spacing"))]
    why = "ASME Y14.5 appendix B, fixed fastener: (H - F) / 2 either way, M10 in 11 mm"
    return combine(
        "starter on housing",
        [
            within("register", "bore less register", register, 0, STARTER_PLAY_NM, COMMON_PRACTICE),
            within("hole spacing", "difference of spacings", spacing, -SPACING_NM, SPACING_NM, why),
        ],
    )


def _release(case: Case) -> CheckResult:
    terms = [(1, case.length(1, "release-contact-diameter")), (-1, case.length(0, "finger-tip-circle"))]
    return within("release contact", "contact diameter less finger tips", terms, *FINGERS_NM, COMMON_PRACTICE)


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


def _alignment(case: Case) -> CheckResult:
    """Run-out is not in any drawing: where the parts were not built together, the housing is dialled in."""
    bell = case.measured.face(case.parts[1], "engine-face")
    if bell is None:
        return unknown("concentricity", [Missing("the places of the holes", "about the shaft axis")])
    text = "dial the housing in to 0.13 mm total indicator reading and set its dowels"
    work = (Work("dial-in-housing", "bell housing", text, Amount(Fraction(13, 100), "mm")),)
    line = Line("TIR", "at most 0.005 in", "", "0.13 mm", "car magazine and builder's article on bell alignment (1994)")
    return CheckResult(
        joint="concentricity", verdict=Verdict.HOLDS_WITH_WORK, summary=text, work=work, choices=(work,),
        working=Working((line,)), evidence_rank=bell.evidence_rank,
        cautions=("Clamp bolts do not locate: nothing carries load before the dowels are in.",),
    )  # fmt: skip


GEAR_NEEDS = ("gear-teeth", "gear-module", "gear-helix", "gear-hand")
SPLINE_NEEDS = ("spline-teeth", "spline-form", "spline-major", "spline-minor")

JOINT_CHECKS: dict[str, JointCheck] = {
    "input-bearing-in-housing": JointCheck(
        _bearing_in_housing, ((0, "housing-bore"), (0, "housing-material"), (1, "bearing-outside-diameter"))
    ),
    "input-bearing-on-shaft": JointCheck(
        _bearing_on_shaft,
        ((0, "bearing-bore"), (0, "bearing-width"), (1, "journal-diameter"), (1, "shoulder-to-ring")),
        to_confirm=("end float after assembly, by dial gauge",),
    ),
    "clutch-spline": JointCheck(
        _spline,
        tuple((side, quantity) for side in (1, 0) for quantity in SPLINE_NEEDS),
        chain_needs=((0, "hub-front-reach"), (0, "hub-rear-reach")),
        to_confirm=("slide the disc on by hand, dry",),
        same="spline-teeth",
    ),
    "disc-to-flywheel": JointCheck(
        _disc_on_flywheel,
        ((0, "friction-face-diameter"), (1, "disc-diameter")),
        to_confirm=("hub and springs clear the flywheel bolts by 2 mm, new and worn",),
    ),
    "disc-to-cover": JointCheck(
        _disc_in_cover,
        ((0, "pressure-plate-diameter"), (0, "cover-disc-thickness"), (1, "disc-diameter"), (1, "disc-thickness")),
    ),
    "pilot-on-nose": JointCheck(
        _nose_in_pilot, ((0, "pilot-inside"), (1, "nose-diameter")), chain_needs=((0, "pilot-rear-face"),)
    ),
    "pilot-in-crank": JointCheck(_pilot_in_crank, ((0, "crank-bore"), (1, "pilot-outside"))),
    "case-register": JointCheck(_register, ((0, "register-bore"), (1, "register-diameter"))),
    "starter-to-housing": JointCheck(
        _starter,
        ((0, "starter-bore"), (0, "starter-hole-spacing"), (1, "starter-register"), (1, "starter-hole-spacing")),
    ),
    "release-contact": JointCheck(
        _release, ((0, "finger-tip-circle"), (1, "release-contact-diameter")), chain_needs=((1, "release-height"),)
    ),
    "engine-face": JointCheck(_faces, faces="engine-face", chain_needs=((1, "housing-depth"),)),
    "housing-to-case": JointCheck(_case_face, faces="housing-to-case"),
    "clutch-to-flywheel": JointCheck(_turned_faces, faces="clutch-to-flywheel"),
    "flywheel-to-crank": JointCheck(_turned_faces, faces="flywheel-to-crank"),
    "prop-flange": JointCheck(_turned_faces, faces="prop-flange"),
    "tail-to-case": JointCheck(_case_face, faces="tail-to-case"),
    "constant-mesh": JointCheck(
        _mesh, (*((side, quantity) for side in (0, 1) for quantity in GEAR_NEEDS), (1, "centre-distance"))
    ),
    "damper-spline": JointCheck(
        _spline,
        tuple((side, quantity) for side in (1, 0) for quantity in SPLINE_NEEDS),
        to_confirm=("slide the hub on by hand, dry",),
        same="spline-teeth",
    ),
    "housing-alignment": JointCheck(_alignment, faces="engine-face"),
}


def involute_needs(case: Case) -> tuple[Need, ...]:
    """What an involute spline wants besides; a straight one has neither angle nor pitch diameter to compare."""
    if case.joint not in ("clutch-spline", "damper-spline") or "straight" in (
        case.word(0, "spline-form"),
        case.word(1, "spline-form"),
    ):
        return ()
    return tuple((side, quantity) for side in (1, 0) for quantity in ("spline-pressure-angle", "spline-pitch-diameter"))

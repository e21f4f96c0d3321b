"""The clutch: disc on its shaft, on the flywheel and in the cover, release bearing on the fingers, damper hub."""

from __future__ import annotations

from graph.derive.joints.record import COMMON_PRACTICE, Case, JointCheck, Need, SizedRemedy, first_failing, within
from graph.fits.model import NM_PER_MM, CheckResult, Dimension, combine
from graph.fits.spline import SplineEnd, check_form

FINGERS_NM = (2 * NM_PER_MM, 16 * NM_PER_MM)
THICKNESS_NM = 500_000
HUB_CLEAR_NM, WORN_NM = 2 * NM_PER_MM, NM_PER_MM
SPLINE_NEEDS = tuple(
    (side, quantity) for side in (1, 0) for quantity in ("spline-teeth", "spline-form", "spline-major", "spline-minor")
)
SPLINE_SOURCE = "form, angle, pitch and diameters alike; teeth overlap by 80 % of their working height, common practice"


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


def _involute_needs(case: Case) -> tuple[Need, ...]:
    """What an involute spline wants besides; a straight one has neither angle nor pitch diameter to compare."""
    if "straight" in (case.word(0, "spline-form"), case.word(1, "spline-form")):
        return ()
    return tuple((side, quantity) for side in (1, 0) for quantity in ("spline-pressure-angle", "spline-pitch-diameter"))


def check_disc_on_flywheel(face: Dimension | None, disc: Dimension | None) -> CheckResult:
    """Does the lining lie on the friction face, by their diameters?"""
    terms = [(1, face), (-1, disc)]
    return within("disc on flywheel", "friction face less disc", terms, 0, None, COMMON_PRACTICE)


def check_hub_clearance(
    bolt_heads: Dimension | None, hub: Dimension | None, springs: Dimension | None = None
) -> CheckResult:
    """Do hub and springs stay clear of the flywheel's bolt heads, worn too? All measured ahead of the friction face.

    `bolt_heads`: how far ahead of it the heads (or a pilot holder) end; a worn disc stands 1 mm further forward.
    """
    reaches = [("hub", hub), *([("springs", springs)] if springs is not None else [])]
    return first_failing("hub and springs", [
        within(
            name, f"bolt heads less {name}", [(1, bolt_heads), (-1, reach)], HUB_CLEAR_NM + WORN_NM, None,
            f"2 mm clear when worn, 1 mm of wear towards the flywheel, {COMMON_PRACTICE}",
        )
        for name, reach in reaches
    ])  # fmt: skip


def check_disc_in_cover(
    plate: Dimension | None, disc: Dimension | None, thickness: Dimension | None, set_for: Dimension | None
) -> CheckResult:
    """Does the lining lie under the pressure plate, and is it as thick as what the cover is set for?"""
    across, thick = [(1, plate), (-1, disc)], [(1, thickness), (-1, set_for)]
    return combine(
        "disc in cover",
        [
            within("diameter", "pressure plate less disc", across, 0, None, COMMON_PRACTICE),
            within(
                "thickness", "disc less what the cover is set for", thick, -THICKNESS_NM, THICKNESS_NM, COMMON_PRACTICE
            ),
        ],
    )


def check_release_contact(contact: Dimension | None, finger_tips: Dimension | None) -> CheckResult:
    """Does the release bearing bear on the fingers, some way outside their tips?"""
    terms = [(1, contact), (-1, finger_tips)]
    return within("release contact", "contact diameter less finger tips", terms, *FINGERS_NM, COMMON_PRACTICE)


def _disc_on_flywheel(case: Case) -> CheckResult:
    lies = check_disc_on_flywheel(case.length(0, "friction-face-diameter"), case.length(1, "disc-diameter"))
    heads, hub = case.length(0, "bolt-head-depth"), case.length(1, "hub-front-reach")
    if not case.measured.has_any(case.parts[0], ["bolt-head-depth"]):
        return lies
    clear = check_hub_clearance(heads, hub, case.length(1, "spring-front-reach"))
    return first_failing("disc on flywheel", [clear, lies])


def _disc_in_cover(case: Case) -> CheckResult:
    return check_disc_in_cover(
        case.length(0, "pressure-plate-diameter"), case.length(1, "disc-diameter"), case.length(1, "disc-thickness"),
        case.length(0, "cover-disc-thickness"),
    )  # fmt: skip


def _release(case: Case) -> CheckResult:
    return check_release_contact(case.length(1, "release-contact-diameter"), case.length(0, "finger-tip-circle"))


CLUTCH_SPLINE = JointCheck(
    joint="clutch-spline", run=_spline, source=SPLINE_SOURCE, needs=SPLINE_NEEDS, more_needs=_involute_needs,
    chain_needs=((0, "hub-front-reach"), (0, "hub-rear-reach")), to_confirm=("slide the disc on by hand, dry",),
    same="spline-teeth", what_ifs=("spline",),
)  # fmt: skip
DAMPER_SPLINE = JointCheck(
    joint="damper-spline", run=_spline, source=SPLINE_SOURCE, needs=SPLINE_NEEDS, more_needs=_involute_needs,
    to_confirm=("slide the hub on by hand, dry",), same="spline-teeth", what_ifs=("spline",),
)  # fmt: skip
DISC_TO_FLYWHEEL = JointCheck(
    joint="disc-to-flywheel", run=_disc_on_flywheel, source=COMMON_PRACTICE,
    needs=((0, "friction-face-diameter"), (1, "disc-diameter")),
    also=(((0, "bolt-head-depth"), (1, "hub-front-reach")),),
    to_confirm=("hub and springs clear the flywheel bolts by 2 mm, new and worn",),
    what_ifs=("disc-on-flywheel", "hub-clearance"),
)  # fmt: skip
DISC_TO_COVER = JointCheck(
    joint="disc-to-cover", run=_disc_in_cover, source=COMMON_PRACTICE,
    needs=((0, "pressure-plate-diameter"), (0, "cover-disc-thickness"), (1, "disc-diameter"), (1, "disc-thickness")),
    what_ifs=("disc-in-cover",),
)  # fmt: skip
RELEASE_CONTACT = JointCheck(
    joint="release-contact", run=_release, source=COMMON_PRACTICE,
    needs=((0, "finger-tip-circle"), (1, "release-contact-diameter")), chain_needs=((1, "release-height"),),
    what_ifs=("release-contact",),
    remedy=SizedRemedy(
        "release-spacer-thickness", "make-release-spacer", "release-spacer",
        "make a spacer of {size} behind the release bearing", 15_000,
        ("release bearing slides and stays square on its spacer",),
    ),
)  # fmt: skip

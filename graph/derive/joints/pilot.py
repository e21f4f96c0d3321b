"""The pilot: in the crankshaft, and on the shaft's nose."""

from __future__ import annotations

from graph.derive.joints.record import Case, JointCheck, SizedRemedy
from graph.derive.work_sketches import pilot_sketch
from graph.fits.model import CheckResult, Dimension, Work
from graph.fits.pilot import BALL, BUSH, ROLLER, Pilot, check_pilot
from graph.fits.sketch import Sketch

SOURCE = "bush: clutch education page; ball and needle pilots: ISO 286 classes of bearing makers' tables"


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
    pilot, shaft = case.parts if case.joint == ON_NOSE.joint else (case.parts[1], "")
    part = case.measured.part(pilot)
    is_bush = "pilot-bush" in case.measured.index.kinds_of(part.kind)
    rolling = BALL if case.measured.bearing_of(part) else ROLLER
    hardness = case.measured.word(shaft, "nose-hardness") if shaft else None
    return Pilot(
        crank_bore=crank, outside=outside, inside=inside, nose=nose, kind=BUSH if is_bush else rolling,
        nose_hardened=hardness.text == "hardened" if hardness else None,
    )  # fmt: skip


def _draw(case: Case, work: Work, _size_nm: int) -> Sketch | None:
    """In the crank the pilot is the second part, on the nose the first."""
    measured = case.measured
    in_crank = case.joint == IN_CRANK.joint
    first, second = case.parts
    pilot, other = (second, first) if in_crank else (first, second)
    return pilot_sketch(
        work, crank_bore=measured.length(other, "crank-bore") if in_crank else None,
        outside=measured.length(pilot, "pilot-outside"), inside=measured.length(pilot, "pilot-inside"),
        nose=None if in_crank else measured.length(other, "nose-diameter"),
        owner=measured.part(other).label, mate=measured.part(pilot).label,
    )  # fmt: skip


ON_NOSE = JointCheck(
    joint="pilot-on-nose", run=_nose_in_pilot, source=SOURCE, needs=((0, "pilot-inside"), (1, "nose-diameter")),
    chain_needs=((0, "pilot-rear-face"),), what_ifs=("pilot",), usual_work=("ream-bush", "make-bush"), sketch=_draw,
    remedy=SizedRemedy(
        "nose-extension-length", "make-nose-extension", "nose-extension",
        "make a nose extension that stands {size} past the shaft's tip", 15_000,
        ("extension pressed, pinned and run true within 0.02 mm of the spline",
         "the extension passes the pilot and stays clear of the bottom of its bore"),
        shortest=True, own_work="turn or grind the nose down for its extension; keep a radius at the step",
    ),
)  # fmt: skip
IN_CRANK = JointCheck(
    joint="pilot-in-crank", run=_pilot_in_crank, source=SOURCE, needs=((0, "crank-bore"), (1, "pilot-outside")),
    what_ifs=("pilot",), usual_work=("turn-bush", "make-bush", "make-sleeve"), sketch=_draw,
)  # fmt: skip

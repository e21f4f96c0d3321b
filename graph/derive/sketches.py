"""Sublet sketches for computed work: what to make, datum, size with tolerance and fit, radius, what not to touch.

Which sketch a piece of work at a joint wants, the joint's check says; the sketches themselves are in
graph/derive/work_sketches.py. What a measurement does not tell (material of the shaft, date, price cap) is asked for
in words, never guessed.
"""

from __future__ import annotations

from graph.derive.deriver import Deriver
from graph.derive.joints.record import Case
from graph.derive.joints.registry import JOINT_CHECKS
from graph.fits.sketch import Sketch
from graph.lookups.findings import PairFinding


def list_sketches(deriver: Deriver, finding: PairFinding, plate_nm: int = 0) -> tuple[Sketch, ...]:
    """A sketch for each piece of work of a finding that a machine shop does; empty where nothing is sent out.

    `plate_nm`: the thickness of the plate that is meant, where the work is to make one; without it there is no sketch.
    """
    draw = JOINT_CHECKS[finding.joint].sketch
    if finding.result is None or draw is None:
        return ()
    works = [work for choice in (finding.result.choices or (finding.result.work,)) for work in choice]
    works += [work for part in finding.result.parts for work in part.work]
    case = Case(deriver.measured, deriver.drive, finding.joint, finding.parts)
    sketches = (draw(case, work, plate_nm) for work in dict.fromkeys(works))
    return tuple(sketch for sketch in sketches if sketch is not None)

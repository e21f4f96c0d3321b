"""Signals between parts: the toothed ring on the flywheel and the sensor with the control unit behind it."""

from __future__ import annotations

from graph.derive.joints.record import Case, JointCheck
from graph.fits.model import CheckResult
from graph.fits.tooth_pattern import SOURCE, check_tooth_pattern

PATTERN = tuple((side, quantity) for side in (0, 1) for quantity in ("signal-places", "signal-teeth"))


def _pattern(case: Case) -> CheckResult:
    read = [case.measured.number(case.parts[side], quantity) for side, quantity in PATTERN]
    rank = max((found[1] for found in read if found), default=9)
    return check_tooth_pattern(*(found[0] if found else None for found in read), evidence_rank=rank)


CRANK_SENSOR_SIGNAL = JointCheck(
    joint="crank-sensor-signal", run=_pattern, source=SOURCE, needs=PATTERN, what_ifs=("tooth-pattern",),
    to_confirm=("sensor's gap to the ring, and where the missing teeth stand with the first piston at the top",),
)  # fmt: skip

"""Every joint check, by its joint kind. Joints that rule out most come first."""

from __future__ import annotations

from collections.abc import Mapping

from graph.derive.joints import bearing, clutch, faces, gears, pilot, signals
from graph.derive.joints.record import JointCheck

JOINT_CHECKS: Mapping[str, JointCheck] = {
    check.joint: check
    for check in (
        bearing.IN_HOUSING,
        bearing.ON_SHAFT,
        clutch.CLUTCH_SPLINE,
        clutch.DISC_TO_FLYWHEEL,
        clutch.DISC_TO_COVER,
        pilot.ON_NOSE,
        pilot.IN_CRANK,
        faces.CASE_REGISTER,
        faces.STARTER_TO_HOUSING,
        faces.STARTER_MESH,
        clutch.RELEASE_CONTACT,
        faces.ENGINE_FACE,
        faces.HOUSING_TO_CASE,
        faces.CLUTCH_TO_FLYWHEEL,
        faces.FLYWHEEL_TO_CRANK,
        faces.PROP_FLANGE,
        faces.TAIL_TO_CASE,
        gears.CONSTANT_MESH,
        clutch.DAMPER_SPLINE,
        faces.HOUSING_ALIGNMENT,
        signals.CRANK_SENSOR_SIGNAL,
    )
}

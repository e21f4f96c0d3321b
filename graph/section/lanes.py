"""How wide each piece is drawn, and how far from the axis. This is convention: across the axis nothing is to scale,
for of most parts no diameter is stated."""

from __future__ import annotations

from typing import NamedTuple

from graph.section import model as cut

AXIS_X = 20.0
WALL, WALL_X = 7.0, 70.0  # the housing's rear wall
STEP = 5.0  # by which the shaft is thicker than its nose
CASE_LENGTH = 76.0  # of a case whose length nobody has stated; hatched


class Lane(NamedTuple):
    """From `x`, `width` wide, drawn as `look` says."""

    x: float
    width: float
    look: str


LANES = {
    cut.BLOCK: Lane(86, 62, "block"),
    cut.CRANK: Lane(AXIS_X, 62, "crank"),
    cut.BORE: Lane(AXIS_X, 26, "bore"),
    cut.SPACER: Lane(48, 34, "between"),
    cut.FLYWHEEL: Lane(48, 74, "flywheel"),
    cut.RING: Lane(122, 9, "ring"),
    cut.PILOT: Lane(33, 13, "pilot"),
    cut.COVER: Lane(66, 46, "cover"),
    cut.HUB: Lane(41, 16, "hub"),
    cut.PLATE: Lane(86, 62, "between"),
    cut.BELL: Lane(141, 7, "bell"),
    cut.CASE: Lane(44, 104, "case"),
    cut.SHAFT: Lane(AXIS_X, 12, "shaft"),
    cut.NOSE: Lane(AXIS_X, 12, "nose"),
    cut.SPLINE: Lane(37, 4, "spline"),
    cut.RELEASE_SPACER: Lane(46, 20, "between"),
    cut.RELEASE: Lane(46, 20, "release"),
    cut.PINION_REST: Lane(132, 8, "pinion"),
    cut.PINION_OUT: Lane(132, 8, "pinion"),
    cut.TAIL: Lane(44, 60, "case"),
    cut.PROP: Lane(AXIS_X, 34, "shaft"),
}
ORDER = (
    cut.BLOCK, cut.CRANK, cut.BORE, cut.FLYWHEEL, cut.SPACER, cut.RING, cut.PILOT, cut.COVER, cut.PLATE, cut.BELL,
    cut.SHAFT, cut.CASE, cut.NOSE, cut.SPLINE, cut.HUB, cut.RELEASE_SPACER, cut.RELEASE, cut.PINION_REST,
    cut.PINION_OUT, cut.BEARING, cut.TAIL, cut.LEVER, cut.PROP,
)  # fmt: skip
GAPS = {
    "pilot-overlap": 37.0, "shoulder-to-bearing": 37.0, "tip-to-bore-bottom": 24.0, "release-gap": 56.0,
    "starter-rest-gap": 124.0, "starter-mesh-width": 133.0, "spline-spare-front": 43.0, "spline-spare-rear": 43.0,
}  # fmt: skip
GAP_ELSEWHERE = 76.0
GAUGES_X, GAUGE_WIDTH = 24.0, 42.0

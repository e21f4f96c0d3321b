"""What-ifs of what is put together: bolts, dowels, starter, sensor, hub and springs, hand, shim, kind of oil."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from graph.derive.joints.clutch import check_hub_clearance
from graph.derive.joints.faces import check_starter_side
from graph.fits import bolt_length, dowels, hand, oil, retainer_shim, sensor_gap, tooth_pattern
from graph.fits.model import CheckResult
from graph.fits.threads import ENGAGEMENT
from graph.what_if.inputs import COUNT, LENGTH, NUMBER, SIZE, WORD, Field, WhatIf

Values = Mapping[str, Any]
SIDES = ("left", "right")


def _bolts(v: Values) -> CheckResult:
    return bolt_length.check_bolt_length(
        "bolt length", v["length"], v["grip"], v["thread"], v["depth"], v["into"] or "steel", v["added"]
    )


def _oil(v: Values) -> CheckResult:
    rings = [("the rings", v["rings"])]
    return oil.check_oil_kind(v["wanted"], rings, v["filled"])


def _count(value: int | None) -> Fraction | None:
    return None if value is None else Fraction(value)


ASSEMBLY_WHAT_IFS: Mapping[str, WhatIf] = {
    "bolt-length": WhatIf(
        "A bolt's length against its hole: thread engaged, and nothing bottoms or stands through.",
        {
            "length": Field(LENGTH, "length under the head"),
            "grip": Field(LENGTH, "what the head clamps, washer with it"),
            "added": Field(LENGTH, "plate or spacer that came between, none if left out"),
            "thread": Field(SIZE, "nominal diameter of the thread"),
            "depth": Field(LENGTH, "how far a bolt may go in, to the bottom or to what lies behind"),
            "into": Field(WORD, "steel if left out", words=tuple(ENGAGEMENT)),
        },
        _bolts,
    ),
    "dowel-count": WhatIf(
        "Dowels counted on both faces: two locate, bolts only clamp.",
        {
            "standing": Field(COUNT, "dowels that stand in the engine's face", signed=True),
            "holes": Field(COUNT, "holes for them in the housing's face", signed=True),
        },
        lambda v: dowels.check_dowels(_count(v["standing"]), _count(v["holes"])),
    ),
    "hub-clearance": WhatIf(
        "The disc's hub and springs against the flywheel's bolt heads, new and worn.",
        {
            "heads": Field(LENGTH, "how far ahead of the friction face the bolt heads end, with its datum"),
            "hub": Field(LENGTH, "how far the hub stands ahead of it, the disc the right way round, with its datum"),
            "springs": Field(LENGTH, "how far the springs stand ahead of it, with its datum"),
        },
        lambda v: check_hub_clearance(v["heads"], v["hub"], v["springs"]),
    ),
    "starter-pitch": WhatIf(
        "Pinion and ring gear: one module, or they grind.",
        {
            "ring": Field(NUMBER, "module of the ring gear, tip diameter / (teeth + 2), in mm"),
            "pinion": Field(NUMBER, "module of the pinion in mm"),
        },
        lambda v: hand.check_tooth_pitch(v["ring"], v["pinion"]),
    ),
    "starter-side": WhatIf(
        "The starter's side, seen from the rear.",
        {
            "housing": Field(WORD, "side on which the housing takes it", words=SIDES),
            "starter": Field(WORD, "side that it is built for", words=SIDES),
        },
        lambda v: check_starter_side(v["housing"], v["starter"]),
    ),
    "starter-hand": WhatIf(
        "Whether the starter turns the engine its own way.",
        {
            "engine": Field(WORD, "hand of the engine, seen from the flywheel's end", words=hand.HANDS),
            "pinion": Field(WORD, "hand of the pinion, seen from there", words=hand.HANDS),
        },
        lambda v: hand.check_pinion_hand(v["engine"], v["pinion"]),
    ),
    "input-hand": WhatIf(
        "Whether the engine turns the gearbox's input so that the forward gears drive forwards.",
        {
            "engine": Field(WORD, "hand of the engine, seen from the flywheel's end", words=hand.HANDS),
            "wanted": Field(WORD, "hand that drives forwards, the gearbox as it will stand", words=hand.HANDS),
            "gears": Field(COUNT, "forward gears"),
        },
        lambda v: hand.check_input_hand(v["engine"], v["wanted"], _count(v["gears"])),
    ),
    "sensor-gap": WhatIf(
        "The crankshaft sensor after its ring has moved rearwards by a flywheel spacer.",
        {
            "reads": Field(WORD, "what the sensor looks at", words=sensor_gap.READS),
            "gap": Field(LENGTH, "air gap before"),
            "moved": Field(LENGTH, "how far the ring moves rearwards"),
            "sideways": Field(LENGTH, "how far it may move before its teeth leave a sensor at the rim"),
        },
        lambda v: sensor_gap.check_sensor_gap(v["reads"], v["gap"], v["moved"], v["sideways"]),
    ),
    "tooth-pattern": WhatIf(
        "The toothed ring of the crankshaft sensor against what the control unit reads.",
        {
            "ring": Field(COUNT, "places for teeth round the ring, missing ones with them"),
            "ring_teeth": Field(COUNT, "teeth that stand on it"),
            "read": Field(COUNT, "places that the control unit is set for"),
            "read_teeth": Field(COUNT, "teeth that it counts in a turn"),
        },
        lambda v: tooth_pattern.check_tooth_pattern(
            *(_count(v[name]) for name in ("ring", "ring_teeth", "read", "read_teeth"))
        ),
    ),
    "retainer-shim": WhatIf(
        "The shim behind a bearing retainer, from depths and the end float that is wanted.",
        {
            "recess": Field(LENGTH, "depth of the retainer's recess, with its datum"),
            "proud": Field(LENGTH, "how far the bearing stands proud of the case, with its datum"),
            "gasket": Field(LENGTH, "thickness of the gasket, pressed"),
            "low": Field(SIZE, "least end float"),
            "high": Field(SIZE, "most end float"),
        },
        lambda v: retainer_shim.check_retainer_shim(v["recess"], v["proud"], v["gasket"], v["low"], v["high"]),
    ),
    "oil-kind": WhatIf(
        "The kind of oil by what is stated and what the synchro rings are of.",
        {
            "wanted": Field(WORD, "oil that the box is stated to want", words=oil.GRADES),
            "rings": Field(WORD, "what its rings are of", words=oil.RING_MATERIALS),
            "filled": Field(WORD, "oil that is to go in, that of the plate if left out", words=oil.GRADES),
        },
        _oil,
    ),
}

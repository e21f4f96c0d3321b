"""Checks to try on what turns: splines, pilot, release, gears, torque, a bearing's life."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from graph.errors import InvalidInput, Problem
from graph.fits import bearing_life, mesh, pilot, release, spline, torque
from graph.fits.bearing_search import get_bearing
from graph.fits.model import CheckResult, combine
from graph.fits.tables import load_tables
from graph.what_if.inputs import ANGLE, COUNT, NUMBER, QUANTITY, READING, WORD, Field, WhatIf, length_field, size_field
from graph.what_if.sketches import draw_pilot

Values = Mapping[str, Any]


def _spline(v: Values) -> CheckResult:
    def end(side: str) -> spline.SplineEnd:
        return spline.SplineEnd(
            teeth=v[f"{side}_teeth"], form=v[f"{side}_form"], pressure_angle_deg=v[f"{side}_angle"],
            pitch=v[f"{side}_pitch"], major=v[f"{side}_major"], minor=v[f"{side}_minor"], evidence_rank=1,
        )  # fmt: skip

    parts = [spline.check_form(end("shaft"), end("hub"))]
    places = [v[name] for name in ("hub_front", "hub_rear", "spline_front", "spline_rear")]
    if any(place is not None for place in places):
        parts.append(spline.check_engagement(*places, wear_nm=v["wear"] or 0))
    return combine("spline", parts) if len(parts) > 1 else parts[0]


def _pilot(v: Values) -> CheckResult:
    hardness = v["nose_hardness"]
    return pilot.check_pilot(
        load_tables(),
        pilot.Pilot(
            crank_bore=v["crank_bore"], outside=v["outside"], inside=v["inside"], nose=v["nose"],
            kind=v["kind"] or pilot.BUSH, nose_hardened=None if hardness is None else hardness == "hardened",
        ),
    )  # fmt: skip


def _release(v: Values) -> CheckResult:
    hydraulics = release.Hydraulics(
        master_bore=v["master_bore"], master_stroke=v["master_stroke"], slave_bore=v["slave_bore"],
        slave_inside=v["slave_inside"], fork_ratio=v["fork_ratio"] or Fraction(1),
    )  # fmt: skip
    return release.check_release(hydraulics, v["gap"], v["finger_travel"], v["longest_travel"])


def _mesh(v: Values) -> CheckResult:
    def gear(name: str) -> mesh.Gear:
        try:
            return mesh.Gear(
                teeth=v[f"{name}_teeth"], module_mm=v[f"{name}_module"], helix_deg=v[f"{name}_helix"],
                hand=v[f"{name}_hand"], pressure_deg=v["pressure_angle"], shift=v[f"{name}_shift"], evidence_rank=1,
            )  # fmt: skip
        except InvalidInput as error:
            own = [one if one.path == "pressure_deg" else Problem(f"{name}_{one.path}", one.message)
                   for one in error.problems]  # fmt: skip
            raise InvalidInput(own) from None

    return mesh.check_mesh(gear("old"), gear("new"), gear("layshaft"), v["centres"])


def _clutch(v: Values) -> CheckResult:
    clutch = torque.Clutch(
        clamp_n=v["clamp_n"], friction=v["friction"] or Fraction(3, 10), faces=v["faces"] or 2, inner_nm=v["inner"],
        outer_nm=v["outer"],
    )  # fmt: skip
    return torque.check_clutch(clutch, v["engine_nm"])


def _substitute(v: Values) -> CheckResult:
    tables = load_tables()
    old, new = (get_bearing(tables, v[name]) for name in ("old", "new"))
    least = v["least_part"] or Fraction(1)
    if (v["old_c_n"], v["new_c_n"]) == (None, None):
        return bearing_life.check_exchange(old, new, least_part=least)
    before, after = (
        bearing_life.rating_in_hand(one.designation, v[name]) if v[name] else other
        for one, name, other in (
            (old, "old_c_n", bearing_life.highest_ratings(old)), (new, "new_c_n", bearing_life.lowest_ratings(new)),
        )
    )  # fmt: skip
    return bearing_life.check_substitute(before, after, least_part=least)


def _gear(name: str) -> dict[str, Field]:
    return {
        f"{name}_teeth": Field(COUNT, f"teeth of the {name} gear"),
        f"{name}_module": Field(NUMBER, f"normal module of the {name} gear in mm"),
        f"{name}_shift": Field(NUMBER, f"profile shift of the {name} gear in modules, if measured", signed=True),
        f"{name}_helix": Field(ANGLE, f"helix angle of the {name} gear, 0 deg if spur"),
        f"{name}_hand": Field(WORD, f"hand of the {name} gear", words=("left", "right", "none")),
    }


def _spline_end(side: str) -> dict[str, Field]:
    return {
        f"{side}_teeth": Field(COUNT, f"teeth of the {side}"),
        f"{side}_form": Field(WORD, f"flanks of the {side}", words=("straight", "involute")),
        f"{side}_angle": Field(ANGLE, f"pressure angle of the {side}, involute only"),
        f"{side}_pitch": Field(READING, f"pitch diameter of the {side}, involute only"),
        f"{side}_major": length_field(f"major diameter of the {side}"),
        f"{side}_minor": length_field(f"minor diameter of the {side}"),
    }


SHAFT_WHAT_IFS: Mapping[str, WhatIf] = {
    "spline": WhatIf(
        "A disc's hub on a shaft: form, diameters, engagement.",
        {
            **_spline_end("shaft"),
            **_spline_end("hub"),
            "hub_front": length_field("front end of the hub, with its datum"),
            "hub_rear": length_field("rear end of the hub, with its datum"),
            "spline_front": length_field("where the full spline begins, with its datum"),
            "spline_rear": length_field("where the full spline ends, with its datum"),
            "wear": size_field("how far the hub moves as the disc wears"),
        },
        _spline,
    ),
    "pilot": WhatIf(
        "Pilot bearing in the crankshaft and on the nose.",
        {
            "crank_bore": length_field("bore of the crankshaft"),
            "outside": length_field("outside of the pilot"),
            "inside": length_field("inside of the pilot"),
            "nose": length_field("diameter of the nose"),
            "kind": Field(WORD, "bush if left out", words=pilot.KINDS),
            "nose_hardness": Field(WORD, "does a file bite", words=("hardened", "not hardened")),
        },
        _pilot,
        draw=draw_pilot,
    ),
    "release": WhatIf(
        "Travel of the release bearing for a pedal stroke.",
        {
            name: length_field(name.replace("_", " "))
            for name in (
                "master_bore",
                "master_stroke",
                "slave_bore",
                "slave_inside",
                "gap",
                "finger_travel",
                "longest_travel",
            )
        }
        | {"fork_ratio": Field(NUMBER, "slave travel for one of bearing travel, 1 if left out")},
        _release,
    ),
    "gear-mesh": WhatIf(
        "Another input gear against the layshaft gear, at the old pair's centre distance or the measured one.",
        {
            **_gear("old"),
            **_gear("new"),
            **_gear("layshaft"),
            "centres": length_field("centre distance of the case"),
            "pressure_angle": Field(ANGLE, "normal pressure angle, 20 deg if left out"),
        },
        _mesh,
    ),
    "clutch-torque": WhatIf(
        "What a clutch carries against what the engine gives.",
        {
            "clamp_n": Field(QUANTITY, "clamp load", True, unit="N"),
            "outer": size_field("outside diameter of the lining", True),
            "inner": size_field("inside diameter of the lining", True),
            "friction": Field(NUMBER, "coefficient of friction, 0.3 if left out"),
            "faces": Field(COUNT, "friction faces, 2 if left out"),
            "engine_nm": Field(QUANTITY, "greatest torque of the engine", unit="Nm"),
        },
        _clutch,
    ),
    "gearbox-torque": WhatIf(
        "The gearbox's rating against the engine's torque.",
        {
            "rating_nm": Field(QUANTITY, "rating of the gearbox", unit="Nm"),
            "engine_nm": Field(QUANTITY, "engine torque", unit="Nm"),
        },
        lambda v: torque.check_gearbox_torque(v["rating_nm"], v["engine_nm"]),
    ),
    "bearing-life": WhatIf(
        "How a bearing's life changes with another in its place.",
        {
            "old": Field(WORD, "designation of the old bearing", True),
            "new": Field(WORD, "designation of the new one", True),
            "least_part": Field(NUMBER, "least part of the old life, 1 if left out"),
            "old_c_n": Field(QUANTITY, "dynamic rating of the old bearing in hand", unit="N"),
            "new_c_n": Field(QUANTITY, "dynamic rating of the new bearing in hand", unit="N"),
        },
        _substitute,
    ),
}

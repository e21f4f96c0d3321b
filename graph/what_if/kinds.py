"""What-if: a joint check tried on dimensions that somebody types. Nothing is read from the catalogue, nothing kept."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from graph.catalogue.near import near_matches
from graph.derive.joints.bearing import RUNNING_C
from graph.derive.joints.clutch import check_disc_in_cover, check_disc_on_flywheel, check_release_contact
from graph.derive.joints.faces import check_starter
from graph.derive.joints.record import BEARING_STEEL
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits import (
    assembly,
    axial,
    bearing,
    bearing_life,
    driveline,
    limits,
    mesh,
    pilot,
    propshaft,
    release,
    runout,
    seats,
    spline,
    torque,
)
from graph.fits.bearing_search import get_bearing
from graph.fits.model import CheckResult, combine
from graph.fits.sketch import Sketch
from graph.fits.tables import load_tables
from graph.fits.tables_drive import get_elasticity, get_material, load_drive_tables
from graph.what_if.at_assembly import ASSEMBLY_WHAT_IFS
from graph.what_if.drive import DRIVE_WHAT_IFS
from graph.what_if.inputs import (
    ANGLE,
    COUNT,
    LENGTH,
    NUMBER,
    QUANTITY,
    READING,
    SIZE,
    WORD,
    Field,
    WhatIf,
    read_fields,
    run_named,
    show_fields,
    told_units,
)
from graph.what_if.lengths import LENGTH_CHAINS
from graph.what_if.sketches import bearing_seat_of, draw_pilot, draw_seat, draw_shoulder, sketches_of
from graph.what_if.standards import STANDARD_WHAT_IFS

Values = Mapping[str, Any]


def check_what_if(kind: str, inputs: Mapping[str, str]) -> CheckResult:
    """The result of a check on typed dimensions. Raises NotFound for the kind, InvalidInput for the inputs."""
    what_if = get_what_if(kind)
    result = run_named(what_if, read_fields(what_if, inputs))
    assert isinstance(result, CheckResult)
    return result


def try_what_if(kind: str, inputs: Mapping[str, str]) -> tuple[CheckResult, tuple[Sketch, ...]]:
    """The result, and a sublet sketch for each piece of its work that a machine shop does. Raises as the check does."""
    what_if = get_what_if(kind)
    values = read_fields(what_if, inputs)
    result = run_named(what_if, values)
    assert isinstance(result, CheckResult)
    return result, sketches_of(what_if, values, result)


def read_what_if(kind: str, inputs: Mapping[str, str]) -> dict[str, str]:
    """How each input was read, in words, by its name. Raises as the check does."""
    what_if = get_what_if(kind)
    return told_units(what_if, inputs, show_fields(what_if, read_fields(what_if, inputs)))


def get_what_if(kind: str) -> WhatIf:
    """The check of that name. Raises NotFound with near matches."""
    found = WHAT_IFS.get(kind)
    if found is None:
        raise NotFound("fit check", kind, near_matches(kind, WHAT_IFS) or sorted(WHAT_IFS))
    return found


def title_of(kind: str) -> str:
    """The check's name for people. Raises NotFound."""
    return get_what_if(kind).title or kind.replace("-", " ").capitalize()


def _bearing_seat(v: Values) -> CheckResult:
    tables = load_tables()
    ring = seats.bearing_ring(tables, get_bearing(tables, v["bearing"]), v["side"])
    return bearing.check_seat(
        tables, load_drive_tables(), bearing_seat_of(v), ring,
        running_c=RUNNING_C if v["running_c"] is None else v["running_c"],
        bearing_steel=get_material(load_drive_tables(), BEARING_STEEL),
    )  # fmt: skip


def _axial(v: Values) -> CheckResult:
    return axial.check_location(
        v["width"], v["spacing"], play_low_nm=v["play_low"] or 0,
        play_high_nm=axial.MOST_PLAY_NM if v["play_high"] is None else v["play_high"], stock=v["stock"],
        chamfer_nm=v["chamfer"],
    )  # fmt: skip


def _fit(v: Values) -> CheckResult:
    return (
        limits.check_fit("fit", v["hole"], v["shaft"], low_nm=v["low"], high_nm=v["high"], why="limits as given")
        if (v["low"], v["high"]) != (None, None)
        else _refuse("low", "state at least one limit of the clearance")
    )


def _refuse(path: str, message: str) -> CheckResult:
    raise InvalidInput([Problem(path, message)])


def _register(v: Values) -> CheckResult:
    back = v["back_at_h12"]
    readings = runout.DialReadings(
        h12_nm=v["h12"], h3_nm=v["h3"], h6_nm=v["h6"], h9_nm=v["h9"], back_at_h12_nm=back,
        bearing_clearance_nm=v["bearing_clearance"] or 0,
    )  # fmt: skip
    steps = [nm for nm in (v["dowel_1"], v["dowel_2"], v["dowel_3"]) if nm is not None]
    return runout.check_register(readings, limit_nm=v["limit"] or runout.CAR_LIMIT_NM, steps_nm=steps)


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


def _critical(v: Values) -> CheckResult:
    made = get_elasticity(load_drive_tables(), v["material"] or "steel")
    tube = driveline.Tube(
        length_nm=v["length"], outer_nm=v["outer"], wall_nm=v["wall"], modulus_gpa=v["modulus"] or made.modulus_gpa,
        density_kg_m3=v["density"] or made.density_kg_m3,
    )  # fmt: skip
    return driveline.check_critical_speed(tube, v["speed_rpm"])


def _length(about: str) -> Field:
    return Field(LENGTH, about)


def _size(about: str, needed: bool = False, signed: bool = False) -> Field:
    return Field(SIZE, about, needed, signed=signed)


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
        f"{side}_major": _length(f"major diameter of the {side}"),
        f"{side}_minor": _length(f"minor diameter of the {side}"),
    }


WHAT_IFS: Mapping[str, WhatIf] = {
    "bearing-seat": WhatIf(
        "A bearing's ring on its journal or in its housing: fit class, cold and hot.",
        {
            "side": Field(WORD, "which seat", True, ("shaft", "housing")),
            "bearing": Field(WORD, "designation in ISO 15, such as 6309", True),
            "seat": _length("journal or bore diameter"),
            "family": Field(WORD, "what the seat is of", words=("steel", "steel or iron", "light alloy")),
            "duty": Field(WORD, "how the ring runs, such as ring stands"),
            "stock": _length("wall that may be cut away, per side"),
            "running_c": Field(
                QUANTITY,
                f"running temperature, {RUNNING_C} C if left out (oil of a gearbox at work)",
                unit="C",
                signed=True,
            ),
        },
        _bearing_seat,
        draw=draw_seat,
    ),
    "axial-location": WhatIf(
        "A bearing's width between shoulder and ring.",
        {
            "width": _length("width of the bearing"),
            "spacing": _length("shoulder to ring, with its datum"),
            "play_low": _size("least play, 0 if left out", signed=True),
            "play_high": _size("most play, 0.10 mm if left out"),
            "stock": _length("what may come off the shoulder, with its datum"),
            "chamfer": _size("chamfer of the bearing"),
        },
        _axial,
        draw=draw_shoulder,
    ),
    "end-float": WhatIf(
        "End float by subtraction of depths.",
        {
            "outer": _length("first depth, with its datum"),
            "inner": _length("second depth, with its datum"),
            "part": _length("width of what lies between"),
            "low": _size("least end float, below zero for preload", True, True),
            "high": _size("most end float", True, True),
        },
        lambda v: axial.end_float(v["outer"], v["inner"], v["part"], low_nm=v["low"], high_nm=v["high"]),
    ),
    "crank-end-float": WhatIf(
        "The crankshaft's end float before and after bolting up: it must not shrink.",
        {"before": _length("end float before"), "after": _length("end float with everything bolted up")},
        lambda v: assembly.check_crank_end_float(v["before"], v["after"]),
    ),
    "run-out": WhatIf(
        "A dial reading or a feeler's against the usual limit for the face or journal.",
        {"what": Field(WORD, "what is read", True, tuple(assembly.LIMITS)), "reading": _length("total reading")},
        lambda v: assembly.check_out(v["what"], v["reading"]),
    ),
    "fit": WhatIf(
        "Clearance of a hole and a shaft between limits.",
        {
            "hole": _length("hole"),
            "shaft": _length("shaft"),
            "low": _size("least clearance, below zero for interference", signed=True),
            "high": _size("most", signed=True),
        },
        _fit,
    ),
    "register": WhatIf(
        "Four dial readings in the housing's register: offset, run-out, and the dowels that cure it.",
        {
            **{name: _size(f"reading at {name[1:]} o'clock", True, True) for name in ("h12", "h3", "h6", "h9")},
            "back_at_h12": _size("12 o'clock read again", signed=True),
            "bearing_clearance": _size("clearance of the crank in its bearings, heavy engines"),
            "limit": _size("greatest total indicator reading, 5 thou if left out"),
            **{f"dowel_{n}": _size("offset of a dowel to be had") for n in (1, 2, 3)},
        },
        _register,
        title="Dial readings",
    ),
    "spline": WhatIf(
        "A disc's hub on a shaft: form, diameters, engagement.",
        {
            **_spline_end("shaft"),
            **_spline_end("hub"),
            "hub_front": _length("front end of the hub, with its datum"),
            "hub_rear": _length("rear end of the hub, with its datum"),
            "spline_front": _length("where the full spline begins, with its datum"),
            "spline_rear": _length("where the full spline ends, with its datum"),
            "wear": _size("how far the hub moves as the disc wears"),
        },
        _spline,
    ),
    "pilot": WhatIf(
        "Pilot bearing in the crankshaft and on the nose.",
        {
            "crank_bore": _length("bore of the crankshaft"),
            "outside": _length("outside of the pilot"),
            "inside": _length("inside of the pilot"),
            "nose": _length("diameter of the nose"),
            "kind": Field(WORD, "bush if left out", words=pilot.KINDS),
            "nose_hardness": Field(WORD, "does a file bite", words=("hardened", "not hardened")),
        },
        _pilot,
        draw=draw_pilot,
    ),
    "release": WhatIf(
        "Travel of the release bearing for a pedal stroke.",
        {
            name: _length(name.replace("_", " "))
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
            "centres": _length("centre distance of the case"),
            "pressure_angle": Field(ANGLE, "normal pressure angle, 20 deg if left out"),
        },
        _mesh,
    ),
    "clutch-torque": WhatIf(
        "What a clutch carries against what the engine gives.",
        {
            "clamp_n": Field(QUANTITY, "clamp load", True, unit="N"),
            "outer": _size("outside diameter of the lining", True),
            "inner": _size("inside diameter of the lining", True),
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
    "propshaft-length": WhatIf(
        "The old propshaft after the output has moved.",
        {
            "old": _length("length of the propshaft"),
            "moved_back": _length("how far the output moved back, with its datum"),
            "slip_in": _size("how far the slip joint still goes in", True),
            "slip_out": _size("how far it may be drawn out", True),
        },
        lambda v: propshaft.check_length(
            v["old"], v["moved_back"], slip_room_nm=v["slip_in"], slip_out_nm=v["slip_out"]
        ),
    ),
    "joint-angles": WhatIf(
        "The two joints of a propshaft at its top speed.",
        {
            "front": Field(ANGLE, "angle of the front joint, loaded"),
            "rear": Field(ANGLE, "angle of the rear joint, loaded"),
            "speed_rpm": Field(QUANTITY, "top speed of the shaft", True, unit="rpm"),
            "gauge": Field(ANGLE, "how finely the gauge reads, 0.1 deg if left out"),
        },
        lambda v: driveline.check_joint_angles(
            load_drive_tables().angles,
            v["front"],
            v["rear"],
            v["speed_rpm"],
            reading_deg=driveline.READING_DEG if v["gauge"] is None else v["gauge"],
        ),
    ),
    "critical-speed": WhatIf(
        "A propshaft tube against its first critical speed.",
        {
            "length": _size("between the joints", True),
            "outer": _size("outside diameter", True),
            "wall": _size("wall", True),
            "speed_rpm": Field(QUANTITY, "top speed", unit="rpm"),
            "material": Field(WORD, "steel if left out", words=("steel", "light alloy", "cast iron")),
            "modulus": Field(QUANTITY, "modulus of elasticity, that of the material if left out", unit="GPa"),
            "density": Field(QUANTITY, "density, that of the material if left out", unit="kg/m3"),
        },
        _critical,
    ),
    "length-chains": LENGTH_CHAINS,
    "lever": WhatIf(
        "The lever in its tunnel opening; a plate moves it back by its own thickness.",
        {
            "lever": _length("centre of the lever, with its datum"),
            "plate": _length("thickness of the plate"),
            "opening_front": _length("front edge of the opening, with its datum"),
            "opening_rear": _length("rear edge of the opening, with its datum"),
        },
        lambda v: propshaft.check_lever(v["lever"], v["plate"], v["opening_front"], v["opening_rear"]),
    ),
    "disc-on-flywheel": WhatIf(
        "The lining on the flywheel's friction face.",
        {"face": _length("diameter of the friction face"), "disc": _length("diameter of the disc")},
        lambda v: check_disc_on_flywheel(v["face"], v["disc"]),
    ),
    "disc-in-cover": WhatIf(
        "The lining under the pressure plate, and its thickness against what the cover is set for.",
        {
            "plate": _length("diameter of the pressure plate"),
            "disc": _length("diameter of the disc"),
            "thickness": _length("thickness of the disc, clamped"),
            "set_for": _length("disc thickness that the cover is set for"),
        },
        lambda v: check_disc_in_cover(v["plate"], v["disc"], v["thickness"], v["set_for"]),
    ),
    "release-contact": WhatIf(
        "The release bearing's contact circle against the circle of the finger tips.",
        {"contact": _length("diameter of the contact face"), "finger_tips": _length("circle of the finger tips")},
        lambda v: check_release_contact(v["contact"], v["finger_tips"]),
    ),
    "starter-register": WhatIf(
        "The starter's register in its bore, and its lugs on the holes.",
        {
            "bore": _length("bore in the housing"),
            "register": _length("register of the starter"),
            "holes": _length("between the holes of the housing"),
            "lugs": _length("between the holes of the starter"),
        },
        lambda v: check_starter(v["bore"], v["register"], v["holes"], v["lugs"]),
    ),
    **ASSEMBLY_WHAT_IFS,
    **DRIVE_WHAT_IFS,
    **STANDARD_WHAT_IFS,
}

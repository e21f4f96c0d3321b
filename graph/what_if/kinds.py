"""What-if: a joint check tried on dimensions that somebody types. Nothing is read from the catalogue, nothing kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graph.catalogue.near import near_matches
from graph.derive.joints.clutch import check_disc_in_cover, check_disc_on_flywheel, check_release_contact
from graph.derive.joints.faces import check_starter
from graph.errors import NotFound
from graph.fits import driveline, propshaft
from graph.fits.model import CheckResult
from graph.fits.sketch import Sketch
from graph.fits.tables_drive import get_elasticity, load_drive_tables
from graph.what_if.at_assembly import ASSEMBLY_WHAT_IFS
from graph.what_if.at_seats import SEAT_WHAT_IFS
from graph.what_if.at_shafts import SHAFT_WHAT_IFS
from graph.what_if.drive import DRIVE_WHAT_IFS
from graph.what_if.inputs import (
    ANGLE,
    QUANTITY,
    WORD,
    Field,
    WhatIf,
    length_field,
    read_fields,
    run_named,
    show_fields,
    size_field,
    told_units,
)
from graph.what_if.lengths import LENGTH_CHAINS
from graph.what_if.sketches import sketches_of
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


def _critical(v: Values) -> CheckResult:
    made = get_elasticity(load_drive_tables(), v["material"] or "steel")
    tube = driveline.Tube(
        length_nm=v["length"], outer_nm=v["outer"], wall_nm=v["wall"], modulus_gpa=v["modulus"] or made.modulus_gpa,
        density_kg_m3=v["density"] or made.density_kg_m3,
    )  # fmt: skip
    return driveline.check_critical_speed(tube, v["speed_rpm"])


WHAT_IFS: Mapping[str, WhatIf] = {
    **SEAT_WHAT_IFS,
    **SHAFT_WHAT_IFS,
    "propshaft-length": WhatIf(
        "The old propshaft after the output has moved.",
        {
            "old": length_field("length of the propshaft"),
            "moved_back": length_field("how far the output moved back, with its datum"),
            "slip_in": size_field("how far the slip joint still goes in", True),
            "slip_out": size_field("how far it may be drawn out", True),
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
            "length": size_field("between the joints", True),
            "outer": size_field("outside diameter", True),
            "wall": size_field("wall", True),
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
            "lever": length_field("centre of the lever, with its datum"),
            "plate": length_field("thickness of the plate"),
            "opening_front": length_field("front edge of the opening, with its datum"),
            "opening_rear": length_field("rear edge of the opening, with its datum"),
        },
        lambda v: propshaft.check_lever(v["lever"], v["plate"], v["opening_front"], v["opening_rear"]),
    ),
    "disc-on-flywheel": WhatIf(
        "The lining on the flywheel's friction face.",
        {"face": length_field("diameter of the friction face"), "disc": length_field("diameter of the disc")},
        lambda v: check_disc_on_flywheel(v["face"], v["disc"]),
    ),
    "disc-in-cover": WhatIf(
        "The lining under the pressure plate, and its thickness against what the cover is set for.",
        {
            "plate": length_field("diameter of the pressure plate"),
            "disc": length_field("diameter of the disc"),
            "thickness": length_field("thickness of the disc, clamped"),
            "set_for": length_field("disc thickness that the cover is set for"),
        },
        lambda v: check_disc_in_cover(v["plate"], v["disc"], v["thickness"], v["set_for"]),
    ),
    "release-contact": WhatIf(
        "The release bearing's contact circle against the circle of the finger tips.",
        {
            "contact": length_field("diameter of the contact face"),
            "finger_tips": length_field("circle of the finger tips"),
        },
        lambda v: check_release_contact(v["contact"], v["finger_tips"]),
    ),
    "starter-register": WhatIf(
        "The starter's register in its bore, and its lugs on the holes.",
        {
            "bore": length_field("bore in the housing"),
            "register": length_field("register of the starter"),
            "holes": length_field("between the holes of the housing"),
            "lugs": length_field("between the holes of the starter"),
        },
        lambda v: check_starter(v["bore"], v["register"], v["holes"], v["lugs"]),
    ),
    **ASSEMBLY_WHAT_IFS,
    **DRIVE_WHAT_IFS,
    **STANDARD_WHAT_IFS,
}

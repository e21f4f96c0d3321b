"""Checks to try on bearings' seats, widths, floats and run-out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graph.derive.joints.bearing import RUNNING_C
from graph.derive.joints.record import BEARING_STEEL
from graph.errors import InvalidInput, Problem
from graph.fits import assembly, axial, bearing, limits, runout, seats
from graph.fits.bearing_search import get_bearing
from graph.fits.model import CheckResult
from graph.fits.tables import load_tables
from graph.fits.tables_drive import get_material, load_drive_tables
from graph.what_if.inputs import QUANTITY, WORD, Field, WhatIf, length_field, size_field
from graph.what_if.sketches import bearing_seat_of, draw_seat, draw_shoulder

Values = Mapping[str, Any]


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


SEAT_WHAT_IFS: Mapping[str, WhatIf] = {
    "bearing-seat": WhatIf(
        "A bearing's ring on its journal or in its housing: fit class, cold and hot.",
        {
            "side": Field(WORD, "which seat", True, ("shaft", "housing")),
            "bearing": Field(WORD, "designation in ISO 15, such as 6309", True),
            "seat": length_field("journal or bore diameter"),
            "family": Field(WORD, "what the seat is of", words=("steel", "steel or iron", "light alloy")),
            "duty": Field(WORD, "how the ring runs, such as ring stands"),
            "stock": length_field("wall that may be cut away, per side"),
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
            "width": length_field("width of the bearing"),
            "spacing": length_field("shoulder to ring, with its datum"),
            "play_low": size_field("least play, 0 if left out", signed=True),
            "play_high": size_field("most play, 0.10 mm if left out"),
            "stock": length_field("what may come off the shoulder, with its datum"),
            "chamfer": size_field("chamfer of the bearing"),
        },
        _axial,
        draw=draw_shoulder,
    ),
    "end-float": WhatIf(
        "End float by subtraction of depths.",
        {
            "outer": length_field("first depth, with its datum"),
            "inner": length_field("second depth, with its datum"),
            "part": length_field("width of what lies between"),
            "low": size_field("least end float, below zero for preload", True, True),
            "high": size_field("most end float", True, True),
        },
        lambda v: axial.end_float(v["outer"], v["inner"], v["part"], low_nm=v["low"], high_nm=v["high"]),
    ),
    "crank-end-float": WhatIf(
        "The crankshaft's end float before and after bolting up: it must not shrink.",
        {"before": length_field("end float before"), "after": length_field("end float with everything bolted up")},
        lambda v: assembly.check_crank_end_float(v["before"], v["after"]),
    ),
    "run-out": WhatIf(
        "A dial reading or a feeler's against the usual limit for the face or journal.",
        {"what": Field(WORD, "what is read", True, tuple(assembly.LIMITS)), "reading": length_field("total reading")},
        lambda v: assembly.check_out(v["what"], v["reading"]),
    ),
    "fit": WhatIf(
        "Clearance of a hole and a shaft between limits.",
        {
            "hole": length_field("hole"),
            "shaft": length_field("shaft"),
            "low": size_field("least clearance, below zero for interference", signed=True),
            "high": size_field("most", signed=True),
        },
        _fit,
    ),
    "register": WhatIf(
        "Four dial readings in the housing's register: offset, run-out, and the dowels that cure it.",
        {
            **{name: size_field(f"reading at {name[1:]} o'clock", True, True) for name in ("h12", "h3", "h6", "h9")},
            "back_at_h12": size_field("12 o'clock read again", signed=True),
            "bearing_clearance": size_field("clearance of the crank in its bearings, heavy engines"),
            "limit": size_field("greatest total indicator reading, 5 thou if left out"),
            **{f"dowel_{n}": size_field("offset of a dowel to be had") for n in (1, 2, 3)},
        },
        _register,
        title="Dial readings",
    ),
}

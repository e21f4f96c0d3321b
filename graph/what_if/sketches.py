"""Sublet sketches for a what-if: the same drawings, from typed dimensions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graph.derive.joints.bearing import MATERIALS, SHAFT_STEEL
from graph.derive.work_sketches import pilot_sketch, seat_sketch, shoulder_sketch
from graph.fits.model import CheckResult, Work
from graph.fits.seats import Seat
from graph.fits.sketch import Sketch
from graph.fits.tables_drive import get_material, load_drive_tables
from graph.what_if.inputs import WhatIf

Values = Mapping[str, Any]


def bearing_seat_of(v: Values) -> Seat:
    """The seat that the fields of a bearing-seat what-if describe."""
    side, family = v["side"], v["family"] or ("steel" if v["side"] == "shaft" else "light alloy")
    material = get_material(
        load_drive_tables(), SHAFT_STEEL if side == "shaft" else MATERIALS.get(family, MATERIALS["steel or iron"])
    )
    duty = v["duty"] or ("ring turns; normal load" if side == "shaft" else "ring stands")
    return Seat(side=side, measured=v["seat"], duty=duty, family=family, material=material, stock=v["stock"])


def sketches_of(what_if: WhatIf, values: Values, result: CheckResult) -> tuple[Sketch, ...]:
    """A sketch for each piece of work of the result that is sent out; empty for checks that send nothing out."""
    draw = what_if.draw
    if draw is None:
        return ()
    works = [work for choice in (result.choices or (result.work,)) for work in choice]
    works += [work for part in result.parts for choice in (part.choices or (part.work,)) for work in choice]
    found = (draw(values, work) for work in dict.fromkeys(works))
    return tuple(sketch for sketch in found if sketch is not None)


def draw_seat(v: Values, work: Work) -> Sketch | None:
    """The seat of a bearing-seat what-if."""
    owner = "the shaft" if v["side"] == "shaft" else "the case"
    return seat_sketch(bearing_seat_of(v), work, owner, f"bearing {v['bearing']}")


def draw_shoulder(v: Values, work: Work) -> Sketch | None:
    """The shoulder of an axial-location what-if; None where nothing is turned."""
    if work.operation != "turn-shoulder" or v["width"] is None:
        return None
    return shoulder_sketch(work, v["width"].nominal_nm, v["chamfer"], "the shaft", "the bearing")


def draw_pilot(v: Values, work: Work) -> Sketch | None:
    """What a pilot what-if sends out."""
    sizes = {name: v[name] for name in ("crank_bore", "outside", "inside", "nose")}
    return pilot_sketch(work, **sizes, mate="the pilot, if there is one")

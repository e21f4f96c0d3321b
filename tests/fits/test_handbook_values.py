"""Every published value that the project holds a table of, asked of the project's own functions.

`published/handbook_values.csv`: what, of which item, its value, its unit and its source, one a line. ISO 5753 is from
memory and stands in tests/derive/test_standard_what_ifs.py.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from graph.fits.bearing_life import get_safety_guide
from graph.fits.bearing_search import get_bearing
from graph.fits.driveline import get_angle_limit
from graph.fits.limits import get_deviation
from graph.fits.model import NM_PER_INCH, NM_PER_MM, NM_PER_UM
from graph.fits.rings import get_ring
from graph.fits.spline_sizes import straight_sizes
from graph.fits.tables import load_tables
from graph.fits.tables_drive import get_material, load_drive_tables
from graph.fits.torque import get_bolt, get_torque_factor, preload_n, tightening_torque_nm

VALUES = list(
    csv.DictReader((Path(__file__).parent / "published" / "handbook_values.csv").read_text("utf-8").splitlines())
)
TABLES, DRIVE = load_tables(), load_drive_tables()
UNIT_NM = {"um": NM_PER_UM, "mm": NM_PER_MM, "in": NM_PER_INCH}


def iso286(end: str, item: str) -> int:
    _, cls, size = item.split()
    return int(getattr(get_deviation(TABLES, cls, int(Fraction(size) * NM_PER_MM)), f"{end}_nm"))


def iso492(end: str, item: str) -> int:
    ring, quantity, size = item.split("|")
    (row,) = (r for r in TABLES.ring_deviations if (r.ring, r.quantity) == (ring, quantity)
              and r.incl_nm == int(Fraction(size) * NM_PER_MM))  # fmt: skip
    return int(getattr(row, f"{end}_nm"))


def iso15(column: str, item: str) -> int:
    return int(getattr(get_bearing(TABLES, item), {"d": "bore_nm", "D": "od_nm", "B": "width_nm"}[column]))


def ring(column: str, item: str) -> int:
    standard, size = item.rsplit(" ", 1)
    found = get_ring(TABLES, standard, int(Fraction(size) * NM_PER_MM))
    field = {"thickness": "thickness_nm", "groove": "groove_nm", "groove width": "groove_width_nm",
             "edge": "edge_margin_nm"}[column]  # fmt: skip
    return int(getattr(found, field))


def iso273(series: str, item: str) -> int:
    (row,) = (hole for hole in TABLES.holes if hole.thread == item)
    return int(getattr(row, f"{series}_nm"))


def bolt(column: str, item: str) -> Fraction:
    found = get_bolt(TABLES, *item.split())
    if column.startswith("torque K "):
        return tightening_torque_nm(preload_n(found), found.diameter_nm, Fraction(column.removeprefix("torque K ")))
    return Fraction(found.proof_load_n if column == "proof load" else found.tensile_load_n)


def j617(column: str, item: str) -> int:
    (row,) = (housing for housing in DRIVE.housings if housing.number == item)
    field = {"register": "register_nm", "register upper": "register_upper_nm", "circle": "bolt_circle_nm",
             "flange": "flange_od_nm", "holes": "holes"}[column]  # fmt: skip
    return int(getattr(row, field))


def j620(column: str, item: str) -> int:
    (row,) = (wheel for wheel in DRIVE.flywheels if wheel.clutch_size == item)
    field = {"recess": "pilot_nm", "circle": "bolt_circle_nm", "depth": "depth_nm", "bore": "pilot_bore_nm",
             "holes": "holes"}[column]  # fmt: skip
    return int(getattr(row, field))


def iso281(column: str, item: str) -> Fraction:
    (row,) = (factor for factor in DRIVE.load_factors if factor.relative_load == Fraction(item))
    return Fraction(getattr(row, column.lower()))


def s0(column: str, item: str) -> Fraction:
    return Fraction(getattr(get_safety_guide(DRIVE.safety, *item.split("|")), f"s0_{column}"))


def spline(column: str, item: str) -> Fraction:
    teeth, fit = item.split("|")
    return straight_sizes(DRIVE.straight_splines, int(teeth), fit, 1)[column == "key"]


ASKED: dict[str, Callable[[str, str], Fraction | int]] = {
    "iso286": iso286, "iso492": iso492, "iso15": iso15, "ring": ring, "iso273": iso273, "bolt": bolt, "j617": j617,
    "j620": j620, "iso281": iso281, "s0": s0, "straight spline": spline,
    "joint angle": lambda _, item: get_angle_limit(DRIVE.angles, int(item)).angle_deg,
    "torque factor": lambda _, item: get_torque_factor(DRIVE.torque_factors, item),
    "expansion": lambda _, item: get_material(DRIVE, item).alpha_um_per_m_k,
}  # fmt: skip


def asked(row: dict[str, str]) -> Fraction:
    name = next(name for name in ASKED if row["what"] == name or row["what"].startswith(f"{name} "))
    return Fraction(ASKED[name](row["what"][len(name) :].strip(), row["item"]))


@pytest.mark.parametrize("topic", ASKED)
def test_published_values_come_out_of_the_functions(topic: str) -> None:
    rows = [row for row in VALUES if row["what"] == topic or row["what"].startswith(f"{topic} ")]
    slack: dict[str, Fraction | int] = {
        "in": NM_PER_MM // 100,
        "Nm": Fraction(1, 20),
    }  # inch pages print mm to 0.01, torques to 0.1

    wrong = [
        (row["what"], row["item"], row["value"], float(asked(row) / UNIT_NM.get(row["unit"], 1)), row["source"])
        for row in rows
        if abs(asked(row) - Fraction(row["value"]) * UNIT_NM.get(row["unit"], 1)) > slack.get(row["unit"], 0)
    ]

    assert rows
    assert wrong == []


def test_five_hundred_values_are_checked_and_each_names_its_source() -> None:
    assert len(VALUES) >= 500
    assert len({(row["what"], row["item"]) for row in VALUES}) == len(VALUES)
    assert all(len(row["source"]) > 8 for row in VALUES)

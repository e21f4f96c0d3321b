"""Housing and flywheel sizes load and agree between inch and millimetre pages; slips of such pages are refused.

Sources: SAE J617 and J620 as carried by the rows of facts/standards (ISO 7648 has the same sizes).
"""

from __future__ import annotations

import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from graph.errors import InvalidFacts
from graph.fits.model import NM_PER_INCH, NM_PER_MM
from graph.fits.tables import STANDARDS, load_tables
from graph.fits.tables_drive import load_drive_tables

DRIVE = load_drive_tables()
# number: register mm, bolt circle in, holes (SAE J617); the registers are also in engine makers' bore tables
HOUSINGS = {
    "00": ("787.4", "33.5", 16), "0": ("647.7", "26.75", 16), "1/2": ("584.2", "24.375", 12),
    "1": ("511.18", "20.875", 12), "2": ("447.68", "18.375", 12), "3": ("409.58", "16.875", 12),
    "4": ("361.95", "15", 12), "5": ("314.32", "13.125", 8), "6": ("266.7", "11.25", 8),
}  # fmt: skip
# clutch size: pilot in, bolt circle in (SAE J620)
FLYWHEELS = {
    "6.5": ("8.5", "7.875"), "7.5": ("9.5", "8.75"), "8": ("10.375", "9.625"), "10": ("12.375", "11.625"),
    "11.5": ("13.875", "13.125"), "14": ("18.375", "17.25"), "16": ("20.375", "19.25"), "18": ("22.5", "21.375"),
    "21": ("26.5", "25.25"), "24": ("28.875", "27.25"),
}  # fmt: skip


def test_every_housing_number_is_there_once() -> None:
    assert sorted(housing.number for housing in DRIVE.housings) == sorted(HOUSINGS)
    assert sorted(flywheel.clutch_size for flywheel in DRIVE.flywheels) == sorted(FLYWHEELS)


@pytest.mark.parametrize("number", HOUSINGS)
def test_a_flywheel_housing_has_its_sae_j617_sizes(number: str) -> None:
    register, circle, holes = HOUSINGS[number]
    housing = next(h for h in DRIVE.housings if h.number == number)

    assert housing.register_nm == Fraction(register) * NM_PER_MM
    assert abs(housing.bolt_circle_nm - Fraction(circle) * NM_PER_INCH) <= NM_PER_MM // 100
    assert housing.holes == holes
    assert 100_000 <= housing.register_upper_nm - housing.register_nm <= 260_000  # +0.12 to +0.25 mm by size


@pytest.mark.parametrize("size", FLYWHEELS)
def test_a_flywheel_has_its_sae_j620_sizes(size: str) -> None:
    pilot, circle = FLYWHEELS[size]
    flywheel = next(f for f in DRIVE.flywheels if f.clutch_size == size)

    assert abs(flywheel.pilot_nm - Fraction(pilot) * NM_PER_INCH) <= NM_PER_MM // 100
    assert abs(flywheel.bolt_circle_nm - Fraction(circle) * NM_PER_INCH) <= NM_PER_MM // 100


def test_every_sae_pilot_bore_is_the_outside_diameter_of_a_standard_bearing() -> None:  # J620 column L with ISO 15
    diameters = {bearing.od_nm for bearing in load_tables().bearings}

    assert {f.pilot_bore_nm for f in DRIVE.flywheels if f.pilot_bore_nm is not None} <= diameters


@pytest.mark.parametrize(
    ("file", "right", "wrong", "message"),
    [  # slips of public pages
        ("sae_j617_flywheel_housings.csv", "\n0,647.7,", "\n0,678,", "different sizes"),
        ("sae_j617_flywheel_housings.csv", ",285.75,11.25,", ",283,11.25,", "different sizes"),
        ("sae_j620_flywheels.csv", ",241.3,9.5,", ",241.2,9.5,", "different sizes"),
        ("sae_straight_splines.csv", "0.075 D,0.850 D", "0.075 D,0.900 D", "do not add up to D"),
        ("sae_straight_splines.csv", "0.241 D", "0.241", "expected a part of D"),
    ],
)
def test_a_slip_of_a_page_is_refused(tmp_path: Path, file: str, right: str, wrong: str, message: str) -> None:
    folder = tmp_path / "standards"
    shutil.copytree(STANDARDS, folder)
    text = (folder / file).read_text(encoding="utf-8")
    assert right in text
    (folder / file).write_text(text.replace(right, wrong, 1), encoding="utf-8")

    with pytest.raises(InvalidFacts, match=message):
        load_drive_tables(folder)


def test_expansion_coefficients_are_those_of_handbooks() -> None:  # handbook appendix, 3rd ed., and a bearing catalogue
    alphas = {material.name: material.alpha_um_per_m_k for material in DRIVE.materials}

    assert alphas["aluminium casting alloy 356.0"] == Fraction("21.5")
    assert alphas["gray cast iron G1800..G4000"] == Fraction("11.4")
    assert any(alpha == Fraction("12.5") for name, alpha in alphas.items() if name.startswith("bearing steel"))


def test_a_seat_class_row_names_only_tabled_classes() -> None:
    known = {row.cls for row in load_tables().deviations}

    assert {cls for seat in DRIVE.seats for cls in seat.classes} <= known

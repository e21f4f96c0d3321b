"""Spline sizes against worked values, and the disc that does not suit the shaft.

Sources: tests/fits/published/spline_worked_values.csv (from the standards' formulas), the ISO 4156-1:2005 appendix
examples (through a public unit test), the ANSI B92.1 example 12/24, 30 teeth, SAE J499a proportions (from memory).
"""

from __future__ import annotations

import csv
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput, NotFound
from graph.fits.lengths import measured
from graph.fits.model import NM_PER_INCH, NM_PER_MM, Dimension, Verdict
from graph.fits.spline import SplineEnd, check_engagement, check_form
from graph.fits.spline_sizes import SplineSizes, ansi_sizes, din_sizes, iso_sizes, straight_sizes
from graph.fits.tables_drive import load_drive_tables

DRIVE = load_drive_tables()
WORKED = list(
    csv.DictReader(
        (Path(__file__).parent / "published" / "spline_worked_values.csv").read_text(encoding="utf-8").splitlines()
    )
)


@pytest.mark.parametrize("row", [r for r in WORKED if r["system"].startswith("ANSI")], ids=lambda r: r["designation"])
def test_an_ansi_b92_1_spline_has_its_worked_sizes(row: dict[str, str]) -> None:
    sizes = ansi_sizes(int(row["z"]), int(row["pitch"]))

    found = [
        float(v)
        for v in (sizes.pitch, sizes.base, sizes.major_shaft, sizes.major_hub, sizes.minor_hub, sizes.space_width)
    ]
    names = ("pitch_dia", "base_dia", "major_ext", "major_int", "minor_int", "space_width")
    assert found == pytest.approx([float(row[name]) for name in names], abs=2e-6)
    assert (sizes.minor_shaft is None) == (row["minor_ext"] == "")
    if sizes.minor_shaft is not None:
        assert float(sizes.minor_shaft) == pytest.approx(float(row["minor_ext"]), abs=2e-6)


@pytest.mark.parametrize("row", [r for r in WORKED if r["system"].startswith("DIN")], ids=lambda r: r["designation"])
def test_a_din_5480_spline_has_its_worked_sizes(row: dict[str, str]) -> None:
    reference = int(row["designation"].split()[1])
    made = "broached" if "broached" in row["system"] else "hobbed"

    sizes = din_sizes(reference, Fraction(row["pitch"]), int(row["z"]), made)

    found = [
        float(v)
        for v in (
            sizes.pitch,
            sizes.base,
            sizes.major_shaft,
            sizes.major_hub,
            sizes.minor_hub,
            sizes.minor_shaft or 0,
            sizes.space_width,
        )
    ]
    names = ("pitch_dia", "base_dia", "major_ext", "major_int", "minor_int", "minor_ext", "space_width")
    assert found == pytest.approx([float(row[name]) for name in names], abs=1e-4)


def test_the_ansi_example_12_24_with_30_teeth() -> None:
    sizes = ansi_sizes(30, 12)

    assert [
        float(v or 0)
        for v in (sizes.pitch, sizes.base, sizes.major_hub, sizes.major_shaft, sizes.minor_hub, sizes.minor_shaft)
    ] == (pytest.approx([2.5, 2.165064, 2.6125, 2.583333, 2.416667, 2.3875], abs=1e-6))


@pytest.mark.parametrize(
    ("root", "es", "major", "minor"),
    [("flat", "0", 26.00, 23.50), ("fillet", "-0.04", 25.93, 23.13)],
)
def test_iso_4156_shaft_tips_follow_the_appendix_examples(root: str, es: str, major: float, minor: float) -> None:
    # A4: 25z 1.0m 30P h, tip 26.00; A5: 25z 1.0m 30R e (es -0.040 at 25 mm), tip 25.93; minors from the relation
    sizes = iso_sizes(25, 1, root, es)

    assert float(sizes.major_shaft) == pytest.approx(major, abs=0.005)
    assert float(sizes.minor_shaft or 0) == pytest.approx(minor, abs=0.005)


def test_the_iso_4156_hub_bore_clears_the_form_diameter_of_the_shaft() -> None:  # A2: DII min 24.09, DB 21.6506
    sizes = iso_sizes(25, 1)

    assert sizes.base == pytest.approx(21.6506, abs=1e-4)
    assert float(sizes.minor_hub) == pytest.approx(24.09, abs=0.005)


@pytest.mark.parametrize(("root", "major"), [("flat", 26.5), ("fillet", 26.8)])
def test_an_iso_4156_hub_root_is_at_least_its_relation(root: str, major: float) -> None:
    assert float(iso_sizes(25, 1, root).major_hub) == pytest.approx(major)


def test_a_din_5480_tip_stays_below_the_reference_diameter() -> None:
    # widely copied filler pages give da = m(z + 2) or a tip of 33.3 for dB 30: wrong
    sizes = din_sizes(30, Fraction("1.5"), 18)

    assert sizes.major_shaft == Fraction("29.7")


def test_teeth_that_do_not_make_the_reference_diameter_are_refused() -> None:
    with pytest.raises(InvalidInput, match="do not make a reference diameter"):
        din_sizes(30, 2, 20)


@pytest.mark.parametrize(
    ("teeth", "fit", "minor", "width"),
    [
        (4, "permanent", "0.850", "0.241"),
        (6, "slide under load", "0.800", "0.250"),
        (10, "permanent", "0.910", "0.156"),
        (16, "slide under load", "0.810", "0.098"),
    ],
)
def test_straight_sided_proportions(teeth: int, fit: str, minor: str, width: str) -> None:  # SAE J499a, from memory
    assert straight_sizes(DRIVE.straight_splines, teeth, fit, 1) == (Fraction(minor), Fraction(width))


def test_an_untabled_straight_spline_names_what_is_tabled() -> None:
    with pytest.raises(NotFound, match="4 teeth, permanent"):
        straight_sizes(DRIVE.straight_splines, 5, "permanent", 1)


def _end(teeth: int, major: str, minor: str, pitch_mm: str = "27.517", hub: bool = False) -> SplineEnd:
    who = "hub" if hub else "shaft"
    pitch = measured("pitch", f"{pitch_mm} mm", "1 um")
    return SplineEnd(
        teeth=teeth, form="involute", pressure_angle_deg=Fraction(30), pitch=pitch,
        major=measured(f"{who} major", major, "0.02 mm"), minor=measured(f"{who} minor", minor, "0.02 mm"),
    )  # fmt: skip


SHAFT = _end(26, "28.55 mm", "26.10 mm")  # 24/48 with 26 teeth: 1.125 in outside, 1.0833 pitch
HUB = _end(26, "28.95 mm", "26.50 mm", hub=True)


def test_the_same_spline_holds() -> None:
    assert check_form(SHAFT, HUB).verdict is Verdict.HOLDS


def test_another_tooth_count_fails_and_says_so() -> None:
    result = check_form(SHAFT, _end(23, "28.95 mm", "26.50 mm", hub=True))

    assert result.verdict is Verdict.FAILS
    assert "tooth count: shaft 26, hub 23" in result.summary


def test_the_same_count_on_a_larger_diameter_is_loose_and_fails() -> None:  # conversion texts: right count, yet loose
    result = check_form(SHAFT, _end(26, "30.60 mm", "28.10 mm", hub=True))

    failed = [part.joint for part in result.parts if part.verdict is Verdict.FAILS]
    assert result.verdict is Verdict.FAILS
    assert failed == ["tooth overlap"]


def test_a_straight_sided_hub_does_not_go_on_an_involute_shaft() -> None:
    hub = SplineEnd(teeth=26, form="straight", major=HUB.major, minor=HUB.minor)

    assert check_form(SHAFT, hub).verdict is Verdict.FAILS


@pytest.mark.parametrize("lost", ["teeth", "form", "pressure_angle_deg", "pitch", "major", "minor"])
def test_anything_not_seen_leaves_the_spline_unknown(lost: str) -> None:
    values = {name: getattr(HUB, name) for name in SplineEnd.__slots__} | {lost: None}

    result = check_form(SHAFT, SplineEnd(**values))

    assert result.verdict is Verdict.UNKNOWN
    assert result.measure


def _at(name: str, mm: str) -> Dimension:
    return measured(name, f"{mm} mm", "0.1 mm", datum="block rear face")


def test_the_hub_of_the_worked_4x4_has_18_1_in_front_and_23_9_behind() -> None:
    # plate 15: tip at x = -10, full spline from 26 to 96 behind it
    result = check_engagement(
        _at("hub front", "34.1"), _at("hub rear", "62.1"), _at("spline front", "16"), _at("spline rear", "86")
    )

    assert result.verdict is Verdict.HOLDS
    assert [str(span.nominal) for span in result.values] == ["18.100 mm", "23.900 mm"]


def test_wear_moves_the_hub_forward() -> None:
    result = check_engagement(
        _at("hub front", "19"),
        _at("hub rear", "47"),
        _at("spline front", "16"),
        _at("spline rear", "86"),
        wear_nm=1_500_000,
    )

    assert result.verdict is Verdict.FAILS
    assert str(result.values[0].worst_low) == "1.300 mm"


def test_a_spline_swapped_front_to_rear_is_refused() -> None:
    with pytest.raises(InvalidInput, match="hub rear: lies behind hub front"):
        check_engagement(_at("hub rear", "62"), _at("hub front", "34"), _at("s", "16"), _at("t", "86"))


def test_positions_from_different_faces_are_refused() -> None:
    other = measured("spline front", "16 mm", "0.1 mm", datum="gearbox front face")

    with pytest.raises(InvalidInput, match="refer them to one"):
        check_engagement(_at("a", "34"), _at("b", "62"), other, _at("d", "86"))


@given(st.integers(4, 200), st.sampled_from([8, 10, 12, 16, 24, 32]))
def test_ansi_diameters_are_nested(teeth: int, pitch: int) -> None:
    sizes = ansi_sizes(teeth, pitch)

    assert sizes.minor_hub < sizes.pitch < sizes.major_shaft < sizes.major_hub
    assert sizes.base < float(sizes.pitch)


def _of_sizes(sizes: SplineSizes, nm_per_unit: int, angle: str = "30") -> tuple[SplineEnd, SplineEnd]:
    """Shaft and hub of nominal size, read to 0.005 mm."""

    def read(name: str, value: Fraction | None) -> Dimension | None:
        if value is None:
            return None
        nm = round(value * nm_per_unit)
        return Dimension(name=name, nominal_nm=nm, low_nm=nm - 5_000, high_nm=nm + 5_000)

    ends = []
    for major, minor in ((sizes.major_shaft, sizes.minor_shaft), (sizes.major_hub, sizes.minor_hub)):
        ends.append(
            SplineEnd(
                teeth=sizes.teeth, form="involute", pressure_angle_deg=Fraction(angle),
                pitch=read("pitch", sizes.pitch), major=read("major", major), minor=read("minor", minor),
            )
        )  # fmt: skip
    return ends[0], ends[1]


NOMINAL = [
    *((f"ISO 4156 {z} x {m} {root}", iso_sizes(z, m, root), NM_PER_MM)
      for z in (14, 20, 25, 32) for m in ("1", "1.5", "2") for root in ("flat", "fillet")),
    *((f"ANSI B92.1 {z} {p} {root}", ansi_sizes(z, p, root), NM_PER_INCH)
      for z in (10, 23, 26) for p in (8, 12) for root in ("flat", "fillet")),
    *((f"DIN 5480 {db} x {m} x {z}", din_sizes(db, Fraction(m), z, made), NM_PER_MM)
      for db, m, z in ((30, "1", 28), (120, "3", 38), (40, "2", 18)) for made in ("broached", "hobbed")),
]  # fmt: skip


@pytest.mark.parametrize(("name", "sizes", "unit"), NOMINAL, ids=[name for name, _, _ in NOMINAL])
def test_a_pair_of_the_standard_s_own_nominal_sizes_holds(name: str, sizes: SplineSizes, unit: int) -> None:
    """Formulas of ISO 4156-1, ANSI B92.1 and DIN 5480-1; fillet roots are deeper, not worse engaged."""
    assert check_form(*_of_sizes(sizes, unit)).verdict is Verdict.HOLDS


def test_the_same_teeth_a_tenth_smaller_do_not_hold() -> None:
    """25 teeth of module 1: a shaft tip of 25.4 instead of 26 leaves 0.65 per side of 1 (fillet: ISO 4156-1)."""
    shaft, hub = _of_sizes(iso_sizes(25, 1, "fillet"), NM_PER_MM)
    small = Dimension(name="major", nominal_nm=25_400_000, low_nm=25_395_000, high_nm=25_405_000)

    result = check_form(replace(shaft, major=small), hub)

    assert [part.joint for part in result.parts if part.verdict is Verdict.FAILS] == ["tooth overlap"]


def test_a_pitch_diameter_off_by_its_rounding_cannot_be_told() -> None:
    """27.0 mm read for 1-1/16 in (26.9875 mm)."""
    shaft, hub = _of_sizes(ansi_sizes(17, 16), NM_PER_INCH)
    read = Dimension(name="pitch", nominal_nm=27_000_000, low_nm=26_950_000, high_nm=27_050_000)

    result = check_form(replace(shaft, pitch=read), hub)

    pitch = next(part for part in result.parts if part.joint == "pitch diameter")
    assert pitch.verdict is Verdict.UNKNOWN
    assert "measure finer" in pitch.summary

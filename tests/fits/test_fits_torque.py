"""Clutch, gearbox and bolts against worked examples and ISO 898-1.

Sources: worked_examples.json (bolt-2 to bolt-4, each with its own source), ISO 898-1 rows with T = K d F; the two
clutch formulas are checked against each other (handbook: uniform pressure carries more, thin rings the same).
"""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidInput, NotFound
from graph.fits.model import NM_PER_MM, Verdict
from graph.fits.tables import STANDARDS, load_tables
from graph.fits.tables_drive import load_drive_tables
from graph.fits.torque import (
    Clutch,
    check_bolted_flange,
    check_clutch,
    check_gearbox_torque,
    clutch_capacity_nm,
    get_bolt,
    get_torque_factor,
    preload_n,
    tightening_torque_nm,
)

TABLES, DRIVE = load_tables(), load_drive_tables()
EXAMPLES: dict[str, dict[str, Any]] = {
    example["id"]: example
    for example in json.loads(
        (Path(__file__).parent / "published" / "worked_examples.json").read_text(encoding="utf-8")
    )
}
CLUTCH = Clutch(
    clamp_n=Fraction(5000), friction=Fraction(3, 10), faces=2, inner_nm=150 * NM_PER_MM, outer_nm=230 * NM_PER_MM
)


def test_the_torque_of_an_m12_8_8_at_70_percent_of_proof() -> None:  # bolt-2: 34 kN, 82 N m
    bolt = get_bolt(TABLES, "M12", "8.8")

    preload = preload_n(bolt, Fraction(7, 10), from_stress=True)

    assert float(preload) == pytest.approx(EXAMPLES["bolt-2"]["published"]["F_kN"] * 1000, rel=0.01)
    assert float(tightening_torque_nm(preload, bolt.diameter_nm, Fraction(1, 5))) == pytest.approx(
        EXAMPLES["bolt-2"]["published"]["T_Nm"], rel=0.01
    )


@pytest.mark.parametrize("index", range(5))
def test_torque_scales_with_the_nut_factor(index: int) -> None:  # bolt-3: No.10 screw, 1275 lbf
    inputs, published = EXAMPLES["bolt-3"]["inputs"], EXAMPLES["bolt-3"]["published"]
    inch = 25_400_000

    per_metre = tightening_torque_nm(Fraction(inputs["F_lbf"]), int(0.190 * inch), Fraction(str(inputs["K"][index])))

    assert float(per_metre) / 0.0254 == pytest.approx(published["T"][index], rel=0.01)  # lbf in


def test_an_exam_problem_gives_980_lbf_and_37_in_lbf() -> None:  # bolt-4: 70 ksi x 0.02 in2 x 70 %
    torque = tightening_torque_nm(Fraction(980), 4_826_000, Fraction(1, 5))

    assert float(torque) / 0.0254 == pytest.approx(37, rel=0.01)


def test_every_tabled_preload_and_torque_comes_out() -> None:  # ISO 898-1 rows, 75 % of proof, K = 0.20
    with (STANDARDS / "iso898_1_proof_loads.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            bolt = get_bolt(TABLES, row["thread"], row["property_class"])
            preload = preload_n(bolt)

            assert float(preload) == float(row["preload_75pct_proof_N"])
            torque = tightening_torque_nm(preload, bolt.diameter_nm, Fraction(1, 5))
            assert float(torque) == pytest.approx(float(row["torque_K020_75pct_Nm"]), abs=0.06)


def test_m10_8_8_has_the_proof_load_of_iso_898_1_not_the_copied_one() -> None:  # a torque page prints 34.8 kN
    assert get_bolt(TABLES, "M10", "8.8").proof_load_n == 33_700


def test_nut_factors_are_found_by_surface() -> None:  # design handbook, table of nut factors
    assert get_torque_factor(DRIVE.torque_factors, "zinc-plated") == Fraction(1, 5)
    with pytest.raises(NotFound, match="lubricated"):
        get_torque_factor(DRIVE.torque_factors, "muddy")


def test_an_unknown_bolt_names_the_classes_of_its_thread() -> None:
    with pytest.raises(NotFound, match=r"M10 8\.8, M10 10\.9"):
        get_bolt(TABLES, "M10", "14.9")


def test_a_preload_above_nine_tenths_of_proof_is_refused() -> None:
    with pytest.raises(InvalidInput, match=r"at most 0\.9"):
        preload_n(get_bolt(TABLES, "M10", "8.8"), Fraction(95, 100))


def test_a_clutch_carries_mu_f_n_times_the_mean_radius() -> None:  # 0.3 x 5000 N x 2 x 95 mm
    assert clutch_capacity_nm(CLUTCH) == 285


def test_a_new_clutch_carries_a_little_more_than_a_run_in_one() -> None:
    new = clutch_capacity_nm(CLUTCH, worn=False)

    assert 1 < new / clutch_capacity_nm(CLUTCH) < Fraction(102, 100)


@given(st.integers(50, 300), st.integers(1, 100))
def test_uniform_pressure_never_carries_less_than_uniform_wear(inner_mm: int, ring_mm: int) -> None:
    clutch = Clutch(
        clamp_n=Fraction(1), friction=Fraction(1, 4), faces=2, inner_nm=inner_mm * NM_PER_MM,
        outer_nm=(inner_mm + ring_mm) * NM_PER_MM,
    )  # fmt: skip

    assert clutch_capacity_nm(clutch, worn=False) >= clutch_capacity_nm(clutch)


@pytest.mark.parametrize(("engine", "verdict"), [(228, Verdict.HOLDS), (229, Verdict.FAILS)])
def test_a_clutch_needs_a_reserve_over_the_engine(engine: int, verdict: Verdict) -> None:  # 285 / 1.25 = 228
    assert check_clutch(CLUTCH, Fraction(engine)).verdict is verdict


def test_an_unknown_clutch_is_unknown() -> None:
    result = check_clutch(None, Fraction(200))

    assert result.verdict is Verdict.UNKNOWN
    assert result.measure[0].name == "the clutch (clamp load, facing diameters)"


def test_a_gearbox_is_held_against_engine_and_converter() -> None:
    assert check_gearbox_torque(Fraction(300), Fraction(280)).verdict is Verdict.HOLDS
    assert check_gearbox_torque(Fraction(300), Fraction(280), first_multiplier=Fraction(2)).verdict is Verdict.FAILS
    assert check_gearbox_torque(None, Fraction(280)).verdict is Verdict.UNKNOWN


def test_flywheel_bolts_carry_by_friction() -> None:  # 6 x 0.15 x 36 075 N x 0.035 m = 1136 N m
    result = check_bolted_flange(get_bolt(TABLES, "M10", "10.9"), 6, 70 * NM_PER_MM, Fraction(400))

    assert result.verdict is Verdict.HOLDS
    assert "carries 1136.4 N m" in result.summary


def test_a_clutch_with_its_diameters_swapped_is_refused_with_all_faults() -> None:
    with pytest.raises(InvalidInput) as caught:
        Clutch(clamp_n=Fraction(-1), friction=Fraction(2), faces=0, inner_nm=230, outer_nm=150)

    assert [problem.path for problem in caught.value.problems] == ["inner_nm", "friction", "clamp_n", "faces"]

"""Press fits: Lame's cylinders against a boundary-value solution of the ring's equation, and against handbook forms.

Sources: radial displacement of a thin disc, u'' + u'/r - u/r^2 = 0 (theory of elasticity), solved here as a
boundary-value problem; Shigley's Mechanical Engineering Design, eq. (3-57) for a solid shaft and hub of one material:
p = E i (D^2 - d^2) / (2 d D^2), with the diametral interference i (from memory); ISO 286-2.
"""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from graph.errors import InvalidInput
from graph.fits.limits import Material
from graph.fits.model import NM_PER_MM, NM_PER_UM
from graph.fits.press import choose_press_class, press_ring
from graph.fits.tables import load_tables
from graph.fits.tables_drive import Elasticity, get_elasticity, get_material, load_drive_tables

TABLES, DRIVE = load_tables(), load_drive_tables()
STEEL, BRONZE = get_elasticity(DRIVE, "steel"), get_elasticity(DRIVE, "bearing bronze")
ALLOY = get_material(DRIVE, "aluminium casting alloy 356.0")
SLEEVE = get_material(DRIVE, "plain carbon steel 1020 (1018)")


def displacement(
    inner: float, outer: float, pressure_in: float, pressure_out: float, made: Elasticity
) -> tuple[float, float]:
    """Radial displacement at both radii of a ring in plane stress, by a boundary-value solver (lengths mm, MPa)."""
    e, nu = float(made.modulus_gpa) * 1000, float(made.poisson)

    def rates(r: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.vstack([y[1], y[0] / r**2 - y[1] / r])

    def ends(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        stress = [e / (1 - nu**2) * (y[1] + nu * y[0] / r) for y, r in ((a, inner), (b, outer))]
        return np.array([stress[0] + pressure_in, stress[1] + pressure_out])

    mesh = np.linspace(inner, outer, 60)
    found = solve_bvp(rates, ends, mesh, np.zeros((2, mesh.size)), tol=1e-8)
    assert found.success
    return float(found.y[0, 0]), float(found.y[0, -1])


CASES = [
    (bore, bore + wall, bore + wall + rim, um)
    for bore, wall, rim, um in (
        (r.uniform(10, 30), r.uniform(2, 8), r.uniform(5, 40), r.randint(10, 60))
        for r in (random.Random(n) for n in range(20))
    )
]


@pytest.mark.parametrize(("bore", "fit", "outside", "um"), CASES)
def test_a_pressed_bush_closes_as_the_ring_equation_says(bore: float, fit: float, outside: float, um: int) -> None:
    fit_nm, bore_nm, outside_nm = (round(size * NM_PER_MM) for size in (fit, bore, outside))
    pressed = press_ring(um * NM_PER_UM, fit_nm, bore_nm, outside_nm, BRONZE, STEEL)
    p = float(pressed.pressure_mpa)

    at_bore, at_fit = displacement(bore / 2, fit / 2, 0, p, BRONZE)
    hole, _ = displacement(fit / 2, outside / 2, p, 0, STEEL)

    assert 2 * (hole - at_fit) * 1000 == pytest.approx(um, rel=1e-4)  # the two rings meet
    assert -2 * at_bore * 1e6 == pytest.approx(float(pressed.bore_closes_nm), rel=1e-4)


def test_a_solid_shaft_in_a_hub_of_one_material_has_the_handbook_pressure() -> None:
    d, outside, interference = 40 * NM_PER_MM, 80 * NM_PER_MM, 40 * NM_PER_UM

    pressed = press_ring(interference, d, 0, outside, STEEL, STEEL)

    assert pressed.bore_closes_nm == 0
    assert pressed.pressure_mpa == STEEL.modulus_gpa * 1000 * interference * (outside**2 - d**2) / (2 * d * outside**2)


def test_rings_out_of_order_are_refused() -> None:
    with pytest.raises(InvalidInput, match="expected bore < fit < outside"):
        press_ring(1000, 20 * NM_PER_MM, 25 * NM_PER_MM, 60 * NM_PER_MM, BRONZE, STEEL)


@pytest.mark.parametrize(
    ("material", "running_c", "cls"),
    [  # 105 mm, bored H7: p6 2 to 59 um, r6 19, s6 44, t6 69 um at least (ISO 286-2); (21.5 - 11.7) x 105 x dT
        (ALLOY, 80, "t6"),  # loses 61.7 um
        (ALLOY, 50, "s6"),  # loses 30.9 um
        (ALLOY, 20, "p6"),
        (Material("cast iron", Fraction("11.4")), 80, "p6"),  # gains a little
        (ALLOY, 120, "u6"),  # loses 102.9 of 109
    ],
)
def test_a_sleeve_takes_the_loosest_fit_that_still_grips_hot(material: Material, running_c: int, cls: str) -> None:
    chosen = choose_press_class(TABLES, 105 * NM_PER_MM, 35 * NM_PER_UM, 0, material, SLEEVE, running_c)

    assert chosen.holds
    assert chosen.cls == cls


def test_where_no_press_fit_grips_the_tightest_is_named_and_does_not_hold() -> None:
    chosen = choose_press_class(TABLES, 105 * NM_PER_MM, 35 * NM_PER_UM, 0, ALLOY, SLEEVE, 150)

    assert (chosen.cls, chosen.holds) == ("u6", False)

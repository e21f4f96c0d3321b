"""Inch screws in plates and spacers, where a hole names one.

ASME B1.1 (threads per inch), B18.3 (socket heads), B18.2.8 (clearance holes), as printed in fastener handbooks: 3/8-16
taps with a drill of 5/16 and goes through 13/32; its head is 9/16 across and 3/8 high, its counterbore 5/8.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from graph.errors import InvalidInput, NotFound
from graph.fits.pattern import CLEARANCE, THREAD
from graph.fits.tables import load_tables
from graph.fits.threads import find_thread_of_hole, get_clearance_hole, get_thread
from graph.plates.design import design_plate
from graph.plates.model import SCREW, TAPPED, PlateDesign, PlateWanted
from tests.plates.made import face, ring

INCH = 25_400_000


@pytest.mark.parametrize(
    ("said", "name", "per_inch", "assumed"),
    [("3/8-16 UNC", "3/8-16 UNC", 16, False), ("3/8", "3/8-16 UNC", 16, True), ("7/16 UNF", "7/16-20 UNF", 20, False),
     ("7/16 in - 20", "7/16-20 UNF", 20, False), ("1/2 unc", "1/2-13 UNC", 13, False)],
)  # fmt: skip
def test_an_inch_thread_is_read_with_its_pitch(said: str, name: str, per_inch: int, assumed: bool) -> None:
    found = get_thread(load_tables(), said)

    assert (found.name, found.assumed) == (name, assumed)
    assert abs(found.pitch_nm - Fraction(INCH, per_inch)) <= 1


@pytest.mark.parametrize(
    "said", ["3/8-17", "3/8-24 UNC", "7/16-14 UNF", "3/8-0 UNC", "3/8-0", "1/2-00 UNF", "M10x0", "M10x1.23456789"]
)
def test_a_pitch_that_the_series_has_not_is_to_be_gauged(said: str) -> None:
    with pytest.raises(InvalidInput, match="gauge the pitch"):
        get_thread(load_tables(), said)


def test_a_size_that_no_table_has_is_not_found() -> None:
    with pytest.raises(NotFound):
        get_thread(load_tables(), "9/16 UNF")


def test_sizes_of_three_eighths_as_handbooks_print_them() -> None:
    tables = load_tables()
    found = get_thread(tables, "3/8-16 UNC")

    assert found.tapping_nm == INCH * 5 // 16
    assert get_clearance_hole(tables, found.thread).medium_nm == round(Fraction(13, 32) * INCH)
    assert found.thread.head_diameter_nm == round(Fraction(9, 16) * INCH)
    assert found.thread.counterbore_nm == INCH * 5 // 8


def test_a_hole_that_names_no_screw_is_never_taken_for_an_inch_one() -> None:
    """13/32 in, 10.32 mm, read by calliper: nothing of ISO 273 within 0.1 mm."""
    assert find_thread_of_hole(load_tables(), 10_319_000, 100_000) is None


def test_a_plate_joins_an_inch_block_to_a_metric_bell() -> None:
    wanted = PlateWanted(
        engine=face("block", *ring(THREAD, 6, 160, 10, thread="3/8-16 UNC")),
        gearbox=face("bell", *ring(CLEARANCE, 6, 160, 11, first=30)),
    )

    found = design_plate(wanted)

    assert isinstance(found, PlateDesign)
    holes = found.pieces[0].holes
    screws = [hole for hole in holes if hole.use == SCREW]
    assert {hole.thread for hole in screws} == {"3/8-16 UNC"} and {hole.drill_um for hole in screws} == {10_318}
    assert {hole.head_um for hole in screws} == {15_875} and {hole.series for hole in screws} == {"normal"}
    assert {hole.thread for hole in holes if hole.use == TAPPED} == {"M10x1.5"}
    sources = " ".join(figure.source for figure in found.figures)
    assert "ASME B18.2.8, normal" in sources and "ASME B18.3" in sources and "ISO 261" in sources


def _with(thread: str, *, hole_mm: float = 11, named: str = "") -> PlateWanted:
    """A block with inch threads, a bell with clearance holes; `thread`: stated for the bell's."""
    return PlateWanted(
        engine=face("block", *ring(THREAD, 6, 160, 10, thread="3/8-16 UNC")), gearbox_thread=thread,
        gearbox=face("bell", *ring(CLEARANCE, 6, 160, hole_mm, first=30, thread=named)),
    )  # fmt: skip


def test_the_screw_stated_for_a_face_goes_before_the_one_guessed_from_its_holes() -> None:
    """3/8 is 9.525 mm, ASME B18.2.8 loose hole 7/16 in: it goes through 11 mm, which would else be M10 (ISO 273)."""
    found = design_plate(_with("3/8-16 UNC"))

    assert isinstance(found, PlateDesign)
    assert {hole.thread for hole in found.pieces[0].holes if hole.use == TAPPED} == {"3/8-16 UNC"}


@pytest.mark.parametrize(
    ("thread", "hole_mm", "named", "said"),
    [("M12", 11, "", "lets no M12 through"), ("7/16-14 UNC", 11, "", "lets no 7/16 through"),  # 7/16 in is 11.11 mm
     ("M8", 13.5, "", "is a hole of M12 and not of M8"), ("3/8-16 UNC", 11, "M10x1.5", "names its own screw")],
)  # fmt: skip
def test_a_stated_screw_that_does_not_suit_the_holes_is_refused(
    thread: str, hole_mm: float, named: str, said: str
) -> None:
    with pytest.raises(InvalidInput, match=said) as told:
        design_plate(_with(thread, hole_mm=hole_mm, named=named))
    assert {problem.path for problem in told.value.problems} == {"gearbox_thread"}


def test_a_spacer_on_an_inch_crankshaft_names_whose_hole_it_has() -> None:
    from graph.made.kinds import FLYWHEEL_SPACER
    from graph.made.model import MadePart
    from tests.made.parts import MM, design, flange

    inch = flange()
    inch = replace(inch, holes=tuple(replace(hole, thread="7/16-20 UNF") for hole in inch.holes))

    found = design(FLYWHEEL_SPACER, {}, size_nm=5 * MM, face=inch)

    assert isinstance(found, MadePart)
    assert {hole.what for hole in found.holes} == {"through 11.9063 mm for 7/16 (ASME B18.2.8 normal)"}

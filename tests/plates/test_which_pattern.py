"""Which known pattern is a face: turned, mirrored, with holes of other use, with misses in mm."""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face
from graph.plates.known import rank_patterns
from graph.plates.standard_faces import housing_face, housing_of
from tests.plates.made import face, hole, ring

ODD = [(0, 168), (118, 120), (-118, 121), (165, -20), (-160, -25), (80, -140)]
KNOWN = {
    "odd": face("odd", *(hole(f"k{n}", x, y, 10, THREAD) for n, (x, y) in enumerate(ODD))),
    "six": face("six", *ring(CLEARANCE, 6, 150, 11)),
    "sae:3": housing_face(housing_of("sae:3"), engine=True),
}


def turned(degrees: float, mirrored: bool, away: float = 0.0) -> Face:
    cosine, sine, sign = cos(radians(degrees)), sin(radians(degrees)), -1 if mirrored else 1
    places = [(sign * x, y) for x, y in ODD]
    return face("mine", *(
        hole(f"m{n}", cosine * x - sine * y + (away if n == 0 else 0), sine * x + cosine * y, 11, CLEARANCE)
        for n, (x, y) in enumerate(places)
    ))  # fmt: skip


@settings(max_examples=15, deadline=None)
@given(st.floats(-179, 179), st.booleans())
def test_a_pattern_is_known_again_however_it_is_turned_and_read(degrees: float, mirrored: bool) -> None:
    best = rank_patterns(turned(degrees, mirrored), KNOWN)[0]

    assert (best.known, best.mirrored, best.met, best.certain) == ("odd", mirrored, 6, True)
    assert abs((best.turned_deg - degrees + 180) % 360 - 180) < 0.01
    assert best.worst_nm <= 1000


def test_the_hole_that_is_off_is_named_with_its_miss() -> None:
    """One hole 1.2 off: the turn shares it out, so no hole is further off than that and one is off most."""
    best = rank_patterns(turned(0, False, away=1.2), KNOWN)[0]

    worst = max(best.misses, key=lambda one: one.miss_nm or 0)
    assert (worst.measured, worst.known, best.certain) == ("m0", "k0", False)
    assert 0.8e6 < (worst.miss_nm or 0) <= 1.2e6


def test_holes_that_one_of_both_lacks_are_told() -> None:
    mine = turned(0, False)
    best = rank_patterns(replace(mine, holes=mine.holes[:-1]), KNOWN)[0]

    assert (best.met, best.of, best.known_holes, best.certain) == (5, 5, 6, False)
    assert [one.known for one in best.misses if one.miss_nm is None] == ["k5"]


def test_a_published_housing_is_known_by_four_of_its_holes() -> None:
    """SAE J617 No. 3: 12 holes on 428.62."""
    whole = housing_face(housing_of("sae:3"), engine=False)

    best = rank_patterns(replace(whole, holes=whole.holes[:4]), KNOWN)[0]

    assert (best.known, best.met) == ("sae:3", 4)


def test_a_dowel_is_never_taken_for_a_bolt() -> None:
    dowels = face("mine", *(hole(f"m{n}", x, y, 12, DOWEL) for n, (x, y) in enumerate(ODD)))

    assert rank_patterns(dowels, KNOWN) == ()


@pytest.mark.parametrize("uncertainty_nm", [11_000_000, 80_000_000])
def test_places_less_sure_than_a_hole_is_wide_are_refused_in_words(uncertainty_nm: int) -> None:
    with pytest.raises(InvalidInput) as told:
        rank_patterns(replace(turned(0, False), uncertainty_nm=uncertainty_nm), KNOWN)

    assert "more than the smallest hole is wide (11.000 mm)" in str(told.value)


def test_a_known_pattern_whose_own_places_are_guesses_is_never_certain() -> None:
    guessed = {"odd": replace(KNOWN["odd"], uncertainty_nm=12_000_000)}

    best = rank_patterns(turned(0, False), guessed)[0]

    assert (best.met, best.certain) == (6, False)


def test_two_holes_tell_nothing() -> None:
    mine = turned(0, False)
    with pytest.raises(InvalidInput) as told:
        rank_patterns(replace(mine, holes=mine.holes[:2]), KNOWN)

    assert "3 holes at least" in told.value.problems[0].message


def test_the_best_few_are_the_best_of_all() -> None:
    """Those that were never turned could not have come among them."""
    many = KNOWN | {
        f"ring-{count}-{radius}": face("r", *ring(CLEARANCE, count, radius, 11)) for count in (4, 6, 8)
        for radius in (120, 148, 170)
    }  # fmt: skip
    mine = face("mine", *ring(THREAD, 6, 150, 10, first=10), hole("extra", 60, 60, 10))

    every = rank_patterns(mine, many, limit=100)

    assert every[0].known == "six"
    assert rank_patterns(mine, many, limit=3) == every[:3]

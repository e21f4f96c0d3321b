"""A pattern from distances, angles and radii: geometry of the tests' own, slips, gaps, mirror images, bad lines."""

from __future__ import annotations

from itertools import combinations
from math import atan2, degrees, hypot

import numpy as np
import pytest

from graph.errors import InvalidInput
from graph.photo.by_hand import solve
from graph.photo.chosen import BOLT_CIRCLE, HoleChoice, PlacedHole, face_from
from graph.photo.hand import ANGLE, DISTANCE, OUTSIDE, RADIUS, HandEntry, HandHole, Solved
from graph.photo.typed import read_hand

PLACES = {"1": (0.0, 100.0), "2": (80.0, 60.0), "3": (90.0, -50.0), "4": (-70.0, -80.0), "5": (-90.0, 30.0)}
HOLES = tuple(HandHole(name=name, diameter_mm=11.0) for name in PLACES)
ORDER = ("1", "2", "3")  # clockwise in PLACES


def between(a: str, b: str, off: float = 0.0) -> HandEntry:
    far = hypot(PLACES[a][0] - PLACES[b][0], PLACES[a][1] - PLACES[b][1])
    return HandEntry(kind=DISTANCE, a=a, b=b, value=far + off, u=0.1)


ALL = [between(a, b) for a, b in combinations(PLACES, 2)]
POLAR = [
    HandEntry(kind=kind, a=name, value=value, u=0.1)
    for name, (x, y) in PLACES.items() for kind, value in ((RADIUS, hypot(x, y)), (ANGLE, degrees(atan2(y, x))))
]  # fmt: skip


def shape_error(solved: Solved) -> float:
    """By how much the places differ at most from PLACES once laid on them without mirroring (Kabsch 1976)."""
    found = np.array([(hole.x_mm, hole.y_mm) for hole in solved.holes])
    wanted = np.array([PLACES[hole.name] for hole in solved.holes])
    a, b = found - found.mean(axis=0), wanted - wanted.mean(axis=0)
    u, _, v = np.linalg.svd(a.T @ b)
    turn = u @ np.diag([1, np.linalg.det(u @ v)]) @ v
    return float(np.abs(a @ turn - b).max())


def test_all_distances_give_the_pattern_and_angles_with_radii_give_it_about_the_axis() -> None:
    by_distance = solve(HOLES, ALL, ORDER)
    assert by_distance.settled and shape_error(by_distance) < 1e-4 and by_distance.rms_mm < 1e-4

    about = solve(HOLES, POLAR)
    assert about.settled and about.has_axis
    for hole in about.holes:
        assert (hole.x_mm, hole.y_mm) == pytest.approx(PLACES[hole.name], abs=1e-4)


def test_noise_stays_within_what_is_stated() -> None:
    """200 holes of patterns read with the stated uncertainty: 95 of 100 within theirs (JCGM 100)."""
    chance = np.random.default_rng(5)
    within = []
    for _ in range(40):
        entries = [
            HandEntry(kind=one.kind, a=one.a, value=one.value + chance.normal(0, one.u / 1.96), u=one.u)
            for one in POLAR
        ]
        found = solve(HOLES, entries)
        within += [hypot(h.x_mm - PLACES[h.name][0], h.y_mm - PLACES[h.name][1]) <= h.u_mm for h in found.holes]
    assert np.mean(within) > 0.9


def test_edges_are_reckoned_to_centres() -> None:
    entries = [HandEntry(kind=DISTANCE, a=one.a, b=one.b, value=one.value + 11, u=0.1, how=OUTSIDE) for one in ALL]
    assert shape_error(solve(HOLES, entries, ORDER)) < 1e-4


@pytest.mark.parametrize("number", [0, 4, 9])
def test_a_slip_of_typing_stands_out_with_what_it_should_be(number: int) -> None:
    wrong = list(ALL)
    wrong[number] = between(ALL[number].a, ALL[number].b, off=9.0)  # 119 typed for 110
    odd = [one for one in solve(HOLES, wrong, ORDER).residuals if one.odd]

    assert [(one.entry.a, one.entry.b) for one in odd] == [(ALL[number].a, ALL[number].b)]
    assert odd[0].should_be == pytest.approx(ALL[number].value, abs=0.2)


def test_too_few_distances_name_the_ones_that_would_settle_it() -> None:
    few = [between(*pair) for pair in (("1", "2"), ("1", "3"), ("2", "3"), ("1", "4"), ("2", "4"), ("1", "5"))]
    found = solve(HOLES, few)

    assert not found.settled and len(found.missing) == 1 and "5" in found.missing[0]
    assert "measure also" in found.notes[0]
    settled = solve(HOLES, [*few, between(*found.missing[0])])
    assert not settled.missing


def test_a_hole_held_by_two_distances_may_lie_on_either_side() -> None:
    """5 has two distances only: mirrored in the line of the others it fits as well (2 n - 3 distances, Laman 1970)."""
    two = [one for one in ALL if "5" not in (one.a, one.b)] + [between("1", "5"), between("4", "5")]
    found = solve(HOLES, two, ORDER)

    assert found.twins == ("5",) and not found.settled
    assert any("third distance" in words for words in found.notes)
    assert solve(HOLES, [*two, between("3", "5")], ORDER).settled


def test_distances_alone_do_not_tell_the_mirror_image() -> None:
    found = solve(HOLES, ALL)
    assert found.mirror_open and not found.settled and any("mirror image" in words for words in found.notes)
    assert shape_error(solve(HOLES, ALL, ("3", "2", "1"))) > 10  # said the other way round it is the other one


def test_entries_that_nothing_checks_are_said() -> None:
    assert any("checked by no other" in words for words in solve(HOLES, POLAR).notes)


@pytest.mark.parametrize(
    ("holes", "entries", "words"),
    [
        ("", "", "holes: name the holes"),
        ("1\n2\n3", "", "entries: say what was measured"),
        ("1\n2\n3", "1; 2", "entries line 1: expected two holes and a length"),
        ("1\n2\n3", "1; 2; far", "entries line 1"),
        ("1\n2\n3", "1; angle; 900 deg", "expected degrees"),
        ("1; 11 mm; M10\n2\n3", "1; 2; 3 mm", "holes line 1: expected a name and a diameter"),
        ("1; -2 mm\n2\n3", "1; 2; 3 mm", "above zero"),
    ],
)
def test_lines_that_cannot_be_read_are_named(holes: str, entries: str, words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        read_hand(holes, entries)


@pytest.mark.parametrize(
    ("holes", "entries", "words"),
    [
        ("1\n2", "1; 2; 30 mm", "expected 3 to 40 holes"),
        ("1\n2\n2", "1; 2; 30 mm", "named twice"),
        ('1\n2\n<b>"', "1; 2; 30 mm", "a short name of letters"),
        ("1\n2\naxis", "1; 2; 30 mm", "axis is taken"),
        ("1\n2\n3", "1; 7; 30 mm", "no hole is called '7'"),
        ("1\n2\n3", "1; 1; 30 mm", "two different holes"),
        ("1\n2\n3", "1; 2; outside; 30 mm", "measured by its edges, 1 needs a diameter"),
        ("1\n2\n3", "1; 2; 9 m", "at most 4000 mm"),
    ],
)
def test_entries_that_cannot_be_are_named(holes: str, entries: str, words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        solve(*read_hand(holes, entries))


def test_inches_and_thou_are_taken() -> None:
    _, (entry,) = read_hand("1\n2\n3", "1; 2; 1-1/16 in", "4 thou")
    assert entry.value == pytest.approx(26.9875) and entry.u == pytest.approx(0.1016)  # 1 in = 25.4 mm, ISO 80000-3


PLACED = tuple(PlacedHole(name=name, x_mm=x, y_mm=y, u_mm=0.2, diameter_mm=11.2) for name, (x, y) in PLACES.items())
BORE = PlacedHole(name="b", x_mm=10.0, y_mm=-5.0, u_mm=0.15, diameter_mm=125.0)


def chosen(*lines: tuple[str, str, str]) -> list[HoleChoice]:
    return [HoleChoice(hole=hole, role=role, size=size) for hole, role, size in lines]


def test_a_face_stands_about_its_bore_and_its_uncertainty_holds_the_axis_too() -> None:
    face = face_from(
        (*PLACED, BORE),
        chosen(("b", "bore", ""), ("1", "thread", "M10"), ("2", "clearance", ""), ("3", "dowel", "12 mm")),
        label="bell", seen_from="front", datum="input shaft axis",
    )  # fmt: skip
    by_id = {hole.id: hole for hole in face.holes}

    assert (by_id["1"].x_nm, by_id["1"].y_nm) == (-10_000_000, 105_000_000)
    assert (by_id["1"].thread, by_id["1"].diameter_nm) == ("M10x1.5", 10_000_000)  # ISO 261: M10, coarse pitch 1.5
    assert by_id["2"].diameter_nm == 11_200_000 and by_id["3"].diameter_nm == 12_000_000
    assert face.uncertainty_nm >= 250_000  # root of 0.2 and 0.15 squared, JCGM 100


def test_two_level_holes_turn_the_face_upright() -> None:
    tilted = [PlacedHole(name=n, x_mm=x, y_mm=y, u_mm=0.1) for n, x, y in (("a", 0, 0), ("b", 100, 10), ("c", 0, 50))]
    bore = PlacedHole(name="m", x_mm=50, y_mm=5, u_mm=0.1)
    face = face_from((*tilted, bore), chosen(("m", "bore", ""), *((n, "clearance", "11") for n in "abc")), label="x",
                     seen_from="rear", datum="axis", level=("a", "b"))  # fmt: skip
    by_id = {hole.id: hole for hole in face.holes}
    assert by_id["a"].y_nm == by_id["b"].y_nm == 0


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([("1", "clearance", ""), ("2", "clearance", "")], "3 holes at least make a pattern, 2 are chosen"),
        ([(n, "clearance", "") for n in "1234"], "the axis is not known: call one hole the bore"),
        ([("b", "bore", ""), *((n, "thread", "") for n in "123")], "name its thread, such as M10x1.5"),
        ([("b", "bore", ""), ("1", "thread", "M10x9"), ("2", "dowel", ""), ("3", "dowel", "")], "ISO 261 has"),
        ([("b", "bore", ""), ("1", "bore", ""), *((n, "dowel", "") for n in "234")], "are all called the axis"),
        ([("9", "dowel", "")], "not among the holes found"),
        ([("1", "unsaid", "")], "say what it is"),
    ],
)
def test_choices_that_make_no_face_say_why(lines: list[tuple[str, str, str]], words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        face_from((*PLACED, BORE), chosen(*lines), label="x", seen_from="rear", datum="axis")


def test_without_a_bore_the_bolts_must_stand_on_a_circle() -> None:
    at = [(7 + 80 * float(np.cos(n)), 80 * float(np.sin(n))) for n in range(5)]
    ring = [PlacedHole(name=str(n), x_mm=x, y_mm=y, u_mm=0.1, diameter_mm=11) for n, (x, y) in enumerate(at)]
    choices = chosen(*((str(n), "clearance", "") for n in range(5)))
    face = face_from(ring, choices, label="x", seen_from="rear", by_bolts=True)
    assert face.axis == BOLT_CIRCLE and all(abs(hypot(h.x_nm, h.y_nm) - 80e6) < 2e4 for h in face.holes)
    with pytest.raises(InvalidInput, match="do not stand on one circle"):
        face_from(PLACED, chosen(*((n, "clearance", "") for n in PLACES)), label="x", seen_from="rear", by_bolts=True)


def test_a_slip_among_too_few_readings_is_pinned_on_none_of_them() -> None:
    """A rectangle 100 by 80 with both diagonals (128.06, Pythagoras): six distances for four holes leave one to spare,
    so any of them may be the wrong one."""
    four = [HandHole(name=name) for name in "ABCD"]
    said = [("A", "B", 100), ("B", "C", 80), ("C", "D", 100), ("D", "A", 80), ("A", "C", 182.06), ("B", "D", 128.06)]

    solved = solve(
        four, [HandEntry(kind=DISTANCE, a=a, b=b, value=value, u=0.1) for a, b, value in said], ("A", "B", "C")
    )

    told = [note for note in solved.notes if "does not agree" in note]
    assert len(told) == 1 and "too few are measured to tell which" in told[0]
    assert all(one.should_be is None for one in solved.residuals)

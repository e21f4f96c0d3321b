"""Hole patterns: allowed miss by the fastener formulas, and clocking that is exact over all angles.

Formulas: ASME Y14.5 appendix B, floating T = H - F (example H 3.94, F 3.5, T 0.44 mm; numbers from memory) and
fixed T = (H - F)/2 (same example reprinted in a dimensioning text: 0.22 mm for each part). Clearance holes:
ISO 273:1979, medium series (M10 in 11 mm). Clocking is compared with a plain sweep over all angles.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import cos, hypot, radians, sin

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.pattern import (
    CLEARANCE,
    DOWEL,
    OTHER,
    THREAD,
    Face,
    Hole,
    allowed_miss_nm,
    as_seen_from,
    fixed_fastener_nm,
    floating_fastener_nm,
)  # fmt: skip
from graph.fits.pattern_match import list_clockings

MM = 1_000_000
Point = tuple[float, float]


def hole(id: str, x: float, y: float, use: str = THREAD, size: float = 10, edge: float | None = None) -> Hole:
    return Hole(
        id=id, x_nm=round(x * MM), y_nm=round(y * MM), diameter_nm=round(size * MM), use=use,
        edge_nm=None if edge is None else round(edge * MM),
    )  # fmt: skip


def face(id: str, holes: Sequence[Hole], seen_from: str = "rear", uncertainty: float = 0.05) -> Face:
    return Face(
        id=id, label=id, holes=tuple(holes), axis="crank axis", seen_from=seen_from,
        uncertainty_nm=round(uncertainty * MM),
    )  # fmt: skip


def turned(point: Point, degrees: float) -> Point:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return c * point[0] - s * point[1], s * point[0] + c * point[1]


def threads(points: Sequence[Point]) -> list[Hole]:
    return [hole(f"a{n}", *point) for n, point in enumerate(points)]


def clearances(points: Sequence[Point], size: float = 11) -> list[Hole]:
    return [hole(f"b{n}", *point, CLEARANCE, size) for n, point in enumerate(points)]


@st.composite
def spread_points(draw: st.DrawFn, least: int, most: int, apart: float = 8.0) -> list[Point]:
    """Holes on a housing face, 100 to 250 mm out, no two closer than `apart` mm."""
    points: list[Point] = []
    for _ in range(draw(st.integers(least, most))):
        radius, angle = draw(st.floats(100, 250)), draw(st.floats(0, 360))
        point = turned((radius, 0), angle)
        if all(hypot(point[0] - x, point[1] - y) >= apart for x, y in points):
            points.append(point)
    return points


def test_published_fastener_formulas_give_their_published_zones() -> None:
    assert floating_fastener_nm(3_940_000, 3_500_000) == 440_000
    assert fixed_fastener_nm(3_940_000, 3_500_000) == 220_000


@pytest.mark.parametrize(
    ("a", "b", "allowed_um"),
    [
        (hole("a", 0, 0, THREAD, 10), hole("b", 0, 0, CLEARANCE, 11), 500),
        (hole("a", 0, 0, CLEARANCE, 10.5), hole("b", 0, 0, THREAD, 10), 250),
        (hole("a", 0, 0, CLEARANCE, 11), hole("b", 0, 0, CLEARANCE, 11), 1000),
        (hole("a", 0, 0, CLEARANCE, 11), hole("b", 0, 0, CLEARANCE, 10.5), 750),
        (hole("a", 0, 0, DOWEL, 12), hole("b", 0, 0, DOWEL, 12.05), 25),
        (hole("a", 0, 0, THREAD, 12), hole("b", 0, 0, CLEARANCE, 11), -500),
        (hole("a", 0, 0, THREAD, 10), hole("b", 0, 0, THREAD, 10), None),
        (hole("a", 0, 0, DOWEL, 10), hole("b", 0, 0, CLEARANCE, 11), None),
    ],
)
def test_how_far_two_axes_may_miss(a: Hole, b: Hole, allowed_um: int | None) -> None:
    allowed = allowed_miss_nm(a, b, bolt_nm=10 * MM)

    assert allowed == (None if allowed_um is None else Fraction(allowed_um * 1000))


def test_a_face_measured_from_the_other_side_is_mirrored_before_it_is_laid_on() -> None:
    points = [(200.0, 0.0), (0.0, 180.0), (-150.0, -60.0), (30.0, -170.0)]
    engine = face("engine", threads(points), seen_from="rear")
    box = face("box", clearances([(-x, y) for x, y in points]), seen_from="front")

    best = list_clockings(engine, box)[0]

    assert (best.angle_deg, len(best.lined_up), best.rms_nm) == (0, 4, 0)
    assert as_seen_from(as_seen_from(box, "rear"), "front") == box


@settings(max_examples=60, deadline=None)
@given(spread_points(6, 40), st.floats(-180, 180), st.data())
def test_the_turn_is_found_through_noise_and_decoys(points: list[Point], turn: float, data: st.DataObject) -> None:
    noisy = []
    for x, y in points:
        miss = turned((data.draw(st.floats(0, 0.2)), 0), data.draw(st.floats(0, 360)))
        noisy.append(turned((x + miss[0], y + miss[1]), -turn))
    decoys = data.draw(spread_points(0, 10))
    engine = face("engine", threads([*points, *data.draw(spread_points(0, 10))]))
    box = face("box", clearances([*noisy, *decoys]))

    best = list_clockings(engine, box)[0]

    assert len(best.lined_up) >= len(points)
    if len(points) >= 10 and len(decoys) == 0:
        assert abs((best.angle_deg - turn + 180) % 360 - 180) < 0.2
        assert sum(pair.a.id[1:] == pair.b.id[1:] for pair in best.lined_up) == len(points)


@settings(max_examples=60, deadline=None)
@given(spread_points(3, 40), st.integers(-179, 179))
def test_without_noise_the_turn_is_exact_to_the_nanometre(points: list[Point], turn: int) -> None:
    engine = face("engine", threads(points))
    box = face("box", clearances([turned(point, -turn) for point in points]))

    found = list_clockings(engine, box)

    assert len(found[0].lined_up) == len(points)
    assert found[0].rms_nm <= 100  # places are rounded to a nanometre, the angle to 0.0001 deg at 250 mm


def crowded_circles() -> st.SearchStrategy[list[tuple[float, int]]]:
    """(radius in mm, step of 5 degrees): two of the circles only 0.4 mm apart."""
    place = st.tuples(st.sampled_from([100.0, 100.4, 130.0]), st.integers(0, 71))
    return st.lists(place, min_size=2, max_size=7, unique=True)


def most_lined_up(engine: Face, box: Face, degrees: float, reach: float) -> int:
    """By the slow obvious way: turn, list the pairs in reach, take a maximum matching."""
    graph: nx.Graph[str] = nx.Graph()
    for b in box.holes:
        x, y = turned((b.x_nm / MM, b.y_nm / MM), degrees)
        for a in engine.holes:
            if hypot(x - a.x_nm / MM, y - a.y_nm / MM) <= reach:
                graph.add_edge(a.id, b.id)
    return len(nx.max_weight_matching(graph, maxcardinality=True))


@settings(max_examples=25, deadline=None)
@given(crowded_circles(), crowded_circles())
def test_no_angle_of_a_plain_sweep_lines_up_more_holes(
    left: list[tuple[float, int]], right: list[tuple[float, int]]
) -> None:
    # holes every 5 degrees and two circles 0.4 mm apart: many holes in reach of several others
    engine = face("engine", threads([turned((radius, 0), 5 * step) for radius, step in left]))
    box = face("box", clearances([turned((radius, 0), 5 * step + 1) for radius, step in right]))
    reach = 0.5 + hypot(0.05, 0.05)

    clockings = list_clockings(engine, box)

    best = clockings[0] if clockings else None
    found = len(best.lined_up) if best else 0
    assert found == max(most_lined_up(engine, box, step / 4, reach - 1e-6) for step in range(4 * 360))
    if best and found:
        assert most_lined_up(engine, box, best.angle_deg, reach + 1e-3) == found


def test_least_squares_angle_is_the_least_of_a_fine_sweep() -> None:
    points = [(200.0, 10.0), (-50.0, 180.0), (-150.0, -60.0), (30.0, -170.0), (120.0, 140.0)]
    shifts = [(0.1, -0.05), (-0.15, 0.1), (0.05, 0.2), (0.0, -0.1), (0.12, 0.12)]
    engine = face("engine", threads(points))
    box = face("box", clearances([(x + dx, y + dy) for (x, y), (dx, dy) in zip(points, shifts, strict=True)]))

    best = list_clockings(engine, box)[0]

    def squares(degrees: float) -> float:
        places = [turned((h.x_nm / MM, h.y_nm / MM), degrees) for h in box.holes]
        return sum((x - px) ** 2 + (y - py) ** 2 for (x, y), (px, py) in zip(places, points, strict=True))

    swept = min(range(-3000, 3001), key=lambda step: squares(step / 10_000)) / 10_000
    assert best.angle_deg == pytest.approx(swept, abs=1.01e-4)
    assert best.rms_nm == pytest.approx((squares(best.angle_deg) / 5) ** 0.5 * MM, abs=20)


def test_a_full_bolt_circle_offers_every_clocking_and_the_least_turn_first() -> None:
    circle = [turned((180.0, 0), 30 * step) for step in range(12)]  # 12 x 30 degrees

    found = list_clockings(face("engine", threads(circle)), face("box", clearances(circle)), limit=20)

    assert sorted(round(c.angle_deg) % 360 for c in found) == list(range(0, 360, 30))
    assert found[0].angle_deg == pytest.approx(0, abs=1e-3)


def test_dowels_decide_between_angles_that_line_up_as_many_holes() -> None:
    circle = [turned((180.0, 0), 90 * step) for step in range(4)]
    engine = face("engine", [*threads(circle), hole("da", 170, 60, DOWEL, 12), hole("db", -170, 65, DOWEL, 12)])
    box = face(
        "box",
        [
            *clearances([turned(p, 90) for p in circle]),
            *(hole(f"d{n}", *turned(p, 90), DOWEL, 12) for n, p in enumerate([(170, 60), (-170, 65)])),
        ],
    )

    best = list_clockings(engine, box)[0]

    assert best.angle_deg == pytest.approx(-90, abs=1e-3)
    assert best.dowels == 2


def test_a_bounded_turn_stays_within_its_bounds() -> None:
    points = [(200.0, 10.0), (-50.0, 180.0), (-150.0, -60.0), (30.0, -170.0)]
    engine, box = face("engine", threads(points)), face("box", clearances([turned(p, -40) for p in points]))

    assert list_clockings(engine, box)[0].angle_deg == pytest.approx(40, abs=1e-3)
    assert len(list_clockings(engine, box, from_deg=30, to_deg=45)[0].lined_up) == 4
    for found in list_clockings(engine, box, from_deg=-15, to_deg=15):
        assert -15.001 <= found.angle_deg <= 15.001
        assert len(found.lined_up) < 4


def test_near_misses_are_named_with_their_distance() -> None:
    points = [(200.0, 10.0), (-50.0, 180.0), (-150.0, -60.0), (30.0, -170.0)]
    engine = face("engine", threads(points))
    box = face("box", clearances([*points[:3], (30.0 + 1.2, -170.0 - 0.9)]))

    best = list_clockings(engine, box)[0]

    assert len(best.lined_up) == 3
    assert [(pair.b.id, pair.miss_nm, pair.dx_nm, pair.dy_nm) for pair in best.near] == [
        ("b3", 1_500_000, 1_200_000, -900_000)
    ]


def test_oil_holes_are_never_bolted() -> None:
    points = [(200.0, 10.0), (-50.0, 180.0)]
    engine = face("engine", [*threads(points), hole("oil", 20, 150, OTHER)])
    box = face("box", [*clearances(points), hole("oil", 20, 150, OTHER)])

    assert [pair.a.id for pair in list_clockings(engine, box)[0].lined_up] == ["a0", "a1"]


def test_every_fault_of_a_face_is_named() -> None:
    with pytest.raises(InvalidInput) as caught:
        Face(
            id="f", label="f", axis="", seen_from="above", uncertainty_nm=0,
            holes=(hole("1", 0, 0, size=0), hole("1", 9999, 0), hole("3", 1, 1, "stud"), hole("4", 5, 5, edge=5)),
        )  # fmt: skip

    text = str(caught.value)
    assert len(caught.value.problems) == 8
    for words in ("no datum", "rear or front", "no place is exact", "used twice", "check the unit", "leaves no wall"):
        assert words in text

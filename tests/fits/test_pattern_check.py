"""Verdicts on bolt faces. Rules (all load bolts, two dowels, edge and web) are common practice; the allowed miss is
that of a fixed fastener, ASME Y14.5 appendix B: M10 in an 11 mm hole (ISO 273 medium) may miss by 0.5 mm."""

from collections.abc import Sequence
from fractions import Fraction

from graph.fits.model import Verdict
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face, Hole
from graph.fits.pattern_check import ALLOY_LIMITS, check_faces
from tests.fits.test_pattern import MM, Point, face, hole

PLACES = [(200.0, 10.0), (-50.0, 180.0), (-150.0, -60.0), (30.0, -170.0)]
DOWEL_PLACES = [(190.0, 60.0), (-190.0, 65.0)]


def engine(places: Sequence[Point] = PLACES) -> Face:
    holes = [hole(f"{n + 1}", *place) for n, place in enumerate(places)]
    return face("engine", [*holes, *(hole(f"d{n + 1}", *place, DOWEL, 12) for n, place in enumerate(DOWEL_PLACES))])


def box(last: Hole, dowels: int = 2) -> Face:
    holes = [hole(f"{n + 1}", *place, CLEARANCE, 11) for n, place in enumerate(PLACES[:3])]
    pins = [hole(f"d{n + 1}", *place, DOWEL, 12) for n, place in enumerate(DOWEL_PLACES[:dowels])]
    return face("box", [*holes, last, *pins])


def test_equal_faces_hold_by_what_the_bolt_may_miss_less_the_uncertainty() -> None:
    result = check_faces(engine(), box(hole("4", 30, -170, CLEARANCE, 11))).result

    assert result.verdict is Verdict.HOLDS
    assert result.margin is not None
    assert result.margin.value == Fraction(500_000 - 70_711, MM)  # 0.5 less sqrt(0.05^2 + 0.05^2) mm
    assert "4 of 4 load bolts and 2 dowels line up" in result.summary


def test_a_miss_within_the_uncertainty_of_the_limit_asks_for_a_closer_measurement() -> None:
    result = check_faces(engine(), box(hole("4", 30.5, -170, CLEARANCE, 11))).result

    assert result.verdict is Verdict.UNKNOWN
    assert "more closely" in result.measure[0].name


def test_a_small_miss_is_slotted_where_the_edge_allows() -> None:
    result = check_faces(engine(), box(hole("4", 30, -171.5, CLEARANCE, 11, edge=20))).result

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert [work.operation for work in result.work] == ["slot-hole"]
    # 1.5 miss + 0.0707 uncertainty - 0.5 allowed; the dowels settle the angle to a few thousandths
    assert abs(float(result.work[0].amount.value) - 1.071) < 0.01  # type: ignore[union-attr]
    assert result.cautions


def test_a_larger_miss_is_plugged_and_redrilled() -> None:
    result = check_faces(engine(), box(hole("4", 33, -171, CLEARANCE, 11, edge=22)), near_nm=4 * MM).result

    assert [work.operation for work in result.work] == ["redrill-hole"]
    assert result.work[0].text.startswith("plug and redrill")
    assert result.work[0].irreversible


def test_too_little_edge_fails_in_alloy_where_iron_would_do() -> None:
    tight = box(hole("4", 30, -172.5, CLEARANCE, 11, edge=18.5))

    iron = check_faces(engine(), tight).result
    alloy = check_faces(engine(), tight, limits=ALLOY_LIMITS).result

    assert iron.verdict is Verdict.HOLDS_WITH_WORK
    assert alloy.verdict is Verdict.FAILS
    assert "from the edge, 20.000 mm wanted" in alloy.summary


def test_an_unmeasured_edge_is_asked_for_and_never_guessed() -> None:
    result = check_faces(engine(), box(hole("4", 30, -171.5, CLEARANCE, 11))).result

    assert result.verdict is Verdict.UNKNOWN
    assert result.measure[0].name == "edge distance of clearance 4 on box"


def test_a_neighbouring_hole_leaves_no_web_to_cut_into() -> None:
    close = box(hole("4", 30, -171.5, CLEARANCE, 11, edge=30))
    crowded = Face(
        id="box", label="box", axis="crank axis", seen_from="rear", uncertainty_nm=50_000,
        holes=(*close.holes, hole("water", 44, -171.5, "other", 8)),
    )  # fmt: skip

    result = check_faces(engine(), crowded).result

    assert result.verdict is Verdict.FAILS
    assert "of the next hole" in result.summary


def test_a_load_bolt_without_a_hole_opposite_fails() -> None:
    result = check_faces(engine(), box(hole("4", 100, -100, CLEARANCE, 11))).result

    assert result.verdict is Verdict.FAILS
    assert result.binding == "no hole of engine near clearance 4 of box"


def test_missing_dowels_are_work_because_clamp_bolts_do_not_locate() -> None:
    result = check_faces(engine(), box(hole("4", 30, -170, CLEARANCE, 11), dowels=0)).result

    assert [work.operation for work in result.work] == ["fit-dowels"]
    assert any("dial the housing in" in caution for caution in result.cautions)


def test_a_hole_too_small_for_its_bolt_is_opened_out() -> None:
    result = check_faces(engine(), box(hole("4", 30, -170, CLEARANCE, 9.8, edge=25))).result

    assert [work.operation for work in result.work] == ["open-hole"]
    assert result.work[0].amount.value >= Fraction(10)  # type: ignore[union-attr]


def test_thread_on_thread_is_drilled_out_on_the_fitted_face() -> None:
    result = check_faces(engine(), box(hole("4", 30, -170, THREAD, 10, edge=25))).result

    assert [work.operation for work in result.work] == ["open-thread"]


def test_faces_that_never_meet_want_an_adapter_plate() -> None:
    fit = check_faces(engine([(200.0, 0.0)]), face("box", [hole("1", 90, 0, CLEARANCE, 11)]))

    assert fit.result.verdict is Verdict.FAILS
    assert fit.clocking is None
    assert "adapter plate" in fit.result.summary

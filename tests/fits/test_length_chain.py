"""Length chains. The worked example (4x4, invented, in the trade notes): x rearwards from the block's face, window of
the plate 14.0 to 15.5 mm, and every option's figures. Stack-up: open course page "Tolerance stack-up", gap 0.2 mm
from 20.2 +/- 0.05, 6 +/- 0.1, 9 +/- 0.12 and 5 +/- 0.08: worst case 0.35, RSS 0.18."""

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graph.errors import InvalidInput, NotFound
from graph.fits.length_chain import BuildChains, Form, Requirement, check_chain, find_reach, reading
from graph.fits.length_sheet import (
    BELL_FACE,
    BLOCK_FACE,
    BOX_FACE,
    FLANGE,
    FRICTION_FACE,
    IN_FLYWHEEL,
    NOSE_SHORTENING,
    ON_BLOCK,
    PAD_MILLING,
    PILOT_EXTENSION,
    PLATE,
    REFACE,
    SHIM,
    SPACER,
    TIP,
    BoxSide,
    ChainRules,
    EngineSide,
    chain_of,
)
from graph.fits.length_window import Errors, find_region, find_window
from graph.fits.lengths import measured
from graph.fits.model import Dimension, Verdict
from graph.fits.side_effects import side_effects

MM = 1_000_000
PAD_LIMIT = {PAD_MILLING: (0, 6 * MM)}


def read(name: str, value: str, datum: str = "", uncertainty: str = "0.05 mm") -> Dimension:
    return measured(name, value, uncertainty, datum=datum)


COARSE = "0.15 mm"  # the four readings behind the pilot overlap: together +/- 0.6 mm
ENGINE = EngineSide(
    crank_flange=read("block to crank flange", "14.0 mm", BLOCK_FACE, COARSE),
    bore_depth=read("crank bore depth", "45 mm", FLANGE),
    bearing_inset=read("bearing depth", "6 mm", FLANGE, COARSE),
    bearing_width=read("pilot bearing width", "16 mm"),
    friction_face=read("flywheel thickness", "24.0 mm", FLANGE),
    bolt_heads=read("flywheel bolt heads", "17.0 mm", FLANGE),
    fingers=read("clutch fingers", "48 mm", FRICTION_FACE),
    hub_front=read("hub front", "-3.9 mm", FRICTION_FACE),
    hub_length=read("hub length", "28 mm"),
    ring_front=read("ring gear front", "7 mm", FLANGE),
    ring_width=read("ring gear width", "12 mm"),
)
BOX = BoxSide(
    bell_depth=read("bell depth", "165.0 mm", BELL_FACE, COARSE),
    stick_out=read("stick-out", "190.0 mm", BOX_FACE, COARSE),
    nose_length=read("nose length", "22 mm", TIP),
    spline_start=read("spline start", "26 mm", TIP),
    spline_end=read("spline end", "96 mm", TIP),
    bearing_height=read("release bearing height", "90 mm", BOX_FACE),
    pinion_at_rest=read("pinion at rest", "21.5 mm", BELL_FACE),
    pinion_out=read("pinion fully out", "1.5 mm", BELL_FACE),
)
CHAIN = chain_of(ENGINE, BOX, limits=PAD_LIMIT)


@dataclass(frozen=True)
class Option:
    """One way of the worked example to close the chain."""

    id: str
    remedies: dict[str, int]


X = Option("X", {PLATE: 15 * MM})  # a new plate
Y = Option("Y", {PLATE: 20 * MM, SPACER: 5 * MM})
Z = Option("Z", {PLATE: 20 * MM, SHIM: 5 * MM, PAD_MILLING: 5 * MM})
W = Option("W", {PLATE: 25 * MM, SHIM: 10 * MM, PAD_MILLING: 10 * MM})
PLAIN = Option("plain", {PLATE: 20 * MM})
GOOD = {"release gap": 4.0, "starter rest gap": 3.5, "starter mesh": 12}
ERRORS = (Errors.NONE, Errors.RSS, Errors.WORST_CASE)
ADDED = [SPACER, SHIM, PAD_MILLING, REFACE, PILOT_EXTENSION, NOSE_SHORTENING]


def value(name: str, remedies: dict[str, int], chain: BuildChains = CHAIN) -> float:
    reach = find_reach(chain, name, remedies)
    assert reach is not None
    return reach.value_nm / MM


def test_the_window_of_the_plate_is_14_to_15_and_a_half() -> None:
    window = find_window(CHAIN, PLATE)

    assert (window.low_nm, window.high_nm) == (14 * MM, 15_500_000)
    assert (window.low_by, window.high_by) == ("release gap", "starter rest gap")
    assert window.is_open
    assert window.text() == "plate 14.000 mm (release gap) to 15.500 mm (starter rest gap)"


@pytest.mark.parametrize(
    ("option", "expected"),
    [
        (X, {"pilot overlap": 16, "shoulder to bearing": 4, **GOOD}),
        (Y, {"pilot overlap": 13, **GOOD}),
        (Z, {"pilot overlap": 13, **GOOD}),
        (W, {"pilot overlap": 8}),
        (PLAIN, {"release gap": 9, "starter rest gap": 8.5}),
    ],
    ids=lambda item: item.id if isinstance(item, Option) else "",
)
def test_every_option_of_the_worked_example_comes_to_its_figures(option: Option, expected: dict[str, float]) -> None:
    assert {name: value(name, dict(option.remedies)) for name in expected} == expected


@given(st.integers(11_000_000, 40_000_000))
def test_the_worked_formulas_hold_for_any_plate(plate: int) -> None:
    t = Fraction(plate, MM)
    got = {
        requirement.name: Fraction(find_reach(CHAIN, requirement.name, {PLATE: plate}).value_nm, MM)  # type: ignore[union-attr]
        for requirement in CHAIN.requirements
    }

    assert got["pilot overlap"] == min(16, 33 - t)
    assert got["tip to bore bottom"] == t + 6
    assert got["shoulder to bearing"] == t - 11
    assert got["spline spare in front"] == Fraction("33.1") - t
    assert got["spline spare behind"] == t + Fraction("8.9")
    assert got["release gap"] == t - 11
    assert got["starter rest gap"] == t - Fraction("11.5")
    assert got["starter mesh"] == min(12, Fraction("31.5") - t)
    assert got["hub clearance"] == Fraction("3.1")


def test_the_options_hold_or_fail_as_the_worked_example_says() -> None:
    judged = {option.id: check_chain(CHAIN, option.remedies) for option in (X, Y, Z, W, PLAIN)}

    assert [judged[id].verdict is Verdict.HOLDS for id in judged] == [True, True, True, False, False]
    assert "pilot overlap 8.000 mm, at least 12.000 mm" in judged["W"].summary
    assert "starter pad milling 10.000 mm, 0.000 mm to 6.000 mm possible" in judged["W"].summary
    assert "release gap 9.000 mm" in judged["plain"].summary
    assert "starter rest gap 8.500 mm" in judged["plain"].summary


def test_the_cheapest_option_passes_with_a_thin_margin_and_says_what_to_measure_again() -> None:
    reach = find_reach(CHAIN, "pilot overlap", Z.remedies)
    result = check_chain(CHAIN, Z.remedies)

    assert reach is not None
    assert (reach.nominal_margin_nm, reach.worst_margin_nm) == (1 * MM, 400_000)  # 1.0 less four readings, 0.6
    assert reach.stack.rss_low_nm == pytest.approx(13 * MM - 300_000, abs=2)  # sqrt(4) x 0.15
    assert result.verdict is Verdict.HOLDS
    thin = "thin margin on pilot overlap: 0.400 mm left in the worst case; measure"
    assert any(thin in caution for caution in result.cautions)


def test_with_the_rule_raised_to_14_of_overlap_only_the_new_plate_is_left() -> None:
    strict = chain_of(ENGINE, BOX, ChainRules(pilot_overlap_nm=14 * MM), PAD_LIMIT)

    judged = {option.id: check_chain(strict, option.remedies) for option in (X, Y, Z, W, PLAIN)}

    assert [id for id, result in judged.items() if result.verdict is Verdict.HOLDS] == ["X"]
    assert all("pilot overlap 13.000 mm" in judged[id].summary for id in "YZ")


def test_a_thicker_plate_moves_lever_mount_and_prop_by_its_own_thickness() -> None:
    # common practice: a plate moves the lever back by its own thickness
    effects = [effect.text() for effect in side_effects(PLAIN.remedies, X.remedies)]

    assert effects == ["prop-shaft shorter by 5.000 mm", "lever back by 5.000 mm", "gearbox mount back by 5.000 mm"]
    assert "crank sensor ring to re-set, moved back by 5.000 mm" in [e.text() for e in side_effects(Y.remedies, {})]


def test_readings_in_inches_give_the_same_window_to_a_hundredth() -> None:
    inches = replace(
        BOX, bell_depth=read("bell depth", "6.496 in", BELL_FACE), stick_out=read("stick-out", "7.480 in", BOX_FACE)
    )

    window = find_window(chain_of(ENGINE, inches), PLATE)

    assert window.low_nm is not None
    assert window.high_nm is not None
    assert (round(window.low_nm / MM, 2), round(window.high_nm / MM, 2)) == (14.0, 15.5)
    assert window.low_nm == 14_001_600  # 6.496 in is 164.9984 mm


def test_the_safe_window_lies_inside_the_nominal_one_and_rss_between() -> None:
    nominal, rss, worst = (find_window(CHAIN, PLATE, errors=errors) for errors in ERRORS)

    assert nominal.low_nm < rss.low_nm < worst.low_nm  # type: ignore[operator]
    assert worst.high_nm < rss.high_nm < nominal.high_nm  # type: ignore[operator]
    # release gap: flange and bell +/- 0.15, flywheel, fingers and bearing height +/- 0.05 each: 0.45 in all
    assert worst.low_nm == 14 * MM + 450_000
    # starter: ring front and width, flange, pinion: 0.05 + 0.05 + 0.15 + 0.05
    assert worst.high_nm == 15_500_000 - 300_000


def test_two_remedies_together_have_an_exact_polygon() -> None:
    region = find_region(CHAIN, PLATE, SPACER)

    # gap 3..5: 14 <= T - s <= 16; rest 2..4: 13.5 <= T - s <= 15.5; overlap: T <= 21; so 14 <= T - s <= 15.5
    assert (21 * MM, 7 * MM) in region.corners_nm
    assert (21 * MM, 5_500_000) in region.corners_nm
    assert {"pilot overlap", "release gap", "starter rest gap"} <= set(region.bound_by)


@settings(deadline=None)
@given(st.integers(0, 40), st.integers(-5, 20), st.integers(0, 12))
def test_a_pair_is_in_the_polygon_exactly_when_the_chain_holds_nominally(t: int, s: int, k: int) -> None:
    point = (Fraction(t * MM, 1), Fraction(s * MM, 1))
    others = {SHIM: k * MM}

    region = find_region(CHAIN, PLATE, SPACER, others)

    remedies = {PLATE: t * MM, SPACER: s * MM, **others}
    assert inside(region.corners_nm, point) == holds_nominally(remedies)


def holds_nominally(remedies: dict[str, int]) -> bool:
    reaches = [find_reach(CHAIN, requirement.name, remedies) for requirement in CHAIN.requirements]
    pad = remedies.get(PAD_MILLING, 0)
    return pad <= 6 * MM and all(reach is not None and reach.nominal_margin_nm >= 0 for reach in reaches)


def inside(corners: tuple[tuple[Fraction, Fraction], ...], point: tuple[Fraction, Fraction]) -> bool:
    """By areas: left of or on every side of the polygon, which runs anticlockwise."""
    if not corners:
        return False
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    return all((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax) >= 0 for (ax, ay), (bx, by) in sides) and (
        len(corners) > 2 or point in corners
    )


@settings(max_examples=12, deadline=None)
@given(st.dictionaries(st.sampled_from(ADDED), st.integers(0, 6)))
def test_the_window_is_where_a_search_in_tenths_finds_every_check_holding(amounts: dict[str, int]) -> None:
    others = {name: amount * MM for name, amount in amounts.items()}

    window = find_window(CHAIN, PLATE, others)

    tries = range(80, 300)
    good = [Fraction(t, 10) for t in tries if holds_nominally({PLATE: t * MM // 10, **others})]
    if good:
        assert window.is_open
        assert (window.low_nm, window.high_nm) == (min(good) * MM, max(good) * MM)
    else:
        assert not window.is_open


@pytest.mark.parametrize(
    ("remedy", "moves"),
    [
        (SPACER, {"release gap": -2, "starter rest gap": -2, "spline spare in front": 2, "spline spare behind": -2}),
        (SHIM, {"release gap": -2}),
        (PAD_MILLING, {"starter rest gap": -2}),
        (PILOT_EXTENSION, {"pilot overlap": 2, "shoulder to bearing": -2}),
        (REFACE, {"release gap": 2, "spline spare in front": -2, "spline spare behind": 2, "hub clearance": -2}),
        (NOSE_SHORTENING, {"pilot overlap": -2, "tip to bore bottom": 2}),
        (PLATE, {"pilot overlap": -2, "tip to bore bottom": 2, "shoulder to bearing": 2, "release gap": 2,
                 "starter rest gap": 2, "spline spare in front": -2, "spline spare behind": 2,
                 "starter mesh": -0.5}),  # min(12, 31.5 - T) at T = 20
    ],
)  # fmt: skip
def test_each_remedy_moves_what_the_matrix_says_and_nothing_else(remedy: str, moves: dict[str, float]) -> None:
    # side-effect matrix of the trade notes; the plate starts at 18 so that the tip limits the overlap
    before = {r.name: value(r.name, {PLATE: 18 * MM}) for r in CHAIN.requirements}

    added = {PLATE: 18 * MM}
    added[remedy] = added.get(remedy, 0) + 2 * MM
    after = {r.name: value(r.name, added) for r in CHAIN.requirements}

    changed = {name: round(after[name] - before[name], 6) for name in before if after[name] != before[name]}
    assert changed == moves


def test_a_starter_on_the_block_does_not_move_with_the_plate() -> None:
    box = replace(
        BOX, starter_on=ON_BLOCK, pinion_at_rest=read("pinion at rest", "36.5 mm", BLOCK_FACE),
        pinion_out=read("pinion fully out", "16.5 mm", BLOCK_FACE),
    )  # fmt: skip
    chain = chain_of(ENGINE, box)

    assert value("starter rest gap", {PLATE: 0}, chain) == value("starter rest gap", {PLATE: 20 * MM}, chain) == 3.5
    assert find_window(chain, PLATE).high_by == "release gap"


def test_a_pilot_in_the_flywheel_moves_with_the_spacer() -> None:
    chain = chain_of(replace(ENGINE, pilot_in=IN_FLYWHEEL), BOX)

    assert value("pilot overlap", {PLATE: 20 * MM, SPACER: 2 * MM}, chain) == 15


def test_a_missing_reading_is_unknown_with_its_datum_and_never_guessed() -> None:
    chain = chain_of(ENGINE, replace(BOX, stick_out=None))

    result = check_chain(chain, {PLATE: 15 * MM})
    window = find_window(chain, PLATE)

    assert result.verdict is Verdict.UNKNOWN
    assert {(item.name, item.datum) for item in result.measure} == {("stick out", BOX_FACE)}
    assert find_reach(chain, "pilot overlap", {}) is None
    assert {item.name for item in window.missing} == {"stick out"}


def test_a_remedy_that_cannot_help_is_told_apart_from_a_closed_window() -> None:
    stuck = chain_of(replace(ENGINE, bolt_heads=read("flywheel bolt heads", "19.5 mm", FLANGE)), BOX)
    tight = chain_of(ENGINE, BOX, ChainRules(release_gap_nm=(5 * MM, 6 * MM)))

    assert find_window(stuck, PLATE).conflicts == ("hub clearance",)
    assert not find_window(tight, PLATE).is_open
    assert "release gap wants at least 16.000 mm" in find_window(tight, PLATE).text()


def test_a_published_stack_gives_its_published_worst_case_and_rss() -> None:
    terms = [("20.2 mm", "0.05 mm", 1), ("6 mm", "0.1 mm", -1), ("9 mm", "0.12 mm", -1), ("5 mm", "0.08 mm", -1)]
    form = Form()
    for number, (size, tolerance, sign) in enumerate(terms):
        form = form + reading(read(f"part {number}", size, uncertainty=tolerance)).times(sign)

    stack = form.stack("gap", {})

    assert stack.nominal_nm == 200_000
    assert (stack.high_nm - stack.low_nm) / 2 == 350_000
    assert (stack.rss_high_nm - stack.rss_low_nm) / 2 == pytest.approx(182_483, abs=2)


def test_a_reading_that_cancels_brings_no_error() -> None:
    flange = read("flange", "14 mm", BLOCK_FACE, "1.0 mm")

    stack = ((reading(flange) + reading(read("width", "16 mm"))) - reading(flange)).stack("width", {})

    assert stack.high_nm - stack.low_nm == 100_000


def test_worst_case_is_the_worst_of_all_corners_of_the_readings() -> None:
    reach = find_reach(CHAIN, "pilot overlap", {PLATE: 17_200_000})
    assert reach is not None
    errors = (-150_000, 150_000)
    overlaps = [
        min(16 * MM + width, 33 * MM - 17_200_000 + flange - inset - bell + stick)
        for flange, inset, bell, stick in product(errors, repeat=4)
        for width in (-50_000, 50_000)
    ]

    assert reach.worst_margin_nm == min(overlaps) - 12 * MM


@pytest.mark.parametrize(
    ("side", "changes", "words"),
    [
        ("engine", {"crank_flange": read("flange", "14 mm")}, "found no datum"),
        ("engine", {"crank_flange": read("flange", "14 mm", BELL_FACE)}, "refer it to that face"),
        ("engine", {"bearing_width": read("width", "-16 mm")}, "must be above zero"),
        ("engine", {"pilot_in": "gearbox"}, "expected crank or flywheel"),
        ("box", {"starter_on": "crank"}, "expected bell housing or block"),
        ("box", {"spline_start": read("start", "97 mm", TIP)}, "are they exchanged"),
    ],
)
def test_impossible_sheets_are_refused_with_the_field(side: str, changes: dict[str, object], words: str) -> None:
    engine = replace(ENGINE, **changes) if side == "engine" else ENGINE  # type: ignore[arg-type]
    box = replace(BOX, **changes) if side == "box" else BOX  # type: ignore[arg-type]

    with pytest.raises(InvalidInput, match=words) as caught:
        chain_of(engine, box)

    assert caught.value.problems[0].path.startswith(f"{side}.")


def test_zero_room_between_limits_and_unknown_remedies_are_refused() -> None:
    with pytest.raises(InvalidInput, match="no room between"):
        chain_of(ENGINE, BOX, ChainRules(release_gap_nm=(4 * MM, 4 * MM)))
    with pytest.raises(InvalidInput, match="no such remedy"):
        check_chain(CHAIN, {"glue": 1})
    with pytest.raises(NotFound, match="plate"):
        find_window(CHAIN, "plat")
    with pytest.raises(InvalidInput, match="single sum"):
        Requirement(name="r", forms=(reading(ENGINE.crank_flange), Form()), low_nm=0, high_nm=1)  # type: ignore[arg-type]
    with pytest.raises(InvalidInput, match="leave it out"):
        find_window(CHAIN, PLATE, {PLATE: 1})

"""The pilot. Worked example of the trade notes (tractor): crank bore 38.10 mm (1.500 in), bearing 35.00 mm outside:
sleeve wall 1.55 mm. Fits: clutch education page (0.001 to 0.003 in on the nose), forum thread (0.0004 to 0.002 in)."""

from fractions import Fraction

import pytest

from graph.errors import InvalidInput
from graph.fits.lengths import measured
from graph.fits.model import Dimension, Verdict
from graph.fits.pilot import BALL, NEEDLE, ROLLER, Pilot, check_pilot, sleeve_wall_nm
from graph.fits.tables import load_tables

TABLES = load_tables()


def size(name: str, value: str, uncertainty: str = "0.002 mm") -> Dimension:
    return measured(name, value, uncertainty)


GOOD = Pilot(
    crank_bore=size("crank bore", "1.500 in"), outside=size("bush outside", "1.5012 in"),
    inside=size("bush inside", "0.672 in"), nose=size("nose", "0.670 in"),
)  # fmt: skip


def pilot(**changes: object) -> Pilot:
    values = {name: getattr(GOOD, name) for name in ("crank_bore", "outside", "inside", "nose")}
    return Pilot(**(values | changes))


def test_the_tractor_sleeve_has_a_wall_of_1_55() -> None:
    assert sleeve_wall_nm(38_100_000, 35_000_000) == 1_550_000

    result = check_pilot(TABLES, pilot(outside=size("bearing outside", "35.00 mm"), kind=ROLLER, nose_hardened=True))

    sleeve = result.parts[0].choices[0][0]
    assert result.parts[0].verdict is Verdict.HOLDS_WITH_WORK
    assert (sleeve.remedy, sleeve.amount.value) == ("sleeve", Fraction("1.55"))  # type: ignore[union-attr]


def test_a_bush_within_both_fits_holds() -> None:
    result = check_pilot(TABLES, GOOD)

    assert result.verdict is Verdict.HOLDS
    assert result.margin is not None
    assert result.margin.value > 0


@pytest.mark.parametrize(
    ("changes", "operation"),
    [
        ({"outside": size("bush outside", "1.510 in")}, "turn-bush"),
        ({"outside": size("bush outside", "1.490 in")}, "make-bush"),  # wall for a sleeve only 0.127 mm
        ({"inside": size("bush inside", "0.6702 in")}, "ream-bush"),
        ({"inside": size("bush inside", "0.680 in")}, "make-bush"),
        ({"kind": ROLLER, "nose_hardened": False}, "make-bush"),
    ],
)
def test_what_does_not_fit_says_what_makes_it_fit(changes: dict[str, object], operation: str) -> None:
    result = check_pilot(TABLES, pilot(**changes))

    assert result.verdict is Verdict.HOLDS_WITH_WORK
    assert result.work[0].operation == operation


def test_rollers_on_a_nose_of_unknown_hardness_are_unknown() -> None:
    assert check_pilot(TABLES, pilot(kind=ROLLER)).measure[0].name == "hardness of the nose"


@pytest.mark.parametrize("name", ["crank_bore", "outside", "inside", "nose"])
def test_each_missing_size_is_asked_for(name: str) -> None:
    result = check_pilot(TABLES, pilot(**{name: None}))

    assert result.verdict is Verdict.UNKNOWN
    assert len(result.measure) == 1


def test_no_room_for_a_sleeve_and_impossible_kinds_are_refused() -> None:
    with pytest.raises(InvalidInput, match="bore larger"):
        sleeve_wall_nm(35_000_000, 35_000_000)
    with pytest.raises(InvalidInput, match="expected bush, ball bearing"):
        check_pilot(TABLES, pilot(kind="magnet"))


@pytest.mark.parametrize(
    ("kind", "inside", "nose", "verdict"),
    [  # ISO 492: a bore of 15 is 0/-8 um; g6 is -6/-17, h6 0/-11; F8 +16/+43 (ISO 286)
        (BALL, "14.996 mm", "14.988 mm", Verdict.HOLDS),
        (BALL, "14.996 mm", "14.940 mm", Verdict.FAILS),  # 56 um is a bush's clearance, not a ball bearing's
        (NEEDLE, "15.030 mm", "14.995 mm", Verdict.HOLDS),
        (NEEDLE, "15.030 mm", "15.028 mm", Verdict.FAILS),
        (BALL, "14.996 mm", "15.020 mm", Verdict.FAILS),
    ],
)
def test_a_rolling_pilot_bearing_is_judged_by_its_own_fits(kind: str, inside: str, nose: str, verdict: Verdict) -> None:
    result = check_pilot(
        TABLES,
        pilot(kind=kind, inside=size("inside", inside), nose=size("nose", nose, "0.001 mm"), nose_hardened=True),
    )

    assert result.parts[1].verdict is verdict


def test_a_rolling_bearing_of_unknown_sort_is_unknown_where_its_sorts_differ() -> None:
    """A clearance of 35 um suits needles and not balls."""
    inside, nose = size("inside", "15.030 mm"), size("nose", "14.995 mm", "0.001 mm")

    result = check_pilot(TABLES, pilot(kind=ROLLER, inside=inside, nose=nose, nose_hardened=True)).parts[1]

    assert result.verdict is Verdict.UNKNOWN
    assert "balls or needles" in result.measure[0].name


@pytest.mark.parametrize(
    ("bore", "verdict"),
    [("34.980 mm", Verdict.HOLDS), ("34.900 mm", Verdict.HOLDS_WITH_WORK), ("35.010 mm", Verdict.HOLDS_WITH_WORK)],
)
def test_a_ball_bearing_in_the_crank_wants_the_fit_of_a_ring_that_turns(bore: str, verdict: Verdict) -> None:
    """35 mm: N7 -8/-33, P7 -17/-42 (ISO 286), ring 0/-11 (ISO 492): 3 um loose to 42 um tight."""
    result = check_pilot(
        TABLES, pilot(kind=BALL, outside=size("outside", "34.995 mm"), crank_bore=size("crank bore", bore, "0.001 mm"))
    )

    assert result.parts[0].verdict is verdict

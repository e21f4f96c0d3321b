"""From the complaint to the joint, as the trade does: each row of its map of complaints to joints (common practice)."""

from __future__ import annotations

import pytest

from graph.complaints.enquiry import Enquiry
from graph.complaints.judge import judge
from graph.complaints.tables import trade_tables
from graph.complaints.verdict import ComplaintVerdict
from graph.errors import InvalidInput, NotFound
from tests.demo.shop import index

# Complaint, what was answered, and where the trade looks first: common practice.
MAP = [
    ("will-not-release", {"free-with-engine-stopped": "yes"}, "release actuation"),
    ("clutch-drags", {}, "release actuation"),
    ("crunches-one-gear", {}, "second gear synchro"),
    ("noise-in-neutral", {"goes-with-pedal-down": "yes"}, "input bearing in housing"),
    ("noise-pedal-down", {}, "release contact"),
    ("whines-all-gears", {"quiet-in-direct": "yes"}, "layshaft bearing in case"),
    ("tight-to-turn", {"from-the-first-drive": "yes", "crank-float-lost": "yes"}, "shaft location"),
    ("vibrates-with-speed", {"with-road-speed-only": "yes", "angles-differ": "yes"}, "output to propshaft"),
    ("rattles-at-idle", {}, "damper to flywheel"),
    ("starter-grinds", {"from-the-first-drive": "yes"}, "starter mesh"),
    ("no-start", {"no-speed-on-reader": "yes"}, "crankshaft sensor"),
    ("no-start", {"starts-switch-made": "yes"}, "gear-position signal"),
    ("leaks-at-the-front", {"gear-oil-in-housing": "yes"}, "front retainer to case"),
    ("leaks-at-the-front", {"engine-oil-in-housing": "yes"}, "flywheel to crankshaft"),
    ("speedometer-wrong", {}, "speedometer"),
    ("jumps-out", {"dial-outside": "yes"}, "concentricity and dowels"),
]


def asked(complaint: str, findings: dict[str, str] | None = None, **more: object) -> ComplaintVerdict:
    return judge(Enquiry((complaint,), findings or {}, **more), index(), trade_tables())  # type: ignore[arg-type]


@pytest.mark.parametrize(("complaint", "findings", "joint"), MAP)
def test_the_joint_that_the_trade_looks_at_first_comes_first(
    complaint: str, findings: dict[str, str], joint: str
) -> None:
    verdict = asked(complaint, findings)

    assert verdict.suspects[0].joint == joint, [(one.label, one.joint) for one in verdict.suspects[:3]]


def test_every_complaint_and_every_test_of_the_tables_can_be_asked() -> None:
    trade = trade_tables()
    for complaint in trade.complaints:
        first = asked(complaint)
        assert first.suspects and first.summary and first.cautions
        for test in first.tests:
            for answer in ("yes", "no"):
                assert asked(complaint, {test.test: answer}).suspects
    known = index().catalogue
    assert {task for test in trade.tests.values() for task in test.needs} <= set(known.tasks)
    assert {one.joint for one in trade.causes.values() if one.joint} <= set(known.joint_kinds)
    assert {one.position for one in trade.causes.values()} <= set(known.position_kinds)
    assert {one.chain for one in trade.causes.values() if one.chain} <= set(known.chain_kinds)


def test_a_gap_left_at_half_a_millimetre_outranks_a_bad_slave() -> None:
    before = [one.cause for one in asked("clutch-slips").suspects]
    verdict = asked("clutch-slips", measured={"release gap": "0.5 mm"})

    causes = [one.cause for one in verdict.suspects]
    assert causes.index("gap-none") == 0 < causes.index("slave-hangs")
    assert "gap-none" in before and verdict.suspects[0].speaks_for[-1] == "release gap 0.5 mm, outside"
    assert verdict.suspects[0].odds > asked("clutch-slips").suspects[before.index("gap-none")].odds


def test_a_reading_well_within_its_limits_speaks_against() -> None:
    silent = {one.cause: one.odds for one in asked("starter-grinds").suspects}
    read = asked("starter-grinds", measured={"starter-rest-gap": "3 mm"})

    assert {one.cause: one.odds for one in read.suspects}["starter-gap"] < silent["starter-gap"]


def test_it_ends_at_the_joint_with_what_to_do_and_what_it_looks_like() -> None:
    verdict = asked("starter-grinds", {"rest-gap-outside": "yes"})

    assert verdict.found
    assert verdict.summary.startswith(
        "The starter stands too near to the ring gear or too far from it (starter mesh): 9"
    )
    assert verdict.suspects[0].looks_like and verdict.suspects[0].remedy in verdict.summary


def test_what_is_open_already_is_not_paid_again() -> None:
    shut, opened = asked("clutch-shudders"), asked("clutch-shudders", opened=("clutch-off-and-on",))

    hours = {one.test: one.opening_hours_hundredths for one in shut.tests}
    assert hours["disc-has-oil"] > 400
    assert {one.test: one.opening_hours_hundredths for one in opened.tests}["disc-has-oil"] == 0
    assert opened.tests[0].opening_hours_hundredths == 0 and shut.tests[0].opening_hours_hundredths == 0


def test_what_nobody_has_priced_is_not_known_and_what_the_shop_has_is_its_own() -> None:
    anywhere = asked("noise-in-neutral", {"goes-with-pedal-down": "yes"}).suspects[0]
    here = asked("noise-in-neutral", {"goes-with-pedal-down": "yes"}, gearbox="tansy-5", engine="pipit-16").suspects[0]

    assert anywhere.price == "not known, nobody has stated it"
    assert here.cause == "input-bearing-worn" and here.price.startswith("42.00 EUR and 0.5 h")


def test_answers_that_cannot_both_be_so_are_doubted_by_name() -> None:
    verdict = asked("will-not-release", {"fork-without-play": "yes", "fork-swings-far": "yes"})

    assert "Both cannot be so" in verdict.doubted[0].words


def test_an_answer_that_hardly_comes_beside_the_rest_is_doubted() -> None:
    verdict = asked("speedometer-wrong", {"pulses-do-not-agree": "no"})

    assert verdict.doubted == ()  # one answer may be wrong as well as the other
    assert [one.said for one in asked("starter-grinds", {
        "rest-gap-outside": "no", "teeth-do-not-match": "no", "ring-gear-marked": "no",
    }).doubted] == ["The starter grinds or spins"]  # fmt: skip


def test_without_units_and_readings_the_reader_is_told_that_the_odds_are_estimates() -> None:
    verdict = asked("clutch-slips")

    assert any("not named" in note for note in verdict.notes)
    assert any("No reading of the job" in note for note in verdict.notes)


@pytest.mark.parametrize(
    ("enquiry", "words"),
    [
        (Enquiry(()), "one to 4 complaints"),
        (Enquiry(("clutch-slips",), {"only-hot": "perhaps"}), "yes or no"),
        (Enquiry(("clutch-slips",), measured={"release-gap": "0.5"}), "no unit"),
        (Enquiry(("clutch-slips",), measured={"release-gap": "5 Nm"}), "wanted a length"),
        (Enquiry(("clutch-slips",), measured={"release-gap": "4 mm", "release gap": "0.5 mm"}), "given twice"),
    ],
)
def test_what_cannot_be_weighed_is_told_where(enquiry: Enquiry, words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        judge(enquiry, index(), trade_tables())


@pytest.mark.parametrize(
    ("enquiry", "near"),
    [
        (Enquiry(("clutch-slip",)), "clutch-slips"),
        (Enquiry(("clutch-slips",), {"only-hott": "yes"}), "only-hot"),
        (Enquiry(("clutch-slips",), opened=("clutch-off",)), "clutch-off-and-on"),
        (Enquiry(("clutch-slips",), gearbox="tansy-55"), "tansy-5"),
        (Enquiry(("clutch-slips",), measured={"release-gapp": "1 mm"}), "release-gap"),
    ],
)
def test_a_mistyped_name_is_answered_with_what_looks_like_it(enquiry: Enquiry, near: str) -> None:
    with pytest.raises(NotFound) as told:
        judge(enquiry, index(), trade_tables())
    assert near in told.value.near


def test_an_engine_is_no_gearbox() -> None:
    with pytest.raises(NotFound, match="no gearbox with the id 'ouzel-20'"):
        judge(Enquiry(("clutch-slips",), gearbox="ouzel-20"), index(), trade_tables())

"""A sign that nobody has looked for ties the faults it speaks of; the spread says what that does. Figures by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.costing.asking import route_cost
from graph.costing.causes import find_tie
from graph.costing.notes import MemoryNotes
from graph.costing.priors import SignShare, load_shares, load_signs
from graph.costing.signs import SignRatio
from graph.costing.spread import FaultCost, fault_spread
from graph.costing.while_open import OpenOption, expected_later, plan_while_open
from graph.counter.shop import Shop
from graph.errors import InvalidFacts
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.search import solve

QUARTER, HALF = Fraction(1, 4), Fraction(1, 2)
FAULTS = [
    FaultCost("ring", QUARTER, Fraction(100), ("strip",)),
    FaultCost("needles", QUARTER, Fraction(100), ("strip",)),
]
ODDS = {one.id: one.odds for one in FAULTS}
RATIOS = [SignRatio("metal", "flakes", name, Fraction(3), "by hand") for name in ("ring", "needles")]
SHARES = [SignShare("metal", "flakes", QUARTER, "by hand")]
STRIP = {"strip": Fraction(400)}


def test_two_faults_of_one_sign_are_tied_and_keep_their_own_odds() -> None:
    # Seen: 1/4 to 1/2 by the ratio 3. Not seen: (1/4 - 1/4 * 1/2) / (3/4) = 1/6.
    tie = find_tie(ODDS, {}, {}, RATIOS, SHARES)

    assert tie is not None
    assert (tie.odds, tie.if_there) == (QUARTER, {"ring": HALF, "needles": HALF})
    assert tie.if_not("ring", QUARTER) == Fraction(1, 6)
    assert tie.label == "metal (flakes), seen in 25 % of boxes (by hand)"


def test_the_tied_spread_is_that_of_every_outcome_counted_one_by_one() -> None:
    tie = find_tie(ODDS, {}, {}, RATIOS, SHARES)
    assert tie is not None
    expected = Fraction(0)
    for share, p in ((QUARTER, HALF), (1 - QUARTER, Fraction(1, 6))):
        for worn in product((True, False), repeat=2):
            chance = share * (p if worn[0] else 1 - p) * (p if worn[1] else 1 - p)
            expected += chance * (500 + 100 * sum(worn) + (400 if any(worn) else 0))

    spread = fault_spread(Fraction(500), FAULTS, STRIP, (tie,))

    assert spread.mean == expected
    # Tied, both wear together more often, and so the one strip is needed less often than 1 - (3/4)^2.
    assert spread.mean < fault_spread(Fraction(500), FAULTS, STRIP).mean == 500 + 50 + 400 * (1 - Fraction(9, 16))
    assert spread.exceeds(Fraction(1000)) == QUARTER * HALF * HALF + Fraction(3, 4) * Fraction(1, 36)


def test_what_is_left_in_while_it_is_open_is_expected_to_cost_what_every_outcome_costs() -> None:
    tie = find_tie(ODDS, {}, {}, RATIOS, SHARES)
    assert tie is not None
    left = [OpenOption(one.id, one.id, one.odds, one.repair, one.reach) for one in FAULTS]

    assert expected_later(left, STRIP, (tie,)) == fault_spread(Fraction(0), FAULTS, STRIP, (tie,)).mean
    # By hand: the ring worn for certain, metal is seen in 1/4 * 1/2 / (1/4) = 1/2 of the boxes, so the needles are worn
    # in 1/2 * 1/2 + 1/2 * 1/6 = 1/3. Leaving it adds 100 and the strip where the needles are sound: 100 + 400 * 2/3.
    plan = plan_while_open(left[:1], STRIP, left[1:], (tie,))
    assert [one.break_even_in_company for one in plan.advice] == [100 / (100 + Fraction(800, 3))]


def test_a_sign_that_is_known_ties_nothing_any_more() -> None:
    assert find_tie(ODDS, {}, {"metal": "clean"}, RATIOS, SHARES) is None


def test_one_fault_alone_is_not_tied() -> None:
    assert find_tie({"ring": QUARTER}, {}, {}, RATIOS, SHARES) is None


def test_figures_that_contradict_each_other_tie_nothing() -> None:
    often = [SignShare("metal", "flakes", Fraction(9, 10), "by hand")]

    assert find_tie(ODDS, {}, {}, RATIOS, often) is None


def test_every_share_is_of_a_sign_and_state_that_ratios_are_stated_for() -> None:
    assert {(s.sign, s.state) for s in load_shares()} <= {(r.sign, r.state) for r in load_signs()}
    assert all(share.source for share in load_shares())


def test_a_share_that_is_none_is_refused_by_line(tmp_path: Path) -> None:
    table = tmp_path / "shares.csv"
    table.write_text("sign,state,share,source\nmetal,flakes,1.5,by hand\n", encoding="utf-8")

    with pytest.raises(InvalidFacts, match=r"line 2, column share: expected between 0 and 1, found 1\.5"):
        load_shares(table)


def test_the_demos_faults_are_tied_until_somebody_looks() -> None:
    index, notes = CatalogueIndex(load_catalogue([DEMO_FACTS])), MemoryNotes()
    shop = Shop(index, notes, today=lambda: date(2026, 6, 30))
    asked = Question(gearbox="tansy-5", engine="ouzel-20")  # second ring and input bearing may be worn

    found = shop.ask_costed(asked)
    cost = route_cost(found, 1, notes)

    (tie,) = cost.ties
    assert set(tie.faults) == {line.fault for line in cost.odds}
    apart = solve(replace(found.conversion, causes=())).routes[0]
    assert cost.expected == found.answer.routes[0].expected < apart.expected, "both come back on one strip more often"
    assert any(
        "come together more often than by chance (metal on the magnet" in one for one in found.answer.assumptions
    )
    looked = route_cost(shop.ask_costed(asked, {tie.cause: "flakes"}), 1, notes)
    assert tie.cause not in [one.cause for one in looked.ties]

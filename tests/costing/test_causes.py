"""A sign that nobody has looked for ties the faults it speaks of; the spread says what that does. Figures by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from itertools import product

import pytest

from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.costing.asking import route_cost
from graph.costing.causes import cause_line, find_tie
from graph.costing.notes import MemoryNotes
from graph.costing.priors import SignShare, load_shares, load_signs
from graph.costing.signs import SignRatio
from graph.costing.spread import FaultCost
from graph.counter.shop import Shop
from graph.errors import InvalidFacts
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

QUARTER, HALF = Fraction(1, 4), Fraction(1, 2)
FAULTS = [
    FaultCost("ring", QUARTER, Fraction(100), ("strip",)),
    FaultCost("needles", QUARTER, Fraction(100), ("strip",)),
]
RATIOS = [SignRatio("metal", "flakes", name, Fraction(3), "by hand") for name in ("ring", "needles")]
SHARES = [SignShare("metal", "flakes", QUARTER, "by hand")]
STRIP = {"strip": Fraction(400)}


def test_two_faults_of_one_sign_are_tied_and_keep_their_own_odds():
    # Seen: 1/4 to 1/2 by the ratio 3. Not seen: (1/4 - 1/4 * 1/2) / (3/4) = 1/6.
    tie = find_tie(FAULTS, {}, {}, RATIOS, SHARES)

    assert tie is not None
    assert tie.cause.if_seen == {"ring": HALF, "needles": HALF}
    assert tie.cause.if_not == {"ring": Fraction(1, 6), "needles": Fraction(1, 6)}


def test_the_tied_spread_is_that_of_every_outcome_counted_one_by_one():
    tie = find_tie(FAULTS, {}, {}, RATIOS, SHARES)
    assert tie is not None
    expected = Fraction(0)
    for share, p in ((QUARTER, HALF), (1 - QUARTER, Fraction(1, 6))):
        for worn in product((True, False), repeat=2):
            chance = share * (p if worn[0] else 1 - p) * (p if worn[1] else 1 - p)
            expected += chance * (500 + 100 * sum(worn) + (400 if any(worn) else 0))

    line = cause_line(tie, Fraction(500), FAULTS, STRIP, {"ring": "Ring"}, "EUR", Fraction(1000))

    assert line is not None and line.expected == expected
    # Tied, both wear together more often, and so the one strip is needed less often than 1 - (3/4)^2.
    assert line.expected < 500 + 50 + 400 * (1 - Fraction(9, 16))
    assert line.exceeds == QUARTER * HALF * HALF + Fraction(3, 4) * Fraction(1, 36)
    assert line.words.startswith("Nobody has looked for metal (flakes) yet. It is seen in 25 % of boxes (by hand)")


def test_a_sign_that_is_known_ties_nothing_any_more():
    assert find_tie(FAULTS, {}, {"metal": "clean"}, RATIOS, SHARES) is None


def test_one_fault_alone_is_not_tied():
    assert find_tie(FAULTS[:1], {}, {}, RATIOS, SHARES) is None


def test_figures_that_contradict_each_other_tie_nothing():
    often = [SignShare("metal", "flakes", Fraction(9, 10), "by hand")]

    assert find_tie(FAULTS, {}, {}, RATIOS, often) is None


def test_every_share_is_of_a_sign_and_state_that_ratios_are_stated_for():
    assert {(s.sign, s.state) for s in load_shares()} <= {(r.sign, r.state) for r in load_signs()}
    assert all(share.source for share in load_shares())


def test_a_share_that_is_none_is_refused_by_line(tmp_path):
    table = tmp_path / "shares.csv"
    table.write_text("sign,state,share,source\nmetal,flakes,1.5,by hand\n", encoding="utf-8")

    with pytest.raises(InvalidFacts, match=r"line 2, column share: expected between 0 and 1, found 1\.5"):
        load_shares(table)


def test_the_demos_faults_are_tied_until_somebody_looks():
    index, notes = CatalogueIndex(load_catalogue([DEMO_FACTS])), MemoryNotes()
    shop = Shop(index, notes, today=lambda: date(2026, 6, 30))
    asked = Question(gearbox="tansy-5", engine="ouzel-20")  # second ring and input bearing may be worn

    cost = route_cost(shop.ask_costed(asked), 1, notes)

    assert cost.tied is not None and set(cost.tied.faults) == {line.fault for line in cost.odds}
    assert cost.tied.expected < cost.expected, "both come back on one strip more often"
    looked = route_cost(shop.ask_costed(asked, {cost.tied.sign: cost.tied.state}), 1, notes)
    assert looked.tied is None or looked.tied.sign != cost.tied.sign

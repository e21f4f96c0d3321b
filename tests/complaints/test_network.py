"""Odds of causes against an outside library (ProbLog, exact inference in probabilistic logic) and by enumeration.

20 random networks; the whole of it by `LAYSHAFT_NETWORKS=500 pytest tests/complaints/test_network.py`.
"""

from __future__ import annotations

import os
from random import Random

import pytest
from problog import get_evaluatable
from problog.program import PrologString

from graph.complaints.model import Trade
from graph.complaints.network import MOST_PRESENT, Belief, Network
from graph.errors import InvalidInput
from tests.complaints.made import enumerated, random_trade

NETWORKS = int(os.environ.get("LAYSHAFT_NETWORKS", "20"))
CLOSE = 1e-9


def by_problog(trade: Trade, present: list[str], absent: list[str]) -> dict[str, float]:
    """The noisy-or written as rules: each cause has a fact of its own, each link a fact that carries it over."""
    lines = []
    for cause in trade.causes.values():
        lines += [f"{cause.prior}::own_{cause.id}.", f"{cause.id} :- own_{cause.id}."]
    own = [(one.id, one.otherwise) for one in trade.complaints.values()]
    own += [(one.id, one.otherwise) for one in trade.tests.values()]
    for node, otherwise in own:
        lines += [f"{otherwise}::own_{node}.", f"{node} :- own_{node}."]
    for brings, links in trade.brings.items():
        for node, chance in links.items():
            lines += [f"{chance}::by_{brings}_{node}.", f"{node} :- {brings}, by_{brings}_{node}."]
    lines += [f"evidence({node},true)." for node in present] + [f"evidence({node},false)." for node in absent]
    lines += [f"query({cause})." for cause in trade.causes]
    found = get_evaluatable("ddnnf").create_from(PrologString("\n".join(lines))).evaluate()
    return {str(name): float(chance) for name, chance in found.items()}


@pytest.mark.parametrize("seed", range(NETWORKS))
def test_odds_are_those_of_an_outside_library(seed: int) -> None:
    random = Random(seed)
    trade = random_trade(random, causes=random.randint(2, 7), tests=random.randint(1, 5), shared=random.randint(0, 2))
    answered = {test: random.random() < 0.5 for test in trade.tests if random.random() < 0.7}
    present, absent = ["c", *(t for t, yes in answered.items() if yes)], [t for t, yes in answered.items() if not yes]

    odds = Belief(Network(trade, {}, {}), present, absent).odds

    assert odds == pytest.approx(by_problog(trade, present, absent), abs=CLOSE)


@pytest.mark.parametrize("seed", range(30))
def test_odds_are_those_of_every_combination_gone_through_with_readings_too(seed: int) -> None:
    random = Random(f"readings {seed}")
    trade = random_trade(random, causes=5, tests=3, shared=2)
    ratios = {cause: random.choice((0.2, 3.0, 30.0)) for cause in trade.causes if random.random() < 0.5}

    belief = Belief(Network(trade, ratios, {}), ["c", "t0"], ["t1"])

    assert belief.odds == pytest.approx(enumerated(trade, ["c", "t0"], ["t1"], ratios), abs=CLOSE)


def test_a_shared_cause_ties_two_causes_together() -> None:
    trade = random_trade(Random(3), causes=3, tests=2, shared=1)
    trade = Trade(trade.complaints, trade.causes, trade.tests,
                  {"a0": {"a1": 0.9, "a2": 0.9}, "a1": {"c": 0.9}, "a2": {"t0": 0.9}}, trade.readings)  # fmt: skip

    alone = Belief(Network(trade, {}, {}), [], []).odds["a2"]
    beside = Belief(Network(trade, {}, {}), ["c"], []).odds["a2"]

    assert beside > alone  # the complaint speaks of a1 alone, and a1 and a2 come of the same thing


def test_none_of_them_and_any_of_them_add_up_to_one() -> None:
    trade = random_trade(Random(7), causes=4, tests=2, shared=1)

    belief = Belief(Network(trade, {}, {}), ["c"], ["t0"])

    assert belief.none_of(list(trade.causes)) + (1 - belief.none_of(list(trade.causes))) == pytest.approx(1)
    assert 0 < belief.none_of(list(trade.causes)) <= belief.none_of(["a0"]) == pytest.approx(1 - belief.odds["a0"])


def test_more_that_is_present_than_can_be_weighed_is_refused() -> None:
    trade = random_trade(Random(1), causes=2, tests=MOST_PRESENT + 1, shared=0)

    with pytest.raises(InvalidInput, match=r"at most 12"):
        Belief(Network(trade, {}, {}), list(trade.tests), [])

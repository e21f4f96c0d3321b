"""Which test next: the one that takes away most doubt for its time, opening included. One step is looked ahead, but
what else can be looked at once the same is open is counted with it.

Doubt is the sum of the entropies (C. E. Shannon, A mathematical theory of communication, 1948) of the causes that can
bring the complaint about. A test's share of it is what its answer takes away on average. Time is the test's minutes and
the hours of opening what is not open yet. How far the one-step rule is from the best order is measured in the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import log2

from graph.complaints.model import Test, Trade
from graph.complaints.network import Belief

LEAST_MINUTES = 1.0  # a question to the driver takes a moment too
LEAST_SHARE = 0.02  # of the doubt; a test that takes away less is not offered
_NOTHING = 1e-12


Opens = Callable[[Test], Mapping[str, float]]  # the tasks to be opened for a test yet, with their minutes


@dataclass(frozen=True, slots=True)
class Weighed:
    """A test: `share` of the doubt that it takes away, `minutes` with the opening, and the odds after yes and no.

    `opens`: the tasks that must be opened for it yet, with the minutes of each.
    """

    test: Test
    share: float
    minutes: float
    opens: Mapping[str, float]
    after_yes: Mapping[str, float]
    after_no: Mapping[str, float]


def suspects_of(trade: Trade, complaints: Sequence[str]) -> tuple[str, ...]:
    """The causes that can bring one of the complaints about, and those that bring these about."""
    near = {cause for one in complaints for cause in trade.brought_by(one)}
    behind = {cause for one in near for cause in trade.brought_by(one)}
    return tuple(one for one in trade.causes if one in near | behind)


def doubt(odds: Mapping[str, float], suspects: Sequence[str]) -> float:
    """In bits, over the suspects."""
    return sum(_entropy(odds[one]) for one in suspects)


def _entropy(chance: float) -> float:
    return 0.0 if chance in (0.0, 1.0) else -chance * log2(chance) - (1 - chance) * log2(1 - chance)


def weigh_tests(belief: Belief, suspects: Sequence[str], opening: Opens) -> tuple[Weighed, ...]:
    """The tests that speak of a suspect and have no answer yet, best first; ties by id."""
    trade = belief.network.trade
    now = doubt(belief.odds, suspects)
    spoken = {node for one in suspects for node in trade.brings.get(one, {}) if node in trade.tests}
    open_tests = sorted(spoken - {*belief.present, *belief.absent})
    found = [_weighed(belief, trade.tests[one], suspects, opening, now) for one in open_tests]
    worth = [one for one in found if one.share >= LEAST_SHARE]
    rates = {one.test.id: _best_rate(one, worth) for one in worth}
    return tuple(sorted(worth, key=lambda one: (-rates[one.test.id], -one.share / one.minutes, one.test.id)))


def _best_rate(one: Weighed, others: Sequence[Weighed]) -> float:
    """What is taken away a minute by the test alone, or with all that can be looked at once the same is open."""
    best = one.share / one.minutes
    beside = [other for other in others if other.opens == one.opens]
    if any((other.share / other.minutes, one.test.id) > (best, other.test.id) for other in beside if other is not one):
        return best  # another one that needs the same open tells more: it is what the opening is for
    for group in {frozenset(other.opens) for other in others if other.opens.keys() >= one.opens.keys()}:
        inside = [other for other in others if other.opens and other.opens.keys() <= group]
        if one in inside:
            opened = {task: minutes for other in inside for task, minutes in other.opens.items()}
            looking = sum(other.minutes - sum(other.opens.values()) for other in inside)
            share = min(1.0, sum(other.share for other in inside))
            best = max(best, share / (looking + sum(opened.values())))
    return best


def _weighed(belief: Belief, test: Test, suspects: Sequence[str], opening: Opens, now: float) -> Weighed:
    """After yes follows from before and after no: their mean is what is believed now."""
    without = belief.with_answer(test.id, yes=False)
    no = min(1.0, without.chance / belief.chance)
    yes = 1 - no
    after_no = without.odds
    after_yes = {
        one: min(1.0, max(0.0, (odds - no * after_no[one]) / yes)) if yes > _NOTHING else odds
        for one, odds in belief.odds.items()
    }
    left = no * doubt(after_no, suspects) + yes * doubt(after_yes, suspects)
    opens = dict(opening(test))
    minutes = max(test.minutes, LEAST_MINUTES) + sum(opens.values())
    share = max(0.0, (now - left) / now) if now > _NOTHING else 0.0
    return Weighed(test, share, minutes, opens, after_yes, after_no)

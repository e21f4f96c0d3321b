"""Cars drawn from the trade's own tables: of causes that are said to be so likely, so many are there.

400 cars; the whole of it, with the tests until it is found, by `LAYSHAFT_CARS=10000 pytest -s` on this file.
"""

from __future__ import annotations

import os
from collections.abc import Sequence, Set
from functools import cache
from random import Random

from graph.complaints.model import Test
from graph.complaints.network import Belief, Network
from graph.complaints.order import suspects_of, weigh_tests
from graph.complaints.tables import trade_tables
from graph.reading.tasks import UnitTasks
from tests.complaints.made import drawn, drawn_node
from tests.demo.shop import index

CARS = int(os.environ.get("LAYSHAFT_CARS", "400"))
ANSWERED, SURE = 3, 0.9


def complaining(random: Random) -> tuple[str, dict[str, bool]]:
    """A car with a complaint."""
    trade = trade_tables()
    while True:
        world = drawn(trade, random)
        said = [one for one in trade.complaints if drawn_node(trade, one, world, random)]
        if said:
            return random.choice(said), world


def test_of_causes_said_to_be_so_likely_so_many_are_there() -> None:
    trade, random = trade_tables(), Random(20)
    network, bins = Network(trade, {}, {}), {at: [0, 0.0, 0.0] for at in range(10)}
    for _ in range(CARS):
        complaint, world = complaining(random)
        suspects = suspects_of(trade, [complaint])
        spoken = sorted({node for one in suspects for node in trade.brings.get(one, {}) if node in trade.tests})
        asked = random.sample(spoken, min(ANSWERED, len(spoken)))
        answers = {test: drawn_node(trade, test, world, random) for test in asked}
        present = [complaint, *(test for test, yes in answers.items() if yes)]
        odds = Belief(network, present, [test for test, yes in answers.items() if not yes]).odds
        for cause in suspects:
            cell = bins[min(9, int(10 * odds[cause]))]
            cell[0], cell[1], cell[2] = cell[0] + 1, cell[1] + odds[cause], cell[2] + world[cause]

    print(
        {at: (many, round(said / many, 3), round(there / many, 3)) for at, (many, said, there) in bins.items() if many}
    )
    for many, said, there in bins.values():
        deviation = (said / many * (1 - said / many) / many) ** 0.5 if many else 0.0
        assert not many or abs(said - there) / many <= max(4 * deviation, 0.01)


def test_fewer_looks_are_needed_until_it_is_found_than_down_a_fixed_list() -> None:
    """The fixed list: every test that speaks of a suspect, the quickest first with its opening, as on a wall sheet."""
    trade, random = trade_tables(), Random(21)
    network = Network(trade, {}, {})
    found, looks = {"next best": 0, "fixed list": 0}, {"next best": 0, "fixed list": 0}
    minutes = {"next best": 0.0, "fixed list": 0.0}
    for _ in range(max(20, CARS // 20)):
        complaint, world = complaining(random)
        suspects = suspects_of(trade, [complaint])
        spoken = {node for one in suspects for node in trade.brings.get(one, {}) if node in trade.tests}
        answers = {test: drawn_node(trade, test, world, random) for test in sorted(spoken)}
        for manner in found:
            belief, opened = Belief(network, [complaint], []), frozenset[str]()
            while max(belief.odds[one] for one in suspects) < SURE:
                test = _next(belief, suspects, opened, spoken, manner)
                if test is None:
                    break
                minutes[manner] += max(trade.tests[test].minutes, 1.0) + _to_open(trade.tests[test], opened)
                opened |= _tasks(trade.tests[test])
                looks[manner] += 1
                belief = belief.with_answer(test, yes=answers[test])
            found[manner] += max(belief.odds[one] for one in suspects) >= SURE

    print("found", found, "looks", looks, "minutes with opening", minutes)
    assert looks["next best"] / found["next best"] < looks["fixed list"] / found["fixed list"]


def _next(
    belief: Belief, suspects: Sequence[str], opened: frozenset[str], spoken: Set[str], manner: str
) -> str | None:  # fmt: skip
    if manner == "next best":
        offered = weigh_tests(belief, suspects, lambda test: _opens(test, opened))
        return offered[0].test.id if offered else None
    left = spoken - {*belief.present, *belief.absent}
    tests = belief.network.trade.tests
    return min(left, key=lambda one: (tests[one].minutes + _to_open(tests[one], frozenset()), one), default=None)


@cache
def _tasks(test: Test) -> frozenset[str]:
    return frozenset(task.id for task in UnitTasks(index(), ()).closed(test.needs))


def _opens(test: Test, opened: frozenset[str]) -> dict[str, float]:
    tasks = UnitTasks(index(), ()).closed(test.needs)
    return {task.id: 0.6 * task.hours_hundredths for task in tasks if task.id not in opened}


def _to_open(test: Test, opened: frozenset[str]) -> float:
    return sum(_opens(test, opened).values())

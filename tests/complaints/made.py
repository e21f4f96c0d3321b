"""Random small trades, and the same reckoned by going through every combination of causes: slow, plain, apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from random import Random

from graph.complaints.model import Cause, Complaint, Test, Trade

READINGS = {"outside": 30.0, "near its limit": 3.0, "well within": 0.2}


def random_trade(random: Random, causes: int = 5, tests: int = 4, shared: int = 1) -> Trade:
    """One complaint `c`, causes `a0...`, tests `t0...`; the first `shared` causes bring others about."""

    def chance() -> float:
        return random.randint(5, 95) / 100

    names, nodes = [f"a{number}" for number in range(causes)], ["c", *(f"t{number}" for number in range(tests))]
    brings = {one: {node: chance() for node in nodes if random.random() < 0.6} for one in names}
    for one in names[:shared]:
        brings[one] |= {other: chance() for other in names[shared:] if random.random() < 0.5}
    brings[names[-1]]["c"] = chance()  # so that something brings it about
    return Trade(
        {"c": Complaint("c", "c", random.randint(1, 10) / 100, "made up")},
        {one: Cause(one, one, "", "", "", "", "", chance() / 2, "", "", "made up") for one in names},
        {one: Test(one, one, one, random.randint(1, 60), (), random.randint(1, 20) / 100, "", "made up")
         for one in nodes[1:]},
        brings, READINGS,
    )  # fmt: skip


def worlds(trade: Trade, ratios: Mapping[str, float] | None = None) -> Iterator[tuple[dict[str, bool], float]]:
    """Every combination of causes and how often it is met, from the definition of noisy-or."""
    names = list(trade.causes)
    for states in product((False, True), repeat=len(names)):
        world, weight = dict(zip(names, states, strict=True)), 1.0
        for name in names:
            there = 1 - trade.causes[name].prior
            for by in names:
                there *= 1 - trade.brings[by].get(name, 0.0) * world[by]
            weight *= (1 - there) * (ratios or {}).get(name, 1.0) if world[name] else there
        yield world, weight


def chance_of(trade: Trade, node: str, world: Mapping[str, bool]) -> float:
    """That a complaint or finding is there, in a world."""
    about = trade.complaints.get(node) or trade.tests[node]
    absent = 1 - about.otherwise
    for cause, there in world.items():
        absent *= 1 - trade.brings[cause].get(node, 0.0) * there
    return 1 - absent


def enumerated(
    trade: Trade, present: Sequence[str], absent: Sequence[str], ratios: Mapping[str, float] | None = None
) -> dict[str, float]:
    """The odds of every cause."""
    found, whole = dict.fromkeys(trade.causes, 0.0), 0.0
    for world, weight in worlds(trade, ratios):
        for node in present:
            weight *= chance_of(trade, node, world)
        for node in absent:
            weight *= 1 - chance_of(trade, node, world)
        whole += weight
        for cause, there in world.items():
            found[cause] += weight * there
    return {cause: weight / whole for cause, weight in found.items()}


def drawn(trade: Trade, random: Random) -> dict[str, bool]:
    """One car: its causes, drawn; causes that bring others about come first in the table."""
    world: dict[str, bool] = {}
    shared = [one for one in trade.causes if any(node in trade.causes for node in trade.brings.get(one, {}))]
    for name in (*shared, *(one for one in trade.causes if one not in shared)):
        absent = 1 - trade.causes[name].prior
        for by in shared:
            absent *= 1 - trade.brings[by].get(name, 0.0) * world.get(by, False)
        world[name] = random.random() >= absent
    return world


def drawn_node(trade: Trade, node: str, world: Mapping[str, bool], random: Random) -> bool:
    """Whether that car shows a complaint or finding."""
    about = trade.complaints.get(node) or trade.tests[node]
    absent = 1 - about.otherwise
    for cause, links in trade.brings.items():
        absent *= 1 - links.get(node, 0.0) * world[cause]
    return random.random() >= absent

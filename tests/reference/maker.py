"""Random conversion documents from fixed seeds: the same seed and shape always give the same document.

A planted set of choices decides the chains' windows, so that most documents have a route while the chains bind.
Sizes and densities: about half of all pairs of candidates mate, half of those for nothing; the rest cost money, hours,
waiting, a visit to a deeper state, or move a chain.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

Document = dict[str, Any]

SHIFTS_MM = (-2, -1.5, 1, 2, 12.7, 16)
DAYS = (0, 0, 2, 5, 15, 40)
RATES = (0, 45, 60, 72.5, 95)
ODDS = (0.05, 0.2, 0.5, 0.9)


@dataclass(frozen=True)
class Shape:
    """How large a document is."""

    positions: int
    candidates: int
    joints: int
    tasks: int = 7
    chains: int = 2
    faults: int = 3
    rules: int = 2
    inspections: int = 2
    density: float = 0.48  # the chance that two candidates mate


TINY = Shape(3, 2, 3, tasks=4, chains=1, faults=2, rules=1, density=0.8)
SMALL = Shape(4, 3, 5, tasks=5, density=0.65)
WORKED = Shape(10, 4, 12)
LARGE = Shape(16, 6, 19, tasks=8, faults=4, rules=3)
LARGEST = Shape(24, 8, 28, tasks=10, faults=5, rules=4, inspections=3)


def make_document(seed: int, shape: Shape) -> Document:
    """A conversion document as a plain JSON object.

    >>> make_document(1, TINY) == make_document(1, TINY)
    True
    """
    chance = random.Random(f"{seed} {shape}")
    tasks = [_task(chance, number) for number in range(shape.tasks)]
    positions = [_position(chance, shape, number) for number in range(shape.positions)]
    plant = [chance.randrange(shape.candidates) for _ in positions]
    joints = [_joint(chance, shape, pair, plant) for pair in _pairs(chance, shape)]
    planted = _planted_choices(chance, positions, joints, plant)
    offered = sorted({feature for choice in planted for feature in choice["features"]} | {"f0"})
    document = {
        "gearbox": "x",
        "engine": "y",
        "rate": chance.choice(RATES),
        "day_hours": chance.choice((8, 8, 8, 7.5)),
        "deadline": None,
        "tasks": tasks,
        "positions": positions,
        "joints": joints,
        "chains": [_chain(chance, number, planted) for number in range(shape.chains)],
        "rules": [_rule(chance, positions, joints, planted) for _ in range(shape.rules)],
        "faults": [_fault(chance, shape, number) for number in range(shape.faults)],
        "inspections": [_inspection(chance, shape, number) for number in range(shape.inspections)],
        "features": [chance.choice(offered)] if chance.random() < 0.3 else [],
    }
    if chance.random() < 0.25:
        document["deadline"] = _deadline(chance, document, planted)
    return document


def _money(chance: random.Random, most: float) -> float:
    return round(chance.uniform(0, most), 2)


def _task(chance: random.Random, number: int) -> Document:
    after = [f"t{chance.randrange(number)}"] if number else []
    if number > 2 and chance.random() < 0.15:
        after = sorted({*after, f"t{chance.randrange(number)}"})
    return {
        "id": f"t{number}",
        "label": f"task {number}",
        "after": after,
        "cash": _money(chance, 110) if chance.random() < 0.3 else 0,
        "hours": round(chance.uniform(0.3, 7), 2),
        "days": chance.choice((0, 0, 0, *DAYS)),
    }


def _shifts(chance: random.Random, shape: Shape, likely: float) -> Document:
    if not shape.chains or chance.random() >= likely:
        return {}
    touched = chance.sample(range(shape.chains), 2 if shape.chains > 1 and chance.random() < 0.2 else 1)
    return {f"k{number}": chance.choice(SHIFTS_MM) for number in sorted(touched)}


def _features(chance: random.Random, likely: float) -> list[str]:
    return [chance.choice(("f0", "f1"))] if chance.random() < likely else []


def _position(chance: random.Random, shape: Shape, number: int) -> Document:
    candidates = [_candidate(chance, shape, number, which) for which in range(shape.candidates)]
    return {"id": f"p{number}", "kind": f"kind{number}", "label": f"position {number}", "candidates": candidates}


def _candidate(chance: random.Random, shape: Shape, number: int, which: int) -> Document:
    as_found = which == 0 and chance.random() < 0.95
    return {
        "id": f"p{number}c{which}",
        "part": f"part-{number}-{which}",
        "label": f"part {number} {which}",
        "as_found": as_found,
        "cash": 0 if as_found else _money(chance, 400),
        "hours": 0 if as_found else round(chance.uniform(0, 2), 2),
        "days": 0 if as_found else chance.choice(DAYS),
        "tasks": [] if as_found or chance.random() < 0.2 else [f"t{chance.randrange(shape.tasks)}"],
        "features": _features(chance, 0.12),
        "shifts": _shifts(chance, shape, 0.2),
        "facts": [],
    }


def _pairs(chance: random.Random, shape: Shape) -> list[tuple[int, int]]:
    pairs = {(chance.randrange(number), number) for number in range(1, shape.positions)}
    most = shape.positions * (shape.positions - 1) // 2
    while len(pairs) < min(shape.joints, most):
        first, second = sorted(chance.sample(range(shape.positions), 2))
        pairs.add((first, second))
    return sorted(pairs)


def _joint(chance: random.Random, shape: Shape, pair: tuple[int, int], plant: list[int]) -> Document:
    first, second = pair
    links = []
    for one in range(shape.candidates):
        for other in range(shape.candidates):
            planted = (one, other) == (plant[first], plant[second])
            if planted or chance.random() < shape.density:
                ways = 1 + (chance.random() < 0.2)
                links += [_link(chance, shape, pair, (one, other), way) for way in range(ways)]
    positions = [f"p{first}", f"p{second}"]
    return {"id": f"j{first}-{second}", "kind": "joint", "label": "joint", "between": positions, "links": links}


def _link(chance: random.Random, shape: Shape, pair: tuple[int, int], parts: tuple[int, int], way: int) -> Document:
    (first, second), (one, other) = pair, parts
    straight = chance.random() < 0.5
    named = f"{one}{other}{way}" if shape.candidates <= 10 else f"{one}.{other}.{way}"
    return {
        "id": f"j{first}-{second}:{named}",
        "parts": [f"p{first}c{one}", f"p{second}c{other}"],
        "kind": "fits" if straight else chance.choice(("fits after machining", "fits through")),
        "irreversible": not straight and chance.random() < 0.5,
        "cash": 0 if straight else _money(chance, 300),
        "hours": 0 if straight else round(chance.uniform(0, 4), 2),
        "days": 0 if straight else chance.choice(DAYS),
        "tasks": []
        if straight
        else [f"t{n}" for n in sorted(chance.sample(range(shape.tasks), min(shape.tasks, chance.choice((0, 1, 2)))))],
        "features": [] if straight else _features(chance, 0.12),
        "shifts": {} if straight else _shifts(chance, shape, 0.3),
    }


def _choices(positions: list[Document], joints: list[Document]) -> list[Document]:
    candidates = [candidate for position in positions for candidate in position["candidates"]]
    return candidates + [link for joint in joints for link in joint["links"]]


def _planted_choices(
    chance: random.Random, positions: list[Document], joints: list[Document], plant: list[int]
) -> list[Document]:
    picks = {position["id"]: position["candidates"][which] for position, which in zip(positions, plant, strict=True)}
    chosen = list(picks.values())
    for joint in joints:
        parts = [picks[position]["id"] for position in joint["between"]]
        chosen.append(chance.choice([link for link in joint["links"] if link["parts"] == parts]))
    return chosen


def _chain(chance: random.Random, number: int, planted: list[Document]) -> Document:
    start = chance.choice((0, 0, 5.25))
    reached = start + sum(choice["shifts"].get(f"k{number}", 0) for choice in planted)
    low = round(reached - chance.choice((0, 0, 1, 3, 13.5, 30)), 3)
    high = round(reached + chance.choice((0, 0, 1, 3, 5.5, 25)), 3)
    one_sided = chance.random()
    return {
        "id": f"k{number}",
        "label": f"chain {number}",
        "start": start,
        "low": None if one_sided < 0.08 else low,
        "high": None if one_sided > 0.92 else high,
    }


def _rule(
    chance: random.Random, positions: list[Document], joints: list[Document], planted: list[Document]
) -> Document:
    ids = [choice["id"] for choice in _choices(positions, joints)]
    others = chance.sample(ids, 3)
    needs = chance.random() < 0.5
    kept = {choice["id"] for choice in planted}
    spare = kept.isdisjoint(others) if needs else not kept.isdisjoint(others)
    if spare and chance.random() < 0.8:  # a rule that the planted choices keep, by not waking it
        ids = [name for name in ids if name not in kept]
    return {
        "when": chance.choice([name for name in ids if name not in others] or ids),
        "needs_any": others if needs else [],
        "excludes": [] if needs else others,
    }


def _fault(chance: random.Random, shape: Shape, number: int) -> Document:
    reach = chance.sample(range(shape.tasks), min(shape.tasks, 2 if chance.random() < 0.2 else 1))
    return {
        "id": f"x{number}",
        "label": f"fault {number}",
        "position": f"p{chance.randrange(shape.positions)}",
        "odds": chance.choice(ODDS),
        "cash": _money(chance, 250),
        "hours": round(chance.uniform(0.05, 3), 2),
        "reach": [f"t{task}" for task in sorted(reach)],
        "shows": chance.random() < 0.75,
    }


def _inspection(chance: random.Random, shape: Shape, number: int) -> Document:
    settled = chance.sample(range(shape.faults), min(shape.faults, chance.choice((1, 1, 2))))
    return {
        "id": f"i{number}",
        "label": f"test {number}",
        "cash": _money(chance, 50),
        "hours": round(chance.uniform(0.1, 1.5), 2),
        "settles": [f"x{fault}" for fault in sorted(settled)],
    }


def _deadline(chance: random.Random, document: Document, planted: list[Document]) -> float:
    """Days that are enough for the planted choices with every task done, give or take a little."""
    tasks = document["tasks"]
    hours: float = sum(each["hours"] for each in [*planted, *tasks])
    waiting: float = max(each["days"] for each in planted)
    days = waiting + hours / document["day_hours"] + chance.choice((-4, -2, 0, 3))
    return max(0.01, round(float(days), 2))

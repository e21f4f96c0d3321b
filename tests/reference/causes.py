"""Common causes by plain enumeration: the chance of every set of worn faults, and what routes then cost on average.

Nothing is taken as independent but what a cause's definition says: each fault, once it is known which causes are there.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import Any

from tests.reference.enumerate import Way, instead, list_ways, stated_due, subsets
from tests.reference.reading import Document, closure, exact, price

Worn = frozenset[str]


@dataclass(frozen=True)
class Joint:
    """The chance of every set of faults being worn, and no others."""

    chances: dict[Worn, Fraction]

    def odds(self, fault: str) -> Fraction:
        return sum((chance for worn, chance in self.chances.items() if fault in worn), Fraction(0))

    def given(self, known: dict[str, bool]) -> Joint:
        """Bayes: what contradicts what is known falls away."""
        left = {w: c for w, c in self.chances.items() if all((f in w) == state for f, state in known.items())}
        whole = sum(left.values(), Fraction(0))
        return Joint({worn: chance / whole for worn, chance in left.items()})

    def moved(self, fault: str, odds: Fraction) -> Joint:
        """Jeffrey: other odds of one fault, and of all else what it was given the state of that one."""
        mixed: dict[Worn, Fraction] = {}
        for share, state in ((odds, True), (1 - odds, False)):
            for worn, chance in self.given({fault: state}).chances.items() if share else ():
                mixed[worn] = mixed.get(worn, Fraction(0)) + share * chance
        return Joint(mixed)

    def expected(self, way: Way) -> Fraction:
        return sum((chance * (way.total + way.added_by(worn)) for worn, chance in self.chances.items()), Fraction(0))

    def quantile(self, way: Way, level: Fraction) -> Fraction:
        reached = Fraction(0)
        for amount, chance in sorted((way.total + way.added_by(worn), chance) for worn, chance in self.chances.items()):
            reached += chance
            if reached >= level:
                return amount
        raise AssertionError("probabilities add up to less than the level")


def joint_of(document: Document) -> Joint:
    """The chance of every set of faults, over every state of every cause."""
    faults = {each["id"]: exact(each["odds"]) for each in document.get("faults", [])}
    causes = document.get("causes", [])
    chances: dict[Worn, Fraction] = {}
    for there in product((True, False), repeat=len(causes)):
        state, odds = Fraction(1), dict(faults)
        for cause, is_there in zip(causes, there, strict=True):
            share = exact(cause["odds"])
            state *= share if is_there else 1 - share
            for fault, stated in cause["if_there"].items():
                held = exact(stated)
                odds[fault] = held if is_there else (faults[fault] - share * held) / (1 - share)
        for worn in subsets(list(odds)):
            chance = state
            for fault, likely in odds.items():
                chance *= likely if fault in worn else 1 - likely
            if chance:
                chances[frozenset(worn)] = chances.get(frozenset(worn), Fraction(0)) + chance
    return Joint(chances)


def with_causes(document: Document, seed: int) -> Document:
    """The document with one or two causes over its faults of a position; no numbers contradict."""
    chance = random.Random(f"causes {seed}")
    free = [each["id"] for each in document["faults"] if "position" in each and 0 < exact(each["odds"]) < 1]
    odds = {each["id"]: exact(each["odds"]) for each in document["faults"]}
    chance.shuffle(free)
    causes: list[dict[str, Any]] = []
    while len(free) > 1 and len(causes) < 2:
        tied, free = free[: chance.choice((2, 3))], free[3:]
        share = Fraction(chance.choice(("0.1", "0.25", "0.5", "0.8")))
        held = {}
        for fault in tied:
            least, most = max(Fraction(0), (odds[fault] - 1 + share) / share), min(Fraction(1), odds[fault] / share)
            picked = least + (most - least) * Fraction(chance.choice((0, 3, 7, 10, 10)), 10)
            held[fault] = float(round(picked, 4)) if least <= round(picked, 4) <= most else float(odds[fault])
        causes.append({"id": f"c{len(causes)}", "odds": float(share), "if_there": held})
    return document | {"causes": causes}


def ranked(ways: list[Way], joint: Joint) -> list[Way]:
    """The best task set of each set of picks and links, best first by expected cost, ties as they are stated."""
    best: dict[frozenset[str], Way] = {}
    for way in sorted(ways, key=lambda one: (joint.expected(one), *one.order("total", {})[1:])):
        best.setdefault(way.picked, way)
    return list(best.values())


def least(ways: list[Way], joint: Joint, otherwise: Fraction | None) -> Fraction | None:
    """What the best route, or what else can be done, costs on average; None where nothing can be."""
    return min([joint.expected(way) for way in ways] + ([] if otherwise is None else [otherwise]), default=None)


def blind(document: Document, ways: list[Way], joint: Joint) -> Fraction:
    """What going in blind costs on average."""
    found = least(ways, joint, instead(document))
    assert found is not None
    return found


def look(document: Document, ways: list[Way], tests: tuple[str, ...], joint: Joint) -> Fraction | None:
    """What these tests cost with what is best after them, whatever they tell; None where something leaves no way."""
    done = [each for each in document.get("inspections", []) if each["id"] in tests]
    settled = sorted({fault for each in done for fault in each.get("settles", [])})
    opened = closure(document, [task for each in done for task in each.get("tasks", [])])
    doubts = {each["id"] for each in document.get("faults", []) if "on" in each}
    otherwise = instead(document)
    if otherwise is not None:
        otherwise += sum((price(document, each) for each in document["tasks"] if each["id"] in opened), Fraction(0))
    found: dict[tuple[bool, ...], Fraction] = {}
    for worn, chance in joint.chances.items():
        state = tuple(fault in worn for fault in settled)
        found[state] = found.get(state, Fraction(0)) + chance
    worth = sum((price(document, each) for each in done), Fraction(0))
    for state, chance in found.items():
        known = dict(zip(settled, state, strict=True))
        due = stated_due(document) | {fault for fault, failed in known.items() if failed and fault in doubts}
        after = least(list_ways(document, due, opened), joint.given(known), otherwise)
        if after is None:
            return None
        worth += chance * after
    return worth

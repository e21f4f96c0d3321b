"""Every route of a small conversion document, found by trying everything: slow, literal, obvious.

Every pick times every link times every task set, each tested against the seven rules; then sorting. All numbers are
fractions. Meant for documents of at most a few hundred routes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import chain, combinations, product
from typing import Any

from tests.reference.reading import Document, closure, exact, price

Odds = Mapping[str, Fraction]


@dataclass(frozen=True)
class Way:
    """One allowed route with its sums; `expected_at` prices it for any odds."""

    document: Document
    picks: dict[str, str]
    links: dict[str, str]
    tasks: frozenset[str]
    choices: tuple[Document, ...]
    cash: Fraction
    hours: Fraction
    days: Fraction
    chains: dict[str, Fraction]
    due: frozenset[str] = frozenset()  # doubts known to have failed: paid in cash and hours, left to no chance

    @property
    def total(self) -> Fraction:
        return self.cash + exact(self.document.get("rate", 0)) * self.hours

    @cached_property
    def fault_states(self) -> dict[str, str]:
        """Per fault id: gone, seen or unseen."""
        as_found = {choice["id"] for choice in self.choices if choice.get("as_found")}
        states = {}
        for fault in self.document.get("faults", []):
            reach = closure(self.document, fault.get("reach", []))
            there = self.picked & set(fault["on"]) if "on" in fault else self.picks[fault["position"]] in as_found
            if not there:
                states[fault["id"]] = "gone"
            elif fault["id"] in self.due:
                states[fault["id"]] = "due"
            elif fault.get("shows") and reach <= self.tasks:
                states[fault["id"]] = "seen"
            else:
                states[fault["id"]] = "unseen"
        return states

    def added_by(self, present: frozenset[str]) -> Fraction:
        """What is paid on top of the total when exactly these faults are worn."""
        document, states = self.document, self.fault_states
        due = [
            fault
            for fault in document.get("faults", [])
            if fault["id"] in present and states[fault["id"]] in ("seen", "unseen")
        ]
        comeback = [closure(document, fault.get("reach", [])) for fault in due if states[fault["id"]] == "unseen"]
        stripped = frozenset().union(*comeback)
        again = [task for task in document.get("tasks", []) if task["id"] in stripped]
        return sum((price(document, thing) for thing in [*due, *again]), Fraction(0))

    def outcomes(self, odds: Odds) -> list[tuple[Fraction, Fraction]]:
        """(amount, probability) over every outcome of the faults, cheapest first."""
        found = []
        for present in subsets(list(odds)):
            chance = Fraction(1)
            for fault, likely in odds.items():
                chance *= likely if fault in present else 1 - likely
            if chance:
                found.append((self.total + self.added_by(frozenset(present)), chance))
        return sorted(found)

    def expected_at(self, odds: Odds) -> Fraction:
        return sum((amount * chance for amount, chance in self.outcomes(odds)), Fraction(0))

    def quantile(self, odds: Odds, level: Fraction) -> Fraction:
        """The smallest amount that is not exceeded with this probability."""
        reached = Fraction(0)
        for amount, chance in self.outcomes(odds):
            reached += chance
            if reached >= level:
                return amount
        raise AssertionError("probabilities add up to less than the level")

    def order(self, objective: str, odds: Odds) -> tuple[Any, ...]:
        """The whole order of ROUTES: the objective, then the ties."""
        first = {"cash": self.cash, "hours": self.hours, "total": self.total}.get(objective)
        value = self.expected_at(odds) if first is None else first
        return (
            value,
            self.total,
            sum(bool(choice.get("irreversible")) for choice in self.choices),
            sum(choice["id"] in self.picks.values() and not choice.get("as_found") for choice in self.choices),
            len(self.tasks),
            sorted(self.picked),
            sorted(self.tasks),
        )

    @property
    def picked(self) -> frozenset[str]:
        return frozenset({*self.picks.values(), *self.links.values()})


def subsets(things: list[str]) -> Iterator[tuple[str, ...]]:
    """Every subset, smallest first."""
    return chain.from_iterable(combinations(things, size) for size in range(len(things) + 1))


def stated_odds(document: Document) -> dict[str, Fraction]:
    """The odds as the document gives them."""
    return {fault["id"]: exact(fault["odds"]) for fault in document.get("faults", [])}


def stated_due(document: Document) -> frozenset[str]:
    """The doubts of odds 1."""
    return frozenset(each["id"] for each in document.get("faults", []) if "on" in each and exact(each["odds"]) == 1)


def list_ways(document: Document, due: frozenset[str] | None = None, opened: frozenset[str] = frozenset()) -> list[Way]:
    """Every allowed route, in no order; where these doubts are due and these tasks stand open, if that is asked."""
    failed = stated_due(document) if due is None else due
    positions, joints = document.get("positions", []), document.get("joints", [])
    ways = []
    for candidates in product(*(position["candidates"] for position in positions)):
        picks = {position["id"]: candidate["id"] for position, candidate in zip(positions, candidates, strict=True)}
        mating = [[link for link in joint["links"] if _mates(joint, link, picks)] for joint in joints]
        for links in product(*mating):
            ways += _with_tasks(document, picks, [*candidates, *links], links, failed, opened)
    return ways


def _mates(joint: Document, link: Document, picks: dict[str, str]) -> bool:
    return [picks[position] for position in joint["between"]] == list(link["parts"])


def _with_tasks(
    document: Document,
    picks: dict[str, str],
    choices: list[Document],
    links: tuple[Document, ...],
    due: frozenset[str],
    opened: frozenset[str],
) -> list[Way]:
    if not (_rules_kept(document, choices) and _features_offered(document, choices)):
        return []
    most, assumed = document.get("most_assumed"), sum(bool(choice.get("assumed")) for choice in choices)
    if most is not None and assumed > most:
        return []
    chains = _chains(document, choices)
    open_chains = {chain for choice in choices for chain in choice.get("unmeasured", [])}
    judged = [each for each in document.get("chains", []) if each["id"] not in open_chains]
    if not all(_within(each, chains[each["id"]]) for each in judged):
        return []
    picked = {choice["id"] for choice in choices}
    failed = [each for each in document.get("faults", []) if each["id"] in due and picked & set(each["on"])]
    needed = opened | closure(document, [task for one in choices for task in one.get("tasks", [])])
    needed |= closure(document, [task for one in failed for task in one.get("reach", [])])
    reaches = {fault["id"]: closure(document, fault.get("reach", [])) for fault in document.get("faults", [])}
    task_sets = {needed.union(*(reaches[fault] for fault in looked)) for looked in subsets(list(reaches))}
    named = {joint["id"]: link["id"] for joint, link in zip(document.get("joints", []), links, strict=True)}
    ways = [_way(document, picks, named, choices, failed, tasks, chains, due) for tasks in task_sets]
    deadline = document.get("deadline")
    return [way for way in ways if deadline is None or way.days <= exact(deadline)]


def _way(
    document: Document,
    picks: dict[str, str],
    links: dict[str, str],
    choices: list[Document],
    failed: list[Document],
    tasks: frozenset[str],
    chains: dict[str, Fraction],
    due: frozenset[str],
) -> Way:
    things = [*choices, *failed, *(task for task in document.get("tasks", []) if task["id"] in tasks)]
    cash = sum((exact(thing.get("cash", 0)) for thing in things), Fraction(0))
    hours = sum((exact(thing.get("hours", 0)) for thing in things), Fraction(0))
    waiting = max((exact(thing.get("days", 0)) for thing in things), default=Fraction(0))
    days = waiting + hours / exact(document.get("day_hours", 8))
    return Way(document, picks, links, tasks, tuple(choices), cash, hours, days, chains, due)


def _chains(document: Document, choices: list[Document]) -> dict[str, Fraction]:
    return {
        each["id"]: exact(each.get("start", 0))
        + sum((exact(choice.get("shifts", {}).get(each["id"], 0)) for choice in choices), Fraction(0))
        for each in document.get("chains", [])
    }


def _within(each: Document, value: Fraction) -> bool:
    low, high = each.get("low"), each.get("high")
    return (low is None or exact(low) <= value) and (high is None or value <= exact(high))


def _rules_kept(document: Document, choices: list[Document]) -> bool:
    picked = {choice["id"] for choice in choices}
    for rule in document.get("rules", []):
        if picked.issuperset([rule["when"], *rule.get("also", [])]):
            if rule.get("needs_any") and not picked & set(rule["needs_any"]):
                return False
            if picked & set(rule.get("excludes", [])):
                return False
    return True


def _features_offered(document: Document, choices: list[Document]) -> bool:
    offered = {feature for choice in choices for feature in choice.get("features", [])}
    return offered >= set(document.get("features", []))


def rank(ways: list[Way], objective: str, odds: Odds) -> list[Way]:
    """The best task set of each set of picks and links, best first: the routes and their alternatives."""
    best: dict[frozenset[str], Way] = {}
    for way in sorted(ways, key=lambda each: each.order(objective, odds)):
        best.setdefault(way.picked, way)
    return list(best.values())


def front(ways: list[Way]) -> set[tuple[Fraction, Fraction]]:
    """The (cash, hours) of the routes that no other route beats in one and equals in the other."""
    points = {(way.cash, way.hours) for way in ways}
    return {
        (cash, hours)
        for cash, hours in points
        if not any(c <= cash and h <= hours and (c, h) != (cash, hours) for c, h in points)
    }


def instead(document: Document) -> Fraction | None:
    """What not doing the job costs."""
    return None if document.get("instead") is None else exact(document["instead"])


def cheapest(ways: list[Way], odds: Odds, otherwise: Fraction | None) -> Fraction | None:
    """The least expected cost for these odds, or of what else can be done; None where nothing can."""
    worths = [way.expected_at(odds) for way in ways] + ([] if otherwise is None else [otherwise])
    return min(worths, default=None)


def blind_worth(document: Document, ways: list[Way], odds: Odds) -> Fraction:
    """The cheaper of the best route for these odds and not doing the job."""
    worth = cheapest(ways, odds, instead(document))
    assert worth is not None
    return worth


def look_worth(document: Document, ways: list[Way], inspections: tuple[str, ...], odds: Odds) -> Fraction | None:
    """Pay the inspections, open what they need, learn, then take the best route for what was learnt, or none.

    None where something that may be found leaves nothing that can be done.
    """
    done = [each for each in document.get("inspections", []) if each["id"] in inspections]
    settled = sorted({fault for each in done for fault in each.get("settles", [])})
    opened = closure(document, [task for each in done for task in each.get("tasks", [])])
    doubts = {each["id"] for each in document.get("faults", []) if "on" in each}
    otherwise = instead(document)
    if otherwise is not None:
        otherwise += sum((price(document, each) for each in document["tasks"] if each["id"] in opened), Fraction(0))
    worth = sum((price(document, each) for each in done), Fraction(0))
    for worn in subsets(settled):
        chance = Fraction(1)
        learnt = dict(odds)
        for fault in settled:
            learnt[fault] = Fraction(int(fault in worn))
            chance *= odds[fault] if fault in worn else 1 - odds[fault]
        if chance:
            due = stated_due(document) | (doubts & set(worn))
            same = due == stated_due(document) and not opened
            found = cheapest(ways if same else list_ways(document, due, opened), learnt, otherwise)
            if found is None:
                return None
            worth += chance * found
    return worth


def look_first(document: Document, ways: list[Way]) -> tuple[Fraction, set[tuple[str, ...]]] | None:
    """The least worth of looking and every set that has it, or None where going blind is as good."""
    odds = stated_odds(document)
    ids = [each["id"] for each in document.get("inspections", [])]
    each = {chosen: look_worth(document, ways, chosen, odds) for chosen in subsets(ids) if chosen}
    worths = {chosen: worth for chosen, worth in each.items() if worth is not None}
    if not ways or not worths or min(worths.values()) >= blind_worth(document, ways, odds):
        return None
    least = min(worths.values())
    return least, {chosen for chosen, worth in worths.items() if worth == least}

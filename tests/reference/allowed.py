"""Is this route, as the search printed it, allowed - and do its sums come out?

Takes the JSON object of a route and the plain document, and adds everything up again. Returns every objection found,
so that a failing test says what is wrong. Shares only the closure and the reading of numbers with the other models.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from tests.reference.reading import Document, candidates_of, closure, exact, links_of, price

ZERO = Fraction(0)


def objections(document: Document, route: dict[str, Any]) -> list[str]:
    """What is wrong with the route; an empty list says it is allowed and correctly added up."""
    structure = list(_structure(document, route))
    if structure:
        return structure
    choices = _choices(document, route)
    return [*_rules(document, route, choices), *_sums(document, route, choices), *_faults(document, route)]


def _structure(document: Document, route: dict[str, Any]) -> Iterator[str]:
    for what, wanted in (("picks", "positions"), ("links", "joints")):
        ids = {each["id"] for each in document.get(wanted, [])}
        if set(route[what]) != ids:
            yield f"{what} name {sorted(route[what])}, not one for each of the {wanted} {sorted(ids)}"
    if len(set(route["tasks"])) != len(route["tasks"]):
        yield "a task is listed twice"
    for position in document.get("positions", []):
        if route["picks"].get(position["id"]) not in {each["id"] for each in position["candidates"]}:
            yield f"the pick at {position['id']} is not one of its candidates"
    for joint in document.get("joints", []):
        link = next((each for each in joint["links"] if each["id"] == route["links"].get(joint["id"])), None)
        if link is None:
            yield f"the link at {joint['id']} is not one of its links"
        elif any(route["picks"].get(at) != part for at, part in zip(joint["between"], link["parts"], strict=True)):
            yield f"link {link['id']} does not join the picked parts"


def _choices(document: Document, route: dict[str, Any]) -> list[Document]:
    picked = {*route["picks"].values(), *route["links"].values()}
    return [each for each in [*candidates_of(document), *links_of(document)] if each["id"] in picked]


def _rules(document: Document, route: dict[str, Any], choices: list[Document]) -> Iterator[str]:
    done, picked = set(route["tasks"]), {choice["id"] for choice in choices}
    if closure(document, done) != done:
        yield "the done tasks are not closed"
    failed = _due(document, picked)
    needed = closure(document, [task for one in [*choices, *failed] for task in one.get("tasks", one.get("reach", []))])
    if not needed <= done:
        yield f"tasks {sorted(needed - done)} are needed and not done"
    reaches = [closure(document, fault.get("reach", [])) for fault in document.get("faults", [])]
    for task in done - needed:
        if not any(task in reach and reach <= done for reach in reaches):
            yield f"task {task} is done for nothing"
    for rule in document.get("rules", []):
        wanted, barred = set(rule.get("needs_any", [])), set(rule.get("excludes", []))
        awake = picked.issuperset([rule["when"], *rule.get("also", [])])
        if awake and ((wanted and not wanted & picked) or barred & picked):
            yield f"the rule on {rule['when']} is broken"
    most, assumed = document.get("most_assumed"), [choice["id"] for choice in choices if choice.get("assumed")]
    if most is not None and len(assumed) > most:
        yield f"{len(assumed)} picks are assumed, at most {most} may be"
    if [each["what"] for each in route.get("assumed", [])] != assumed and "assumed" in route:
        yield f"assumed are {assumed}, said is {route['assumed']}"
    missing = set(document.get("features", [])) - {name for choice in choices for name in choice.get("features", [])}
    if missing:
        yield f"features {sorted(missing)} are not offered"


def _sums(document: Document, route: dict[str, Any], choices: list[Document]) -> Iterator[str]:
    failed = _due(document, {choice["id"] for choice in choices})
    things = [*choices, *failed, *(task for task in document.get("tasks", []) if task["id"] in route["tasks"])]
    hours = sum((exact(each.get("hours")) for each in things), ZERO)
    days = max([exact(each.get("days")) for each in things], default=ZERO) + hours / exact(document.get("day_hours", 8))
    yield from _differs("cash", route["cash"], sum((exact(each.get("cash")) for each in things), ZERO))
    yield from _differs("hours", route["hours"], hours)
    yield from _differs("total", route["total"], sum((price(document, each) for each in things), ZERO))
    yield from _differs("days", route["days"], days)
    if document.get("deadline") is not None and days > exact(document["deadline"]):
        yield f"{float(days)} days are past the deadline {document['deadline']}"
    for chain in document.get("chains", []):
        value = sum((exact(each.get("shifts", {}).get(chain["id"])) for each in choices), exact(chain.get("start")))
        open_by = [choice["id"] for choice in choices if chain["id"] in choice.get("unmeasured", [])]
        if "unmeasured" in route and bool(open_by) != (chain["id"] in [each["what"] for each in route["unmeasured"]]):
            yield f"chain {chain['id']} is left open by {open_by}, said is {route['unmeasured']}"
        if open_by:
            if "unmeasured" in route and route["chains"][chain["id"]] is not None:
                yield f"chain {chain['id']} has a sum though {open_by} leave it open"
            continue
        yield from _differs(f"chain {chain['id']}", route["chains"][chain["id"]], value)
        if chain.get("low") is not None and value < exact(chain["low"]):
            yield f"chain {chain['id']} is too short"
        if chain.get("high") is not None and value > exact(chain["high"]):
            yield f"chain {chain['id']} is too long"


def _faults(document: Document, route: dict[str, Any]) -> Iterator[str]:
    """Expected cost by the formula of ROUTES, task by task; spread by adding up one fault after another."""
    total = sum((price(document, each) for each in _everything(document, route)), ZERO)
    live = [
        (fault, _unseen(document, route, fault))
        for fault in document.get("faults", [])
        if not _gone(document, route, fault) and not _is_due(fault)
    ]
    expected = total + sum((exact(fault["odds"]) * price(document, fault) for fault, _ in live), ZERO)
    for task in document.get("tasks", []):
        spared = Fraction(1)
        for fault, unseen in live:
            if unseen and task["id"] in closure(document, fault.get("reach", [])):
                spared *= 1 - exact(fault["odds"])
        expected += price(document, task) * (1 - spared)
    yield from _differs("expected", route["expected"], expected)
    spread = _spread(document, live)
    for name, level in (("p50", Fraction(1, 2)), ("p90", Fraction(9, 10))):
        reached, amount = ZERO, ZERO
        for amount in sorted(spread):
            reached += spread[amount]
            if reached >= level:
                break
        yield from _differs(name, route["spread"][name], total + amount)


def _everything(document: Document, route: dict[str, Any]) -> list[Document]:
    choices = _choices(document, route)
    failed = _due(document, {choice["id"] for choice in choices})
    return [*choices, *failed, *(task for task in document.get("tasks", []) if task["id"] in route["tasks"])]


def _gone(document: Document, route: dict[str, Any], fault: Document) -> bool:
    if "on" in fault:
        return not {*route["picks"].values(), *route["links"].values()} & set(fault["on"])
    pick = route["picks"][fault["position"]]
    return not any(each["id"] == pick and each.get("as_found") for each in candidates_of(document))


def _is_due(fault: Document) -> bool:
    return "on" in fault and exact(fault["odds"]) == 1


def _due(document: Document, picked: set[str]) -> list[Document]:
    return [fault for fault in document.get("faults", []) if _is_due(fault) and picked & set(fault["on"])]


def _unseen(document: Document, route: dict[str, Any], fault: Document) -> bool:
    return not (fault.get("shows") and closure(document, fault.get("reach", [])) <= set(route["tasks"]))


def _spread(document: Document, live: list[tuple[Document, bool]]) -> dict[Fraction, Fraction]:
    """Probability of each amount on top of the total."""
    states: dict[tuple[Fraction, frozenset[str]], Fraction] = {(ZERO, frozenset()): Fraction(1)}
    for fault, unseen in live:
        odds = exact(fault["odds"])
        fresh: dict[tuple[Fraction, frozenset[str]], Fraction] = {}
        stripped = closure(document, fault.get("reach", [])) if unseen else frozenset()
        for (amount, tasks), chance in states.items():
            worn = (amount + price(document, fault), tasks | stripped)
            for state, likely in (((amount, tasks), chance * (1 - odds)), (worn, chance * odds)):
                fresh[state] = fresh.get(state, ZERO) + likely
        states = fresh
    spread: dict[Fraction, Fraction] = {}
    for (amount, tasks), chance in states.items():
        again = sum((price(document, task) for task in document.get("tasks", []) if task["id"] in tasks), ZERO)
        spread[amount + again] = spread.get(amount + again, ZERO) + chance
    return spread


def _differs(name: str, printed: Any, exactly: Fraction) -> Iterator[str]:
    if float(printed) != float(exactly):
        yield f"{name} is printed as {printed}, adds up to {float(exactly)}"

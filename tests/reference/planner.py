"""The route question as a classical planning task, solved to the proven least cost by Fast Downward.

For documents without faults and without a deadline, objective `total`. First the tasks are done, in any order that
respects `after`; then positions and joints are settled one after another; each chain's value is carried along as a
fact, so an action exists once per value that can be reached; last come free actions that grant each chain, rule and
feature its tick. The goal asks for every tick.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from math import lcm
from typing import Any

from unified_planning.engines.results import PlanGenerationResultStatus  # type: ignore[import-untyped]
from unified_planning.model import Fluent, InstantaneousAction, Problem  # type: ignore[import-untyped]
from unified_planning.model.metrics import MinimizeActionCosts  # type: ignore[import-untyped]
from unified_planning.shortcuts import Bool, BoolType, Int, Not, OneshotPlanner, get_environment  # type: ignore[import-untyped]

from tests.reference.reading import Document, candidates_of, closure, exact, links_of, price


@dataclass(frozen=True)
class Move:
    """A ground action: facts needed, facts that must be false, facts made true and false, and its price."""

    name: str
    needs: tuple[str, ...]
    adds: tuple[str, ...]
    drops: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    cost: Fraction = Fraction(0)


def planned_minimum(document: Document) -> Fraction | None:
    """The least total that a plan can have, None where no plan exists."""
    if document.get("faults") or document.get("deadline") is not None:
        raise ValueError("the planning task knows neither faults nor deadlines")
    slots = [*document["positions"], *document.get("joints", [])]
    moves = [*_task_moves(document), *_choice_moves(document, slots), *_ticks(document, slots)]
    goal = [f"settled {len(slots)}"]
    goal += [
        f"tick {kind} {number}"
        for kind in ("chains", "rules", "features")
        for number in range(len(document.get(kind, [])))
    ]
    start = ["settled 0", *(f"chain {each['id']} {exact(each.get('start'))}" for each in document.get("chains", []))]
    return _solve(moves, start, goal)


def _task_moves(document: Document) -> Iterator[Move]:
    for task in document.get("tasks", []):
        needs = ("settled 0", *(f"done {name}" for name in task.get("after", [])))
        done = f"done {task['id']}"
        yield Move(f"do {task['id']}", needs, (done,), absent=(done,), cost=price(document, task))


def _choice_moves(document: Document, slots: list[Document]) -> Iterator[Move]:
    chains = [each["id"] for each in document.get("chains", [])]
    reachable = {each["id"]: {exact(each.get("start"))} for each in document.get("chains", [])}
    for number, slot in enumerate(slots):
        choices = slot["candidates"] if "candidates" in slot else slot["links"]
        fresh = {name: set(values) if _stands_still(choices, name) else set() for name, values in reachable.items()}
        for choice in choices:
            moved = [name for name in chains if exact(choice.get("shifts", {}).get(name))]
            for values in product(*(sorted(reachable[name]) for name in moved)):
                after = [value + exact(choice["shifts"][name]) for name, value in zip(moved, values, strict=True)]
                yield _choice_move(document, choice, number, list(zip(moved, values, after, strict=True)))
                for name, value in zip(moved, after, strict=True):
                    fresh[name].add(value)
        reachable = fresh


def _stands_still(choices: list[Document], chain: str) -> bool:
    return any(not exact(choice.get("shifts", {}).get(chain)) for choice in choices)


def _choice_move(
    document: Document, choice: Document, number: int, moved: list[tuple[str, Fraction, Fraction]]
) -> Move:
    tasks = sorted(closure(document, choice.get("tasks", [])))
    needs = [f"settled {number}", *(f"done {task}" for task in tasks)]
    needs += [f"picked {part}" for part in choice.get("parts", [])]
    needs += [f"chain {name} {value}" for name, value, _ in moved]
    adds = [f"settled {number + 1}", f"picked {choice['id']}", *(f"chain {name} {value}" for name, _, value in moved)]
    drops = [f"settled {number}", *(f"chain {name} {value}" for name, value, _ in moved)]
    label = " ".join([f"pick {choice['id']}", *(str(value) for _, value, _ in moved)])
    return Move(label, tuple(needs), tuple(adds), tuple(drops), cost=price(document, choice))


def _ticks(document: Document, slots: list[Document]) -> Iterator[Move]:
    settled = f"settled {len(slots)}"
    rivals: dict[str, list[str]] = {}
    for slot in slots:
        names = [each["id"] for each in (slot["candidates"] if "candidates" in slot else slot["links"])]
        rivals |= {name: [other for other in names if other != name] for name in names}
    for number, rule in enumerate(document.get("rules", [])):
        tick = (f"tick rules {number}",)
        for other in (other for name in (rule["when"], *rule.get("also", [])) for other in rivals[name]):
            yield Move(f"rule {number} asleep by {other}", (settled, f"picked {other}"), tick)
        kept: list[tuple[str, ...]] = [(f"picked {name}",) for name in rule.get("needs_any", [])] or [()]
        barred = [[f"picked {other}" for other in rivals[name]] for name in rule.get("excludes", [])]
        for count, facts in enumerate(product(kept, *barred)):
            needs = (settled, *facts[0], *(str(fact) for fact in facts[1:]))
            yield Move(f"rule {number} kept {count}", needs, tick)
    for number, feature in enumerate(document.get("features", [])):
        for choice in [*candidates_of(document), *links_of(document)]:
            if feature in choice.get("features", []):
                needs = (settled, f"picked {choice['id']}")
                yield Move(f"feature {number} by {choice['id']}", needs, (f"tick features {number}",))
    for number, chain in enumerate(document.get("chains", [])):
        for value in _allowed_values(document, chain):
            needs = (settled, f"chain {chain['id']} {value}")
            yield Move(f"chain {number} at {value}", needs, (f"tick chains {number}",))


def _allowed_values(document: Document, chain: Document) -> list[Fraction]:
    values = {exact(chain.get("start"))}
    slots = [*(each["candidates"] for each in document["positions"]), *(each["links"] for each in document["joints"])]
    for choices in slots:
        values = {value + exact(each.get("shifts", {}).get(chain["id"])) for value in values for each in choices}
    low, high = chain.get("low"), chain.get("high")
    return sorted(v for v in values if (low is None or exact(low) <= v) and (high is None or v <= exact(high)))


def _solve(moves: list[Move], start: list[str], goal: list[str]) -> Fraction | None:
    get_environment().credits_stream = None
    problem = Problem("route")
    names = sorted(
        {fact for move in moves for fact in (*move.needs, *move.adds, *move.drops, *move.absent)} | {*start, *goal}
    )
    fluents = {name: Fluent(f"f{number}", BoolType()) for number, name in enumerate(names)}
    for name, fluent in fluents.items():
        problem.add_fluent(fluent, default_initial_value=Bool(name in start))
    scale = lcm(*(move.cost.denominator for move in moves))
    costs: dict[Any, Any] = {}
    for number, move in enumerate(moves):
        action = InstantaneousAction(f"a{number}")
        for fact in dict.fromkeys(move.needs):
            action.add_precondition(fluents[fact])
        for fact in move.absent:
            action.add_precondition(Not(fluents[fact]))
        for fact in move.drops:
            action.add_effect(fluents[fact], False)
        for fact in move.adds:
            action.add_effect(fluents[fact], True)
        problem.add_action(action)
        costs[action] = Int(int(move.cost * scale))
    for fact in goal:
        problem.add_goal(fluents[fact])
    problem.add_quality_metric(MinimizeActionCosts(costs))
    with OneshotPlanner(name="fast-downward-opt") as planner:
        result = planner.solve(problem)
    if result.status == PlanGenerationResultStatus.UNSOLVABLE_PROVEN:
        return None
    if result.status != PlanGenerationResultStatus.SOLVED_OPTIMALLY:
        raise RuntimeError(f"the planner stopped with {result.status.name}")
    by_name = {f"a{number}": move.cost for number, move in enumerate(moves)}
    return sum((by_name[step.action.name] for step in result.plan.actions), Fraction(0))

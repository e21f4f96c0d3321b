"""A budget for a question: whatever it is, there is an answer, and each part of it says how complete it is."""

from __future__ import annotations

import itertools
import json
import pickle
import sys
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

import pytest

from graph.conversion.document import Conversion
from graph.conversion.parse import parse_conversion
from graph.search import Budget, Solution, as_json, changes, solve
from graph.search import branch as branch_module
from graph.search import front as front_module
from graph.search import look_first as look_first_module
from graph.search import routes as routes_module
from graph.search.result import PARTS
from tests.reference.maker import SMALL, WORKED, Shape, make_document

SEED = (
    23  # takes some hundred nodes, has alternatives, a front of several points, and a set of inspections worth paying
)
MIDDLING = Shape(6, 3, 8, density=0.6)


def worked(seed: int = SEED) -> Conversion:
    return parse_conversion(make_document(seed, WORKED))


def whole(conversion: Conversion, budget: Budget | None = None) -> Solution:
    return solve(conversion, with_changes=True, budget=budget)


def after(asked: int) -> Callable[[], bool]:
    """A client who leaves after having been asked so often."""
    times = itertools.count()
    return lambda: next(times) >= asked


def completeness(solution: Solution) -> dict[str, bool]:
    return {part.part: part.complete for part in solution.parts}


def test_without_a_budget_every_part_is_complete() -> None:
    solution = whole(worked())

    assert solution.status == "optimal"
    assert completeness(solution) == dict.fromkeys(("route", "alternatives", "look first", "front", "changes"), True)
    assert solution.gap is None
    assert all((part.gap, part.words) == (None, "") for part in solution.parts)


def test_the_whole_answer_carries_the_same_changes_as_asking_for_them_alone() -> None:
    for seed in range(4):
        conversion = parse_conversion(make_document(seed, SMALL))

        assert whole(conversion).changes == changes(conversion)


def test_only_parts_that_were_asked_for_are_spoken_of() -> None:
    solution = solve(worked(), alternatives=0, with_front=False, with_look_first=False)

    assert [part.part for part in solution.parts] == ["route"]
    assert "changes" not in as_json(solution)


def test_no_time_at_all_still_is_an_answer() -> None:
    solution = whole(worked(), Budget(seconds=0.0))

    assert (solution.status, solution.routes) == ("stopped early", ())
    assert solution.parts[0].words == "no route was found before the time or memory ran out; there may be one"


@pytest.mark.parametrize("asked", [0, 1, 3, 10, 30, 100, 300, 1000, 3000, 10_000])
def test_whenever_the_client_leaves_what_was_found_is_true_and_the_rest_is_said_to_be_missing(asked: int) -> None:
    conversion = worked()
    proven = whole(conversion)

    found = whole(conversion, Budget(cancelled=after(asked)))

    if found.status == "optimal":
        assert found == proven
        return
    assert not all(completeness(found).values())
    if found.routes:
        gap = found.gap
        assert gap is not None
        assert found.routes[0].expected - gap <= proven.routes[0].expected <= found.routes[0].expected
        assert completeness(found)["route"] == (gap == 0)
    if completeness(found).get("front"):
        assert found.front == proven.front
    if completeness(found).get("look first"):
        assert found.look_first == proven.look_first
    assert all(change in proven.changes for change in found.changes)


def test_the_client_is_asked_in_every_part_of_the_work() -> None:
    """Else one part could go on long after nobody waits for it."""
    conversion, times = parse_conversion(make_document(15, MIDDLING)), itertools.count()
    whole(conversion, Budget(cancelled=lambda: next(times) < 0))
    most = next(times)

    ends = [completeness(whole(conversion, Budget(cancelled=after(n)))) for n in range(0, most, most // 60)]
    first_missing = {next(part for part, complete in end.items() if not complete) for end in ends}
    assert first_missing >= {"route", "look first", "front", "changes"}


PARTS_THAT_FAIL = {
    "look first": (look_first_module, "Values"),
    "front": (front_module, "build_columns"),
    "changes": (sys.modules["graph.search.changes"], "Values"),
}


@pytest.mark.parametrize("part", PARTS_THAT_FAIL)
def test_memory_that_gives_out_in_a_late_part_costs_that_part_only(part: str, monkeypatch: pytest.MonkeyPatch) -> None:
    conversion = worked()
    proven = whole(conversion)
    module, name = PARTS_THAT_FAIL[part]

    def fail(*arguments: object, **named: object) -> object:
        raise MemoryError

    monkeypatch.setattr(module, name, fail)
    found = whole(conversion)

    assert (found.status, found.routes, found.gap) == ("stopped early", proven.routes, 0)
    assert {name for name, complete in completeness(found).items() if not complete} == {part}


@pytest.mark.parametrize("name", ["build_tables", "build_columns", "branch_search", "task_family"])
def test_memory_that_gives_out_in_the_proof_is_said_not_raised(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*arguments: object, **named: object) -> object:
        raise MemoryError

    monkeypatch.setattr(routes_module, name, fail)
    found = whole(worked())

    assert (found.status, found.routes) == ("stopped early", ())


def test_memory_that_gives_out_halfway_keeps_the_routes_found(monkeypatch: pytest.MonkeyPatch) -> None:
    conversion, proven = worked(), whole(worked())
    steps = itertools.count()
    push = branch_module._Search._push

    def fail(*arguments: Any, **named: Any) -> None:
        if next(steps) > 60:
            raise MemoryError
        push(*arguments, **named)

    monkeypatch.setattr(branch_module._Search, "_push", fail)
    found = solve(conversion, with_front=False, with_look_first=False)

    assert found.status == "stopped early"
    assert found.routes and found.gap is not None
    assert found.routes[0].expected - found.gap <= proven.routes[0].expected


@pytest.mark.parametrize("asked", [0, 5, 40, 200, 1000])
def test_why_there_is_no_route_is_bounded_too(asked: int) -> None:
    conversion = next(no_routes())
    proven = solve(conversion)

    found = solve(conversion, budget=Budget(cancelled=after(asked)))

    assert proven.status == "no route" and proven.open
    if found.status == "no route":
        assert completeness(found)["route"]
        assert found.open
        assert completeness(found)["open"] == (found.open == proven.open)
    else:
        assert not completeness(found)["route"]


def no_routes() -> Iterator[Conversion]:
    for seed in range(200):
        conversion = parse_conversion(make_document(seed, MIDDLING))
        if solve(conversion, with_front=False, with_look_first=False).status == "no route":
            yield conversion


def test_less_memory_gives_the_same_answer() -> None:
    conversion = worked()

    assert whole(conversion, Budget(memory_bytes=1)) == whole(conversion)


def test_the_shares_of_the_memory_stay_inside_it() -> None:
    """Costs and tables are held up to three times while bounds are sharpened, cycles for a few chains at once."""
    for memory in (1 << 24, 1 << 28, 1 << 30, 1 << 34):
        sizes = Budget(memory_bytes=memory).sizes()

        held = 8 * (3 * sizes.costs + 2 * sizes.tables) + 4 * 4 * sizes.cells + 700 * sizes.prefixes
        assert held <= memory


def test_everything_that_travels_between_processes_can_be_pickled() -> None:
    conversion = worked()
    solution = whole(conversion)
    budget = Budget(seconds=5, memory_bytes=1 << 28)

    assert pickle.loads(pickle.dumps(conversion)) == conversion
    assert pickle.loads(pickle.dumps(solution)) == solution
    assert pickle.loads(pickle.dumps(budget)) == budget


def test_the_printed_object_says_of_each_part_how_complete_it_is() -> None:
    printed = as_json(whole(worked(), Budget(cancelled=after(30))))

    assert {part["part"] for part in printed["parts"]} <= set(PARTS)
    assert not all(part["complete"] for part in printed["parts"])
    assert json.loads(json.dumps(printed)) == printed


def test_what_is_asked_wrongly_is_refused_before_anything_is_searched() -> None:
    with pytest.raises(Exception, match="expected one of expected, total, cash, hours"):
        solve(worked(), "cheapest")


def test_gaps_are_exact_money() -> None:
    found = whole(worked(), Budget(cancelled=after(6)))

    assert all(part.gap is None or isinstance(part.gap, Fraction) for part in found.parts)

"""The search's seldom-used paths give the same answers as its usual ones.

Each path is forced: tables too large for memory, more task sets than are told apart, an early restart, a clock that
has run out. Documents are made by chance from fixed seeds (tests/reference/maker.py); the usual path is itself
proven against independent solvers in the test_proof files.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from graph.conversion.document import Conversion
from graph.conversion.parse import parse_conversion
from graph.search import asks as asks_module
from graph.search import branch as branch_module
from graph.search import contenders as contenders_module
from graph.search import family as family_module
from graph.search import front as front_module
from graph.search import hard as hard_module
from graph.search import lane_search as lane_search_module
from graph.search import routes as routes_module
from graph.search import solve
from graph.search import tables as tables_module
from graph.search.asks import Ask, best_answers
from graph.search.budget import ENDLESS, Budget
from graph.search.columns import build_columns
from graph.search.compiled import compile_conversion
from graph.search.hard import Level
from graph.search.outlook import suppose
from graph.search.parts import PARTS, without
from graph.search.routes import RouteSearch
from tests.reference.maker import LARGEST, WORKED, Shape, make_document

pytestmark = pytest.mark.takes_turns(2)

SEEDS = range(40, 60)
# Minima of hard documents, as CP-SAT proved them in 12, 45 and 8 seconds.
PROVEN = {100_008: Fraction("6543.4875"), 100_013: Fraction("5296.4005"), 100_016: Fraction("5893.93")}
FEW = range(40, 46)  # for paths that are slow when forced
MIDDLING = Shape(7, 3, 9)


def conversions(shape: Shape = MIDDLING, seeds: range = SEEDS) -> list[Conversion]:
    return [parse_conversion(make_document(seed, shape)) for seed in seeds]


def costs(conversion: Conversion) -> list[tuple[Fraction, dict[str, str], dict[str, str], tuple[str, ...]]]:
    found = solve(conversion, with_front=False, with_look_first=False)
    return [(one.expected, dict(one.picks), dict(one.links), one.tasks) for one in found.routes]


def in_little_memory(monkeypatch: pytest.MonkeyPatch, **fewer: int) -> None:
    """Every budget grants no more than this for the things named."""
    granted = Budget.sizes
    monkeypatch.setattr(Budget, "sizes", lambda budget: replace(granted(budget), **fewer))


def test_mini_buckets_find_the_same_routes_as_whole_tables(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = [costs(conversion) for conversion in conversions()]

    in_little_memory(monkeypatch, table=1)

    assert [costs(conversion) for conversion in conversions()] == usual


def test_tables_that_together_are_too_large_find_the_same_routes(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = [costs(conversion) for conversion in conversions()]

    in_little_memory(monkeypatch, tables=2_000)

    assert [costs(conversion) for conversion in conversions()] == usual


def test_few_columns_beside_each_other_find_the_same_routes(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = [solve(conversion) for conversion in conversions()]

    in_little_memory(monkeypatch, costs=1_000)

    assert [solve(conversion) for conversion in conversions()] == usual


def test_a_memory_that_is_full_forgets_nothing_that_matters(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = [costs(conversion) for conversion in conversions(WORKED)]

    monkeypatch.setattr(routes_module, "EASY", 2)
    monkeypatch.setattr(routes_module, "MOST_ROWS", 0)
    in_little_memory(monkeypatch, prefixes=5)

    assert [costs(conversion) for conversion in conversions(WORKED)] == usual


def test_tasks_left_out_of_the_family_are_still_paid(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = [costs(conversion) for conversion in conversions()]

    monkeypatch.setattr(family_module.task_family, "__defaults__", (ENDLESS, 3))

    assert [costs(conversion) for conversion in conversions()] == usual


def in_tiny_steps(monkeypatch: pytest.MonkeyPatch, levels: tuple[Level, ...]) -> None:
    """Every search counts as hard, and goes through all levels under two trial ceilings."""
    monkeypatch.setattr(hard_module, "TRIALS", (6, 3))
    monkeypatch.setattr(routes_module, "EASY", 2)
    monkeypatch.setattr(routes_module, "MOST_ROWS", 0)
    monkeypatch.setattr(hard_module, "LEVELS", levels)


def test_sharpened_bounds_and_forgetting_lose_no_route(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = [costs(conversion) for conversion in conversions(WORKED, FEW)]

    in_tiny_steps(monkeypatch, (Level(8, 2, 0, 3), Level(3, 5, 0, 3), Level(2, 9, 0, None)))

    assert [costs(conversion) for conversion in conversions(WORKED, FEW)] == usual


@pytest.mark.parametrize("work", [20_000, 300_000, 3_000_000])
def test_following_chains_by_residue_loses_no_route(monkeypatch: pytest.MonkeyPatch, work: int) -> None:
    usual = [costs(conversion) for conversion in conversions(WORKED, FEW)]

    in_tiny_steps(monkeypatch, (Level(9, 2, work // 10, 3), Level(3, 2, work, 5), Level(9, 4, work, None)))

    assert [costs(conversion) for conversion in conversions(WORKED, FEW)] == usual


@pytest.mark.parametrize("trials", [(), (30,) * 10, (1,)])
def test_any_trial_ceilings_end_with_the_same_routes(monkeypatch: pytest.MonkeyPatch, trials: tuple[int, ...]) -> None:
    usual = [costs(conversion) for conversion in conversions(WORKED, FEW)]

    in_tiny_steps(monkeypatch, (Level(4, 2, 100_000, 20), Level(9, 2, 1_000_000, None)))
    monkeypatch.setattr(hard_module, "TRIALS", trials)

    assert [costs(conversion) for conversion in conversions(WORKED, FEW)] == usual


@pytest.mark.parametrize("part", PARTS)
def test_any_part_of_the_search_can_be_left_out_and_no_route_lost(monkeypatch: pytest.MonkeyPatch, part: str) -> None:
    usual = [costs(conversion) for conversion in conversions(WORKED, range(40, 42))]

    monkeypatch.setattr(routes_module, "EASY", 2)
    monkeypatch.setattr(routes_module, "MOST_ROWS", 50)
    with without(part):
        assert [costs(conversion) for conversion in conversions(WORKED, range(40, 42))] == usual


def test_a_part_that_is_none_of_the_search_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="no part of the search is named guesses; there are lanes"), without("guesses"):
        pass


def test_many_scenarios_at_once_cost_what_each_costs_alone() -> None:
    for conversion in conversions():
        search = RouteSearch(compile_conversion(conversion))
        faults = len(search.compiled.worn)
        scenarios = [
            suppose(search.compiled, tuple(Fraction(number >> place & 1) for place in range(faults)))
            for number in range(1 << faults)
        ]

        together, complete = best_answers(search, [Ask(one) for one in scenarios], [])
        alone = [search.best("expected", one, 1)[0] for one in scenarios]

        assert complete
        assert [best.found[:1] and best.found[0].numbers for best in together] == [
            best.found[:1] and best.found[0].numbers for best in alone
        ]


def in_no_lanes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing may be opened in lanes."""
    for module in (front_module, routes_module):
        monkeypatch.setattr(module, "fits_word", lambda demands: False)


def in_few_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lanes are given up at once, and what is left takes several levels."""
    for module in (asks_module, contenders_module, front_module, routes_module):
        monkeypatch.setattr(module, "MOST_ROWS", 2)
    in_tiny_steps(monkeypatch, (Level(9, 2, 20_000, 3), Level(3, 5, 100_000, 20), Level(9, 9, 100_000, None)))


def in_narrow_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (asks_module, routes_module):
        monkeypatch.setattr(module, "FIRST_WIDTH", 1)
    for module in (asks_module, contenders_module, front_module, lane_search_module):
        monkeypatch.setattr(module, "WIDTH", 2)


@pytest.mark.parametrize("force", [in_no_lanes, in_few_rows, in_narrow_blocks])
def test_however_many_questions_are_searched_together_the_whole_answer_is_the_same(
    monkeypatch: pytest.MonkeyPatch, force: Callable[[pytest.MonkeyPatch], None]
) -> None:
    documents = [*conversions(seeds=FEW), *conversions(WORKED, range(40, 42))]
    usual = [solve(conversion, with_changes=True) for conversion in documents]

    force(monkeypatch)

    assert [solve(conversion, with_changes=True) for conversion in documents] == usual


def test_the_root_bound_is_never_above_the_minimum() -> None:
    for conversion in conversions():
        search = RouteSearch(compile_conversion(conversion))
        best, _ = search.best("total", search.outlook, 1)
        family = family_module.task_family(search.compiled, ())
        columns = build_columns(search.compiled, family, search.weights("total"), [search.outlook], False, False)

        root = tables_module.build_tables(search.compiled, search.layout, columns).root[: columns.costs].min()

        assert not best.found or root <= best.found[0].numbers[0]


def cut_short(patch: pytest.MonkeyPatch, looks: int) -> None:
    """The clock runs out after it has been looked at so often, wherever the search is then."""
    times = iter([0.0] * looks)
    patch.setattr(branch_module, "LOOK_AT_CLOCK_EVERY", 2)
    patch.setattr("time.monotonic", lambda: next(times, 2.0))


@pytest.mark.parametrize("looks", [2, 30, 300, 1000, 2000, 4000])
def test_out_of_time_the_answer_says_so_and_by_how_much_it_may_be_off(
    monkeypatch: pytest.MonkeyPatch, looks: int
) -> None:
    stopped = 0
    for seed in PROVEN:
        conversion = parse_conversion(make_document(seed, LARGEST))
        with monkeypatch.context() as patch:
            cut_short(patch, looks)
            found = solve(conversion, alternatives=0, with_front=False, with_look_first=False, seconds=1)
        if found.status == "stopped early":
            stopped += 1
            assert not found.routes or found.gap is not None
            assert (
                not found.routes
                or found.routes[0].expected - (found.gap or 0) <= PROVEN[seed] <= found.routes[0].expected
            )
        else:
            assert (found.status, found.gap, found.routes[0].expected) == ("optimal", None, PROVEN[seed])
    assert stopped or looks > 1000


def test_a_gap_shrinks_to_nothing_and_only_a_proof_is_called_optimal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(routes_module, "EASY", 2)
    monkeypatch.setattr(routes_module, "MOST_ROWS", 0)
    for conversion in conversions(WORKED, FEW):
        proven = solve(conversion, alternatives=0, with_front=False, with_look_first=False)
        with monkeypatch.context() as patch:
            cut_short(patch, 2)
            found = solve(conversion, alternatives=0, with_front=False, with_look_first=False, seconds=1)
        if found.status == "stopped early" and found.routes:
            assert found.gap is not None
            assert found.routes[0].expected - found.gap <= proven.routes[0].expected <= found.routes[0].expected
        else:
            assert found.status == "stopped early" or found == proven


@pytest.mark.parametrize("seed", [40, 43, 44, 46])
def test_sums_too_large_for_64_bits_are_still_exact(seed: int) -> None:
    document = make_document(seed, MIDDLING)
    for position in document["positions"]:
        for candidate in position["candidates"]:
            candidate["cash"] = round(candidate["cash"] + 900_000_000, 2)
    document["rate"] = 100_000_000

    dear = solve(parse_conversion(document), objective="total", with_front=False, with_look_first=False)

    # Every route is dearer by the same 900 million a position, and an hour costs more than all parts: fewest hours win.
    plain = solve(parse_conversion(make_document(seed, MIDDLING)), objective="hours", with_front=False)
    assert [one.hours_hundredths for one in dear.routes[:1]] == [one.hours_hundredths for one in plain.routes[:1]]
    assert dear.routes


def test_a_front_whose_loose_bounds_pick_parts_that_do_not_mate_goes_on() -> None:
    """40 positions: the cheapest of a column need not be an assembly at all."""
    document = make_document(8, Shape(40, 10, 48))

    solution = solve(parse_conversion(json.dumps(document)), seconds=4.0, with_look_first=False)

    assert solution.routes or solution.status == "stopped early"

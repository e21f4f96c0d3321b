"""Low and high hours that the facts state reach the spread; what the shop learnt, and what a job states, go before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.cli.question import DEMO_FACTS, DEMO_QUESTION
from graph.costing.applied import costed_catalogue
from graph.costing.asking import all_ranges, route_cost
from graph.costing.hours_stated import stated_ranges
from graph.costing.notes import HOURS, CostNote, MemoryNotes
from graph.costing.spread import HoursRange
from graph.counter.shop import Shop
from graph.lookups.index import CatalogueIndex
from tests.costing.kit_car import answer, catalogue

TODAY = date(2026, 6, 30)
HEAD = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix dcterms: <http://purl.org/dc/terms/> .
"""
ROUTE = answer().routes[0]


def with_range(low: int | None, high: int | None, hours: int = 450) -> Catalogue:
    """The kit car's facts, with a range for "gearbox out and in" (4.5 h)."""
    facts = catalogue()
    out = replace(facts.tasks["out"], hours_hundredths=hours, low_hours_hundredths=low, high_hours_hundredths=high)
    return replace(facts, tasks={**facts.tasks, "out": out})


def test_without_a_stated_range_hours_are_certain() -> None:
    assert stated_ranges(catalogue(), ROUTE) == []


def test_a_tasks_range_is_taken_as_stated() -> None:
    assert stated_ranges(with_range(400, 700), ROUTE) == [HoursRange("out", 400, 450, 700)]


def test_one_end_alone_leaves_the_other_where_it_is_planned() -> None:
    assert stated_ranges(with_range(None, 700), ROUTE) == [HoursRange("out", 450, 450, 700)]


def test_a_shops_own_hours_outside_the_trades_range_widen_it() -> None:
    slow = with_range(100, 300)

    assert stated_ranges(slow, ROUTE) == [HoursRange("out", 100, 450, 450)]


def test_learnt_hours_move_the_ends_in_proportion() -> None:
    note = CostNote(
        id="h-1", kind=HOURS, about="out", body={"planned_hundredths": 450, "actual_hundredths": 900}, job="J-1"
    )

    task = costed_catalogue(with_range(400, 700), MemoryNotes([note]), TODAY).catalogue.tasks["out"]

    assert task.hours_hundredths is not None and task.hours_hundredths > 450
    for end, before in ((task.low_hours_hundredths, 400), (task.high_hours_hundredths, 700)):
        assert end == pytest.approx(Fraction(before * task.hours_hundredths, 450), abs=0.51)


def test_a_shop_states_its_own_range_beside_the_trades(tmp_path: Path) -> None:
    own = tmp_path / "shop.ttl"
    own.write_text(
        HEAD + "kind:clutch-off-and-on lay:hours 1.20 ; lay:lowHours 0.90 ; lay:highHours 1.50 .\n", encoding="utf-8"
    )

    task = load_catalogue([own]).tasks["clutch-off-and-on"]

    assert (task.low_hours_hundredths, task.hours_hundredths, task.high_hours_hundredths) == (90, 120, 150)


def test_edges_carry_a_range_too(tmp_path: Path) -> None:
    facts = tmp_path / "facts.ttl"
    facts.write_text(
        HEAD
        + """shop:a a lay:Part ; <http://www.w3.org/2000/01/rdf-schema#label> "a" ; lay:kind kind:clutch-disc .
shop:f a lay:AddsFeature ; lay:source shop:a ; lay:target kind:reversing-light-switch ;
    lay:hours 1.00 ; lay:lowHours 0.50 ; lay:highHours 2.00 .
""",
        encoding="utf-8",
    )

    edge = next(edge for edge in load_catalogue([facts]).edges.values() if edge.kind == "adds-feature")

    assert (edge.low_hours_hundredths, edge.high_hours_hundredths) == (50, 200)


def test_the_demos_route_is_spread_by_the_trades_ranges_and_a_job_overrules_them() -> None:
    index, notes = CatalogueIndex(load_catalogue([DEMO_FACTS])), MemoryNotes()
    found = Shop(index, notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION)
    route = found.answer.routes[0]
    ranges = {each.operation: each for each in all_ranges(found, route, notes)}
    certain = HoursRange("clutch-off-and-on", 50, 50, 50)

    assert ranges["clutch-off-and-on"] == HoursRange("clutch-off-and-on", 30, 50, 80)
    assert {each.operation: each for each in all_ranges(found, route, notes, [certain])} == {
        **ranges, "clutch-off-and-on": certain,
    }  # fmt: skip
    cost = route_cost(found, 1, notes)
    assert cost.with_hours_p90 is not None and cost.with_hours_p90 > float(cost.p50)

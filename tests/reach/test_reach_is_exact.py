"""One to many against the long way round: every unit read and solved, then sorted."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from graph.answer.status import IF_IT_HOLDS, weigh
from graph.catalogue.layered import changed_table
from graph.catalogue.load import load_catalogue
from graph.catalogue.model import CONTAINS, Condition
from graph.errors import InvalidQuestion, NotFound
from graph.lookups.compact import open_index
from graph.lookups.layered import LayeredIndex
from graph.reach import Reaching, reach
from graph.reach.bounds import PartsBound, document_bound, weigh_for
from graph.reading import CatalogueIndex, Question, read_conversion
from graph.search import JUST_THE_BEST, search_here
from graph.search.result import Route
from scripts.synthetic.plan import Plan
from scripts.synthetic.trade import write_trade
from tests.reach.asked import with_unit
from tests.rotating import todays

pytestmark = pytest.mark.takes_turns(2)

DEMO = Path(__file__).parents[2] / "facts" / "demo"
OBJECTIVES = ("expected", "total", "cash", "hours")


@pytest.fixture(scope="module", params=["demo", "trade"])
def index(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> CatalogueIndex:
    if request.param == "demo":
        return CatalogueIndex(load_catalogue([DEMO]))
    folder = tmp_path_factory.mktemp("trade")
    write_trade(Plan(500, 5), folder)
    return CatalogueIndex(load_catalogue([folder]))


def _value(objective: str, route: Route) -> Fraction:
    hundredths = {"cash": route.cash_hundredths, "hours": route.hours_hundredths}
    return Fraction(hundredths[objective], 100) if objective in hundredths else getattr(route, objective)


def _long_way(index: CatalogueIndex, question: Question, side: str) -> list[tuple[Fraction, str]]:
    """What assumes nothing, cheapest first, then what holds only if something does, or of which nobody has said which
    kind of job it is."""
    found = []
    order = replace(JUST_THE_BEST, objective=question.objective)
    for unit in index.units(side):
        if not index.catalogue.parts[unit].abstract:
            asked = with_unit(question, side, unit)
            weighed = weigh(read_conversion(index, asked).conversion, order, search_here)
            holds = weighed.status == IF_IT_HOLDS or not _is_settled(index, asked)
            found += [(holds, _value(question.objective, route), unit) for route in weighed.shown.routes]
    return [(value, unit) for _, value, unit in sorted(found)]


def _is_settled(index: CatalogueIndex, asked: Question) -> bool:
    """Both units were made for one kind of job, or nobody tells kinds of job apart."""
    shared = set(index.made_for(asked.gearbox)) & set(index.made_for(asked.engine))
    return len(shared) == 1 or not index.catalogue.assemblies


def _question(index: CatalogueIndex, side: str, objective: str) -> Question:
    gearbox, engine = (
        next(u for u in index.units(what) if not index.catalogue.parts[u].abstract) for what in ("gearbox", "engine")
    )
    return with_unit(Question(gearbox=gearbox, engine=engine, objective=objective), side, "")


@pytest.mark.parametrize("side", ["gearbox", "engine"])
@pytest.mark.parametrize("objective", todays(OBJECTIVES, 2))
def test_all_that_can_be_reached_comes_cheapest_first(index: CatalogueIndex, side: str, objective: str) -> None:
    question = _question(index, side, objective)

    found = [(one.value, one.unit) for one in reach(index, question, side, limit=1000)]

    assert found == _long_way(index, question, side)


def test_the_limit_takes_the_first_and_solves_fewer(index: CatalogueIndex) -> None:
    question, state = _question(index, "gearbox", "expected"), Reaching()

    found = [one.unit for one in reach(index, question, "gearbox", limit=2, state=state)]

    assert found == [unit for _, unit in _long_way(index, question, "gearbox")][:2]
    assert state.complete
    assert state.solved < state.units


def test_the_budget_takes_what_costs_no_more(index: CatalogueIndex) -> None:
    question = _question(index, "gearbox", "total")
    all_of_it = _long_way(index, question, "gearbox")
    budget = sorted(all_of_it)[len(all_of_it) // 2][0]

    found = [(one.value, one.unit) for one in reach(index, question, "gearbox", limit=1000, budget=budget)]

    assert found == [one for one in all_of_it if one[0] <= budget]


@pytest.mark.parametrize("side", ["gearbox", "engine"])
@pytest.mark.parametrize("objective", todays(OBJECTIVES, 2))
def test_no_bound_is_above_the_truth(index: CatalogueIndex, side: str, objective: str) -> None:
    question = _question(index, side, objective)
    weigh = weigh_for(objective, index.catalogue.rate_hundredths)
    bound = PartsBound(index, question, side, weigh)
    for value, unit in _long_way(index, question, side):
        conversion = read_conversion(index, with_unit(question, side, unit)).conversion

        assert bound.of(unit) <= value * 10_000
        assert document_bound(conversion, weigh) <= value * 10_000


def test_parts_in_hand_cost_nothing_in_the_bounds_either(index: CatalogueIndex) -> None:
    question = _question(index, "gearbox", "cash")
    priced = tuple(sorted(p.id for p in index.catalogue.parts.values() if p.cash_hundredths))
    question = replace(question, own=priced[:200])

    found = [(one.value, one.unit) for one in reach(index, question, "gearbox", limit=1000)]

    assert found == _long_way(index, question, "gearbox")


def test_parts_found_that_are_to_be_avoided_leave_no_unit_out(index: CatalogueIndex) -> None:
    question = _question(index, "gearbox", "total")
    found = [
        edge.target for unit in index.units("gearbox") for edges in index.contains(unit).values() for edge in edges
    ]
    question = replace(question, avoid=tuple(sorted(set(found))[::3]))

    assert [(one.value, one.unit) for one in reach(index, question, "gearbox", limit=1000)] == _long_way(
        index, question, "gearbox"
    )


def test_a_condition_that_fails_on_what_is_found_leaves_no_unit_out(index: CatalogueIndex) -> None:
    question = replace(_question(index, "gearbox", "total"), context={"duty": "farm"})
    never = (Condition("duty", "=", "road", "on the road"),)
    bells = [edge for edge in index.catalogue.edges.values() if edge.kind == CONTAINS and "bell" in edge.target]
    changed = {edge.id: replace(edge, conditions=never) for edge in bells}
    index = CatalogueIndex(replace(index.catalogue, edges={**index.catalogue.edges, **changed}))

    assert [(one.value, one.unit) for one in reach(index, question, "gearbox", limit=1000)] == _long_way(
        index, question, "gearbox"
    )


@pytest.mark.parametrize("seed", todays(range(4), 2))
def test_facts_in_a_file_with_changes_over_them_are_searched_alike(seed: int, tmp_path: Path) -> None:
    write_trade(Plan(400, seed), tmp_path)
    ground = open_index([tmp_path], tmp_path / "catalogue")
    edges = ground.catalogue.edges
    held = sorted(edge.id for edge in edges.values() if edge.kind == CONTAINS)
    moved = replace(edges[held[3]], target=edges[held[40 + seed]].target)
    catalogue = replace(ground.catalogue, edges=changed_table(edges, {moved.id: moved}, held[7:9]))
    index = LayeredIndex(ground, catalogue, [moved.id, *held[7:9]])
    list(reach(ground, _question(ground, "gearbox", "total"), "gearbox"))  # what is kept below is from before
    for side in ("gearbox", "engine"):
        question = _question(index, side, "total")

        found = [(one.value, one.unit) for one in reach(index, question, side, limit=1000)]

        assert found == _long_way(index, question, side)


def test_out_of_time_it_says_what_the_rest_costs_at_least(index: CatalogueIndex) -> None:
    question, state = _question(index, "gearbox", "expected"), Reaching()

    found = list(reach(index, question, "gearbox", seconds=0.0, state=state))

    assert found == []
    assert not state.complete
    assert state.at_least is not None and state.at_least <= _long_way(index, question, "gearbox")[0][0]


def test_what_cannot_be_asked_is_refused(index: CatalogueIndex) -> None:
    with pytest.raises(NotFound):
        list(reach(index, Question(gearbox="", engine="no-such-engine"), "gearbox"))
    with pytest.raises(InvalidQuestion, match="side"):
        list(reach(index, _question(index, "gearbox", "cash"), "vehicle"))

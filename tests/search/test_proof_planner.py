"""The least total against an optimal classical planner: a handful of documents without faults.

unified-planning writes the planning task (tests/reference/planner.py), Fast Downward proves the cheapest plan.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.reference.maker import SMALL, make_document
from tests.reference.planner import planned_minimum
from tests.search.asking import ask

FAULTLESS = replace(SMALL, positions=5, joints=7, faults=0, inspections=0)


@pytest.mark.parametrize("seed", [0, 2, 3, 6, 8])
def test_the_cheapest_plan_costs_what_the_cheapest_route_costs(seed: int) -> None:
    document = make_document(seed, FAULTLESS) | {"deadline": None}

    routes = ask(document, "total").routes

    assert planned_minimum(document) == (routes[0].total if routes else None)

"""The minimum against integer programming: random documents of 10 positions x 4 candidates, four objectives.

The programme is stated in tests/reference/programme.py and solved by OR-tools CP-SAT to a proof in whole numbers; a
part is solved by HiGHS too. Every returned route is checked by separate code for being allowed and for its sums.
"""

from __future__ import annotations

import os

import pytest

from graph.conversion.parse import parse_conversion
from graph.search import OBJECTIVES, solve
from tests.reference.cpsat import CpSat
from tests.reference.highs import highs_minimum
from tests.reference.maker import LARGE, WORKED, Shape, make_document
from tests.reference.programme import read_whole
from tests.rotating import todays
from tests.search.asking import ask, faults_found, worth

DOCUMENTS, CHUNK = int(os.environ.get("LAYSHAFT_DOCUMENTS", "40")), 40  # 2,000 when the search itself has changed
DENSE = Shape(10, 4, 16, tasks=7, chains=3, faults=4, rules=4, inspections=0, density=0.6)


@pytest.mark.parametrize("start", range(0, DOCUMENTS, CHUNK))
def test_the_minimum_is_the_one_that_cp_sat_proves(start: int) -> None:
    wrong = [fault for seed in range(start, start + CHUNK) for fault in _against_cp_sat(WORKED, seed)]

    assert wrong == []


@pytest.mark.parametrize("shape", todays([DENSE, LARGE], 2), ids=lambda shape: f"{shape}"[:40])
@pytest.mark.parametrize("start", range(0, 5, 5))
def test_the_minimum_holds_on_denser_and_larger_documents(shape: Shape, start: int) -> None:
    wrong = [fault for seed in range(start, start + 2) for fault in _against_cp_sat(shape, seed)]

    assert wrong == []


@pytest.mark.parametrize("start", range(0, 25, 25))
def test_the_minimum_is_the_one_that_highs_proves(start: int) -> None:
    wrong = []
    for seed in range(start, start + 25):
        document = make_document(seed, WORKED)
        programme = read_whole(document)
        for objective in OBJECTIVES:
            solution, proven = ask(document, objective, alternatives=0), highs_minimum(programme, objective)
            found = worth(solution.routes[0], objective) if solution.routes else None
            if found != proven:
                wrong.append(f"seed {seed} {objective}: found {found}, HiGHS {proven}")

    assert wrong == []


def _against_cp_sat(shape: Shape, seed: int) -> list[str]:
    """The front and looking first belong to the document, not to the objective: asked for once."""
    document = make_document(seed, shape)
    conversion, model = parse_conversion(document), CpSat(read_whole(document))
    wrong = []
    for objective in OBJECTIVES:
        once = objective == "expected"
        solution = solve(conversion, objective, 1, with_front=once, with_look_first=once)
        proven = model.minimum(objective)
        found = worth(solution.routes[0], objective) if solution.routes else None
        if found != proven or solution.status != ("no route" if proven is None else "optimal"):
            wrong.append(f"{shape} seed {seed} {objective}: {solution.status} {found}, CP-SAT {proven}")
        wrong += [f"{shape} seed {seed} {objective}: {fault}" for fault in faults_found(document, solution)]
    return wrong

"""Which note of an edge's evidence counts (common practice: a bad look back stands until a good one)."""

from __future__ import annotations

import pytest

from graph.costing.jobs import CONTRADICTED, DONE, DONE_AND_LASTED
from graph.costing.notes import EVIDENCE, CostNote
from graph.costing.record import holding


@pytest.mark.parametrize(
    ("levels", "counts"),
    [
        ([DONE], 0),
        ([DONE, CONTRADICTED], 1),
        ([DONE, CONTRADICTED, DONE], 1),
        ([DONE, CONTRADICTED, DONE, DONE], 1),
        ([CONTRADICTED, DONE_AND_LASTED], 1),
        ([CONTRADICTED, DONE_AND_LASTED, DONE], 2),
    ],
)
def test_a_job_merely_closed_does_not_clear_a_bad_follow_up(levels: list[str], counts: int) -> None:
    said = [CostNote(id=f"n{n}", kind=EVIDENCE, about="edge", evidence=level) for n, level in enumerate(levels)]

    assert holding(said) is said[counts]

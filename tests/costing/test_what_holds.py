"""Which note of an edge's evidence counts (common practice: a bad look back stands until a good one)."""

from __future__ import annotations

import pytest

from graph.costing.jobs.closing import CONTRADICTED, DONE, DONE_AND_LASTED
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


def said(number: int, level: str, job: str, **body: object) -> CostNote:
    return CostNote(id=f"n{number}", kind=EVIDENCE, about="edge", evidence=level, job=job, body=body)


def test_a_job_put_right_and_closed_again_keeps_what_was_seen_when_it_was_looked_back_on() -> None:
    """Its look back stands, so it is not "done, no follow-up" once more; another job that was closed later is."""
    lasted, again = said(0, DONE_AND_LASTED, "J-1", months=24), said(1, DONE, "J-1", outcome="done")
    other = said(2, DONE, "J-2", outcome="done")

    assert holding([lasted, again]) is lasted
    assert holding([lasted, again, other]) is other


def test_a_good_look_back_settles_a_bad_one_however_soon() -> None:
    bad, closed = said(0, CONTRADICTED, "J-1", months=4), said(1, DONE, "J-1", outcome="done")
    good = said(2, DONE, "J-1", months=2, good=True)

    assert holding([bad, closed]) is bad
    assert holding([bad, closed, good]) is good

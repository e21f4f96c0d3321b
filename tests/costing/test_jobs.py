"""A job from plan to follow-up: what closing it teaches, and that taking it back leaves no trace."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from graph.costing.hours import HoursRecord
from graph.costing.jobs.closing import close_job, follow_up, hours_records, reopen
from graph.costing.jobs.entries import as_built_entry, finding_entry, hours_entry, measurement_entry, remark_entry
from graph.costing.jobs.job import AsBuilt, JobMeasurement, get_job, list_jobs
from graph.costing.jobs.opening import open_job, plan_job
from graph.costing.notes import EVIDENCE, CostNotes, MemoryNotes, Provenance, standing
from graph.costing.odds import BetaOdds
from graph.costing.record import Record, holding
from graph.costing.shop import finding_of, take_back
from graph.costing.store import SqlNotes
from graph.errors import Conflict, InvalidInput, NotFound
from tests.costing.kit_car import answer

BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")
PRIOR = BetaOdds("ring-worn", Fraction(7, 20), Fraction(4), "working estimate")


def learnt(notes: CostNotes) -> BetaOdds:
    """The odds of the worn ring as the record of cost has them."""
    return PRIOR.with_findings(map(finding_of, Record().after(notes).findings.get("ring-worn", ())))


@pytest.fixture(params=["memory", "sqlite"])
def notes(request: pytest.FixtureRequest, tmp_path: Path) -> CostNotes:
    kept: CostNotes = MemoryNotes() if request.param == "memory" else SqlNotes.on_file(tmp_path / "costs.db")
    asked = answer()
    open_job(kept, plan_job(asked, asked.routes[0], "kit car", BENCH, "J-1"))
    return kept


def worked(notes: CostNotes) -> None:
    """Hours, findings, a measurement and what was fitted, as they happen."""
    job = get_job(notes, "J-1")
    notes.append([
        hours_entry(job, 3, "3.0", BENCH), hours_entry(job, 3, "2.5", BENCH), hours_entry(job, 5, "0.5", BENCH),
        finding_entry(job, "ring-worn", laid_open=True, worn=True, provenance=BENCH, words="gap 0.3 mm"),
        measurement_entry(
            job, JobMeasurement("crank bore depth", "1-3/4 in", "flange", "depth micrometer", "AB"), BENCH
        ),
        as_built_entry(job, AsBuilt("input shaft", "shaft-23", "used-tested", "housing says 21"), BENCH),
        remark_entry(job, "dowels were missing", BENCH),
    ])  # fmt: skip


def test_a_chosen_route_becomes_a_job_with_every_step(notes: CostNotes) -> None:
    job = get_job(notes, "J-1")

    assert [step.text for step in job.steps] == [step.text for step in answer().routes[0].steps]
    assert sum(step.hours_hundredths for step in job.steps) == 560
    assert job.faults == ("ring-worn",) and job.closing == ""


def test_what_is_noted_on_a_job_stands_in_its_record(notes: CostNotes) -> None:
    worked(notes)

    job = get_job(notes, "J-1")

    assert job.actual_hundredths == {3: 550, 5: 50}
    assert job.measurements[0].reading == "1-3/4 in"
    assert job.as_built[0].remark == "housing says 21"
    assert job.remarks == ("dowels were missing",)


def test_closing_teaches_odds_hours_and_evidence_with_who_and_when(notes: CostNotes) -> None:
    worked(notes)

    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    assert learnt(notes).mean == (Fraction(7, 20) * 4 + 1) / 5
    assert hours_records(notes) == [HoursRecord("out", 450, 550, "J-1"), HoursRecord("bush-12", 50, 50, "J-1")]
    taught = [note for note in notes.list_notes(job="J-1") if note.batch == get_job(notes, "J-1").closing]
    assert {(note.author, note.made_on, note.job) for note in taught} == {("fitter", BENCH.made_on, "J-1")}


def test_an_open_job_teaches_nothing(notes: CostNotes) -> None:
    worked(notes)

    assert learnt(notes).opened == 0
    assert hours_records(notes) == []


def test_taking_the_closing_back_leaves_no_trace_in_what_was_learnt(notes: CostNotes) -> None:
    worked(notes)
    before = (learnt(notes), hours_records(notes))
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    take_back(notes, get_job(notes, "J-1").closing, BENCH, "closed the wrong job")

    assert (learnt(notes), hours_records(notes)) == before
    assert get_job(notes, "J-1").closing == ""
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))
    assert learnt(notes).opened == 1


def with_edges(notes: CostNotes) -> CostNotes:
    """A job whose steps rest on edges, closed as done."""
    planned = plan_job(answer(), answer().routes[0], "kit car", BENCH, "J-2")
    body = dict(planned.body)
    steps = body["steps"]
    assert isinstance(steps, list)
    body["steps"] = [{**step, "edges": ["edge-disc", "edge-bush"]} for step in steps]
    open_job(notes, type(planned)(**{**{f: getattr(planned, f) for f in planned.__slots__}, "body": body}))
    notes.append(close_job(get_job(notes, "J-2"), "done", BENCH))
    return notes


def test_an_edge_is_done_on_a_job_and_after_half_a_year_done_and_lasted() -> None:
    notes = with_edges(MemoryNotes())
    assert [note.evidence for note in standing(notes, kind=EVIDENCE, about="edge-disc")] == ["done-without-follow-up"]

    notes.append(follow_up(get_job(notes, "J-2"), 2, True, BENCH))
    assert len(standing(notes, kind=EVIDENCE, about="edge-disc")) == 1
    notes.append(follow_up(get_job(notes, "J-2"), 24, True, BENCH, "no noise"))

    assert standing(notes, kind=EVIDENCE, about="edge-disc")[-1].evidence == "done-and-came-back-good"
    assert get_job(notes, "J-2").follow_ups == ((2, True), (24, True))


def test_a_job_that_came_back_bad_contradicts_what_it_rested_on() -> None:
    notes = with_edges(MemoryNotes())

    notes.append(follow_up(get_job(notes, "J-2"), 4, False, BENCH, "jumps out of gear"))

    last = standing(notes, kind=EVIDENCE, about="edge-bush")[-1]
    assert last.evidence == "contradicted" and last.body["words"] == "jumps out of gear"


def test_a_bad_look_back_on_a_job_that_was_mended_is_settled_by_a_good_one() -> None:
    notes = with_edges(MemoryNotes())
    notes.append(follow_up(get_job(notes, "J-2"), 4, False, BENCH, "jumps out of gear"))
    notes.append([reopen(notes, get_job(notes, "J-2"), BENCH, "selector fork renewed")])
    notes.append(close_job(get_job(notes, "J-2"), "done", BENCH))
    assert holding(standing(notes, kind=EVIDENCE, about="edge-bush")).evidence == "contradicted"

    notes.append(follow_up(get_job(notes, "J-2"), 1, True, BENCH, "quiet"))

    assert holding(standing(notes, kind=EVIDENCE, about="edge-bush")).evidence == "done-without-follow-up"


def test_a_closed_job_takes_no_more_entries(notes: CostNotes) -> None:
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    with pytest.raises(Conflict, match="is closed"):
        hours_entry(get_job(notes, "J-1"), 1, 1, BENCH)
    with pytest.raises(Conflict, match="is closed"):
        close_job(get_job(notes, "J-1"), "done", BENCH)


def test_what_cannot_be_is_refused(notes: CostNotes) -> None:
    job = get_job(notes, "J-1")

    with pytest.raises(InvalidInput, match="worn, but not laid open"):
        finding_entry(job, "ring-worn", laid_open=False, worn=True, provenance=BENCH)
    with pytest.raises(InvalidInput, match="has no unit"):
        measurement_entry(job, JobMeasurement("bore", "38.1"), BENCH)
    with pytest.raises(InvalidInput, match="expected above 0"):
        hours_entry(job, 1, -1, BENCH)
    with pytest.raises(NotFound, match="step"):
        hours_entry(job, 99, 1, BENCH)
    with pytest.raises(Conflict, match="not closed as done"):
        follow_up(job, 6, True, BENCH)
    with pytest.raises(Conflict, match="there already"):
        open_job(notes, plan_job(answer(), answer().routes[0], "again", BENCH, "J-1"))
    with pytest.raises(NotFound, match="job") as asked:
        get_job(notes, "Larch estate car")
    assert asked.value.near == ()  # no list of what other customers have on the bench
    assert [each.id for each in list_jobs(notes)] == ["J-1"]

"""The shop's record in the catalogue: odds, hours, evidence; and its echo in the ledger."""

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
from graph.costing.asking import route_at
from graph.costing.jobs.closing import close_job, follow_up, hours_records, reopen
from graph.costing.jobs.entries import finding_entry, hours_entry, take_entry_back
from graph.costing.jobs.job import Job, get_job
from graph.costing.jobs.opening import open_job, plan_job
from graph.costing.notes import CostNotes, MemoryNotes, Provenance
from graph.costing.odds import STRENGTH
from graph.costing.shop import take_back
from graph.costing.signs import bayes
from graph.costing.store import SqlNotes
from graph.counter.shop import Shop
from graph.errors import Conflict, InvalidFacts, InvalidInput, InvalidQuestion
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.lookups.index import CatalogueIndex

TODAY = date(2026, 6, 30)
BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")


@pytest.fixture(scope="module")
def facts() -> Catalogue:
    return load_catalogue([DEMO_FACTS])


def job_of(notes: CostNotes, facts: Catalogue, number: str = "J-1") -> Job:
    found = Shop(CatalogueIndex(facts), notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION)
    plan = plan_job(found.answer, route_at(found.answer, 1), "pick-up", BENCH, number, found.book_hundredths)
    return open_job(notes, plan)


def test_an_empty_record_changes_nothing(facts: Catalogue) -> None:
    costed = costed_catalogue(facts, MemoryNotes(), TODAY)

    assert costed.catalogue == replace(
        facts, parts=costed.catalogue.parts, common_causes=costed.catalogue.common_causes
    )
    assert dict(costed.catalogue.parts) == dict(facts.parts)


def test_findings_of_closed_jobs_move_the_odds_of_the_facts(facts: Catalogue) -> None:
    notes = MemoryNotes()
    job = job_of(notes, facts)
    fault = next(fault for fault in facts.faults.values() if 0 < fault.odds < 1)
    notes.append([finding_entry(job, fault.id, True, True, BENCH)])
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    costed = costed_catalogue(facts, notes, TODAY)

    exact = (fault.odds * STRENGTH + 1) / (STRENGTH + 1)
    assert costed.odds[fault.id].mean == exact
    assert abs(costed.catalogue.faults[fault.id].odds - exact) <= Fraction(1, 20_000)


def test_a_sign_reaches_the_faults_at_its_position(facts: Catalogue) -> None:
    fault = next(each for each in facts.faults.values() if each.position == "at-synchro-ring-second")

    costed = costed_catalogue(facts, MemoryNotes(), TODAY, {"crunch": "hot and cold"})

    assert costed.signed[fault.id].after == bayes(fault.odds, Fraction(8))


def test_a_state_that_no_ratio_is_stated_for_is_refused(facts: Catalogue) -> None:
    with pytest.raises(InvalidQuestion, match="expected one of cold only, hot and cold, none, found 'loud'"):
        costed_catalogue(facts, MemoryNotes(), TODAY, {"crunch": "loud"})


def test_learnt_hours_replace_the_facts_and_learning_does_not_feed_on_itself(facts: Catalogue) -> None:
    notes = MemoryNotes()
    first = job_of(notes, facts)
    step = next(step for step in first.steps if step.source in facts.tasks and step.hours_hundredths)
    book = facts.tasks[step.source].hours_hundredths
    assert book is not None
    learnt: list[int] = []
    for number in range(1, 4):
        job = first if number == 1 else job_of(notes, facts, f"J-{number}")
        notes.append([hours_entry(job, step.number, Fraction(book * 2, 100).limit_denominator() * 1.0, BENCH)])
        notes.append(close_job(get_job(notes, job.id), "done", BENCH))
        told = costed_catalogue(facts, notes, TODAY).catalogue.tasks[step.source].hours_hundredths
        assert told is not None
        learnt.append(told)

    assert book < learnt[0] < learnt[1] < learnt[2] < 2.3 * book


def test_hours_of_fitting_are_learnt_and_jobs_exactly_on_plan_leave_the_plan(facts: Catalogue) -> None:
    """By hand: a part planned at 0.6 h that took 1.2 h each time is reckoned with at more than its 0.6 h."""
    notes = MemoryNotes()
    first = job_of(notes, facts)
    fit = next(step for step in first.steps if step.source not in facts.tasks and step.hours_hundredths)
    before = {step.source: step.hours_hundredths for step in first.steps if step.hours_hundredths}
    for number in range(1, 4):
        job = first if number == 1 else job_of(notes, facts, f"J-{number}")
        notes.append([hours_entry(job, fit.number, str(Fraction(fit.book_hundredths * 2, 100) * 1.0), BENCH)])
        notes.append(close_job(get_job(notes, job.id), "done", BENCH))
    after = {step.source: step for step in job_of(notes, facts, "J-9").steps if step.hours_hundredths}

    assert 1.3 * before[fit.source] < after[fit.source].hours_hundredths < 2.1 * before[fit.source]
    assert after[fit.source].book_hundredths == before[fit.source]
    assert all(after[source].hours_hundredths >= before[source] for source in before if source in after)

    on_plan = MemoryNotes()
    job = job_of(on_plan, facts)
    on_plan.append(
        [hours_entry(job, s.number, str(s.book_hundredths / 100), BENCH) for s in job.steps if s.book_hundredths]
    )
    on_plan.append(close_job(get_job(on_plan, job.id), "done", BENCH))
    same = {step.source: step.hours_hundredths for step in job_of(on_plan, facts, "J-2").steps if step.hours_hundredths}
    assert same == before


def test_findings_of_a_job_planned_on_a_sign_are_no_plain_draws(facts: Catalogue) -> None:
    """A box opened because of a crunch (ratio 8) that is found worn moves the base rate less than a plain one."""
    fault = next(each for each in facts.faults.values() if each.position == "at-synchro-ring-second")
    after = []
    for signs in ({"crunch": "hot and cold"}, {}):
        notes = MemoryNotes()
        found = Shop(CatalogueIndex(facts), notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION, signs)
        plan = plan_job(
            found.answer, route_at(found.answer, 1), "t", BENCH, "J-1", found.book_hundredths, found.costed.signs
        )
        job = open_job(notes, plan)
        notes.append([finding_entry(job, fault.id, True, True, BENCH)])
        notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))
        after.append(costed_catalogue(facts, notes, TODAY).odds[fault.id].mean)

    assert fault.odds < after[0] < after[1]


def test_a_closed_job_is_reopened_put_right_and_closed_again(facts: Catalogue) -> None:
    notes = MemoryNotes()
    job = job_of(notes, facts)
    step = next(step for step in job.steps if step.book_hundredths)
    notes.append([hours_entry(job, step.number, "40", BENCH)])
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))
    with pytest.raises(Conflict, match="reopen it"):
        take_entry_back(notes, get_job(notes, "J-1"), "x", BENCH)
    with pytest.raises(InvalidInput, match="say why"):
        reopen(notes, get_job(notes, "J-1"), BENCH, " ")

    notes.append([reopen(notes, get_job(notes, "J-1"), BENCH, "hours of another job")])
    wrong = next(note for note in get_job(notes, "J-1").noted if note.body["entry"] == "hours")
    notes.append([take_entry_back(notes, get_job(notes, "J-1"), wrong.id, BENCH)])
    notes.append([hours_entry(get_job(notes, "J-1"), step.number, "1", BENCH)])
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    assert get_job(notes, "J-1").actual_hundredths == {step.number: 100}
    assert [record.actual_hundredths for record in hours_records(notes)] == [100]
    with pytest.raises(Conflict, match="is open"):
        reopen(notes, job, BENCH, "again")


def test_an_edge_that_a_job_rested_on_is_known_by_the_job_and_contradicted_by_a_bad_look_back(facts: Catalogue) -> None:
    notes = MemoryNotes()
    job = job_of(notes, facts)
    notes.append(close_job(job, "done", BENCH))
    notes.append(follow_up(get_job(notes, "J-1"), 24, True, BENCH))
    ranks = {level.id: level.rank for level in facts.evidence_levels.values()}

    def rank(catalogue: Catalogue, edge: str) -> int:
        known = catalogue.edges[edge]
        return ranks.get(known.evidence or catalogue.notes[known.note].evidence, 99)

    lasted = costed_catalogue(facts, notes, TODAY).catalogue
    assert job.edges
    assert all(rank(lasted, edge) <= min(rank(facts, edge), ranks["done-and-came-back-good"]) for edge in job.edges)

    notes.append(follow_up(get_job(notes, "J-1"), 30, False, BENCH, "jumps out of gear"))
    bad = costed_catalogue(facts, notes, TODAY).catalogue
    assert {bad.edges[edge].evidence for edge in job.edges} == {"contradicted"}


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    return Ledger(open_database(sqlite_url(tmp_path / "ledger.db")))


def test_a_closing_speaks_in_the_ledger_and_is_taken_back_there_too(facts: Catalogue, ledger: Ledger) -> None:
    notes = SqlNotes(ledger)
    job = job_of(notes, facts)
    notes.append([finding_entry(job, job.faults[0], True, True, BENCH), hours_entry(job, 1, "2.5", BENCH)])
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    (entry,) = ledger.iter_current()
    assert entry.text.startswith("Job J-1 closed: done.") and f"{job.faults[0]}: worn." in entry.text
    assert (entry.author, entry.job, entry.evidence) == ("fitter", "J-1", "done-without-follow-up")

    take_back(notes, get_job(notes, "J-1").closing, BENCH, "wrong job")
    assert [each for each in ledger.iter_current() if not each.retracted] == []
    assert get_job(notes, "J-1").closing == ""


def test_what_the_ledger_refuses_is_not_learnt(facts: Catalogue, ledger: Ledger) -> None:
    notes = SqlNotes(ledger)
    job = job_of(notes, facts)
    ledger.levels = ("hearsay",)  # knows no closed jobs, so it refuses the readable note
    before = ledger.head()

    with pytest.raises(InvalidFacts, match="is no level"):
        notes.append(close_job(job, "done", BENCH))

    assert get_job(notes, "J-1").closing == ""
    assert ledger.head() == before


def test_a_job_whose_route_is_gone_is_not_printed_as_another(facts: Catalogue) -> None:
    from graph.costing.jobs.opening import route_of_job

    notes = MemoryNotes()
    job = job_of(notes, facts)
    answer = Shop(CatalogueIndex(facts), notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION).answer

    assert route_of_job(job, answer).rank == 1
    with pytest.raises(Conflict, match="no longer among"):
        route_of_job(replace(job, picks={}), answer)

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
from graph.costing.applied import STRENGTH, costed_catalogue
from graph.costing.asking import route_at
from graph.costing.jobs import close_job, finding_entry, follow_up, get_job, hours_entry, open_job, plan_job
from graph.costing.notes import CostNotes, MemoryNotes, Provenance
from graph.costing.shop import take_back
from graph.costing.signs import bayes
from graph.costing.store import SqlNotes
from graph.counter.shop import Shop
from graph.errors import Conflict, InvalidFacts, InvalidQuestion
from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.reading.index import CatalogueIndex

TODAY = date(2026, 6, 30)
BENCH = Provenance("fitter", "on the bench", "2026-06-30T10:00:00+00:00")


@pytest.fixture(scope="module")
def facts() -> Catalogue:
    return load_catalogue([DEMO_FACTS])


def job_of(notes: CostNotes, facts: Catalogue, number: str = "J-1"):
    found = Shop(CatalogueIndex(facts), notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION)
    plan = plan_job(found.answer, route_at(found.answer, 1), "pick-up", BENCH, number, found.book_hundredths)
    return open_job(notes, plan)


def test_an_empty_record_changes_nothing(facts):
    costed = costed_catalogue(facts, MemoryNotes(), TODAY)

    assert costed.catalogue == replace(facts, parts=costed.catalogue.parts)
    assert dict(costed.catalogue.parts) == dict(facts.parts)


def test_findings_of_closed_jobs_move_the_odds_of_the_facts(facts):
    notes = MemoryNotes()
    job = job_of(notes, facts)
    fault = next(fault for fault in facts.faults.values() if 0 < fault.odds < 1)
    notes.append([finding_entry(job, fault.id, True, True, BENCH)])
    notes.append(close_job(get_job(notes, "J-1"), "done", BENCH))

    costed = costed_catalogue(facts, notes, TODAY)

    exact = (fault.odds * STRENGTH + 1) / (STRENGTH + 1)
    assert costed.odds[fault.id].mean == exact
    assert abs(costed.catalogue.faults[fault.id].odds - exact) <= Fraction(1, 20_000)


def test_a_sign_reaches_the_faults_at_its_position(facts):
    fault = next(each for each in facts.faults.values() if each.position == "at-synchro-ring-second")

    costed = costed_catalogue(facts, MemoryNotes(), TODAY, {"crunch": "hot and cold"})

    assert costed.signed[fault.id].after == bayes(fault.odds, Fraction(8))


def test_a_state_that_no_ratio_is_stated_for_is_refused(facts):
    with pytest.raises(InvalidQuestion, match="expected one of cold only, hot and cold, none, found 'loud'"):
        costed_catalogue(facts, MemoryNotes(), TODAY, {"crunch": "loud"})


def test_learnt_hours_replace_the_facts_and_learning_does_not_feed_on_itself(facts):
    notes = MemoryNotes()
    first = job_of(notes, facts)
    step = next(step for step in first.steps if step.source in facts.tasks and step.hours_hundredths)
    book = facts.tasks[step.source].hours_hundredths
    learnt = []
    for number in range(1, 4):
        job = first if number == 1 else job_of(notes, facts, f"J-{number}")
        notes.append([hours_entry(job, step.number, Fraction(book * 2, 100).limit_denominator() * 1.0, BENCH)])
        notes.append(close_job(get_job(notes, job.id), "done", BENCH))
        learnt.append(costed_catalogue(facts, notes, TODAY).catalogue.tasks[step.source].hours_hundredths)

    assert book < learnt[0] < learnt[1] < learnt[2] < 2.3 * book


def test_an_edge_that_a_job_rested_on_is_known_by_the_job_and_contradicted_by_a_bad_look_back(facts):
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


def test_a_closing_speaks_in_the_ledger_and_is_taken_back_there_too(facts, ledger):
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


def test_what_the_ledger_refuses_is_not_learnt(facts, ledger):
    notes = SqlNotes(ledger)
    job = job_of(notes, facts)
    ledger.levels = ("hearsay",)  # knows no closed jobs, so it refuses the readable note
    before = ledger.head()

    with pytest.raises(InvalidFacts, match="is no level"):
        notes.append(close_job(job, "done", BENCH))

    assert get_job(notes, "J-1").closing == ""
    assert ledger.head() == before


def test_a_job_whose_route_is_gone_is_not_printed_as_another(facts):
    from graph.costing.jobs import route_of_job

    notes = MemoryNotes()
    job = job_of(notes, facts)
    answer = Shop(CatalogueIndex(facts), notes, today=lambda: TODAY).ask_costed(DEMO_QUESTION).answer

    assert route_of_job(job, answer).rank == 1
    with pytest.raises(Conflict, match="no longer among"):
        route_of_job(replace(job, picks={}), answer)
